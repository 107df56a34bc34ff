"""A study goes on where it was stopped, and never with draws of something else."""

import csv
import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest
from study_bench import BLOCK, SPREAD, everything, study, write_study

import bankSim
from bankSim.scenario.read import read_scenario
from bankSim.study.plan import make_plan, march_block
from bankSim.study.store import Folder

KEY = "battery[small].lead_mohm=1:9:3"
FEW = ["--draws", "8", "--out", "o"]
WORDS = {"spread": [], "sweep": [KEY], "matters": [], "versus": ["other.toml"]}
SIDES = {"spread": 1, "versus": 2}


def draws_below(folder):
    """Finished blocks with what is in them and when they were written."""
    return {name: kept for name, kept in everything(folder).items() if name.endswith(".parquet")}


@pytest.mark.parametrize("question", WORDS)
def test_the_same_command_again_marches_nothing(workbench, capsys, marched, question):
    assert study("bench.toml", question, *WORDS[question], *FEW) == 0
    first, once = capsys.readouterr().out, len(marched)
    before = everything(workbench)
    assert once > 0
    assert study("bench.toml", question, *WORDS[question], *FEW) == 0
    assert len(marched) == once
    again = capsys.readouterr()
    assert again.out == first
    assert again.err == f"Going on with the finished draws in {Path('o/draws')}.\n"
    after = everything(workbench)
    assert draws_below(workbench) == {name: before[name] for name in draws_below(workbench)}
    assert {name: kept[0] for name, kept in after.items()} == {
        name: kept[0] for name, kept in before.items()
    }


@pytest.mark.parametrize("question", ["spread", "versus"])
def test_more_draws_go_on_with_those_there(workbench, marched, question):
    assert study("bench.toml", question, *WORDS[question], *FEW) == 0
    assert marched == [0] * SIDES[question]
    more = ["--draws", str(3 * BLOCK), "--out", "o"]
    assert study("bench.toml", question, *WORDS[question], *more) == 0
    assert sorted(marched) == sorted([0, 1, 2] * SIDES[question])


def test_a_sweep_of_more_draws_goes_on_too(workbench, marched):
    assert study("bench.toml", "sweep", KEY, *FEW) == 0
    assert study("bench.toml", "sweep", KEY, "--draws", "16", "--out", "o") == 0


def test_a_block_that_is_missing_is_marched_alone(workbench, marched):
    more = ["--draws", str(3 * BLOCK), "--out", "o"]
    assert study("bench.toml", *more) == 0
    table = (workbench / "o" / "draws.csv").read_bytes()
    (workbench / "o" / "draws" / "block-000001.parquet").unlink()
    assert study("bench.toml", *more) == 0
    assert sorted(marched[3:]) == [1]
    assert (workbench / "o" / "draws.csv").read_bytes() == table


CHANGES = {
    "scenario": lambda folder: write_study(folder, SPREAD.replace("60.0", "61.0")),
    "table": lambda folder: (folder / "curve.csv").write_text(
        "state_of_charge,voltage_V\n0,2.55\n1,3.4\n"
    ),
}


@pytest.mark.parametrize("change", CHANGES)
@pytest.mark.parametrize("question", WORDS)
def test_another_scenario_is_refused_and_changes_nothing(workbench, capsys, question, change):
    assert study("bench.toml", question, *WORDS[question], *FEW) == 0
    CHANGES[change](workbench)
    before = everything(workbench)
    capsys.readouterr()
    assert study("bench.toml", question, *WORDS[question], *FEW) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert len(err.splitlines()) == 1
    assert "holds draws of another scenario; they are not mixed" in err
    assert "--fresh" in err
    assert everything(workbench) == before


@pytest.mark.parametrize(
    ("more", "words"),
    [(["--seed", "2"], "another seed (1, not 2);"), (["--even"], "another kind of draws;")],
)
def test_another_seed_is_refused(workbench, capsys, more, words):
    assert study("bench.toml", *FEW) == 0
    before = everything(workbench)
    assert study("bench.toml", *FEW, *more) == 2
    assert words in capsys.readouterr().err
    assert everything(workbench) == before


def test_another_key_of_a_sweep_is_told_as_such(workbench, capsys):
    assert study("bench.toml", "sweep", KEY, *FEW) == 0
    assert study("bench.toml", "sweep", "load[lamp].power_W=50:60:2", *FEW) == 2
    told = f"another question (sweep {KEY}, not sweep load[lamp].power_W=50:60:2); they are not"
    assert told in capsys.readouterr().err


def test_another_answer_shares_the_folder(workbench, marched):
    assert study("bench.toml", "matters", *FEW) == 0
    once = len(marched)
    assert study("bench.toml", "matters", "--of", "runtime", *FEW) == 0
    assert study("bench.toml", "matters", *FEW) == 0
    assert len(marched) < 3 * once


# --- fresh ----------------------------------------------------------------------------------


@pytest.mark.parametrize("question", WORDS)
def test_fresh_throws_away_what_was_there(workbench, marched, question):
    assert study("bench.toml", question, *WORDS[question], *FEW) == 0
    once = len(marched)
    CHANGES["scenario"](workbench)
    assert study("bench.toml", question, *WORDS[question], *FEW, "--fresh") == 0
    assert len(marched) == 2 * once
    assert study("bench.toml", question, *WORDS[question], *FEW) == 0
    assert len(marched) == 2 * once


def test_fresh_where_nothing_is(workbench):
    assert study("bench.toml", *FEW, "--fresh") == 0


@pytest.mark.parametrize(
    "name", ["notes.txt", "precious.parquet", "deep/measured.parquet", "download.tmp"]
)
def test_fresh_removes_no_file_of_others(workbench, marched, name):
    assert study("bench.toml", *FEW) == 0
    place = workbench / "o" / "draws" / name
    place.parent.mkdir(exist_ok=True)
    place.write_text("mine")
    assert study("bench.toml", *FEW, "--fresh") == 0
    assert marched == [0, 0]
    assert place.read_text() == "mine"


def test_fresh_leaves_blocks_that_are_of_no_study(workbench, capsys):
    place = workbench / "o" / "draws" / "block-000000.parquet"
    place.parent.mkdir(parents=True)
    place.write_text("mine")
    assert study("bench.toml", *FEW, "--fresh") == 2
    assert "no _study.json that says of what" in capsys.readouterr().err
    assert place.read_text() == "mine"


@pytest.mark.parametrize(
    "words",
    [["sweep", "battery[small].leed_mohm=1:9:3"], ["matters", "--of", "first:tiny"]],
)
def test_fresh_with_wrong_words_throws_nothing_away(workbench, words):
    right = {"sweep": ["sweep", KEY], "matters": ["matters"]}[words[0]]
    assert study("bench.toml", *right, *FEW) == 0
    before = draws_below(workbench)
    assert study("bench.toml", *words, *FEW, "--fresh") == 2
    assert draws_below(workbench) == before


def test_fresh_follows_no_link(workbench, capsys):
    (workbench / "elsewhere").mkdir()
    (workbench / "elsewhere" / "block-000000.parquet").write_text("mine")
    (workbench / "o").mkdir()
    (workbench / "o" / "draws").symlink_to(workbench / "elsewhere")
    assert study("bench.toml", *FEW, "--fresh") == 2
    assert len(capsys.readouterr().err.splitlines()) == 1
    assert (workbench / "elsewhere" / "block-000000.parquet").read_text() == "mine"


# --- garbage --------------------------------------------------------------------------------


def test_a_block_that_is_garbage_is_named(workbench, capsys):
    assert study("bench.toml", *FEW) == 0
    (workbench / "o" / "draws" / "block-000000.parquet").write_bytes(b"garbage")
    before = everything(workbench)
    capsys.readouterr()
    assert study("bench.toml", *FEW) == 2
    out, err = capsys.readouterr()
    assert out == ""
    _, told = err.splitlines()  # behind where it goes on
    assert "block-000000.parquet: cannot be read" in told
    assert "remove it and run again" in told
    assert everything(workbench) == before


@pytest.mark.parametrize("name", ["notes.txt", "block-abc.parquet", "x.parquet", "deep/y.parquet"])
def test_other_files_beside_the_blocks_do_no_harm(workbench, marched, name):
    place = workbench / "o" / "draws" / name
    assert study("bench.toml", *FEW) == 0
    place.parent.mkdir(exist_ok=True)
    place.write_bytes(b"mine")
    assert study("bench.toml", *FEW) == 0
    assert marched == [0]
    assert place.read_bytes() == b"mine"


@pytest.mark.parametrize("text", ["", "{", "[]", "null", '{"format": 9}'])
def test_a_manifest_that_is_garbage_is_refused(workbench, capsys, text):
    assert study("bench.toml", *FEW) == 0
    (workbench / "o" / "draws" / "_study.json").write_text(text)
    before = everything(workbench)
    capsys.readouterr()
    assert study("bench.toml", *FEW) == 2
    out, err = capsys.readouterr()
    assert (out, len(err.splitlines())) == ("", 1)
    assert everything(workbench) == before
    assert study("bench.toml", *FEW, "--fresh") == 0


# --- stopped by hand ------------------------------------------------------------------------


@pytest.mark.skipif(os.name == "nt", reason="signals of another kind")
def test_ctrl_c_ends_in_130_and_the_study_goes_on(workbench, monkeypatch):
    # the other process makes blocks of 1000, as this one must then
    monkeypatch.undo()
    monkeypatch.chdir(workbench)
    place = os.pathsep.join(
        [str(Path(bankSim.__file__).parents[1]), os.environ.get("PYTHONPATH", "")]
    )
    never = ["--precision-cases", "0", "--precision-Ah-percent", "0"]  # precise enough
    process = subprocess.Popen(
        [sys.executable, "-m", "bankSim", "study", "bench.toml", *never, "--draws", "10000000",
         "--no-plots", "--threads", "2", "--out", "o"],
        env={**os.environ, "PYTHONPATH": place}, stdout=subprocess.PIPE, stderr=subprocess.PIPE,
        text=True,
    )  # fmt: skip
    folder, end = workbench / "o" / "draws", time.monotonic() + 120.0
    try:
        while len(list(folder.glob("block-*.parquet"))) < 2:
            assert process.poll() is None
            assert time.monotonic() < end
            time.sleep(0.005)
        process.send_signal(signal.SIGINT)
        out, err = process.communicate(timeout=60.0)
    finally:
        process.kill()
        process.wait()
    assert (process.returncode, out) == (130, "")
    assert (
        err
        == f"Stopped. Finished draws are in {Path('o/draws')}: the same command goes on there.\n"
    )
    assert [file.name for file in (workbench / "o").iterdir()] == ["draws"]
    kept = draws_below(workbench)
    assert study("bench.toml", *never, "--draws", "2000", "--out", "o") == 0
    assert {name: draws_below(workbench)[name] for name in kept} == kept
    plan = make_plan(read_scenario(workbench / "bench.toml"))
    gone_on, undisturbed = Folder(folder, plan.description), march_block(plan, 1)
    assert {"draw", "bank.delivered_Ah"} < set(undisturbed)
    for name, column in undisturbed.items():
        assert gone_on.column(name, 2)[1000:].tobytes() == column.tobytes(), name
    rows = list(csv.DictReader((workbench / "o" / "draws.csv").read_text().splitlines()))
    assert [int(row["draw"]) for row in rows] == list(range(2000))
