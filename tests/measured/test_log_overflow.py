"""Marks that meters write for "no reading" do not reach the Wh."""

import numpy as np
import pytest
from pytest import approx

from bankSim.measured.log import Asked, LogError
from bankSim.measured.plausible import without_overflows
from bankSim.measured.read import read_log


def test_a_mark_becomes_a_straight_line_and_is_told(tmp_path):
    time = np.arange(0.0, 6000.0, 60.0)
    volts = 13.0 - time / 6000.0
    shown = volts.copy()
    shown[40] = 99_999.0
    file = tmp_path / "log.csv"
    rows = "\n".join(f"{t:.0f},{v:.4f},-10" for t, v in zip(time, shown, strict=True))
    file.write_text("time_s,voltage_V,current_A\n" + rows + "\n")
    log = read_log(file)
    assert log.voltage_V == approx(volts, abs=1e-3)
    # closed form: 10 A times the mean voltage over the time
    assert log.counted_Wh()[-1] == approx(10.0 * volts.mean() * time[-1] / 3600.0, rel=1e-4)
    assert any("Row 42" in one.text and "no reading" in one.text for one in log.findings)


@pytest.mark.parametrize("volts", [np.full(100, 13.0), np.zeros(100), np.tile([1.0, 90.0], 50)])
def test_nothing_else_is_touched(volts):
    found, told = without_overflows(volts, np.arange(100.0), np.arange(100))
    assert found is volts
    assert told == []


def test_a_column_asked_for_twice_is_refused(tmp_path):
    file = tmp_path / "log.csv"
    file.write_text("time_s,voltage_V,current_A\n0,13,-1\n60,12.9,-1\n120,12.8,-1\n")
    with pytest.raises(LogError, match='column "voltage_V" is asked for twice'):
        read_log(file, Asked(voltage="2", current="voltage_V"))
