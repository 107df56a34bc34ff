"""What a log shows before and after a discharge, on courses whose Ah are sums of triangles."""

import numpy as np
import pytest
from capacity_logs import make_log
from pytest import approx

from bankSim.measured.around import Before, after, before
from bankSim.measured.discharge import Discharge, Ending, find_discharges
from bankSim.measured.log import Log

ON_A = 1.0


def log_of(current, voltage=13.0, step_s=10.0):
    """A log with these currents, and voltages where they are given."""
    current = np.asarray(current, float)
    volts = np.broadcast_to(np.asarray(voltage, float), current.shape).copy()
    return Log("x", step_s * np.arange(current.size), volts, current)


def part(first, last):
    """The samples of a log that are its discharge."""
    return Discharge(first, last, ON_A, Ending.BY_HAND, float("nan"), ())


def only(log):
    (one,) = find_discharges(log)
    return one


def test_rest_and_charge_before():
    log = make_log(charge=(3600.0, 2.0), rest_before_s=1800.0)
    seen = before(log, only(log), None)
    assert seen.rest_s == approx(1800.0)
    assert seen.tail_A == approx(2.0)
    assert seen.charged_Ah == approx(11.0, rel=0.01)  # mean of 20 A and 2 A for an hour
    assert seen.full(100.0) is True
    assert seen.full(20.0) is False


def test_nothing_before_is_not_a_rest():
    log = make_log(rest_before_s=0.0)
    seen = before(log, only(log), None)
    assert (seen.rest_s, seen.rest_V, seen.charged_Ah) == (0.0, None, 0.0)
    assert (seen.tail_A, seen.tail_V, seen.usual_A) == (None, None, None)
    assert (seen.full(100.0), seen.tapered) == (None, None)


def test_a_charge_is_told_by_its_tail_and_its_usual_current():
    volts = [13.6, 13.7, 13.9, 14.2, 14.1, 13.5, 13.4, 13.0, 13.0]
    log = log_of([-8, -8, -8, -5, -3, 0, 0, 20, 20], volts)
    seen = before(log, part(7, 8), None)
    areas = [8.0, 8.0, 6.5, 4.0, 1.5, 0.0]  # means of neighbours
    assert seen.charged_Ah == approx(10.0 * sum(areas) / 3600.0)
    assert (seen.tail_A, seen.tail_V, seen.usual_A) == (3.0, 14.1, 8.0)
    assert (seen.rest_s, seen.rest_V) == (approx(20.0), 13.4)
    assert seen.tapered is True


def test_currents_at_the_threshold_are_rest():
    # a meter's trickle of just the threshold, drawn or taken, neither ends a rest nor is a charge
    log = log_of([-8, 0, -ON_A, ON_A, 0, 20])
    seen = before(log, part(5, 5), None)
    assert seen.rest_s == approx(40.0)
    assert seen.tail_A == 8.0


def test_all_the_time_from_the_start_of_the_log_is_rest_where_nothing_flowed():
    seen = before(log_of([0, 0, 0, 0, 20]), part(4, 4), None)
    assert seen.rest_s == approx(30.0)
    assert (seen.charged_Ah, seen.tail_A, seen.usual_A) == (0.0, None, None)


def test_a_rest_begins_after_an_earlier_discharge():
    # the earlier one ends at sample 2; what it drew before is not looked at again
    log = log_of([20, 20, 20, 0, 0, -6, 0, 0, 0, 20])
    seen = before(log, part(9, 9), part(0, 2))
    assert seen.rest_s == approx(30.0)
    assert seen.charged_Ah == approx(10.0 * 6.0 / 3600.0)  # a triangle of 20 s base, 6 A high
    assert before(log, part(3, 9), part(0, 2)).rest_V is None  # follows at once


def test_what_is_drawn_before_is_no_negative_charge():
    # 4 A taken, then 4 A drawn: only what is taken counts, half of the step between them not
    seen = before(log_of([-4, -4, 4, 4, 0, 20]), part(5, 5), None)
    assert seen.charged_Ah == approx(10.0 * (4.0 + 2.0) / 3600.0)


@pytest.mark.parametrize(
    ("tail_A", "tapered", "full"), [(4.9, True, True), (5.0, True, True), (5.1, True, False)]
)
def test_full_is_a_tail_of_a_twentieth_of_the_capacity(tail_A, tapered, full):
    # common practice, no source: a charge at constant voltage ends at some 0.05 C
    seen = Before(0.0, 13.4, 50.0, tail_A, 14.2, usual_A=20.0)
    assert (seen.tapered, seen.full(100.0)) == (tapered, full)


@pytest.mark.parametrize(("tail_A", "tapered"), [(17.9, True), (18.0, False), (20.0, False)])
def test_a_charge_that_ends_near_its_usual_current_has_not_tapered(tail_A, tapered):
    assert Before(0.0, 13.4, 50.0, tail_A, 14.2, usual_A=20.0).tapered is tapered
    assert Before(0.0, 13.4, 50.0, tail_A, 14.2).tapered is None  # nothing to hold it against


def test_rebound():
    log = make_log(after="rebound")
    seen = after(log, only(log))
    assert seen.rebound_V == approx(12.2 - (12.8 - 3.0))
    assert seen.within_s == approx(600.0)
    assert not seen.vanished
    vanished = make_log()
    assert after(vanished, only(vanished)).vanished


def test_a_rebound_is_watched_until_the_next_current():
    # rises to 12.6 V within 30 s; what comes with the charge (13.9 V) is no rebound
    log = log_of([20, 20, 0, 0, 0, -5, -5], [11.5, 11.0, 12.0, 12.5, 12.6, 13.8, 13.9])
    seen = after(log, part(0, 1))
    assert seen.rebound_V == approx(1.6)
    assert seen.within_s == approx(30.0)
    assert seen.more_Ah == 0.0


def test_more_is_all_that_is_given_later():
    # two triangles of 20 s base and 6 A height, and none of the charge between them
    log = log_of([20, 0, 6, 0, -8, 0, 6, 0], 12.0)
    assert after(log, part(0, 0)).more_Ah == approx(2.0 * 10.0 * 6.0 / 3600.0)


def test_a_current_of_the_threshold_does_not_end_the_watch():
    log = log_of([20, 0, ON_A, 0, 6], [11.0, 11.5, 11.6, 11.9, 11.0])
    seen = after(log, part(0, 0))
    assert (seen.rebound_V, seen.within_s) == (approx(0.9), approx(30.0))


def test_nothing_after_is_neither_rebound_nor_gone():
    log = log_of([20, 20, 20], 12.0)
    seen = after(log, part(0, 2))
    assert (seen.rebound_V, seen.within_s, seen.vanished, seen.more_Ah) == (None, 0.0, False, 0.0)
    # the load is on again at the very next sample: nothing was watched, but more was given
    pulse = after(log, part(0, 0))
    assert (pulse.rebound_V, pulse.within_s, pulse.vanished) == (None, 0.0, False)
    assert pulse.more_Ah == approx(10.0 * 20.0 / 3600.0)


@pytest.mark.parametrize(("volts", "vanished"), [(6.0, False), (5.9, True)])
def test_dead_is_less_than_half_the_voltage_under_load(volts, vanished):
    seen = after(log_of([20, 0, 0], [12.0, 12.5, volts]), part(0, 0))
    assert seen.vanished is vanished
    assert (seen.rebound_V is None) is vanished
