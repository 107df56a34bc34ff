"""Times of a file in seconds: dates by the calendar, both sides of every limit."""

from datetime import datetime, timedelta

import numpy as np
import pytest
from pytest import approx

from bankSim.measured.clock import NONE
from bankSim.measured.column import Column
from bankSim.measured.header_words import Header
from bankSim.measured.log import NOTE, WARNING, Finding
from bankSim.measured.stamps import moment_of, seconds_of
from bankSim.measured.table import Table

DAY_US = 86_400_000_000
SETTLED = Finding("settled")


def times_of(values, unit="", settled="min"):
    """Times and findings of a column of numbers."""
    values = np.asarray(values, float)
    column = Column(1, Header("t", unit, (), -1, {}), values, False, values.size)
    table = Table(np.arange(2, values.size + 2), {1: values}, None, False, 0, [])
    found = []
    return seconds_of(table, column, found, lambda _: (settled, SETTLED)), found


def times_of_stamps(day_us, month_us=None, *, dated=True, zone_us=0):
    """Times and findings of a column of dates."""
    both = np.column_stack([day_us, day_us if month_us is None else month_us]).astype(np.int64)
    table = Table(np.arange(2, len(day_us) + 2), {}, both, dated, zone_us, [])
    column = Column(1, Header("t", "", (), -1, {}), np.empty(0), True, len(day_us))
    found = []
    return seconds_of(table, column, found, lambda _: ("s", SETTLED)), found


@pytest.mark.parametrize(
    ("unit", "seconds"),
    [("s", 1.0), ("ms", 1e-3), ("us", 1e-6), ("min", 60.0), ("h", 3600.0), ("d", 86_400.0)],
)
def test_numbers_with_a_unit(unit, seconds):
    times, found = times_of([0.0, 1.0, 2.5], unit)
    assert times.values_s == approx(seconds * np.array([0.0, 1.0, 2.5]), rel=1e-15)
    assert (times.unit, times.starts_us, found) == (unit, None, [])


def test_numbers_without_a_unit_are_settled():
    times, found = times_of([0.0, 1.0, 2.5])
    assert times.values_s.tolist() == [0.0, 60.0, 150.0]
    assert found == [SETTLED]
    odd, found = times_of([0.0, 1.0, 2.5], "V")  # no unit of time
    assert (odd.values_s.tolist(), odd.unit, found) == ([0.0, 1.0, 2.5], "s", [])


@pytest.mark.parametrize(
    ("per_s", "units", "name"),
    [(1.0, ("", "s"), "unix s"), (1e3, ("", "ms"), "unix ms"), (1e6, ("", "us"), "unix us")],
)
def test_seconds_since_1970(per_s, units, name):
    # 1.7e9 s: 14 November 2023, 22:13:20 UTC
    for unit in units:
        times, _ = times_of(per_s * np.array([1.7e9, 1.7e9 + 0.5, 1.7e9 + 60.0]), unit)
        assert times.values_s == approx([0.0, 0.5, 60.0], abs=1e-6)
        assert times.unit == name
        assert moment_of(times.starts_us[0]) == datetime(2023, 11, 14, 22, 13, 20)
        assert moment_of(times.starts_us[2]) == datetime(2023, 11, 14, 22, 14, 20)


def test_the_first_time_that_can_be_read_is_the_start():
    times, _ = times_of([np.nan, 1.7e9, 1.7e9 + 5.0])
    assert np.isnan(times.values_s[0])
    assert times.values_s[1:].tolist() == [0.0, 5.0]


@pytest.mark.parametrize(("low", "high"), [(1e8, 5e9), (1e11, 5e12), (1e14, 5e15)])
def test_times_between_1973_and_2128_are_since_1970(low, high):
    for value, unix in (
        (0.95 * low, False),
        (1.1 * low, True),
        (0.9 * high, True),
        (1.1 * high, False),
    ):
        times, _ = times_of([value, value, value])
        assert times.unit.startswith("unix") is unix
    assert times_of([1.7e9] * 3, "h")[0].unit == "h"  # another unit says what they are


@pytest.mark.parametrize("day", [45_000, 45_001])
def test_days_of_a_spreadsheet_to_the_second(day):
    # day 25569 is 1 January 1970, so 45000 is 15 March 2023
    values = day + np.arange(1440.0) / 1440.0
    times, (found,) = times_of(values)
    start = datetime(2023, 3, 15) + timedelta(days=day - 45_000)
    assert found.severity == WARNING
    assert times.unit == "days"
    assert np.diff(times.values_s) == approx(60.0, abs=1e-3)
    told = [moment_of(us).isoformat(timespec="seconds") for us in times.starts_us]
    assert told == [(start + timedelta(minutes=k)).isoformat() for k in range(1440)]


@pytest.mark.parametrize(
    ("values", "days"),
    [
        ([19_999.2, 19_999.5, 19_999.7], False), ([20_000.2, 20_000.5, 20_000.7], True),
        ([79_999.2, 79_999.5, 79_999.7], True), ([80_000.2, 80_000.5, 80_000.7], False),
        ([45_000.0, 45_001.0, 45_002.0], False),  # whole numbers: seconds, rather
        ([45_000.0, 45_100.5, 45_399.0], True), ([45_000.0, 45_100.5, 45_401.0], False),
        ([45_000.0, np.nan, 45_000.5], True),
    ],
)  # fmt: skip
def test_what_looks_like_days_of_a_spreadsheet(values, days):
    assert (times_of(values)[0].unit == "days") is days
    assert times_of(values, "s")[0].unit == "s"


def test_clock_times_count_from_the_first():
    times, found = times_of_stamps([NONE, 5_000_000, 5_500_000, NONE, 65_000_000], dated=False)
    assert np.isnan(times.values_s).tolist() == [True, False, False, True, False]
    assert times.values_s[[1, 2, 4]].tolist() == [0.0, 0.5, 60.0]
    assert (times.of_day, times.starts_us, found) == (True, None, [])
    none, _ = times_of_stamps([NONE, NONE])
    assert np.isnan(none.values_s).all()


def test_the_wall_clock_is_that_of_the_zone():
    times, _ = times_of_stamps([0, NONE, 60_000_000], zone_us=3_600_000_000)
    assert times.starts_us.tolist() == [3_600_000_000, NONE, 3_660_000_000]
    assert (times.values_s[2], times.of_day) == (60.0, False)


def days(*numbers):
    return [one if one == NONE else one * DAY_US for one in numbers]


@pytest.mark.parametrize(
    ("day", "month", "chosen", "words"),
    [
        (days(1, 2, 3), days(1, 32, 60), "day", "rises more evenly"),
        (days(1, 32, 60), days(1, 2, 3), "month", "rises more evenly"),
        (days(3, 2, 4), days(1, 32, 60), "month", "rises more evenly"),  # falls once
        (days(1, 2, 3), days(11, 12, 13), "day", "the month could stand first as well"),
        (days(1, 2, 60), days(1, NONE, 2), "day", "dates that do not exist"),
        (days(1, NONE, 2), days(1, 2, 60), "month", "dates that do not exist"),
        (days(1), days(32), "day", "the month could stand first as well"),
    ],
)
def test_day_or_month_first(day, month, chosen, words):
    times, (found,) = times_of_stamps(day, month)
    assert found.severity == NOTE
    assert f"{chosen} first" in found.text
    assert words in found.text
    expected = np.array(day if chosen == "day" else month)
    assert times.starts_us.tolist() == expected.tolist()


def test_times_of_day_have_no_order_of_day_and_month():
    times, found = times_of_stamps(days(1, 32), days(1, 2), dated=False)
    assert (times.values_s.tolist(), found) == ([0.0, 31 * 86_400.0], [])


def test_moments_that_no_calendar_holds():
    assert moment_of(None) is None
    assert moment_of(np.int64(NONE)) is None
    assert moment_of(np.int64(2**62)) is None  # some 146,000 years
    assert moment_of(np.int64(0)) == datetime(1970, 1, 1)
