"""An hour that no time has passed in: both sides of every limit. Sundays are those of 2024."""

from datetime import datetime, timedelta

import numpy as np
import pytest

from bankSim.measured.clock_jumps import without_summer_time
from bankSim.measured.log import WARNING

MARCH = datetime(2024, 3, 31, 1, 30)  # clocks in Europe go from 2 to 3 o'clock on that Sunday
SLOPE = 0.001  # volts a minute: 60 mV in an hour


def log_of(starts_at=MARCH, *, before=30, after=30, step_s=60.0, extra_s=3600.0, leap_V=0.0):
    """A steady discharge whose clock leaps behind some samples; the battery knows of no hour."""
    place = np.arange(before + after)
    time = step_s * place + np.where(place >= before, extra_s, 0.0)
    volts = 13.0 - SLOPE * step_s / 60.0 * place - np.where(place >= before, leap_V, 0.0)
    return {
        "time_s": time, "starts_at": starts_at, "voltage_V": volts,
        "current_A": np.full(place.size, 5.0), "rows": place + 2,
    }  # fmt: skip


def mended(log):
    """Whether the hour was taken back."""
    time, found = without_summer_time(**log)
    assert bool(found) is not np.array_equal(time, log["time_s"])
    return bool(found)


def test_an_hour_is_taken_back():
    log = log_of()
    time, (found,) = without_summer_time(**log)
    assert time.tolist() == (60.0 * np.arange(60)).tolist()
    assert log["time_s"][-1] == 59 * 60.0 + 3600.0  # what was handed in stays
    assert (found.rows, found.severity) == ((32,), WARNING)
    assert "Row 32: the clock jumps forward by one hour at 02:00 on 2024-03-31" in found.text


def test_a_sample_right_at_the_hour_changes_no_hour():
    # a clock that rounds may write 02:00:00 as the last before 03:01:00
    time, (found,) = without_summer_time(**log_of(before=31))
    assert time[-1] == 60 * 60.0
    assert "by one hour at 02:00 on" in found.text


@pytest.mark.parametrize(
    ("month", "day", "told"),
    [(3, 30, False), (3, 31, True), (4, 1, False), (4, 7, True), (9, 29, True), (10, 6, True),
     (1, 7, False), (2, 25, False), (5, 5, False), (8, 25, False), (11, 3, False)],
)  # fmt: skip
def test_clocks_are_put_forward_on_sundays_in_spring(month, day, told):
    assert mended(log_of(datetime(2024, month, day, 1, 30))) is told


@pytest.mark.parametrize(
    ("hour", "told"), [(0, True), (1, True), (2, True), (3, False), (5, False)]
)
def test_clocks_are_put_forward_at_night(hour, told):
    assert mended(log_of(datetime(2024, 3, 31, hour) - timedelta(minutes=30))) is told


@pytest.mark.parametrize(
    ("minute", "told"), [(11, False), (29, False), (30, True), (31, True), (32, False)]
)
def test_the_missing_hour_is_just_the_one_skipped(minute, told):
    # the last sample before it comes 29 minutes later: 01:59 and 02:00 do, 01:58 and 02:01 not
    assert mended(log_of(datetime(2024, 3, 31, 1, minute))) is told


@pytest.mark.parametrize(("off_s", "told"), [(-31, False), (29, True), (31, False)])
def test_an_hour_is_an_hour_within_half_a_step(off_s, told):
    # from 01:59:30 on, so that a little less still ends behind 03:00
    assert mended(log_of(MARCH + timedelta(seconds=30), extra_s=3600.0 + off_s)) is told


def test_without_wall_clock_nothing_is_known():
    assert not mended(log_of(None))


@pytest.mark.parametrize(("after", "told"), [(5, False), (6, True)])
def test_eight_steps_show_the_usual_one(after, told):
    # three samples before: 7 and 8 steps in all
    assert mended(log_of(MARCH + timedelta(minutes=27), before=3, after=after)) is told


@pytest.mark.parametrize(("step_s", "told"), [(900.0, True), (960.0, False)])
def test_rows_a_quarter_of_an_hour_apart_still_show_an_hour(step_s, told):
    # the last one before stands at 01:55
    starts_at = datetime(2024, 3, 31, 1, 55) - timedelta(seconds=9 * step_s)
    assert mended(log_of(starts_at, before=10, after=10, step_s=step_s)) is told


@pytest.mark.parametrize(
    ("after_A", "told"), [(5.7, True), (6.0, False), (4.3, True), (4.2, False)]
)
def test_another_current_needs_time(after_A, told):
    # 15 % of the larger one: 0.86, 0.9, 0.75 and 0.75 A
    log = log_of()
    log["current_A"][30:] = after_A
    assert mended(log) is told


@pytest.mark.parametrize(("rest_A", "told"), [(0.09, True), (0.11, False)])
def test_small_currents_may_differ_by_a_fiftieth_of_the_largest(rest_A, told):
    log = log_of()
    log["current_A"][10:] = 0.0
    log["current_A"][30:] = rest_A
    assert mended(log) is told


@pytest.mark.parametrize(("leap_V", "told"), [(0.028, True), (0.03, False), (-0.1, True)])
def test_half_of_what_an_hour_changes_shows_that_it_passed(leap_V, told):
    # 60 mV in an hour; 1 mV of the step itself counts to the leap
    assert mended(log_of(leap_V=leap_V)) is told


@pytest.mark.parametrize(("scatter_V", "told"), [(0.013, False), (0.018, True)])
def test_a_course_in_noise_shows_no_hour(scatter_V, told):
    # 60 mV, all of them come; four times 13 and 18 mV are 52 and 72 mV
    log = log_of(leap_V=0.06)
    log["voltage_V"] += scatter_V * (-1.0) ** np.arange(60)
    log["voltage_V"][29:31] -= scatter_V * np.array([-1.0, 1.0])  # the leap itself is clean
    assert mended(log) is told


def test_the_course_is_that_of_half_an_hour_on_each_side():
    # before that it fell by 10 mV a minute: 0.3 V an hour on the mean, of which 31 mV are little
    log = log_of(MARCH - timedelta(minutes=30), before=60, leap_V=0.031)
    log["voltage_V"][:29] += 0.01 * np.arange(29)[::-1]
    assert not mended(log)


def test_a_course_of_two_samples_is_none():
    # 0.5 V within the last minute: 30 V an hour, if that counted
    log = log_of(before=30, after=2, leap_V=0.06)
    log["voltage_V"][31] -= 0.5
    assert not mended(log)
