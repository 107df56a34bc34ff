"""The voltage curve of a slow discharge, on straight lines of voltage over charge."""

import numpy as np
import pytest
from pytest import approx

from bankSim.measured.log import Log
from bankSim.measured.slow_curve import slow_curve

COUNT = 2000


def line(z):
    """3 V empty, 3.4 V full."""
    return 3.0 + 0.4 * z


def log_of(hours=20.0, amperes=0.2, *, rest_before_h=0.0, rest_after_h=0.0, curve=line):
    """A steady discharge of one cell, with rest at both sides; its samples lie half a minute on."""
    step_s = hours * 3600.0 / COUNT
    before, after = (round(rest * 3600.0 / step_s) for rest in (rest_before_h, rest_after_h))
    z = 1.0 - np.arange(COUNT) / (COUNT - 1)
    volts = np.concatenate([np.full(before, 3.45), curve(z), np.full(after, 3.1)])
    current = np.concatenate([np.zeros(before), np.full(COUNT, amperes), np.zeros(after)])
    return Log("x", step_s * np.arange(current.size), volts, current)


@pytest.mark.parametrize(("hours", "told"), [(11.9, False), (12.1, True)])
def test_slow_takes_twelve_hours(hours, told):
    assert (slow_curve(log_of(hours), 0, 1, 0.2 * hours) is not None) is told


@pytest.mark.parametrize(("largest_Ah", "told"), [(4.4, True), (4.5, False)])
def test_complete_is_nine_tenths_of_the_most_that_any_log_gives(largest_Ah, told):
    # 4 Ah are 0.909 and 0.889 of these
    assert (slow_curve(log_of(), 0, 1, largest_Ah) is not None) is told


@pytest.mark.parametrize(("rest_h", "told"), [(2.1, True), (2.4, False)])
@pytest.mark.parametrize("side", ["rest_before_h", "rest_after_h"])
def test_load_runs_for_nine_tenths_of_the_log(rest_h, told, side):
    # 20 of 22.1 h are 0.905, of 22.4 h 0.893
    assert (slow_curve(log_of(**{side: rest_h}), 0, 1, 4.0) is not None) is told


@pytest.mark.parametrize(("swing_A", "told"), [(0.008, True), (0.012, False)])
@pytest.mark.parametrize("sign", [1.0, -1.0])
def test_steady_is_within_a_twentieth(swing_A, told, sign):
    # standard deviation of 0.2 A, more and less by turns
    log = log_of()
    log.current_A[:] += sign * swing_A * (-1.0) ** np.arange(COUNT)
    found = slow_curve(log, 0, 1, 4.0)
    assert (found is not None) is told
    if told:
        assert found.current_A == approx(0.2)


def test_a_charge_or_a_single_sample_gives_no_curve():
    assert slow_curve(log_of(amperes=-0.2), 0, 1, 0.0) is None
    assert slow_curve(Log("x", np.zeros(1), np.ones(1), np.ones(1)), 0, 1, 0.0) is None


def test_rest_at_both_sides_belongs_to_no_curve():
    found = slow_curve(log_of(rest_before_h=1.0, rest_after_h=0.5), 3, 1, 4.0)
    assert found.charge_Ah == approx(4.0)  # half an interval at each edge
    assert (found.log, found.current_A) == (3, approx(0.2))
    assert found.z[[0, -1]].tolist() == [0.0, 1.0]
    assert found.voltage_V == approx(line(found.z), abs=1e-3)


@pytest.mark.parametrize("before_A", [-0.05, 0.05])
def test_charge_that_flowed_before_the_discharge_is_not_of_the_curve(before_A):
    # an hour at a quarter of the current, into the battery or out of it, with the line's 3.4 V
    log = log_of(rest_before_h=1.0)
    count = log.current_A.size - COUNT
    log.current_A[:count] = before_A
    log.voltage_V[:count] = 3.4
    found = slow_curve(log, 0, 1, 4.0)
    assert found.charge_Ah == approx(4.0, rel=1e-3)
    assert found.z[[0, -1]].tolist() == [0.0, 1.0]
    assert found.voltage_V == approx(line(found.z), abs=2e-3)


def test_rows_are_even_in_charge_and_in_voltage():
    # on a straight line both halves of 0 to 2 agree: 180 bins of 1 / 180, and both ends
    z = slow_curve(log_of(), 0, 1, 4.0).z
    assert 181 <= z.size <= 182
    assert np.diff(z)[2:-2] == approx(1.0 / 180.0, rel=0.15)


def test_where_the_voltage_is_steep_rows_are_closer():
    # half of the voltage over the lowest twentieth of the charge: 45 bins for the voltage there,
    # 4.5 for its charge; 45 and 85.5 in the rest
    def bent(z):
        return np.where(z < 0.05, 3.0 + 4.0 * z, 3.2 + (z - 0.05) * 0.2 / 0.95)

    found = slow_curve(log_of(curve=bent), 0, 1, 4.0)
    assert np.count_nonzero(found.z < 0.05) == approx(0.5 * (1.0 + 0.1) * 180.0 / 2.0, abs=2)
    assert found.voltage_V == approx(bent(found.z), abs=3e-3)


def test_noise_of_the_meter_is_averaged_and_the_curve_rises():
    log = log_of()
    log.voltage_V[:] += np.random.default_rng(1).normal(0.0, 0.005, COUNT)
    found = slow_curve(log, 0, 1, 4.0)
    inner = slice(2, -2)
    assert found.voltage_V[inner] == approx(line(found.z[inner]), abs=0.006)
    assert np.diff(found.voltage_V).min() >= 0.99e-6


def test_a_flat_curve_rises_by_a_microvolt_a_row():
    # 1 uV: far below any meter, so that the curve can be read backwards
    found = slow_curve(log_of(curve=lambda z: np.full(z.shape, 3.2)), 0, 1, 4.0)
    assert np.diff(found.voltage_V) == approx(1e-6, rel=1e-3)
    assert found.voltage_V[0] == approx(3.2, abs=1e-6)


def unlike(weak_V, cells=2):
    """Cells at 3 to 3.4 V, and one that stands so much off, of the same battery."""
    log = log_of()
    z = 1.0 - np.arange(COUNT) / (COUNT - 1)
    each = np.column_stack([*[line(z)] * (cells - 1), line(z) + weak_V(z)])
    return Log("x", log.time_s, each.sum(axis=1), log.current_A, cells_V=each)


def knee(z):
    """0.1 V lower all along, and 1 V more for the charge below 0.1."""
    return -0.1 - np.clip(0.1 - z, 0.0, None)


def test_near_empty_the_curve_is_that_of_the_cell_that_ends_it():
    # from 0.2 to 0.3 the mean of two stands 0.05 V above the weaker: so much higher it goes on
    found = slow_curve(unlike(knee), 0, 2, 4.0)
    for z, volts in ((0.05, 3.02 - 0.15 + 0.05), (0.15, 3.06 - 0.05), (0.6, 3.24 - 0.05)):
        assert np.interp(z, found.z, found.voltage_V) == approx(volts, abs=2e-3)
    assert found.voltage_V[0] == approx(3.0 - 0.2 + 0.05, abs=2e-3)


def test_the_seam_lies_at_a_quarter_and_is_the_mean_from_a_fifth_to_three_tenths():
    # the other cell stands 0.2 V x z lower: from 0.2 to 0.3 on the mean 0.05 V; the mean of both
    # is 0.1 V x z lower
    found = slow_curve(unlike(lambda z: -0.2 * z - 0.01), 0, 2, 4.0)
    shift = 0.1 * 0.25 + 0.005
    for z, volts in (
        (0.1, 3.04 - 0.02 - 0.01 + shift),
        (0.24, 3.096 - 0.048 - 0.01 + shift),
        (0.28, 3.112 - 0.028 - 0.005),
        (0.9, 3.36 - 0.09 - 0.005),
    ):
        assert np.interp(z, found.z, found.voltage_V) == approx(volts, abs=1.5e-3)


def test_cells_that_were_not_all_read_give_their_mean():
    whole = unlike(knee)
    part = slow_curve(Log("x", whole.time_s, whole.voltage_V, whole.current_A), 0, 2, 4.0)
    missing = unlike(knee)
    missing.cells_V[7, 0] = np.nan
    blind = slow_curve(missing, 0, 2, 4.0)
    for found in (part, blind):
        assert np.interp(0.05, found.z, found.voltage_V) == approx(3.02 - 0.075, abs=2e-3)
