"""First guesses of a calibration, and what it says of logs that cannot tell the capacity."""

import tomllib

import numpy as np
import pytest
from pytest import approx

from bankSim.measured.battery_file import battery_files
from bankSim.measured.calibrate import Told, calibrate
from bankSim.measured.ends import drawn_Ah
from bankSim.measured.first_guess import first_guess_Ah
from bankSim.measured.label import label_of
from bankSim.measured.log import Log, LogError
from bankSim.model.chemistry import chemistry_of
from bankSim.model.lfp import LFP
from bankSim.show.calibrate_story import tell_calibration

TRUE_AH, OHM = 10.0, 8e-3


def log_of(time_s, current_A, voltage_V=None):
    volts = np.full(len(time_s), 3.3) if voltage_V is None else voltage_V
    return Log("made.csv", np.asarray(time_s, float), volts, np.asarray(current_A, float))


def cell_log(start, until_s, rest_s=600.0):
    """One cell of 10 Ah (typical curve, 8 mohm) that rests, then gives 2 A."""
    time = np.arange(0.0, until_s, 30.0)
    current = np.where(time > rest_s, 2.0, 0.0)
    given = np.concatenate([[0.0], np.cumsum(np.diff(time) * (current[1:] + current[:-1]) / 2)])
    z = start - given / 3600.0 / TRUE_AH
    return log_of(time, current, LFP.ocv_V()(np.maximum(z, 0.0)) - current * OHM)


def test_a_recharge_with_surplus_is_no_capacity():
    time = np.arange(0.0, 12 * 3600.0 + 1.0, 3600.0)
    current = np.where(time < 5.5 * 3600.0, 20.0, -20.0)
    log = log_of(time, current)
    assert drawn_Ah(log) == approx(100.0, abs=1e-9)  # 5 h at 20 A, then a slope that adds nothing
    assert drawn_Ah(log_of(time, -current)) == approx(np.ptp(log.counted_Ah()), rel=0.2)


def test_the_first_guess_counts_from_the_start():
    label = label_of([cell_log(0.6, 11_000.0)], "x", "LFP", 1)
    log = cell_log(0.6, 11_000.0)
    guess = first_guess_Ah([log], [0.6], label, chemistry_of("LFP"))
    assert guess == approx(drawn_Ah(log) / 0.6)


def test_a_log_that_starts_at_sixty_percent_finds_the_capacity():
    log = cell_log(0.6, 600.0 + 0.598 * TRUE_AH / 2.0 * 3600.0)
    found = calibrate([log], label_of([log], "x", "LFP", 1), Told(starts=(0.6,)))
    capacity = found.value("capacity")
    assert abs(capacity.value - TRUE_AH) < 2.0 * capacity.sd
    assert capacity.value == approx(TRUE_AH, rel=0.15)


def test_a_low_rest_at_a_start_called_full_is_told():
    log = cell_log(0.6, 11_000.0)
    found = calibrate([log], label_of([log], "x", "LFP", 1))
    assert any("rests at 3.31" in line and "--start-percent" in line for line in found.warnings)
    full = cell_log(1.0, 17_500.0)
    found = calibrate([full], label_of([full], "x", "LFP", 1))
    assert not any("rests at" in line for line in found.warnings)


def test_a_short_log_leaves_the_capacity_to_the_label():
    log = cell_log(1.0, 1500.0)
    found = calibrate([log], label_of([log], "x", "LFP", 1, 10.0))
    capacity = found.value("capacity")
    assert abs(capacity.value - TRUE_AH) < capacity.sd
    assert capacity.sd > 0.3 * TRUE_AH
    unknown = calibrate([log], label_of([log], "x", "LFP", 1))
    assert any("is not known" in line for line in unknown.warnings)
    assert unknown.value("capacity").sd >= 0.5 * unknown.value("capacity").value
    assert "Ah or more" in tell_calibration(unknown).headline[0]


def test_a_log_that_only_charges_is_refused():
    time = np.arange(0.0, 3600.0, 30.0)
    log = log_of(time, np.full(time.size, -2.0))
    with pytest.raises(LogError, match="it only charges; expected a discharge"):
        calibrate([log], label_of([log], "x", "LFP", 1))


def test_a_log_below_the_usual_cut_out_makes_no_lower_rule():
    log = cell_log(1.0, 600.0 + TRUE_AH / 2.0 * 3600.0)
    deep = np.where(log.time_s > log.time_s[-1] - 60.0, 1.8, log.voltage_V)
    log = log_of(log.time_s, log.current_A, deep)
    found = calibrate([log], label_of([log], "x", "LFP", 1))
    assert found.followed[0].end.voltage_V == approx(1.8)
    rules = tomllib.loads(battery_files(found, "x").text)["battery"][0]["protection"]
    assert rules[0]["trips_below"] >= 2.5  # usual for LFP: common practice, no source
