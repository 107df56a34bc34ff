from dataclasses import replace

import numpy as np
import pytest
from capacity_logs import make_log
from pytest import approx

from bankSim.errors import ParameterError
from bankSim.measured.count import Instrument, count
from bankSim.measured.discharge import find_discharges
from bankSim.measured.log import Gap, Log
from bankSim.measured.uncertainty import Shape

PERFECT = Instrument(0.0, 0.0, 0.0, 0.0)


def counted(log, instrument=PERFECT, end_V=None):
    (one,) = find_discharges(log, end_V)
    return count(log, one, instrument, end_V)


def line(budget, name):
    return next(one for one in budget.contributions if one.name == name)


def test_constant_current_in_closed_form():
    # 20 A, 5 h: 100 Ah; on for 5 h
    did = counted(make_log(hours=5.0))
    assert did.Ah.value == approx(100.0, rel=1e-12)
    assert did.hours_on == approx(5.0)
    assert did.mean_A == approx(20.0)
    assert did.Wh.value == approx(did.mean_V * 100.0)


def test_a_draw_in_a_pause_does_not_raise_the_mean_while_on():
    # 20 A for 5 h, and 0.9 A (below 5 % of the load) for the 10 h of a pause: 109 Ah, but 20 A
    did = counted(make_log(hours=5.0, pauses=[(2.0, 36_000.0, 0.9)]))
    assert did.Ah.value == approx(109.0)
    assert did.mean_A == approx(20.0)


def test_energy_of_a_falling_voltage():
    # 10 A for 1 h, voltage from 13 V to 12 V in a straight line: 10 Ah, 125 Wh
    time = np.linspace(0.0, 3600.0, 361)
    log = Log("x", time, 13.0 - time / 3600.0, np.full(361, 10.0))
    did = counted(log)
    assert did.Ah.value == approx(10.0)
    assert did.Wh.value == approx(125.0)


def test_charge_taken_in_meanwhile_is_subtracted():
    did = counted(make_log(hours=5.0, pauses=[(2.5, 120.0, -5.0)]))
    # 12 samples of 10 s at -5 A; the trapezoids to 20 A on both sides count like the samples
    assert did.Ah.value == approx(100.0 - 5.0 * 120.0 / 3600.0)


def test_gain_and_offset_contribute_ah_and_hours():
    did = counted(make_log(hours=5.0), Instrument(1.0, 0.1, 2.0, 0.5))
    root = np.sqrt(3.0)
    hours = 5.0 + 10.0 / 3600.0  # edges included
    assert line(did.Ah, "shunt gain").share == approx(1.0 / root)
    assert line(did.Ah, "shunt offset").share == approx(0.1 * hours / root)
    assert line(did.Wh, "voltage gain").share == approx(0.02 * did.Wh.value / root)
    assert line(did.Wh, "voltage offset").share == approx(0.5 * 100.0 / root)


def test_a_meter_with_a_known_error_stays_inside_its_limits():
    # reading = (true - offset) / (1 + gain): the true 100 Ah lie within the linear limits
    true = make_log(hours=5.0)
    for gain, offset in ((0.01, 0.1), (-0.01, -0.1), (0.01, -0.1)):
        on = true.current_A > 0.0
        read = replace(true, current_A=np.where(on, (true.current_A - offset) / (1 + gain), 0.0))
        did = counted(read, Instrument(1.0, 0.1, 0.0, 0.0))
        limits = sum(
            abs(one.sensitivity) * one.width
            for one in did.Ah.contributions
            if one.name.startswith("shunt")
        )
        assert did.Ah.value != approx(100.0, abs=0.3)
        assert abs(did.Ah.value - 100.0) <= limits * 1.001


def test_given_standard_uncertainties():
    did = counted(make_log(), Instrument(0.5, 0.0, 0.0, 0.0, Shape.NORMAL))
    assert line(did.Ah, "shunt gain").share == approx(0.5)
    assert not line(did.Ah, "shunt gain").assumed


def test_what_is_not_given_is_assumed_and_says_so():
    gain = line(counted(make_log(), Instrument()).Ah, "shunt gain")
    assert gain.assumed
    assert gain.source == "typical, our own choice"


def test_a_gap_is_bounded_by_no_current_and_the_largest():
    log = make_log(hours=5.0)
    gone = slice(1000, 1029)  # leaves 300 s between samples
    keep = np.delete(np.arange(log.count), np.arange(log.count)[gone])
    thin = Log(
        "x", log.time_s[keep], log.voltage_V[keep], log.current_A[keep],
        gaps=(Gap(999, 300.0, 10.0),),
    )  # fmt: skip
    did = counted(thin)
    assert did.bridged_Ah == approx(20.0 * 300.0 / 3600.0)
    assert line(did.Ah, "gaps in the log").width == approx(20.0 * 300.0 / 3600.0)
    assert did.Ah.value == approx(100.0)


def test_edges_and_rounding():
    did = counted(make_log(hours=5.0, step_s=60.0))
    assert line(did.Ah, "moment of start and end").width == approx(2 * 20.0 * 30.0 / 3600.0)


def test_rounding_by_the_last_digit_of_the_readings():
    log = make_log(hours=5.0)
    noise = np.resize([0.0, 0.1, -0.2, 0.3], log.count) * (log.current_A > 0.0)
    did = counted(replace(log, current_A=log.current_A + noise))
    hours = 5.0 + 10.0 / 3600.0
    assert line(did.Ah, "rounding of the current").share == approx(0.05 * hours / np.sqrt(3.0))
    same = line(counted(log).Ah, "rounding of the current")
    assert (same.width, same.assumed) == (approx(0.02), True)


def test_sparse_samples_of_a_varying_current_are_not_free():
    # a half sine of current, 40 samples: the trapezoid error has a closed form
    time = np.linspace(0.0, 3600.0, 41)
    log = Log("x", time, np.full(41, 13.0), 10.0 + 10.0 * np.sin(np.pi * time / 3600.0))
    true = 10.0 + 20.0 / np.pi
    did = counted(log)
    limit = line(did.Ah, "samples too far apart").width
    assert 0.0 < abs(did.Ah.value - true) < limit


def test_an_end_voltage_brings_in_the_voltmeter():
    # 10 A, 1 mV/s: 1 V is 1000 s, 2.78 Ah; a limit of 0.1 V is 0.278 Ah
    time = 10.0 * np.arange(200)
    log = Log("x", time, 13.0 - 1e-3 * time, np.full(200, 10.0))
    did = counted(log, Instrument(0.0, 0.0, 0.0, 0.1), end_V=11.995)
    assert did.Ah.value == approx(10.0 * 1005.0 / 3600.0)
    assert line(did.Ah, "end voltage, offset").share == approx(0.27778 / np.sqrt(3.0), rel=1e-3)


def test_negative_limits_are_refused():
    with pytest.raises(ParameterError, match="shunt_offset_A"):
        Instrument(shunt_offset_A=-0.1)
