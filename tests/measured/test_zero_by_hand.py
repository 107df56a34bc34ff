"""The zero of a shunt: each threshold on both sides, on a log made by hand."""

import numpy as np
import pytest
from pytest import approx

from bankSim.measured.log import Log
from bankSim.measured.zero import Zero, find_zero, zero_of_log


def log_of(*parts, step_s=10.0):
    """Parts of (amperes, volts): each an array, or one number for 60 samples."""
    amps = np.concatenate([np.broadcast_to(a, np.shape(a) or 60) for a, _ in parts])
    volts = np.concatenate([np.broadcast_to(v, np.shape(v) or np.shape(a) or 60) for a, v in parts])
    return Log("a.csv", step_s * np.arange(amps.size), volts.astype(float), amps.astype(float))


LOAD = (20.0, 12.5)


def around(amps, volts=13.0):
    """That part between two loads."""
    return log_of(LOAD, (amps, volts), LOAD)


def test_rests_end_one_sample_before_and_after_the_load():
    # 59 samples at the begin and at the end, 58 between loads
    zero = find_zero(log_of((0.3, 13.0), LOAD, (0.3, 12.9), LOAD, (0.3, 12.9)))
    assert (zero.rests, zero.rest_s) == (3, 580.0 + 570.0 + 580.0)
    assert (zero.mean_A, zero.spread_A) == (approx(0.3), approx(0.0, abs=1e-12))


def test_the_mean_is_weighted_by_time():
    # 590 s of 0.30 A (one side open) and 1,180 s of 0.36 A: scatter of 59 and 119 readings
    zero = find_zero(log_of((0.30, 13.0), LOAD, (np.full(120, 0.36), 12.9)))
    assert zero.rest_s == 580.0 + 1180.0
    assert zero.mean_A == approx((0.30 * 580.0 + 0.36 * 1180.0) / 1760.0)
    part = 59.0 / 178.0
    assert zero.spread_A == approx(0.06 * np.sqrt(part * (1.0 - part)))


@pytest.mark.parametrize(("count", "found"), [(8, False), (9, True)])
def test_a_rest_takes_a_minute(count, found):
    # two samples beside the loads do not count: 7 samples are 60 s
    assert (find_zero(around(np.full(count, 0.3))) is not None) is found


@pytest.mark.parametrize(("count", "found"), [(6, False), (7, True)])
def test_a_rest_takes_five_samples(count, found):
    log = log_of(LOAD, (np.full(count, 0.3), 13.0), LOAD, step_s=30.0)
    assert (find_zero(log) is not None) is found


@pytest.mark.parametrize("way", [1.0, -1.0])
@pytest.mark.parametrize(
    ("amps", "found"), [(0.049, False), (0.051, True), (0.99, True), (1.01, False)]
)
def test_a_zero_is_above_what_is_usual_and_below_a_twentieth_of_the_load(way, amps, found):
    zero = find_zero(around(way * amps))
    assert (zero is not None) is found
    assert zero is None or zero.mean_A == approx(way * amps)


def test_a_single_leap_of_the_current_makes_no_larger_rest():
    # one sample of 100 A in 240: the 99th percentile stays 20 A
    leap = np.full(120, 20.0)
    leap[50] = 100.0
    assert find_zero(log_of(LOAD, (1.5, 13.0), (leap, 12.5))) is None


def test_what_is_small_and_what_is_usual_can_be_given():
    assert find_zero(around(1.5), rest_A=2.0).mean_A == approx(1.5)
    assert find_zero(around(0.5), rest_A=0.4) is None
    assert find_zero(around(0.3), limit_A=0.31) is None
    assert find_zero(around(0.03), limit_A=0.02).mean_A == approx(0.03)


@pytest.mark.parametrize("way", [1.0, -1.0])
@pytest.mark.parametrize(
    ("one", "other", "found"),
    [
        (0.30, 0.40, True), (0.30, 0.42, False),  # 0.3 of the mean: 0.105 and 0.108 A
        (0.06, 0.10, True),  # half of the mean, but within 0.05 A
        (0.06, 0.12, False), (0.30, 0.04, False),
    ],
)  # fmt: skip
def test_zeros_of_one_shunt_are_alike(way, one, other, found):
    log = log_of(LOAD, (way * one, 13.0), LOAD, (way * other, 13.0), LOAD)
    assert (find_zero(log) is not None) is found


@pytest.mark.parametrize("way", [1.0, -1.0])
@pytest.mark.parametrize(("fall_V", "found"), [(0.33, True), (0.37, False)])
def test_the_voltage_lies_still_in_the_second_half(way, fall_V, found):
    # 58 samples: medians of the 7 after the middle and of the last 8 are 22 or 21.5 steps apart, of
    # 57; 1 % of the usual 13 V is 0.13 V
    volts = 13.0 - way * np.linspace(0.0, fall_V, 60)
    log = log_of((np.full(200, 0.3), 13.0), LOAD, (0.3, volts), LOAD)
    assert find_zero(log).rests == (2 if found else 1)


def test_the_voltage_may_come_back_first():
    volts = np.full(60, 13.0)
    volts[:28] = np.linspace(12.5, 13.0, 28)
    assert find_zero(around(0.3, volts)).mean_A == approx(0.3)


@pytest.mark.parametrize("way", [1.0, -1.0])
@pytest.mark.parametrize("sign", [1.0, -1.0])
@pytest.mark.parametrize(
    ("mean_A", "apart_A", "found"),
    [(0.5, 0.09, True), (0.5, 0.11, False), (0.1, 0.045, True), (0.1, 0.055, False)],
)
def test_a_current_that_tapers_is_no_zero(way, sign, mean_A, apart_A, found):
    # a fifth of the mean between its halves, or 0.05 A
    amps = sign * mean_A + way * 0.5 * apart_A * np.repeat([1.0, -1.0], 30)
    assert (find_zero(around(amps)) is not None) is found


@pytest.mark.parametrize("sign", [1.0, -1.0])
@pytest.mark.parametrize(
    ("mean_A", "swing_A", "found"),
    [(0.5, 0.24, True), (0.5, 0.26, False), (0.08, 0.045, True), (0.08, 0.055, False)],
)
def test_a_current_that_switches_is_no_zero(sign, mean_A, swing_A, found):
    # half of the mean, or 0.05 A, as a standard deviation
    amps = sign * mean_A + np.resize([swing_A, -swing_A], 60)
    assert (find_zero(around(amps)) is not None) is found


def test_what_is_told():
    one = Zero(0.3, 0.012, 1800.0, 1).told(5.0, "this test")
    assert one.startswith(
        "the shunt reads +0.300 A (discharge) at rest (in one rest, 30 min together, scatter "
        "0.012 A): zero error, or a load that stays on, the log cannot tell which. If it is the "
        "zero, 1.50 Ah too many were counted in this test."
    )
    more = Zero(-0.3, 0.012, 1800.0, 2).told(5.0, "this test")
    assert "reads -0.300 A (charge) at rest (in all 2 rests, " in more
    assert "or a charger that stays on" in more
    assert "If it is the zero, 1.50 Ah too few were counted" in more


def test_a_whole_log_counts_all_its_hours():
    # 180 samples: 1,790 s of 0.3 A
    (text,) = zero_of_log(around(0.3))
    assert "If it is the zero, 0.149 Ah too many were counted in this log." in text
    assert zero_of_log(around(0.0)) == []
