"""Logs whose numbers only another unit or another label explains are refused, not judged."""

import numpy as np
import pytest

from bankSim.cli.main import main


@pytest.fixture
def log_of(tmp_path, monkeypatch):
    """Write a discharge with currents times a factor."""
    monkeypatch.chdir(tmp_path)

    def write(factor):
        time = np.arange(0.0, 18_000.0, 60.0)
        volts = 13.3 - time / 18_000.0 - np.where(time > 17_000.0, (time - 17_000.0) / 400.0, 0.0)
        rows = [f"{t:.0f},{v:.3f},{-20.0 * factor:.5f}" for t, v in zip(time, volts, strict=True)]
        file = tmp_path / "log.csv"
        file.write_text("time_s,voltage_V,current_A\n" + "\n".join(rows) + "\n")
        return str(file)

    return write


@pytest.mark.parametrize("factor", [0.002, 200.0])
def test_no_verdict_on_amperes_of_another_unit(log_of, factor, capsys):
    assert main(["test", log_of(factor), "--rated-Ah", "100"]) == 2
    told = capsys.readouterr().err
    assert "against a label of 100 Ah; expected units in its headers" in told
    assert told.count("\n") == 1


def test_a_gauge_is_not_judged_far_below_empty(log_of, capsys):
    words = ["--chemistry", "LFP", "--cells-in-series", "4", "--rated-Ah", "10"]
    assert main(["gauge", log_of(1.0), *words]) == 2
    assert "more than 100 % = 10.0 Ah can hold" in capsys.readouterr().err


def test_a_stop_by_hand_at_once_is_told_without_a_traceback(log_of, capsys, monkeypatch):
    def stopped(*_):
        raise KeyboardInterrupt

    monkeypatch.setattr("bankSim.measured.read.read_log", stopped)
    assert main(["log", log_of(1.0)]) == 130
    assert "Stopped." in capsys.readouterr().err
