"""``banksim calibrate``: what is written, told and refused."""

import json
import re

import numpy as np
import pytest

from bankSim.cli.main import main
from bankSim.model.lfp import LFP


@pytest.fixture
def log(tmp_path, monkeypatch):
    """A plain discharge of one 10 Ah cell to 2.5 V: typical curve, 8 mohm."""
    monkeypatch.chdir(tmp_path)
    time = np.arange(0.0, 18_000.0, 30.0)
    z = 1.0 - 2.0 * time / 36_000.0
    volts = LFP.ocv_V()(z) - 2.0 * 8e-3
    rows = zip(time, np.full(time.size, -2.0), volts, strict=True)
    text = "\n".join(f"{a:.0f},{b:.3f},{c:.4f}" for a, b, c in rows)
    file = tmp_path / "test.csv"
    file.write_text(f"time_s,current_A,voltage_V\n{text}\n")
    return file


def test_it_tells_and_writes_a_battery_that_runs(log, capsys):
    assert main(["calibrate", str(log), "--battery", "cell.toml", "--rated-Ah", "10",
                 "--chemistry", "LFP", "--no-plots"]) == 0  # fmt: skip
    told = capsys.readouterr().out
    assert "What these logs cannot tell" in told
    assert "does not separate resistance" in told
    assert re.search(r"^ *test +[0-9.]+ +2", told, re.MULTILINE)
    assert main(["run", "cell.toml", "--json", "-"]) == 0
    summary = json.loads(capsys.readouterr().out)
    assert abs(summary["bank"]["delivered_Ah"] - 10.0) < 0.2


def test_json_alone_writes_no_folder_but_the_battery(log, capsys):
    assert main(["calibrate", str(log), "--battery", "cell.toml", "--json", "-"]) == 0
    summary = json.loads(capsys.readouterr().out)
    assert summary["values"][0]["name"] == "capacity"
    assert summary["assumed"]
    assert not (log.parent / "results").exists()


def test_again_it_replaces_its_own_file(log, capsys):
    words = ["calibrate", str(log), "--battery", "cell.toml", "--no-plots"]
    assert main(words) == 0
    assert main(words) == 0


def test_a_scenario_that_stands_there_gives_the_label_and_stays(log, capsys):
    mine = log.parent / "mine.toml"
    text = (
        '[[battery]]\nname = "bow"\nchemistry = "LFP"\ncells_in_series = 1\n'
        "rated_capacity_Ah = 10.0\n[[load]]\ncurrent_A = 1.0\n"
    )
    mine.write_text(text)
    assert (
        main(["calibrate", str(log), "--battery", str(mine), "--out", "found", "--no-plots"]) == 0
    )
    assert mine.read_text() == text
    assert '"bow" holds' in capsys.readouterr().out
    assert (log.parent / "found" / "battery.toml").exists()
    assert (log.parent / "found" / "battery-curve.csv").exists()


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["--start-percent", "120"], "--start-percent = '120'; expected one value from 0 to 100"),
        (["--start-percent", "a"], "--start-percent = 'a'; expected"),
        (["--start-percent", "100,90"], "--start-percent = '100,90'; expected"),
        (["--hold-out-percent", "80"], "--hold-out-percent = 80; expected 0 to 50"),
        (["--chemistry", "NiCd"], "--chemistry = 'NiCd'; expected one of: LFP"),
        (["--temperature-C", "400"], "--temperature-C = 400; expected -40 to 70"),
        (["--sign", "up"], "--sign = 'up'; expected one of"),
        (["--battery", "no/where.toml"], "no such folder"),
        (["--battery", "test.csv"], "test.csv"),
    ],
)
def test_wrong_words_are_refused_on_one_line(log, capsys, words, told):
    before = sorted(one.name for one in log.parent.iterdir())
    assert main(["calibrate", str(log), *words]) == 2
    error = capsys.readouterr().err
    assert told in error
    assert error.count("\n") == 1
    assert sorted(one.name for one in log.parent.iterdir()) == before
