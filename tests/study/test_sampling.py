import numpy as np
import pytest
from pytest import approx

from bankSim.study.sampling import (
    SamplingError,
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
