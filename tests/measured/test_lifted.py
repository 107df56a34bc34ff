"""A discharge that stands too high: both sides of every limit, on logs of a few samples."""

import math

import numpy as np
import pytest
from pytest import approx

from bankSim.measured.discharge import Discharge, Ending
from bankSim.measured.lifted import find_lifted, lifted_finding, lifted_lead
from bankSim.measured.log import WARNING, Log
from bankSim.model.chemistry import AGM
from bankSim.model.lfp import LFP

REST, LOAD, HIGH = 5, 30, 6
BEGIN, FIRST = REST, REST + LOAD


def course(high_V=12.8, *, samples=HIGH, rest=REST, load=LOAD, high_A=5.0, more=10):
    """Rest at 12.5 V, 5 A at 12 V, some samples at another voltage, 5 A at 12 V; one a minute."""
    volts = np.repeat([12.5, 12.0, high_V, 12.0], [rest, load, samples, more])
    amps = np.repeat([0.0, 5.0, high_A, 5.0], [rest, load, samples, more])
    return 60.0 * np.arange(volts.size), volts, amps


@pytest.mark.parametrize(("high_V", "told"), [(12.68, False), (12.70, True)])
def test_lifted_is_three_two_hundredths_above_all_before(high_V, told):
    # 1.015 x 12.5 V are 12.69 V
    found = find_lifted(*course(high_V))
    assert (found is not None) is told
    if told:
        assert (found.first, found.last) == (FIRST, FIRST + HIGH - 1)
        assert (found.highest_V, found.before_V) == (12.70, 12.5)
        assert found.charge_Ah == approx(5.0 * HIGH / 60.0)


def test_all_such_stretches_count():
    _, volts, amps = course(samples=4)
    twice = [np.concatenate([one, one[REST:]]) for one in (volts, amps)]
    found = find_lifted(60.0 * np.arange(twice[0].size), *twice)
    assert (found.first, found.charge_Ah) == (FIRST, approx(2.0 * 5.0 * 4.0 / 60.0))
    told = lifted_finding(found, np.arange(2, 200))
    assert told.rows == (FIRST + 2, FIRST + 5)
    assert (told.severity, told.spoils) == (WARNING, True)
    assert f"in rows {FIRST + 2} to {FIRST + 5} the voltage stands at up to 12.80 V" in told.text
    assert "0.667 Ah were counted as discharge" in told.text


@pytest.mark.parametrize(("at", "told"), [(BEGIN + 4, False), (BEGIN + 5, True)])
def test_five_samples_under_load_count_as_before(at, told):
    # one of them reads 13 V: then 13.1 V are not lifted
    time, volts, amps = course(13.1)
    volts[at] = 13.0
    assert (find_lifted(time, volts, amps) is not None) is told


@pytest.mark.parametrize(("samples", "told"), [(3, False), (4, True)])
def test_a_stretch_has_four_samples(samples, told):
    assert (find_lifted(*course(samples=samples)) is not None) is told


@pytest.mark.parametrize(("load", "told"), [(700, True), (900, False)])
def test_a_stretch_has_a_two_hundredth_of_the_charge(load, told):
    # 4 samples of 714 and of 914
    assert (find_lifted(*course(samples=4, load=load)) is not None) is told


@pytest.mark.parametrize(("surge_A", "told"), [(95.0, True), (105.0, False)])
def test_a_twentieth_of_the_largest_current_flows(surge_A, told):
    time, volts, amps = course()
    amps[-1] = surge_A
    assert (find_lifted(time, volts, amps) is not None) is told


def test_a_current_of_both_signs_tells_itself():
    time, volts, amps = course()
    amps[-1] = -5.0
    assert find_lifted(time, volts, amps) is None
    assert find_lifted(time, volts, np.zeros(amps.size)) is None


@pytest.mark.parametrize(("from_V", "told"), [(12.60, False), (12.55, True)])
def test_a_leap_is_a_hundredth(from_V, told):
    # to 12.7 V from 12.6 and 12.55 V, where it stood for five samples
    time, volts, amps = course(12.7)
    volts[FIRST - 5 : FIRST] = from_V
    assert (find_lifted(time, volts, amps) is not None) is told


@pytest.mark.parametrize(("later", "told"), [(2, True), (3, False)])
def test_a_leap_may_come_a_little_later(later, told):
    # 12.6, then 12.7 V; 12.9 V from its third or fourth sample on: rises, but not to 12.875 V
    # without that leap
    time, volts, amps = course(12.7)
    volts[FIRST - 5 : FIRST] = 12.6
    volts[FIRST + later : FIRST + HIGH] = 12.85
    assert (find_lifted(time, volts, amps) is not None) is told


@pytest.mark.parametrize(("high_A", "told"), [(4.6, True), (4.4, False)])
def test_less_current_lets_the_voltage_leap(high_A, told):
    # nine tenths of 5 A
    assert (find_lifted(*course(high_A=high_A)) is not None) is told


@pytest.mark.parametrize(("back", "told"), [(6, False), (7, True)])
def test_a_meter_may_show_the_voltage_six_samples_late(back, told):
    time, volts, amps = course()
    amps[FIRST - back] = 10.0
    assert (find_lifted(time, volts, amps) is not None) is told


@pytest.mark.parametrize(("step_s", "told"), [(170.0, True), (190.0, False)])
def test_across_a_gap_the_voltage_may_leap(step_s, told):
    time, volts, amps = course()
    time[FIRST:] += step_s - 60.0
    assert (find_lifted(time, volts, amps) is not None) is told


@pytest.mark.parametrize(
    ("rise_V", "rest", "told"), [(0.05, REST, False), (0.08, REST, True), (0.08, 0, False)]
)
def test_under_load_no_voltage_rises_far_above_its_rest(rise_V, rest, told):
    # behind a gap, so that no leap is seen: 13 V, and 0.5 % of 12.875 V are 64 mV. A log that
    # begins under load knows no rest
    time, volts, amps = course(13.0, rest=rest)
    first = rest + LOAD
    volts[: rest + 1] = 12.5
    time[first:] += 600.0
    volts[first : first + HIGH] += np.linspace(0.0, rise_V, HIGH)
    assert (find_lifted(time, volts, amps) is not None) is told


@pytest.mark.parametrize(("top_V", "told"), [(12.85, False), (12.90, True)])
def test_a_slow_rise_counts_from_three_hundredths_on(top_V, told):
    # 1.03 x 12.5 V are 12.875 V; it climbs there in steps of some 20 mV
    time, volts, amps = course(samples=40)
    volts[FIRST : FIRST + 40] = np.linspace(12.0, top_V, 40)
    assert (find_lifted(time, volts, amps) is not None) is told


def lead(high_V=13.6, samples=4, load=30, high_A=5.0):
    volts = np.repeat([12.8, 12.0, high_V, 12.0], [REST, load, samples, 10])
    amps = np.repeat([0.0, 5.0, high_A, 5.0], [REST, load, samples, 10])
    log = Log("x", 60.0 * np.arange(volts.size), volts, amps)
    return log, Discharge(REST, volts.size - 1, 1.0, Ending.BY_HAND, math.nan, ())


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ({}, True),
        ({"high_V": 13.45}, False),  # 6 x 2.25 V are 13.5 V
        ({"samples": 3}, False),
        ({"high_A": 1.0}, False),  # not above 1 A
        ({"high_A": 1.1}, True),
        ({"load": 700}, True),  # 4 of 714 samples are more than 0.5 %
        ({"load": 900}, False),
    ],
)
def test_lead_never_rests_so_high(words, told):
    log, one = lead(**words)
    assert bool(lifted_lead(log, one, AGM)) is told


def test_what_is_told_of_lead_on_charge():
    log, one = lead(13.6)
    log.voltage_V[FIRST + 1] = 13.9
    (text,) = lifted_lead(log, one, AGM)
    assert text.startswith(f"Rows {FIRST + 2} to {FIRST + 5}: 0.333 Ah were counted as discharge")
    assert "above 13.5 V, up to 13.90 V: 6 lead cells" in text
    assert lifted_lead(log, one, LFP) == ()
    assert lifted_lead(log, one, None) == ()
