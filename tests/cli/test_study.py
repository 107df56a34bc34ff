"""Every question of ``banksim study`` from its words to its files."""

import csv
import json
import re

import numpy as np
import pytest
from bench import TWO
from study_bench import EXACT, SPREAD, everything, own_folder, study, write_study

from bankSim.cli.main import main
from bankSim.cli.study_options import QUESTIONS
from bankSim.scenario.read import read_scenario
from bankSim.sim.numbers import number
from bankSim.study.plan import make_plan
from bankSim.study.uniforms import Sampling

KEY = "battery[small].lead_mohm=1:9:3"
WORDS = {
    "spread": [],
    "sweep": [KEY],
    "matters": [],
    "versus": ["other.toml"],
    "sums": [],
}
TABLES = {
    "spread": ["draws.csv", "unknowns.csv"],
    "versus": ["draws-one.csv", "draws-other.csv"],
}
DRAWS = ["--draws", "8"]
INNARDS = re.compile(r"\b(nan|inf|None|Estimate|Traceback)\b|\[\]|\{'")


def rows_of(file):
    with open(file, encoding="utf-8", newline="") as page:
        return list(csv.DictReader(page))


every_question = pytest.mark.parametrize("question", QUESTIONS)


@every_question
def test_a_question_from_words_to_files(workbench, capsys, question):
    assert study("bench.toml", question, *WORDS[question], *DRAWS) == 0
    out, err = capsys.readouterr()
    assert err == ""
    folder = own_folder(workbench, question)
    names = ["story.txt", "summary.json", *TABLES.get(question, [])]
    assert sorted(file.name for file in folder.iterdir() if file.is_file()) == sorted(names)
    assert re.search(rf"Written to results/bench/{folder.name}: {', '.join(names)}(;|$)", out)
    story = (folder / "story.txt").read_text()
    assert out.startswith(story.partition("\n\n")[0])
    assert INNARDS.search(story) is None
    assert INNARDS.search(out) is None
    assert max(len(line) for line in story.splitlines()) <= 100
    assert "A prediction is not a permission." in out
    summary = json.loads((folder / "summary.json").read_text())
    assert summary["question"] == question
    assert summary["files"] == names


@every_question
def test_finished_draws_are_where_they_are_said_to_be(workbench, capsys, question):
    assert study("bench.toml", question, *WORDS[question], *DRAWS) == 0
    found = re.search(r"finished draws in (\S+)", capsys.readouterr().out)
    assert (found is None) is (question == "sums"), "sums keeps none"
    if found is not None:
        assert list((workbench / found[1]).rglob("*.parquet"))


@pytest.mark.parametrize(
    ("words", "name"),
    [
        ([], "spread"),
        (["--seed", "7"], "spread-seed-7"),
        (["--even"], "spread-even"),
        (["matters", "--of", "first:small"], "matters-of-first-small"),
        (["versus", "other.toml"], "versus-other"),
    ],
)
def test_every_question_has_a_folder_of_its_own(workbench, words, name):
    assert study("bench.toml", *words, *DRAWS) == 0
    assert [folder.name for folder in (workbench / "results" / "bench").iterdir()] == [name]


def test_sweeps_of_other_values_have_other_folders(workbench):
    for values in ("1:9:3", "1:9:4"):
        assert study("bench.toml", "sweep", f"battery[small].lead_mohm={values}", *DRAWS) == 0
    names = [folder.name for folder in (workbench / "results" / "bench").iterdir()]
    assert len(names) == 2
    assert all(name.startswith("sweep-lead_mohm-") for name in names)


def test_the_question_of_an_empty_line_is_the_spread(workbench, capsys):
    assert study("bench.toml", *DRAWS) == 0
    assert "what may happen" in capsys.readouterr().out.splitlines()[0]
    assert (workbench / "results" / "bench" / "spread" / "draws.csv").exists()


def test_draws_of_the_table_are_those_of_the_scenario(workbench, capsys):
    # closed form: every draw has the capacities that its number and seed say
    assert study("bench.toml", "--draws", "10", "--seed", "5", "--out", "o") == 0
    plan = make_plan(read_scenario(workbench / "bench.toml"), seed=5)
    rows = rows_of(workbench / "o" / "draws.csv")
    assert [int(row["draw"]) for row in rows] == list(range(10))
    values = plan.values(0, 10)
    held = np.array([float(row["bank.delivered_Ah"]) for row in rows])
    total = values[:, 0] + values[:, 1]
    assert np.corrcoef(held, total)[0, 1] > 0.999
    assert {row["end_reason"] for row in rows} == {"bank empty"}


def test_so_many_draws_at_most(workbench):
    assert study("bench.toml", "--draws", "10", "--out", "o") == 0
    assert len(rows_of(workbench / "o" / "draws.csv")) == 10


@every_question
def test_threads_change_no_byte(workbench, question):
    for count in ("1", "2"):
        words = WORDS[question]
        assert (
            study("bench.toml", question, *words, *DRAWS, "--threads", count, "--out", count) == 0
        )
    names = ["story.txt", "summary.json", *TABLES.get(question, [])]
    for name in names:
        assert (workbench / "1" / name).read_bytes() == (workbench / "2" / name).read_bytes(), name


def test_even_draws_are_others_and_told(workbench, capsys):
    for name, more in (("random", []), ("even", ["--even"])):
        assert study("bench.toml", *DRAWS, "--out", name, *more) == 0
    assert "spread evenly (Sobol points)" in capsys.readouterr().out.partition("Written")[2]
    random, even = ((workbench / name / "draws.csv").read_text() for name in ("random", "even"))
    assert random != even


def test_a_precision_asked_for_is_kept(workbench, capsys):
    assert study("bench.toml", "--precision-Ah-percent", "0.2", "--draws", "20000") == 0
    text = " ".join(capsys.readouterr().out.split())
    draws = int(re.search(r"([\d,]+) draws, seed 1", text)[1].replace(",", ""))
    within = float(re.search(r"known to within ([\d.]+) Ah", text)[1])
    assert 1000 < draws < 20000
    assert within <= 0.002 * 29.1
    assert "not reached" not in text


# --- one draw alone -------------------------------------------------------------------------


@pytest.mark.parametrize("more", [[], ["--even"]], ids=["random", "even"])
def test_a_draw_told_alone_is_the_one_of_the_table(workbench, capsys, more):
    assert study("bench.toml", *DRAWS, "--seed", "3", "--out", "o", *more) == 0
    before = everything(workbench)
    capsys.readouterr()
    row = rows_of(workbench / "o" / "draws.csv")[7]
    assert study("bench.toml", "--draw", "7", "--seed", "3", *more) == 0
    out = capsys.readouterr().out
    assert out.splitlines()[0] == "Two on a bench: draw 7 of seed 3"
    told = " ".join(out.split())
    assert f"The bank delivers {number(float(row['bank.delivered_Ah']))} Ah" in told
    assert f"in {number(float(row['bank.runtime_h']))} h" in told
    small = re.search(r"^small +10 +([\d.]+)", out, re.MULTILINE)[1]
    assert small == f"{float(row['small.delivered_Ah']):.2f}"
    values = dict(re.findall(r"cell\.capacity_Ah of \"(\w+)\" +([\d.]+) Ah", out))
    sampling = Sampling.EVEN if more else Sampling.RANDOM
    plan = make_plan(read_scenario(workbench / "bench.toml"), seed=3, sampling=sampling)
    drawn = dict(zip([one.subject for one in plan.unknowns], plan.values(7, 8)[0], strict=True))
    assert {name: float(values[name]) for name in values} == pytest.approx(
        {name: drawn[name] for name in ("small", "large")}, abs=1e-3
    )
    assert everything(workbench) == before, "nothing is written"


@pytest.mark.parametrize(
    "words",
    [
        pytest.param(["sweep", KEY], id="sweep"),
        pytest.param(["versus", "other.toml"], id="versus"),
        pytest.param(["--json", "-"], id="json"),
        pytest.param(["--out", "o"], id="out"),
    ],
)
def test_a_draw_answers_no_other_question(workbench, words):
    assert study("bench.toml", *words, "--draw", "3") == 2


# --- JSON -----------------------------------------------------------------------------------


@every_question
def test_json_to_standard_output_is_all_there_is(workbench, capsys, question):
    before = everything(workbench)
    assert study("bench.toml", question, *WORDS[question], *DRAWS, "--json", "-") == 0
    out, err = capsys.readouterr()
    assert err == ""
    assert json.loads(out)["question"] == question
    assert everything(workbench) == before


def test_json_with_out_and_to_a_file_is_the_same(workbench, capsys):
    assert study("bench.toml", "sums", *DRAWS, "--json", "-", "--out", "o") == 0
    printed = json.loads(capsys.readouterr().out)
    assert study("bench.toml", "sums", *DRAWS, "--json", "x.json", "--out", "p") == 0
    assert "the sum of its batteries" in capsys.readouterr().out
    to_file = json.loads((workbench / "x.json").read_text())
    beside = json.loads((workbench / "o" / "summary.json").read_text())
    assert beside.pop("files") == ["story.txt", "summary.json"]
    assert printed == to_file == beside


def test_a_json_file_is_named(workbench, capsys):
    assert study("bench.toml", "sums", *DRAWS, "--json", "x.json") == 0
    assert "x.json" in capsys.readouterr().out


# --- nothing is drawn -----------------------------------------------------------------------


@pytest.mark.parametrize("question", ["spread", "sweep", "versus", "sums"])
def test_a_scenario_whose_values_are_all_exact(workbench, capsys, question):
    write_study(workbench, EXACT)
    write_study(workbench, EXACT.replace("current_A = 5.0", "current_A = 4.0"), "other.toml")
    assert study("bench.toml", question, *WORDS[question], *DRAWS) == 0
    text = capsys.readouterr().out
    assert INNARDS.search(text) is None
    assert " Ah" in text


def test_nothing_matters_where_nothing_is_open(workbench, capsys):
    write_study(workbench, EXACT)
    assert study("bench.toml", "matters") == 2
    out, err = capsys.readouterr()
    assert (out, len(err.splitlines())) == ("", 1)
    assert "nothing is unknown; expected a key that is given with a spread" in err


# --- names ----------------------------------------------------------------------------------


@every_question
def test_names_of_any_kind_come_through(workbench, capsys, question):
    name = '=H\u00fctte, $x$ [red] \\"q\\"'
    write_study(workbench, SPREAD.replace('"small"', f'"{name}"'))
    words = [word.replace("small", "1") for word in WORDS[question]]
    assert study("bench.toml", question, *words, *DRAWS, "--out", "o") == 0
    told = '=H\u00fctte, $x$ [red] "q"'
    assert told in capsys.readouterr().out
    assert told in (workbench / "o" / "story.txt").read_text(encoding="utf-8")
    for table in TABLES.get(question, [])[:1]:
        assert any(told in heading for heading in rows_of(workbench / "o" / table)[0])


# --- help and figures -----------------------------------------------------------------------


def test_help_names_every_question(capsys):
    assert main(["study", "--help"]) == 0
    out = " ".join(capsys.readouterr().out.split())
    assert all(f"{question}" in out for question in QUESTIONS)
    for option in ("--draws", "--seed", "--even", "--of", "--draw ", "--fresh", "--cluster"):
        assert option in out


def test_figures_are_written_and_named(workbench, capsys):
    pytest.importorskip("bankSim.show.study_figures")
    for question in QUESTIONS:
        assert main(["study", "bench.toml", question, *WORDS[question], *DRAWS]) == 0
        folder = own_folder(workbench, question)
        names = json.loads((folder / "summary.json").read_text())["files"]
        drawn = sorted(name for name in names if name.endswith(".png"))
        assert drawn, question
        assert drawn == sorted(file.name for file in folder.glob("*.png"))
        assert all((folder / name).read_bytes().startswith(b"\x89PNG") for name in drawn)


def test_a_reader_who_leaves_early_still_gets_the_files(workbench, monkeypatch):
    def gone(story):
        raise BrokenPipeError

    monkeypatch.setattr("bankSim.cli.study.print_story", gone)
    monkeypatch.setattr("bankSim.cli.guard._drop", lambda stream: None)
    assert study("bench.toml", "sums", *DRAWS, "--out", "o") == 0
    assert (workbench / "o" / "summary.json").exists()


def test_a_single_battery(workbench, capsys):
    alone = SPREAD[: SPREAD.index('[[battery]]\nname = "large"')]
    write_study(workbench, alone + SPREAD[SPREAD.index("[[load]]") :])
    for question in ("spread", "sweep", "matters", "sums"):
        assert study("bench.toml", question, *WORDS[question], *DRAWS) == 0
        assert INNARDS.search(capsys.readouterr().out) is None


def test_two_scenarios_from_two_folders_read_their_own_tables(workbench, capsys):
    (workbench / "deep").mkdir()
    write_study(workbench / "deep", TWO)
    (workbench / "deep" / "curve.csv").write_text("state_of_charge,voltage_V\n0,2.59\n1,3.4\n")
    assert study("bench.toml", "versus", "deep/bench.toml", *DRAWS, "--out", "o") == 0
    assert "(deep/bench.toml)" in capsys.readouterr().out


def test_without_a_load_matters_asks_for_the_charge_taken_in(workbench, capsys):
    charger = "[[charger]]\nlimit_A = 3.0\nstages = [{ hold_V = 13.0 }]\n"
    text = SPREAD.partition("[[load]]")[0] + charger
    text += "[simulation]\nduration_h = 2.0\noutput_every_s = 3600.0\n"
    write_study(workbench, text.replace("[[battery]]", "[[battery]]\nstate_of_charge = 0.2"))
    assert study("bench.toml", "matters", "--draws", "8") == 0
    assert "the bank takes in" in " ".join(capsys.readouterr().out.split())
    assert study("bench.toml", "matters", "--of", "runtime") == 2
    assert "expected one of: bank, charged, Ah:small" in capsys.readouterr().err
