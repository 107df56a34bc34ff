"""How a discharge in a log ended: Ah of rectangles, and both sides of every limit."""

import math

import numpy as np
import pytest
from pytest import approx

from bankSim.measured.ends import drawn_Ah, end_of, flows_A, scatter, usual_A, while_live
from bankSim.measured.log import Log

HOUR_S = 3600.0


def log_of(current, voltage=12.0, time_s=None, **more):
    """A log of samples an hour apart."""
    current = np.asarray(current, float)
    volts = np.broadcast_to(np.asarray(voltage, float), current.shape).copy()
    time = HOUR_S * np.arange(current.size) if time_s is None else np.asarray(time_s, float)
    return Log("x", time, volts, current, **more)


def hours(*amperes):
    """One hour of each current: two samples at its ends, so that its Ah are a rectangle."""
    count = len(amperes)
    time = HOUR_S * np.repeat(np.arange(count + 1), 2)[1:-1]
    return log_of(np.repeat(amperes, 2), time_s=time)


@pytest.mark.parametrize(
    ("amperes", "drawn"),
    [
        ((3.0,), 3.0),
        ((3.0, -5.0, 4.0), 4.0),  # a recharge counts to neither side
        ((3.0, -1.0, 4.0), 6.0),  # a little put back is taken off
        ((-10.0, 4.0), 10.0),  # mostly a charge: what passed
        ((-10.0, 6.0), 6.0),
        ((-10.0, 5.0), 10.0),  # just half
        ((0.5, -0.2), 0.5),
        ((-7.0,), 7.0),
    ],
)
def test_the_most_that_a_log_draws(amperes, drawn):
    assert drawn_Ah(hours(*amperes)) == approx(drawn)


def test_scatter_by_second_differences():
    # 0, 1, 4, 9 ...: all second differences are 2; half of a normal spread lies within 0.6745 sd,
    # and three samples add 1 + 4 + 1 squares
    expected = 2.0 / 0.6745 / math.sqrt(6.0)
    assert scatter(np.arange(9.0) ** 2) == approx(expected)
    assert scatter(np.arange(3.0) ** 2) == approx(expected)
    assert scatter(np.array([1.0, 9.0])) == 0.0


def test_scatter_of_noise():
    noise = np.random.default_rng(7).normal(5.0, 0.3, 20_000)
    assert scatter(noise + np.linspace(0.0, 100.0, 20_000)) == approx(0.3, rel=0.03)


@pytest.mark.parametrize(
    ("current", "least"),
    [
        ([10.0] * 9, 0.2),  # 2 % of the largest
        ([10.0, 9.92] * 9, 5.0 * 0.16 / 0.6745 / math.sqrt(6.0)),  # second differences of 0.16 A
        ([10.0, 0.0] * 9, 1.0),  # what switches all the time is no noise: a tenth
        ([-10.0] * 9, 0.0),
    ],
)
def test_below_which_nothing_flows(current, least):
    assert flows_A(log_of(current)) == approx(least)


@pytest.mark.parametrize(
    ("current", "usual"),
    [
        ([1.0] * 10 + [20.0], 20.0),  # 10 Ah and 20 Ah
        ([5.0] * 10 + [20.0], 5.0),
        ([20.0, *[5.0] * 10], 5.0),  # in any order
        ([0.0] * 90 + [7.0] * 5, 7.0),
        ([-50.0, 5.0, 5.0, 5.0], 5.0),
        ([7.0], 7.0),
    ],
)
def test_half_of_the_charge_is_drawn_at_more_than_the_usual_current(current, usual):
    assert usual_A(log_of(current)) == usual


def test_the_usual_current_counts_charge_and_not_samples():
    # 20 A for some 500 s, 2 A for 6000 s: 10.05 and 12 kAs
    time = [0, 1, 2, 1002, 2002, 3002, 4002, 5002, 6002]
    assert usual_A(log_of([20.0] * 3 + [2.0] * 6, time_s=time)) == 2.0


@pytest.mark.parametrize(
    ("volts", "kept"),
    [
        ([12, 12, 11, 12], [12, 12, 11, 12]),
        ([12, 12, 2.5, 1, 12], [12, 12, 2.5]),  # a fifth of 12 V is 2.4 V
        ([12, 12, 2.3, 12], [12, 12]),
        ([0, 1, 12, 11, 0, 12], [12, 11]),
        ([12, 0, 0], [12, 0, 0]),  # one sample alone is no log
    ],
)
def test_a_log_while_its_terminals_live(volts, kept):
    assert while_live(log_of([1.0] * len(volts), volts)).voltage_V.tolist() == kept


def ended(last_V=11.0, after=((0.0, 12.0),), last_A=10.0, **more):
    """Ten hours of load at 12 V, its last sample, and what comes after it (A, V)."""
    current = [10.0] * 10 + [last_A] + [one for one, _ in after]
    return log_of(current, [12.0] * 10 + [last_V] + [one for _, one in after], **more)


@pytest.mark.parametrize(("last_V", "told"), [(11.5, False), (11.3, True)])
def test_an_end_lies_a_twentieth_below_the_usual_voltage_under_load(last_V, told):
    # 95 % of 12 V are 11.4 V
    assert (end_of(ended(last_V)) is not None) is told
    open_end = end_of(ended(last_V, after=()))
    assert (open_end is not None) is told
    if told:
        assert (open_end.cut, open_end.dead) == (False, False)


def test_what_is_told_of_an_end():
    cells = np.tile([3.0, 3.1, 2.9, 3.0], (12, 1))
    cells[10] = [2.8, 2.9, 2.4, 2.9]
    end = end_of(ended(11.0, cells_V=cells))
    assert (end.cut, end.dead, end.time_s) == (True, False, 10 * HOUR_S)
    assert (end.current_A, end.voltage_V, end.cell) == (10.0, 11.0, 3)
    assert (end.given_Ah, end.returned_Ah) == (approx(100.0), 0.0)
    cells[10, 0] = math.nan
    blind = end_of(ended(11.0, cells_V=cells))
    assert (blind.cells_V, blind.cell) == ((), None)
    assert end_of(ended(11.0)).cell is None


@pytest.mark.parametrize(
    ("after", "told"),
    [
        ([(0.0, 11.02)], False),  # 0.2 % of 11 V are 22 mV
        ([(0.0, 11.03)], True),
        ([(0.0, 11.01), (0.0, 11.03)], True),  # it may take some time
        ([(0.0, 11.01), (0.0, 11.02)], False),
    ],
)
def test_a_current_that_is_cut_lets_the_voltage_come_back(after, told):
    assert (end_of(ended(11.0, after)) is not None) is told


@pytest.mark.parametrize(("next_A", "told"), [(0.14, True), (0.16, False)])
def test_a_current_that_is_cut_falls_below_a_third(next_A, told):
    # from 0.5 A, above 2 % of 10 A; to 0.15 A, where nothing flows
    assert (end_of(ended(11.0, [(next_A, 12.0)], last_A=0.5)) is not None) is told


@pytest.mark.parametrize(("after_V", "dead"), [(2.5, None), (2.3, True)])
def test_terminals_below_a_fifth_of_the_voltage_are_dead(after_V, dead):
    # of 12 V: 2.4 V. Nothing came back, so without that no end is seen
    end = end_of(ended(11.0, [(0.0, after_V)]))
    assert (None if end is None else end.dead) is dead
    assert end is None or end.cut
    # what the meter reads behind an open switch is no load
    assert end_of(ended(11.0, [(0.0, 2.0), (10.0, 1.0)])).time_s == 10 * HOUR_S


@pytest.mark.parametrize(("back_Ah", "told"), [(1.4, True), (1.6, False)])
def test_only_an_end_near_the_deepest_point_counts(back_Ah, told):
    # 10 Ah drawn, some put back, and the last 0.02 Ah: of 10 Ah 15 % are 1.5 Ah
    time = HOUR_S * np.array([0, 1, 1, 2, 2, 2.01])
    current = [10.0, 10.0, -back_Ah, -back_Ah, 2.0, 2.0]
    end = end_of(log_of(current, [12.0, 12.0, 13.0, 13.0, 11.5, 11.0], time))
    assert (end is not None) is told
    if told:
        assert end.returned_Ah == approx(back_Ah)
        assert end.given_Ah == approx(10.0 - back_Ah + 0.02)


def test_what_gives_less_than_was_charged_has_no_end():
    time = HOUR_S * np.array([0, 1, 1, 2])
    log = log_of([-10.0, -10.0, 9.0, 9.0], [13.0, 13.0, 12.0, 10.0], time)
    assert end_of(log) is None  # 9 of 10 Ah
    assert end_of(log_of([-5.0] * 4)) is None
