import numpy as np
import pytest
from pytest import approx

from bankSim.study import sampling
from bankSim.study.sampling import (
    SamplingError,
    _without_jumps,
    longest_interval,
    resampled_errors,
    sampling_errors,
    shortest_on_s,
)


def duty(on_s, off_s, cycles, amperes=10.0):
    """A square wave in straight pieces; times of jumps come twice."""
    starts = np.arange(cycles) * float(on_s + off_s)
    time = np.column_stack([starts, starts + on_s, starts + on_s, starts + on_s + off_s]).ravel()
    return time, np.tile([amperes, amperes, 0.0, 0.0], cycles)


def test_a_steady_current_is_counted_exactly_at_any_interval():
    time = np.array([0.0, 36_000.0])
    assert resampled_errors(time, np.full(2, 5.0), 600.0) == approx(0.0, abs=1e-12)


def test_a_ramp_is_off_by_what_is_held_at_its_ends():
    # closed form: I = t over 100 s, samples at f, f + 10, ...: between the samples trapezoids are
    # exact; the head counts f too much times f, less f^2 / 2, the tail g times g / 2 too little
    time = np.array([0.0, 100.0])
    errors = resampled_errors(time, time, 10.0)
    first = 10.0 * (np.arange(errors.size) + 0.5) / errors.size
    assert errors == approx((first**2 / 2.0 - (10.0 - first) ** 2 / 2.0) / 5000.0)


def test_sampling_in_step_with_a_duty_load_counts_whole_samples():
    # closed form: on 12 s of 30, a sample every 10 s. Of three samples a cycle one or two fall into
    # the on-time: 10 or 20 s instead of 12 s, -16.7 % or +66.7 %
    errors = resampled_errors(*duty(12, 18, 200), 10.0)
    assert errors.min() == approx(10.0 / 12.0 - 1.0, abs=0.01)
    assert errors.max() == approx(20.0 / 12.0 - 1.0, abs=0.01)


def test_no_interval_is_off_by_more_than_its_part_of_the_on_time():
    time, current = duty(120, 180, 40)
    for interval in (1.0, 7.0, 15.0, 40.0):
        assert np.abs(resampled_errors(time, current, interval)).max() < interval / 120.0 + 1e-6


def test_a_lucky_interval_is_not_believed():
    # every 60 s fits twice into on and three times into off, exact only while all keep their pace
    time, current = duty(120, 180, 40)
    exact = np.abs(resampled_errors(time, current, 60.0)).max()
    worst = {one.interval_s: one.worst_percent for one in sampling_errors(time, current)}
    assert exact < 0.011
    assert worst[60.0] > 1.0


def test_the_longest_interval_needs_all_shorter_ones_to_be_good():
    errors = (SamplingError(1.0, 0.1), SamplingError(2.0, 0.9), SamplingError(5.0, 0.1))
    assert longest_interval(errors, 0.5) == 1.0
    assert longest_interval(errors, 0.05) is None
    assert longest_interval((), 0.5) is None


@pytest.mark.parametrize(("on_s", "off_s"), [(12, 18), (720, 1080)])
def test_shortest_on_time_of_a_switching_load(on_s, off_s):
    assert shortest_on_s(*duty(on_s, off_s, 5), 1.0) == approx(on_s)


def test_a_steady_load_has_no_on_time():
    assert shortest_on_s(np.array([0.0, 10.0, 20.0]), np.full(3, 5.0), 1.0) is None


def test_a_jump_keeps_its_first_and_last_row_a_nanosecond_apart():
    # 5 A at an instant that comes three times is neither what was before nor what is after it
    time, current = _without_jumps(
        np.array([0.0, 0.0, 0.5, 0.5, 0.5, 0.7]), np.array([9.0, 1.0, 1.0, 5.0, 2.0, 3.0])
    )
    assert time == approx([0.0, 1e-9, 0.5, 0.5 + 1e-9, 0.7], rel=0, abs=1e-16)
    assert current.tolist() == [9.0, 1.0, 1.0, 2.0, 3.0]


def test_late_jumps_stay_apart_in_spite_of_rounding():
    # a nanosecond would vanish behind 1e8 s, where neighbouring floats are 1.5e-8 s apart
    time, current = _without_jumps(np.array([0.0, 1e8, 1e8, 2e8]), np.array([1.0, 1.0, 2.0, 2.0]))
    assert (np.diff(time) > 0.0).all()
    assert current.tolist() == [1.0, 1.0, 2.0, 2.0]


def test_the_clock_may_start_anywhere():
    time = np.array([0.0, 100.0])
    assert resampled_errors(time + 7e3, time, 10.0) == approx(resampled_errors(time, time, 10.0))
    assert shortest_on_s(duty(12, 18, 5)[0] + 7e3, duty(12, 18, 5)[1], 1.0) == approx(12.0)


def test_a_logger_that_first_looks_after_the_end_knows_the_last_value_only():
    # I = t over 10 s, 50 A s; looked at every 1000 s, first after 20.8 s: 10 A for 10 s, twice that
    time = np.array([0.0, 10.0])
    assert resampled_errors(time, time, 1000.0) == approx(np.ones(24))


def test_the_worst_of_24_phases_and_of_intervals_up_to_a_fiftieth_longer_or_shorter():
    # closed form as for the ramp above: head f, tail g, (f^2 - g^2) / 2 of 5000 A s
    (worst,) = (
        one.worst_percent
        for one in sampling_errors(np.array([0.0, 100.0]), np.array([0.0, 100.0]))
        if one.interval_s == 10.0
    )
    intervals = 10.0 * np.array([[0.98], [0.99], [1.0], [1.01], [1.02]])
    head = intervals * (np.arange(24) + 0.5) / 24
    tail = (100.0 - head) % intervals
    assert worst == approx(100.0 * (np.abs(head**2 - tail**2) / 2.0 / 5000.0).max(), rel=1e-9)


@pytest.mark.parametrize(
    ("start_s", "end_s", "intervals"),
    [
        (100.0, 500.0, (1.0, 2.0, 5.0, 10.0, 15.0, 20.0, 30.0, 60.0)),  # below 400 s / 4
        (100.0, 581.0, (1.0, 2.0, 5.0, 10.0, 15.0, 20.0, 30.0, 60.0, 120.0)),
        (0.0, 400_000.0, (15.0, 20.0, 30.0, 60.0, 120.0, 300.0, 600.0)),  # 40,000 samples at most
        (0.0, 399_999.0, (10.0, 15.0, 20.0, 30.0, 60.0, 120.0, 300.0, 600.0)),
        (0.0, 4.0, ()),
    ],
)
def test_intervals_tried_give_more_than_four_samples_and_not_too_many(
    start_s, end_s, intervals, monkeypatch
):
    monkeypatch.setattr(sampling, "_worst_percent", lambda *_: 0.25)
    found = sampling_errors(np.array([start_s, end_s]), np.array([5.0, 5.0]))
    assert found == tuple(SamplingError(one, 0.25) for one in intervals)


def test_an_error_just_as_large_as_allowed_is_allowed():
    assert longest_interval((SamplingError(1.0, 0.2), SamplingError(2.0, 0.5)), 0.5) == 2.0


@pytest.mark.parametrize(
    ("times", "amperes", "on_s"),
    [
        ([0, 10, 10, 15, 15, 30], [0, 0, 8, 8, 0, 0], 5.0),  # once, in the middle
        ([0, 4, 4, 10, 10, 11], [8, 8, 0, 0, 8, 8], 4.0),  # what the end cuts short is not whole
        ([0, 4, 4, 10], [8, 8, 0, 0], None),  # off for good
        ([0, 4, 4, 10], [0, 0, 8, 8], None),  # on for good
        ([0, 9, 9, 10, 10, 12, 12, 15], [8, 8, 0, 0, 8, 8, 0, 0], 2.0),
    ],
)
def test_whole_on_times(times, amperes, on_s):
    assert shortest_on_s(np.array(times, float), np.array(amperes, float), 1.0) == on_s
