"""What lies between two stretches of load, on a battery whose voltage is a straight line.

A sample a minute; 20 A give a third of an ampere hour in it.
"""

import numpy as np
import pytest
from pytest import approx

from bankSim.measured.log import Log
from bankSim.measured.regained import UnderLoad, is_comparable, later_Ah, regained_Ah
from bankSim.measured.rests import returned_Ah, unseen_charge, usual_step_s

MINUTE_S, ON_A = 60.0, 1.0
THIRD_AH = 20.0 / 60.0


def log_of(current, voltage=12.0, time_s=None):
    """A log of these samples."""
    current = np.asarray(current, float)
    volts = np.broadcast_to(np.asarray(voltage, float), current.shape).copy()
    time = MINUTE_S * np.arange(current.size) if time_s is None else np.asarray(time_s, float)
    return Log("x", time, volts, current)


@pytest.mark.parametrize(
    ("inside", "charge_As"),
    [
        ([0, -6, -6, 0], 60.0 * (3 + 6 + 3)),
        ([-6, -6], 360.0),
        ([-6], 0.0),  # a single sample has no length
        ([], 0.0),
        ([0, -6, 9, -6, 0], 60.0 * 12.0),  # what is given in between is not taken off
        ([-0.04] * 31, 0.0),  # a shunt's zero
        ([-0.052] * 31, 0.052 * 1800.0),  # more than 50 mA on the mean
        ([0.0] * 15 + [-1.0] + [0.0] * 15, 0.0),  # the threshold itself, 33 mA on the mean
        ([0.0] * 15 + [-1.1] + [0.0] * 15, 66.0),
        ([-0.3] * 16 + [0.1] * 15, 0.3 * 900.0 + 0.5 * 0.3 * 60.0),  # 0.107 A on the mean
        ([-6, -6, -6] + [-0.3] * 28, 6.0 * 150.0 + 0.3 * (27 * 60.0 + 30.0)),
    ],
)
def test_charge_taken_in_between(inside, charge_As):
    log = log_of([-50, 20, *inside, 20, -50])
    found = returned_Ah(log, 1, len(inside) + 2, ON_A)
    assert found == approx(charge_As / 3600.0)


def test_the_usual_step_is_the_middle_one():
    assert usual_step_s(log_of([1, 1, 1, 1], time_s=[0, 10, 20, 900])) == 10.0
    assert usual_step_s(log_of([1, 1], time_s=[0, 10])) == 10.0
    assert usual_step_s(log_of([1])) == 0.0


def unseen(log, first, last, again, usual_s=MINUTE_S):
    return unseen_charge(log, first, last, again, usual_s, UnderLoad.of(log, ON_A))


@pytest.mark.parametrize(
    ("usual_s", "step_s", "hidden"),
    [(60, 1800, False), (60, 1810, True), (600, 3000, False), (600, 3010, True)],
)
@pytest.mark.parametrize("place", [3, 4, 5])
def test_half_an_hour_or_five_steps_without_a_sample(usual_s, step_s, hidden, place):
    # between the last sample under load (3), two of rest, and the first one under load again (6)
    steps = np.full(9, 60.0)
    steps[place] = step_s
    log = log_of([20, 20, 20, 20, 0, 0, 20, 20, 20, 20], 12.0, np.cumsum([0, *steps]))
    assert unseen(log, 0, 3, 6, usual_s) is hidden


@pytest.mark.parametrize("place", [2, 6])
def test_steps_under_load_hide_no_charge(place):
    steps = np.full(9, 60.0)
    steps[place] = 7200.0
    log = log_of([20, 20, 20, 20, 0, 0, 20, 20, 20, 20], 12.0, np.cumsum([0, *steps]))
    assert not unseen(log, 0, 3, 6)
    assert not unseen(log_of([20] * 10), 0, 3, 4)  # nothing in between


@pytest.mark.parametrize(
    ("raised_V", "samples", "hidden"),
    [(13.10, 11, False), (13.15, 11, True), (13.15, 2, True), (13.15, 1, False)],
)
def test_no_rest_brings_back_more_than_was_there(raised_V, samples, hidden):
    # 13 V at rest in the ten samples before; 14 V longer ago. More than 13.13 V, for a tenth of
    # the rest: of 11 samples two
    rest_V = [12.5] * (11 - samples) + [raised_V] * samples
    volts = [14.0] * 3 + [12.9] * 9 + [13.0] + [12.0] * 5 + rest_V + [12.0] * 3
    current = [0.0] * 13 + [20.0] * 5 + [0.0] * 11 + [20.0] * 3
    assert unseen(log_of(current, volts), 13, 17, 29) is hidden


@pytest.mark.parametrize(("raised_V", "hidden"), [(12.55, False), (12.65, True)])
def test_where_no_rest_was_seen_the_first_load_stands_for_it(raised_V, hidden):
    # 5 % above the first 12 V under load are 12.6 V
    log = log_of([20.0] * 5 + [0.0] * 9 + [20.0] * 3, [12.0] * 5 + [raised_V] * 9 + [12.0] * 3)
    assert unseen(log, 0, 4, 14) is hidden


def paused(minutes_back, *, before=60, after=60, rest=10, amperes=20.0):
    """A load whose voltage falls by 10 mV a minute, a rest, and the load again.

    The voltage before the pause is the median of five samples, 20 mV above the last; that after it
    the median of a sample and four that follow, 20 mV below it. It is back after so many minutes.
    """
    fall = -0.01 * np.arange(before)
    again = fall[-1] + 0.04 + 0.01 * minutes_back - 0.005 - 0.01 * np.arange(after)
    volts = 12.5 + np.concatenate([fall, np.full(rest, 0.0), again])
    current = np.concatenate([np.full(before, 20.0), np.zeros(rest), np.full(after, amperes)])
    return log_of(current, volts), before - 1, before + rest


@pytest.mark.parametrize(
    ("minutes", "after", "regained"),
    [
        (0, 60, 0.0),
        (1, 60, 1.0),  # 1 % of the 59 minutes that follow are less
        (1, 121, 0.0),  # of two hours: 1.2 minutes
        (2, 121, 2.0),
        (4, 661, 0.0),  # of eleven hours 6.6 minutes, but five minutes of load at most
        (6, 661, 6.0),
        (70, 60, 59.0),  # never back
        (1500, 2000, 1500.0),  # later than the first thousand samples
    ],
)
def test_what_is_given_until_the_voltage_is_back(minutes, after, regained):
    log, last, again = paused(minutes, after=after)
    found = regained_Ah(log, last, again, UnderLoad.of(log, ON_A))
    assert found == approx(regained * THIRD_AH)


@pytest.mark.parametrize(("rest", "regained"), [(3, 0.0), (4, 20.0)])
def test_a_pause_shorter_than_five_minutes_is_not_looked_at(rest, regained):
    log, last, again = paused(20, rest=rest)  # one step more from load to load
    found = regained_Ah(log, last, again, UnderLoad.of(log, ON_A))
    assert found == approx(regained * THIRD_AH)


@pytest.mark.parametrize(
    ("minutes", "after", "hidden"),
    [
        (17, 26, False), (18, 26, True),  # 0.3 of 59 minutes before: 17.7
        (23, 60, False), (24, 60, True),  # 0.2 of 59 before and 59 after: 23.6
    ],
)  # fmt: skip
def test_a_rest_gives_back_less_than_a_charge(minutes, after, hidden):
    log, last, again = paused(minutes, after=after)
    assert unseen(log, 0, last, again) is hidden


def test_after_a_collapse_much_may_come_back():
    # mean of the falling line 12.2 V; 95 % of it are 11.6 V
    log, last, again = paused(40)
    assert unseen(log, 0, last, again)
    log.voltage_V[last] = 11.65
    assert unseen(log, 0, last, again)
    log.voltage_V[last] = 11.5
    assert not unseen(log, 0, last, again)


def test_the_mean_before_a_collapse_is_that_of_the_discharge_under_load():
    log, last, again = paused(40)
    log.voltage_V[:10] = 20.0  # of something earlier
    assert unseen(log, 10, last, again)
    log, last, again = paused(40)
    log.current_A[20:40], log.voltage_V[20:40] = 0.0, 19.0  # a rest in between
    assert unseen(log, 0, last, again)


@pytest.mark.parametrize(
    ("amperes", "alike"), [(24.0, True), (26.0, False), (17, True), (16, False)]
)
def test_like_currents_differ_by_a_fifth_at_most(amperes, alike):
    # of the current after the pause: 4.8, 5.2, 3.4 and 3.2 A
    log, last, again = paused(20, amperes=amperes)
    assert is_comparable(log, last, again, UnderLoad.of(log, ON_A)) is alike


def test_a_charge_parts_what_may_be_compared():
    log, last, again = paused(20, amperes=10.0)
    log.current_A[:10] = 10.0  # like the load after the pause
    assert is_comparable(log, last, again, UnderLoad.of(log, ON_A))
    log.current_A[12:14] = -5.0
    assert not is_comparable(log, last, again, UnderLoad.of(log, ON_A))
    log.current_A[2:4] = log.current_A[100:102] = -5.0  # the last charge before the pause counts
    assert not is_comparable(log, last, again, UnderLoad.of(log, ON_A))
    log.current_A[14] = 10.0
    assert is_comparable(log, last, again, UnderLoad.of(log, ON_A))


def test_what_is_given_later_ends_with_a_charge():
    # from sample 3 on: three minutes of 20 A, and half a minute where it falls to 0
    log = log_of([20, 20, 0, 20, 20, 20, 20, 0, -5, 20, 20])
    loaded = UnderLoad.of(log, ON_A)
    assert later_Ah(log, 3, loaded) == approx(3.5 * THIRD_AH)
    assert later_Ah(log, 9, loaded) == approx(1.0 * THIRD_AH)  # to the end of the log
    edge = UnderLoad.of(log_of([1.0, 1.1, -1.0, -1.1]), ON_A)  # 1 A is neither
    assert (edge.on.tolist(), edge.charging.tolist()) == ([1], [3])


def straight(current, hidden_Ah, from_sample):
    """13 V less 10 mV for an ampere hour drawn, and 10 mohm; charged unseen before a sample."""
    plain = log_of(current)
    drawn = plain.counted_Ah() - np.where(np.arange(plain.count) >= from_sample, hidden_Ah, 0.0)
    return log_of(current, 13.0 - 0.01 * drawn - 0.01 * plain.current_A)


def test_another_current_is_compared_by_the_step_of_the_load():
    # 20 A before, 40 A after. From the third last sample before (2 / 3 Ah before the last) over
    # half of both edges (1 / 6 and 1 / 3 Ah) to the third after j: 2 / 3 + 1 / 2 + 2 / 3 (j + 2)
    # >= 10.1 Ah, j = 12: 8 Ah
    log = straight([20.0] * 60 + [0.0] * 10 + [40.0] * 60, 10.1, 60)
    found = regained_Ah(log, 59, 70, UnderLoad.of(log, ON_A))
    assert found == approx(8.0)


def test_the_last_load_like_that_after_is_the_one_to_compare():
    # 60 min at 20 A, 6 at 60 A, rest, 20 A again: back where the 20 A stood after 10.1 Ah hidden.
    # Edges: 2 / 3 Ah on 40 A, 5 Ah at 60 A, 1 / 2 and 1 / 6 Ah: 6.333 Ah since the last 20 A;
    # 2 / 3 + 6.333 + (j + 2) / 3 >= 10.1, j = 8: 2.667 Ah, and 5.667 Ah since the last 20 A
    log = straight([20.0] * 60 + [60.0] * 6 + [0.0] * 10 + [20.0] * 60, 10.1, 66)
    loaded = UnderLoad.of(log, ON_A)
    assert regained_Ah(log, 65, 76, loaded) == approx(8.0 / 3.0 + 17.0 / 3.0)
    # where the load after it is mixed, only what is like the load before counts: its first ten
    # minutes at 60 A stand lower, though not by what was drawn
    mixed = straight([20.0] * 60 + [0.0] * 10 + [20.0, *[60.0] * 10, *[20.0] * 60], 20.1, 60)
    loaded = UnderLoad.of(mixed, ON_A)
    found = regained_Ah(mixed, 59, 70, loaded)
    counted = mixed.counted_Ah()
    at = int(np.argmin(np.abs(counted - counted[70] - found)))
    assert mixed.current_A[at] == 20.0
    assert mixed.voltage_V[at + 2] <= mixed.voltage_V[57] < mixed.voltage_V[at + 1]
