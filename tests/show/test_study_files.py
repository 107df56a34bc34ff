"""Files of a study: one row a draw, strict JSON, and never half of anything."""

import csv
import json
import math
import re

import numpy as np
import pytest
import told_studies as made
from matplotlib.figure import Figure

from bankSim.show import study_files
from bankSim.show.blocks import Section, Story
from bankSim.show.matters_story import tell_matters
from bankSim.show.printing import story_text
from bankSim.show.study_files import (
    study_summary,
    summary_text,
    write_draws,
    write_study,
    write_unknowns,
)
from bankSim.show.targets import OutputError
from bankSim.sim.run import END_REASON
from bankSim.sim.summary import SAFETY_TEXT, program_version
from bankSim.study.blocks import Draws
from bankSim.study.plan import Plan

STORY = Story("A title", ("A sentence.",), (Section("Safety", ("Take care.",)),))
COUNT = 6
INNARDS = re.compile(r"nan|-?inf|-?[0-9]*\.?[0-9]+(e[+-]?[0-9]+)?|True|False|<.*>")


def table(name="old", first=0, count=COUNT):
    """Columns as of a march; every third battery never cuts out."""
    draw = np.arange(first, first + count)
    return {
        "draw": draw,
        "end_status": np.resize(np.array(sorted(END_REASON), dtype=np.int8), count),
        "bank.delivered_Ah": 170.0 + draw / 3.0,
        "first_cut_out": (draw % 3).astype(np.int16),
        f"{name}.cut_out_h": np.where(draw % 3 == 0, np.nan, 10.0 + draw / 7.0),
    }


def filled(name="old", blocks=2):
    """Draws of so many blocks."""
    draws = Draws(made.draws((name, "new"), count=COUNT).plan, made.Memory(), blocks)
    for number in range(blocks):
        draws.store.write(number, table(name, number * COUNT))
    return draws


def rows_of(file):
    with open(file, encoding="utf-8", newline="") as page:
        return list(csv.DictReader(page))


def strictly(text):
    """Read JSON; NaN and infinities, which Python would write, are no JSON."""

    def refuse(word):
        raise AssertionError(f"{word} in JSON")

    return json.loads(text, parse_constant=refuse)


def leaves(value, path=""):
    """Every number, word, flag and null of a summary, with its place."""
    if isinstance(value, dict):
        for name, item in value.items():
            yield from leaves(item, f"{path}.{name}")
    elif isinstance(value, list):
        for number, item in enumerate(value):
            yield from leaves(item, f"{path}[{number}]")
    else:
        yield path, value


# --- draws.csv ------------------------------------------------------------------------------


def test_one_row_a_draw_with_the_same_numbers(tmp_path):
    draws = filled()
    write_draws(draws, tmp_path / "draws.csv")
    rows = rows_of(tmp_path / "draws.csv")
    assert [int(row["draw"]) for row in rows] == list(range(2 * COUNT))
    Ah = draws.column("bank.delivered_Ah")
    assert [float(row["bank.delivered_Ah"]) for row in rows] == Ah.tolist()
    assert [int(row["first_cut_out"]) for row in rows] == draws.column("first_cut_out").tolist()


def test_why_a_draw_ended_is_told_in_words(tmp_path):
    write_draws(filled(), tmp_path / "draws.csv")
    rows = rows_of(tmp_path / "draws.csv")
    assert "end_status" not in rows[0]
    kinds = [END_REASON[number] for number in sorted(END_REASON)]
    expected = [kinds[n % len(kinds)] for n in range(COUNT)] * 2
    assert [row["end_reason"] for row in rows] == expected
    assert all(re.fullmatch("[a-z ,]+", row["end_reason"]) for row in rows)


def test_what_a_draw_does_not_have_is_empty(tmp_path):
    write_draws(filled(), tmp_path / "draws.csv")
    assert [row["old.cut_out_h"] == "" for row in rows_of(tmp_path / "draws.csv")] == [
        n % 3 == 0 for n in range(2 * COUNT)
    ]


def test_so_many_rows_at_most(tmp_path, monkeypatch):
    monkeypatch.setattr(study_files, "MOST_ROWS", 4)
    write_draws(filled(), tmp_path / "draws.csv")
    assert [int(row["draw"]) for row in rows_of(tmp_path / "draws.csv")] == [0, 1, 2, 3]


@pytest.mark.parametrize("name", ["H\u00fctte, \u6c34", 'says "x"', "$x$"])
def test_names_come_through(tmp_path, name):
    write_draws(filled(name), tmp_path / "draws.csv")
    assert f"{name}.cut_out_h" in rows_of(tmp_path / "draws.csv")[0]


@pytest.mark.parametrize("name", ["=1+1", "+x", "@x", "-x"])
def test_a_name_like_a_formula_is_guarded_as_in_other_tables(tmp_path, name):
    write_draws(filled(name), tmp_path / "draws.csv")
    assert f"'{name}.cut_out_h" in rows_of(tmp_path / "draws.csv")[0]


# --- unknowns.csv ---------------------------------------------------------------------------


def drawn_of(count, file, labels=("a", "b")):
    unknowns = [made.unknown(label) for label in labels]
    plan = made.plan(unknowns=unknowns)
    write_unknowns(plan, count, file)
    return plan, rows_of(file)


@pytest.mark.parametrize("count", [1, 3, 4, 5, 8])
def test_a_row_a_draw_with_the_values_drawn(tmp_path, monkeypatch, count):
    monkeypatch.setattr(study_files, "PORTION", 4)
    plan, rows = drawn_of(count, tmp_path / "unknowns.csv")
    assert [int(row["draw"]) for row in rows] == list(range(count))
    found = [[float(row[one.label]) for one in plan.unknowns] for row in rows]
    assert np.array(found) == pytest.approx(plan.values(0, count), rel=1e-8)


def test_so_many_rows_of_unknowns_at_most_and_never_all_at_once(tmp_path, monkeypatch):
    monkeypatch.setattr(study_files, "MOST_ROWS", 10)
    monkeypatch.setattr(study_files, "PORTION", 4)
    asked, real = [], Plan.values
    monkeypatch.setattr(Plan, "values", lambda plan, a, b: asked.append((a, b)) or real(plan, a, b))
    _, rows = drawn_of(1000, tmp_path / "unknowns.csv")
    assert len(rows) == 10
    assert asked == [(0, 4), (4, 8), (8, 10)]


def test_a_label_like_a_formula_is_guarded(tmp_path):
    _, (row,) = drawn_of(1, tmp_path / "unknowns.csv", ('=cmd, "x"',))
    assert list(row) == ["draw", '\'=cmd, "x" of "old"']


def test_a_study_of_nothing_unknown_has_its_rows_too(tmp_path):
    _, rows = drawn_of(2, tmp_path / "unknowns.csv", ())
    assert rows == [{"draw": "0"}, {"draw": "1"}]


@pytest.mark.parametrize("most", [2 * COUNT - 1, 2 * COUNT])
def test_a_story_tells_of_tables_that_were_cut(tmp_path, monkeypatch, most):
    monkeypatch.setattr(study_files, "MOST_ROWS", most)
    write_study(tmp_path, STORY, {}, None, {"draws.csv": filled()})
    told = " ".join((tmp_path / "story.txt").read_text().split())
    line = f"draws.csv and unknowns.csv hold the first {most} of {2 * COUNT} draws"
    assert (line in told) is (most < 2 * COUNT)
    assert len(rows_of(tmp_path / "unknowns.csv")) == most


def test_only_the_spread_has_unknowns(tmp_path):
    tables = {"draws-one.csv": filled(), "draws-other.csv": filled()}
    names = [file.name for file in write_study(tmp_path, STORY, {}, None, tables)]
    assert names == ["story.txt", "summary.json", *tables]


# --- summary.json ---------------------------------------------------------------------------

RESULTS = {
    "spread": made.spread(traced=made.traced(made.caution("surge", "danger"))),
    "sweep": made.sweep(),
    "versus": made.versus(cautions=((made.caution(),), ())),
    "sums": made.sums(),
    "matters": made.matters(),
    "still": made.still(),
}
every_result = pytest.mark.parametrize("question", RESULTS)


def summary_of(question):
    return strictly(summary_text(study_summary(question, RESULTS[question])))


@every_result
def test_it_is_strict_json_with_its_question_version_and_safety(question):
    found = summary_of(question)
    assert found["question"] == question
    assert found["version"] == program_version()
    assert found["safety"] == SAFETY_TEXT
    assert summary_text(found).isascii()


@every_result
def test_numbers_are_numbers(question):
    for path, value in leaves(summary_of(question)):
        assert not (isinstance(value, str) and INNARDS.fullmatch(value)), path


@pytest.mark.parametrize(
    ("question", "places"),
    [
        ("spread", ["draws"]),
        ("versus", ["one", "other"]),
        ("sums", ["plan"]),
        ("matters", ["plan"]),
        ("sweep", ["plan"]),
    ],
)
def test_seed_and_unknowns_with_their_sources(question, places):
    found = summary_of(question)
    for place in places:
        (unknown,) = found[place]["unknowns"]
        assert unknown["label"] == 'capacity of "old"'
        assert unknown["source"] == "somebody measured it"
        assert (unknown["shape"], unknown["value"], unknown["sd"]) == ("normal", 1.0, 0.03)
        assert (unknown["low"], unknown["high"]) == (0.9, 1.1)
        assert found[place]["seed"] == 7
        assert found[place]["file"] == "made-up.toml"


def test_limits_that_are_infinite_are_null():
    spread = made.Spread(made.Shape.LOGNORMAL, 1.0, 0.3)
    result = made.spread(of_draws=made.draws(unknowns=[made.unknown(spread=spread)]))
    (unknown,) = strictly(summary_text(study_summary("spread", result)))["draws"]["unknowns"]
    assert (unknown["low"], unknown["high"]) == (None, None)


def test_a_chance_has_its_interval():
    found = summary_of("spread")
    assert set(found["nobody"]) == {"value", "low", "high"}
    assert found["batteries"][0]["first"]["value"] == 0.8
    assert found["bank"]["percentiles"][0] == {"value": 164.0, "low": 163.2, "high": 164.8}
    assert found["traced"]["cautions"][0]["example"]["advice"] == "Think twice."


def test_what_is_not_there_is_null():
    result = made.spread(bank=made.Band("delivers", "Ah", math.nan, (), 0))
    found = strictly(summary_text(study_summary("spread", result)))
    assert found["bank"]["central"] is None
    assert found["bank"]["percentiles"] == []
    voltage = found["traced"]["fan"]["voltage_V"]
    assert voltage == [[None, None]] * 5


def test_nan_that_slips_through_is_refused():
    with pytest.raises(ValueError, match="JSON"):
        summary_text({"x": math.nan})


# --- the folder -----------------------------------------------------------------------------


def test_everything_is_written_and_listed(tmp_path):
    figures = {"ranges": Figure(), "first": Figure()}
    files = write_study(
        tmp_path / "a" / "b", STORY, {"x": 1}, lambda: figures, {"draws.csv": filled()}
    )
    names = ["story.txt", "summary.json", "draws.csv", "unknowns.csv", "ranges.png", "first.png"]
    assert [file.name for file in files] == names
    assert sorted(one.name for one in (tmp_path / "a" / "b").iterdir()) == sorted(names)
    assert (tmp_path / "a" / "b" / "story.txt").read_text() == story_text(STORY)
    assert strictly(files[1].read_text()) == {"x": 1, "files": names}
    assert files[4].read_bytes().startswith(b"\x89PNG")


def test_figures_of_an_earlier_study_go_and_those_of_others_stay(tmp_path):
    write_study(tmp_path, STORY, {}, lambda: {"ranges": Figure()}, {})
    (tmp_path / "mine.png").write_bytes(b"mine")
    write_study(tmp_path, STORY, {}, None, {})
    assert [file.name for file in tmp_path.glob("*.png")] == ["mine.png"]


@pytest.mark.parametrize("error", [KeyboardInterrupt, MemoryError, ZeroDivisionError])
def test_a_stop_on_the_way_leaves_earlier_files_whole(tmp_path, error):
    write_study(tmp_path, STORY, {"x": 1}, None, {"draws.csv": filled()})
    before = {file.name: file.read_bytes() for file in tmp_path.iterdir()}

    def stopped():
        raise error

    with pytest.raises(error):
        write_study(tmp_path, STORY, {"x": 2}, stopped, {"draws.csv": filled(blocks=1)})
    assert {file.name: file.read_bytes() for file in tmp_path.iterdir()} == before


def test_a_full_disk_half_way_is_told_and_leaves_earlier_files_whole(tmp_path, monkeypatch):
    write_study(tmp_path, STORY, {"x": 1}, None, {"draws.csv": filled()})
    before = {file.name: file.read_bytes() for file in tmp_path.iterdir()}

    def full(draws, file):
        file.write_text("half")
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(study_files, "write_draws", full)
    with pytest.raises(OutputError, match=f"{tmp_path}: cannot be written .No space left"):
        write_study(tmp_path, STORY, {"x": 2}, None, {"draws.csv": filled(blocks=1)})
    assert {file.name: file.read_bytes() for file in tmp_path.iterdir()} == before


def test_a_failure_leaves_no_folder_where_there_was_none(tmp_path):
    with pytest.raises(ValueError, match="JSON"):
        write_study(tmp_path / "a" / "b", STORY, {"x": math.inf}, None, {})
    assert list(tmp_path.iterdir()) == []


def test_a_real_summary_can_be_told_again_from_its_story(tmp_path):
    result = made.matters()
    files = write_study(tmp_path, tell_matters(result), study_summary("matters", result), None, {})
    found = strictly(files[1].read_text())
    text = files[0].read_text()
    low, *_, high = (point["value"] for point in found["seen"]["percentiles"])
    assert f"between {low:.0f} and {high:.0f} Ah; measure" in text
    assert f"{found['draws']:,} draws, seed {found['seed']}" in text
