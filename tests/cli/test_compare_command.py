"""``banksim compare``: the two files, the options, and what is refused."""

import json
from pathlib import Path

import numpy as np
import pytest
from measured_banks import BARE, CURVE, OLD_AH, bare, changed, log_of

from bankSim.cli import compare as command
from bankSim.cli.compare import columns_of, logs_of
from bankSim.cli.main import main
from bankSim.measured.log import LogError

FEW = ["--draws", "20", "--no-plots"]


@pytest.fixture
def desk(tmp_path, monkeypatch):
    """A folder with a scenario, and logs of a bank whose old battery holds 13 Ah, not 14 Ah."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "bench.toml").write_text(BARE)
    (tmp_path / "curve.csv").write_text(CURVE)
    log = log_of(changed(bare(tmp_path), {OLD_AH: 13.0}))
    currents = {"bank": log.current_A, **log.others}
    for name, current in currents.items():
        table = np.column_stack([log.time_s, current, log.voltage_V])
        np.savetxt(
            tmp_path / f"{name.split()[0]}.csv", table, delimiter=",", fmt="%.3f",
            header="time_s,current_A,voltage_V", comments="",
        )  # fmt: skip
    return tmp_path


def ask(*words):
    return main(["compare", "bench.toml", "bank.csv", "--sign", "discharge", *words])


def test_it_tells_and_writes(desk, capsys):
    assert ask("--log", "old=old.csv", "--log", "new=new.csv", *FEW) == 0
    told = " ".join(capsys.readouterr().out.split())
    assert 'of "old" would have to be 13.0 Ah instead of 14.0' in told
    folder = desk / "results" / "compare-bank"
    assert {file.name for file in folder.iterdir()} == {"story.txt", "summary.json", "course.csv"}


def test_json_on_standard_output_is_all_there_is(desk, capsys):
    assert ask("--load", "measured", "--json", "-", *FEW) == 0
    summary = json.loads(capsys.readouterr().out)
    assert summary["load"] == "measured"
    assert summary["numbers"][0]["difference"] == pytest.approx(-1.0, abs=0.05)
    assert not (desk / "results").exists()


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--load", "both"], "--load = 'both'; expected one of: scenario, measured"),
        (["--sign", "up"], "--sign = 'up'"),
        (["--column", "old=x"], "--column = 'old=x'; expected NAME.current=HEADER"),
        (["--column", ".current=x"], "expected NAME.current=HEADER"),
        (["--column", "old.current="], "expected NAME.current=HEADER"),
        (["--log", "old"], "--log = 'old'; expected NAME=FILE"),
        (["--current-error", "0"], "--current-error = 0; expected 0.01 to 20"),
        (["--voltage-error", "nan"], "--voltage-error = nan; expected 0.01 to 20"),
        (["--shift-s", "inf"], "--shift-s = inf; expected a number"),
        (["--column", "older.current=x"], "no battery 'older'; expected one of: old, new"),
        (["--column", "old.current=x"], "no column 'x'"),
        (["--draws", "3"], "20"),
        (["--out", " "], "expected the name of a folder"),
    ],
)
def test_what_is_wrong_is_told_on_one_line(desk, capsys, words, said):
    before = sorted(desk.rglob("*"))
    assert ask(*words, "--no-plots") == 2
    lines = capsys.readouterr().err.strip().splitlines()
    assert len(lines) == 1
    assert said in lines[0]
    assert sorted(desk.rglob("*")) == before


def test_a_missing_scenario_is_told(desk, capsys):
    assert main(["compare", "none.toml", "bank.csv"]) == 2
    assert "none.toml" in capsys.readouterr().err


def test_the_inputs_are_not_replaced(desk, capsys):
    (desk / "course.csv").write_bytes((desk / "bank.csv").read_bytes())
    words = ["compare", "bench.toml", "course.csv", "--out", ".", *FEW]
    assert main(words) == 2
    assert "course.csv" in capsys.readouterr().err


def test_names_with_odd_marks_are_split_at_the_first_equals_sign():
    assert columns_of(["a.b.current=x = y"]) == {"a.b": "x = y"}
    assert logs_of(["a=b=c.csv"]) == {"a": Path("b=c.csv")}
    for split, word in ((columns_of, "a.current=x"), (logs_of, "a=x")):
        with pytest.raises(LogError, match="was given before"):
            split([word, word])


def test_nothing_heavy_is_imported_for_help(capsys):
    assert main(["compare", "--help"]) == 0
    told = capsys.readouterr().out
    assert "--load" in told
    assert not hasattr(command, "compare")
