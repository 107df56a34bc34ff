"""What ``banksim study`` refuses: one line, exit code 2, and nothing changed on disk."""

import os

import pytest
from study_bench import SPREAD, everything, study, write_study

from bankSim.cli import study_questions
from bankSim.cli.main import main
from bankSim.errors import ScenarioError
from bankSim.scenario.variant import Variants
from bankSim.study import cluster, sweep, versus

KEY = "battery[small].lead_mohm=1:9:3"
FEW = ["--draws", "8"]


@pytest.fixture
def idle(monkeypatch):
    """No draw may begin: what is wrong is told before any work."""

    def never(*args, **kwargs):
        raise AssertionError("the study began")

    for room in (study_questions, sweep, versus):
        monkeypatch.setattr(room, "make_plan", never)


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["bench.toml", "fly"], "expected one of: spread, sweep, matters, versus, sums"),
        (["bench.toml", KEY], "expected one of: spread, sweep, matters, versus, sums"),
        (["bench.toml", "spread", "more"], "study spread more; expected nothing after it"),
        (["bench.toml", "matters", "more"], "study matters more; expected nothing after it"),
        (["bench.toml", "sums", "more"], "study sums more; expected nothing after it"),
        (["bench.toml", "sweep"], "expected KEY=FROM:TO:COUNT"),
        (["bench.toml", "sweep", KEY, KEY, KEY], "once or twice"),
        (["bench.toml", "sweep", "battery[small].lead_mohm"], "expected KEY=FROM:TO:COUNT"),
        (["bench.toml", "sweep", "battery[tiny].lead_mohm=1:2:3"], "or a name in battery[...]"),
        (["bench.toml", "versus"], "expected one other scenario file after it"),
        (["bench.toml", "versus", "a.toml", "b.toml"], "expected one other scenario file"),
        (["bench.toml", "versus", "none.toml"], "none.toml: no such file"),
        (["none.toml"], "none.toml: no such file"),
        (["."], "."),
        (["bench.toml", "--out", ""], "--out = ''; expected the name of a folder"),
        (["bench.toml", "--out", "bench.toml"], "bench.toml: is a file; expected a folder"),
        (["bench.toml", "--out", "bench.toml/deep"], "bench.toml: is a file; expected a folder"),
        (["bench.toml", "--json", ""], "--json = ''; expected a file name or -"),
        (["bench.toml", "--json", "deep"], "deep: is a folder; expected a file name"),
        (["bench.toml", "--json", "none/x.json"], "none/x.json: no such folder"),
        (["bench.toml", "--json", "bench.toml"], "bench.toml: this run is read from it"),
        (["bench.toml", "--json", "curve.csv"], "curve.csv: this run is read from it"),
        (["bench.toml", "--json", "notes.txt"], "notes.txt: exists and is no .json file"),
        (
            ["bench.toml", "versus", "other.toml", "--json", "other.toml"],
            "other.toml: this run is read from it",
        ),
    ],
)
def test_wrong_words_before_any_work(workbench, capsys, idle, words, said):
    (workbench / "deep").mkdir()
    (workbench / "notes.txt").write_text("mine")
    before = everything(workbench)
    assert study(*words) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert said in err
    assert len(err.splitlines()) == 1
    assert everything(workbench) == before


@pytest.mark.parametrize(
    "words",
    [
        ["--draws", "0"],
        ["--draws", "-3"],
        ["--draws", "many"],
        ["--seed", "-1"],
        ["--draw", "-1"],
        ["--draw", "99999999999999999999"],
        ["--seed", "9223372036854775808"],
        ["--threads", "0"],
        ["--precision-Ah-percent", "-1"],
        ["--precision-cases", "nan"],
    ],
)
def test_options_out_of_range_are_named(workbench, capsys, idle, words):
    before = everything(workbench)
    assert study("bench.toml", *words) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert f"{words[0]} = {words[1]!r}; expected " in err
    assert "Traceback" not in err
    assert everything(workbench) == before


def test_an_answer_that_there_is_not(workbench, capsys):
    assert study("bench.toml", "matters", "--of", "first:tiny") == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert err == (
        "--of 'first:tiny'; expected one of: bank, runtime, Ah:small, first:small, Ah:large, "
        "first:large\n"
    )


def test_too_few_draws_for_an_answer_are_told_by_their_option(workbench, capsys):
    assert study("bench.toml", "matters", "--draws", "4") == 2
    assert capsys.readouterr().err == "--draws = 4; expected 8 or more for matters\n"


@pytest.mark.parametrize(
    ("words", "option"),
    [
        (["sums"], "--of runtime"),
        (["sums"], "--precision-cases 1"),
        (["sums"], "--fresh"),
        (["sweep", "battery[1].lead_mohm=1,2"], "--precision-Ah-percent 1"),
        (["matters"], "--even"),
        (["spread"], "--of runtime"),
    ],
)
def test_an_option_that_has_no_effect_on_a_question_is_refused(workbench, capsys, words, option):
    assert study("bench.toml", *words, *FEW, *option.split()) == 2
    told = f"study {words[0]}: {option.split()[0]} has no effect; expected one of --cluster, "
    assert capsys.readouterr().err.startswith(told)


def test_faults_of_either_file_are_told_all_at_once(workbench, capsys):
    broken = SPREAD.replace("power_W", "powr_W").replace("Ah = 20.0", "Ah = -20.0")
    write_study(workbench, broken, "broken.toml")
    for words in (["broken.toml"], ["bench.toml", "versus", "broken.toml"]):
        assert study(*words) == 2
        out, err = capsys.readouterr()
        assert out == ""
        assert "powr_W" in err
        assert "rated_capacity_Ah" in err
        assert "Traceback" not in err
        assert not list(workbench.rglob("story.txt"))


def test_a_folder_without_permission(workbench, capsys, idle, monkeypatch):
    # root may write anywhere
    monkeypatch.setattr(os, "access", lambda place, mode, **more: not mode & os.W_OK)
    assert study("bench.toml", "--out", "o") == 2
    out, err = capsys.readouterr()
    assert (out, len(err.splitlines())) == ("", 1)
    assert "no permission to write here" in err


def test_a_folder_of_draws_that_cannot_be_written(workbench, capsys, monkeypatch):
    import pyarrow.parquet as pq

    def denied(table, place):
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(pq, "write_table", denied)
    assert study("bench.toml", *FEW, "--out", "o") == 2
    out, err = capsys.readouterr()
    assert (out, len(err.splitlines())) == ("", 1)
    assert "block-000000.parquet: cannot be written (Permission denied)" in err
    assert not (workbench / "o" / "story.txt").exists()


def test_a_file_in_the_place_of_the_draws(workbench, capsys):
    (workbench / "o").mkdir()
    (workbench / "o" / "draws").write_text("mine")
    assert study("bench.toml", *FEW, "--out", "o") == 2
    assert len(capsys.readouterr().err.splitlines()) == 1
    assert (workbench / "o" / "draws").read_text() == "mine"


@pytest.mark.parametrize("name", ["story.txt", "summary.json"])
def test_an_input_with_the_name_of_a_result_is_refused(workbench, capsys, idle, name):
    write_study(workbench, SPREAD.replace("curve.csv", name))
    (workbench / name).write_text((workbench / "curve.csv").read_text())
    before = everything(workbench)
    assert study("bench.toml", "--out", ".") == 2
    assert f"{name}: this run is read from it" in capsys.readouterr().err
    assert everything(workbench) == before


@pytest.mark.parametrize(
    ("question", "name"),
    [
        (["spread"], "draws.csv"),
        (["versus", "other.toml"], "draws-one.csv"),
        (["versus", "other.toml"], "draws-other.csv"),
    ],
)
def test_an_input_with_the_name_of_a_table_of_draws_is_left(workbench, question, name):
    precious = (workbench / "curve.csv").read_text()
    (workbench / name).write_text(precious)
    write_study(workbench, SPREAD.replace("curve.csv", name))
    study("bench.toml", *question, *FEW, "--out", ".")
    assert (workbench / name).read_text() == precious


@pytest.mark.parametrize("address", ["tcp://127.0.0.1:9", "nonsense"])
def test_a_cluster_that_is_not_there(workbench, capsys, monkeypatch, address):
    pytest.importorskip("distributed")
    monkeypatch.setattr(cluster, "CONNECT_S", 0.3)
    assert study("bench.toml", *FEW, "--cluster", address) == 2
    out, err = capsys.readouterr()
    assert out == ""
    told = [line for line in err.splitlines() if line.startswith("--cluster")]
    assert told == [
        f"--cluster {address!r}: no scheduler answers there; expected its address, such as "
        "tcp://10.0.0.5:8786"
    ]
    assert not list(workbench.rglob("story.txt"))


def test_no_such_option(workbench, capsys):
    assert main(["study", "bench.toml", "--drawz", "3"]) == 2
    assert "No such option" in capsys.readouterr().err


def test_a_key_without_its_number(workbench, capsys):
    assert study("bench.toml", "sweep", "load.power_W=40:60:3") == 2
    assert len(capsys.readouterr().err.splitlines()) == 1


def test_a_draw_whose_values_make_no_sound_bank_is_one_line(workbench, capsys, monkeypatch):
    # values may each be in their range and still make no sound bank together: as if none did
    def unsound(self, values):
        raise ScenarioError(["bench.toml:9: one", "bench.toml:12: two"])

    duty = "duty = { on_min = { value = 30.0, sd = 3.0 }, off_min = 10.0 }\n"
    write_study(workbench, SPREAD.replace("power_W = 60.0\n", f"power_W = 60.0\n{duty}"))
    real = Variants.with_values
    monkeypatch.setattr(
        Variants, "with_values", lambda self, v: unsound(self, v) if v else real(self, v)
    )
    assert study("bench.toml", *FEW, "--out", "o") == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert err == "draw 0: bench.toml:9: one; bench.toml:12: two; narrow the spread\n"
    assert not (workbench / "o" / "story.txt").exists()
