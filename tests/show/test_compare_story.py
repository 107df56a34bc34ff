"""What is told and drawn of comparisons whose truth is known."""

import csv
import io
import json
from dataclasses import replace

import numpy as np
import pytest
from measured_banks import OLD_AH, bare, changed, log_of

from bankSim.measured.compare import compare
from bankSim.measured.compare_found import MEASURED, Settings
from bankSim.measured.compare_moves import Explanation, Move
from bankSim.show.answer import write_answer
from bankSim.show.compare_answer import compare_answer, course_csv
from bankSim.show.compare_figure import compare_figures
from bankSim.show.compare_story import headline, tell_compare
from bankSim.show.compare_words import (
    amount_words,
    change_words,
    explanation_words,
    plausible_words,
    removed_words,
    to_measure,
)
from bankSim.show.printing import story_text
from bankSim.study.blocks import threads
from bankSim.study.unknown import Kind


@pytest.fixture(scope="module")
def cases(tmp_path_factory):
    """No difference, less capacity, and less capacity without currents of the batteries."""
    scenario = bare(tmp_path_factory.mktemp("bank"))
    less = changed(scenario, {OLD_AH: 13.0})
    logs = {
        "same": log_of(scenario),
        "less": log_of(less),
        "blind": log_of(less, batteries=False),
    }
    with threads(2) as workers:
        return {
            name: compare(scenario, log, workers, Settings(draws=20)) for name, log in logs.items()
        }


def move(kind=Kind.CAPACITY, before=1.0, after=0.94, sds=-2.0, unit="", **more):
    given = {"label": 'capacity of "old"', "subject": "old", "key": "battery[1].x", "source": ""}
    return Move(kind=kind, unit=unit, before=before, after=after, sds=sds, **{**given, **more})


def explanation(*moves, removed=0.923):
    return Explanation(moves, removed, 10.0, 14.0, True, np.empty(0))


@pytest.mark.parametrize(
    ("one", "words"),
    [
        (move(), 'the capacity of "old" would have to be 6.0 % smaller'),
        (move(kind=Kind.LOAD, after=1.05), '"old" would have to draw 5.0 % more'),
        (
            move(kind=Kind.LIMITS, before=0.0, after=0.12, unit="V", label='limit of "old"'),
            'the limit of "old" would have to be 0.12 V higher',
        ),
        (
            move(kind=Kind.TEMPERATURE, before=0.0, after=-4.0, unit="K"),
            "the surroundings would have to be 4.0 K colder",
        ),
        (
            move(kind=Kind.CELL_CHARGE, before=0.0, after=-0.03),
            'one cell of "old" would have to start with 3.0 % less charge',
        ),
        (
            move(kind=Kind.KEY, before=14.0, after=13.0, unit="Ah", label='cell.x of "old"'),
            'the cell.x of "old" would have to be 13.0 Ah instead of 14.0',
        ),
        (
            move(kind=None, after=1.03, label="reading of the current meter"),
            "the current meter would have to read 3.0 % too high",
        ),
    ],
)
def test_every_kind_of_value_has_its_words(one, words):
    assert change_words(one) == words
    assert words in explanation_words(explanation(one))
    assert amount_words(one)
    assert to_measure(one)


def test_every_kind_of_unknown_has_a_measurement():
    for kind in Kind:
        told = to_measure(move(kind=kind, key="battery[1].capacity_fraction"))
        assert told
        assert "{" not in told


def test_how_much_is_removed_is_never_rounded_up():
    assert removed_words(explanation(move(), removed=0.9299)) == "92 %"
    assert removed_words(explanation(move(), removed=0.9999)) == "more than 99 %"


@pytest.mark.parametrize(
    ("sds", "words"),
    [
        (0.9, "quite ordinary"),
        (-1.9, "plausible"),
        (2.4, "unusual"),
        (-4.0, "beyond the usual"),
        (6.1, "not plausible"),
        (-40.0, "not plausible"),
    ],
)
def test_how_believable_follows_from_how_far(sds, words):
    assert plausible_words(explanation(move(), replace(move(), sds=sds, after=1.1))) == (
        words if abs(sds) > 2.0 else "plausible"
    )
    assert plausible_words(explanation(replace(move(), sds=sds))) == words


def test_no_difference_is_told_as_none(cases):
    told = " ".join(headline(cases["same"]))
    assert "as predicted" in told
    assert "is consistent" in told
    assert "no more than meters and the model" in told
    titles = [one.title for one in tell_compare(cases["same"]).sections]
    assert "What would explain the difference" not in titles


def test_the_headline_names_what_would_explain_it(cases):
    told = " ".join(headline(cases["less"]))
    assert "(3.0 %) less than the" in told
    assert "earlier" in told
    assert 'The cell.capacity_Ah of "old" would have to be 13.0 Ah instead of 14.0' in told
    assert "removes more than 99 % of the difference" in told
    assert 'charge given of "old"' in told


def test_an_absurd_explanation_is_left_out_of_the_headline(cases):
    found = cases["less"]
    far = explanation(replace(move(), sds=12.0, after=1.36), removed=0.99)
    pair = explanation(move(), replace(move(), kind=None, sds=40.0, after=0.8), removed=0.99)
    for ranked, said in (
        ((far,), "No single value within its plausible range"),
        ((far, *found.explained.ranked), "would have to be 13.0 Ah instead of 14.0"),
    ):
        changed_ = replace(found, explained=replace(found.explained, ranked=ranked, pairs=(pair,)))
        told = " ".join(headline(changed_))
        assert said in told
        assert "12.0 sd" not in told
        assert "40.0 sd" not in told
        assert "36 %" not in told
        text = " ".join(story_text(tell_compare(changed_)).split())
        assert "not plausible" in text
        assert "moved by 6 sd or more explains nothing, unless" in text
        assert "pair" not in text.partition("What would explain")[2].partition("Accuracy")[0]


def test_what_ages_is_told_beyond_its_spread_where_it_does_best_by_far(cases):
    found = cases["less"]
    small = explanation(replace(move(), sds=2.9), removed=0.6)
    for kind, removed, is_told in (
        (Kind.CAPACITY, 0.96, True), (Kind.CAPACITY, 0.65, False), (Kind.LEAD, 0.96, False),
    ):  # fmt: skip
        aged = replace(move(), kind=kind, label='capacity of "old"', sds=-9.6, after=0.71)
        far = explanation(replace(aged, before=1.0), removed=removed)
        explained = replace(found.explained, ranked=(far, small), pairs=())
        told = " ".join(headline(replace(found, explained=explained)))
        assert ("was only taken from a label" in told) == is_told
        assert ("9.6 sd" in told) == is_told
        assert "2.9 sd" in told


@pytest.mark.parametrize(
    ("first_sds", "exact", "either"),
    [(-5.6, True, True), (-5.6, False, True), (-1.5, True, True), (-1.5, False, False)],
)
def test_what_a_log_cannot_part_is_blamed_on_neither(cases, first_sds, exact, either):
    # two capacities remove as much; one is too far by an sd that nobody measured
    found = cases["less"]
    new = replace(move(), subject="new", label='capacity of "new"', sds=first_sds, after=0.83)
    old = replace(move(), sds=-6.7, after=0.8, label='capacity of "old"')
    ranked = (explanation(new, removed=0.974), explanation(old, removed=0.972))
    pair = explanation(new, move(kind=Kind.LOAD, subject="bench", sds=0.3), removed=0.995)
    explained = replace(found.explained, ranked=ranked, pairs=(pair,), alike=(0,))
    unknown = replace(found.exact[0] if found.exact else found.unknowns[0],
                      label='capacity of "old"')  # fmt: skip
    told = replace(found, explained=explained, exact=(unknown,) if exact else ())
    words = " ".join(headline(told))
    assert ('Either the capacity of "new"' in words) == either
    assert ("cannot tell which of them; test both" in words) == either
    assert ('or the capacity of "old" would have to be 20 % smaller' in words) == either
    assert ("Two together do better" in words) != either
    assert ("gives the capacity of" in words) == (exact and either)
    text = " ".join(story_text(tell_compare(told)).split())
    assert ('a capacity test of "old" alone' in text) == either
    assert ("Which measurement would tell them apart" in text) == either


def test_a_twin_that_removes_less_is_no_twin(cases):
    found = cases["less"]
    new = replace(move(), subject="new", label='capacity of "new"', sds=-5.6, after=0.83)
    ranked = (explanation(new, removed=0.97), explanation(replace(move(), sds=-6.7), removed=0.8))
    explained = replace(found.explained, ranked=ranked, pairs=(), alike=(0,))
    assert "Either" not in " ".join(headline(replace(found, explained=explained)))


@pytest.mark.parametrize(
    ("factor", "said"),
    [(3.0, "the test load is 3.0 times the scenario's"), (0.2, "only 1/5.0 of the scenario's"),
     (1.5, ""), (0.7, "")],
)  # fmt: skip
def test_another_load_is_told_first(cases, factor, said):
    found = cases["same"]
    lines = found.lines
    measured = lines.measured.copy()
    measured[1] *= factor
    other = replace(found, lines=replace(lines, measured=measured))
    assert ("Beware: the test load" in headline(other)[0]) == bool(said)
    assert said in headline(other)[0]
    assert "two different tests" not in headline(replace(other, load=MEASURED))[0]


def test_equal_explanations_come_with_what_tells_them_apart(cases):
    found = cases["blind"]
    assert len(found.explained.alike) > 1
    assert any("cannot tell this from" in line for line in headline(found))
    apart = next(one for one in tell_compare(found).sections if "tell them apart" in one.title)
    assert any('a capacity test of "old" alone' in line for line in apart.lines)


@pytest.mark.parametrize("name", ["same", "less", "blind"])
def test_stories_carry_cautions_assumptions_and_how_the_log_was_read(cases, name):
    text = story_text(tell_compare(cases[name]))
    assert "A prediction is not a permission" in text
    assert "deep discharges age batteries" in text
    assert "How test.csv was read" in text
    assert "What was drawn" in text
    assert "nan" not in text.replace("cannot", "")
    assert "e-0" not in text.partition("How it was solved")[0]


def test_the_table_of_courses_holds_both_curves(cases):
    found = cases["less"]
    rows = list(csv.DictReader(io.StringIO(course_csv(found))))
    assert len(rows) == found.lines.time_h.size
    assert {"bank.voltage_V predicted", "old.current_A measured"} <= set(rows[0])
    here = np.array([float(row["bank.voltage_V measured"] or "nan") for row in rows])
    assert here == pytest.approx(found.lines.measured[0], rel=1e-5, nan_ok=True)


def test_everything_is_written(cases, tmp_path):
    files = write_answer(compare_answer(cases["less"]), tmp_path / "out", plots=True)
    names = {file.name for file in files}
    assert {"story.txt", "summary.json", "course.csv", "overlay.png", "explanations.png"} == names
    summary = json.loads((tmp_path / "out" / "summary.json").read_text())
    assert summary["question"] == "compare"
    assert summary["explained"]["ranked"][0]["moves"][0]["subject"] == "old"
    assert all(one["source"] for one in summary["drawn"] + summary["given_as_exact"])
    assert summary["numbers"][0]["key"] == "bank.delivered_Ah"


def test_figures_show_what_there_is(cases):
    both = compare_figures(cases["less"])
    titles = [axes.get_title(loc="left") for axes in both["overlay"].axes]
    assert titles[2:] == ["old", "new"]
    assert "Measured less predicted" in titles[1]
    names = [tick.get_text() for tick in both["explanations"].axes[0].get_yticklabels()]
    assert "capacity_Ah" in names[0]
    assert [axes.get_title(loc="left") for axes in compare_figures(cases["blind"])["overlay"].axes][
        2:
    ] == ["Bank"]
    assert set(compare_figures(cases["same"])) == {"overlay"}
