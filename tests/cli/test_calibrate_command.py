"""``banksim calibrate``: what is written, told and refused."""

import json
import re

import numpy as np
import pytest

from bankSim.cli.main import main
from bankSim.measured.calibrate import calibrate
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


def test_an_edited_battery_is_refused_before_any_work(log, capsys, monkeypatch):
    words = ["calibrate", str(log), "--battery", "cell.toml", "--no-plots"]
    assert main(words) == 0
    mine = log.parent / "cell.toml"
    text = mine.read_text().replace("lead_mohm = 0.0", "lead_mohm = 3.5")
    mine.write_text(text)
    capsys.readouterr()
    with monkeypatch.context() as changed:
        changed.setattr("bankSim.measured.calibrate.calibrate", None)  # not even called
        assert main(words) == 2
    error = capsys.readouterr().err
    assert error.startswith("cell.toml: is not as `banksim calibrate` wrote it")
    assert error.count("\n") == 1
    assert mine.read_text() == text
    assert main([*words, "--overwrite"]) == 0
    assert "lead_mohm = 0.0" in mine.read_text()


def test_edits_made_while_it_works_are_not_lost(log, capsys, monkeypatch):
    words = ["calibrate", str(log), "--battery", "cell.toml", "--no-plots"]
    assert main(words) == 0
    mine = log.parent / "cell.toml"

    def slow(*words):
        mine.write_text("# mine\n" + mine.read_text())
        return calibrate(*words)

    monkeypatch.setattr("bankSim.measured.calibrate.calibrate", slow)
    assert main(words) == 2
    assert mine.read_text().startswith("# mine\n")


def test_cells_that_contradict_the_battery_are_refused(log, capsys):
    rows = [line.split(",") for line in log.read_text().splitlines()[1:]]
    cells = "\n".join(f"{t},{a},{2 * float(v):.4f},{v},{v},{v},{v}" for t, a, v in rows)
    log.write_text(f"time_s,current_A,voltage_V,cell1_V,cell2_V,cell3_V,cell4_V\n{cells}\n")
    assert main(["calibrate", str(log), "--battery", "cell.toml", "--chemistry", "LFP"]) == 2
    assert "its 4 cells add up to 13" in capsys.readouterr().err
    assert not (log.parent / "cell.toml").exists()


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
        (
            ["--start-percent", "120"],
            "--start-percent = '120'; expected one value above 0 and up to 100",
        ),
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
