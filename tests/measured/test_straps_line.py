"""The line through what lies between cells and terminals: least squares by hand, its limits."""

import math

import numpy as np
import pytest
from pytest import approx

from bankSim.measured.log import Log
from bankSim.measured.straps import Straps, straps_of


def log_of(current, gap_V, *, cells=2, cell_V=3.3):
    """Cells at one voltage, and a battery that reads so much more than their sum."""
    current = np.asarray(current, float)
    gap = np.broadcast_to(np.asarray(gap_V, float), current.shape)
    each = np.full((current.size, cells), cell_V)
    return Log("x", np.arange(float(current.size)), each.sum(axis=1) + gap, current, cells_V=each)


def test_the_line_of_least_squares_and_its_error():
    # 0 and 10 A, six of each; gaps 10 mV and -10 mV off a line of 2 mohm and 50 mV by turns:
    # the sum of squares left is 12 x (10 mV)^2, 10 degrees of freedom; sum (I - 5 A)^2 = 300 A^2
    amps = np.repeat([0.0, 10.0], 6)
    gap = 0.05 - 0.002 * amps + 0.01 * np.tile([1.0, -1.0], 6)
    found = straps_of(log_of(amps, gap), 2)
    assert (found.ohm, found.offset_V) == (approx(0.002), approx(0.05))
    assert found.sd_ohm == approx(math.sqrt(12e-4 / 10.0 / 300.0))


def test_known_is_twice_its_error():
    assert Straps(0.0021, 0.001, 0.0).told
    assert not Straps(0.0019, 0.001, 0.0).told
    assert not Straps(-0.01, 0.001, 0.0).told


@pytest.mark.parametrize(("lowest_A", "ohm"), [(7.1, 0.0), (6.9, 0.002)])
def test_a_current_must_move_by_three_tenths(lowest_A, ohm):
    # of 10 A: by 3 A; else all of it may be the meters'
    amps = np.repeat([10.0, lowest_A], 6)
    found = straps_of(log_of(amps, 0.05 - 0.002 * amps), 2)
    assert found.ohm == approx(ohm)
    if not ohm:
        assert (found.sd_ohm, found.told) == (math.inf, False)
        assert found.offset_V == approx(0.05 - 0.002 * amps.mean())
    assert straps_of(log_of(-amps, 0.05 + 0.002 * amps), 2).ohm == approx(ohm)
    rest = straps_of(log_of(np.zeros(12), np.tile([0.01, 0.02], 6)), 2)
    assert (rest.sd_ohm, rest.offset_V) == (math.inf, approx(0.015))


@pytest.mark.parametrize(("count", "told"), [(9, False), (10, True)])
def test_ten_readings_make_a_line(count, told):
    amps = np.where(np.arange(count) % 2, 10.0, 0.0)
    assert (straps_of(log_of(amps, 0.05 - 0.002 * amps), 2) is not None) is told


@pytest.mark.parametrize(("missing", "told"), [(19, True), (21, False)])
def test_half_of_the_rows_must_hold_both(missing, told):
    amps = np.where(np.arange(40) % 2, 10.0, 0.0)
    log = log_of(amps, 0.05 - 0.002 * amps)
    log.cells_V[:missing, 0] = np.nan
    assert (straps_of(log, 2) is not None) is told


def test_a_reading_that_is_far_off_does_not_count():
    # 100 readings on a line, one 0.2 V off it (and 3 % of the sum): more than four deviations
    amps = np.where(np.arange(101) % 2, 10.0, 0.0)
    gap = 0.05 - 0.002 * amps
    gap[37] += 0.2
    assert straps_of(log_of(amps, gap), 2).ohm == approx(0.002, abs=1e-12)


def test_one_cell_has_no_sum():
    amps = np.where(np.arange(20) % 2, 10.0, 0.0)
    assert straps_of(log_of(amps, 0.05 - 0.002 * amps, cells=1), 1) is None
    assert straps_of(log_of(amps, 0.05 - 0.002 * amps, cells=2), 2) is not None
