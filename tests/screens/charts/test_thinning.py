"""Lines made short: nothing that matters is lost."""

import numpy as np
import pytest

from bankSim.screens.charts.thinning import MOST_KEPT, POINTS, inside, kept, window_of


@pytest.mark.parametrize("seed", range(5))
def test_peaks_ends_and_instants_stay(seed):
    rng = np.random.default_rng(seed)
    time = np.sort(rng.uniform(0.0, 1e5, 40_000))
    values = np.cumsum(rng.normal(size=time.size))
    spikes = rng.integers(0, time.size, 6)
    values[spikes] += np.array([900.0, -900.0, 500.0, -500.0, 700.0, -700.0])
    events = time[rng.integers(0, time.size, 20)]
    places = kept(time, values, events)
    assert places.size <= POINTS + 2 * events.size
    assert (np.diff(places) > 0).all()
    assert {0, time.size - 1} <= set(places.tolist())
    assert set(np.flatnonzero(np.isin(time, events)).tolist()) <= set(places.tolist())
    for low in np.arange(0.0, 1e5, 1e4):  # peaks of any stretch, to one bucket at its ends
        wide = 1e5 / (POINTS // 4)
        inner = (time >= low + wide) & (time < low + 1e4 - wide)
        near = (time[places] >= low) & (time[places] < low + 1e4)
        assert values[places][near].max() >= values[inner].max()
        assert values[places][near].min() <= values[inner].min()


def test_jumps_keep_both_sides():
    time = np.repeat(np.arange(5000.0), 2)
    values = np.where(np.arange(10_000) < 5001, 0.0, 1.0)
    places = kept(time, values, np.array([2500.0]))
    assert {5000, 5001} <= set(places.tolist())


def test_gaps_keep_their_ends():
    values = np.sin(np.arange(9000.0) / 50.0)
    values[3001:3457] = np.nan
    places = kept(np.arange(9000.0), values, np.empty(0))
    assert {3000, 3001, 3456, 3457} <= set(places.tolist())


def test_short_lines_stay_whole():
    assert kept(np.arange(7.0), np.full(7, np.nan), np.empty(0)).tolist() == list(range(7))


@pytest.mark.parametrize(
    ("asked", "expected_h"),
    [
        (None, (0.0, 10.0)), ((2.0, 3.0), (2.0, 3.0)), ((3.0, 2.0), (2.0, 3.0)),
        ((-5.0, 4.0), (0.0, 4.0)), ((8.0, 99.0), (8.0, 10.0)), ((20.0, 30.0), (0.0, 10.0)),
        ((4.0, 4.0), (0.0, 10.0)),
    ],
)  # fmt: skip
def test_windows_stay_within_the_run(asked, expected_h):
    window = window_of(36_000.0, asked)
    assert (window.low_s / 3600.0, window.high_s / 3600.0) == pytest.approx(expected_h)


# twelve even points in two buckets; first, lowest, highest (the first of equals) and last of each
TWELVE = np.array([0.0, 5.0, 1.0, -3.0, 2.0, 0.0, 7.0, 7.0, 9.0, -1.0, -1.0, 4.0])
OF_TWELVE = [0, 1, 3, 5, 6, 8, 9, 11]


@pytest.mark.parametrize("begin_s", [0.0, 100.0])
def test_first_lowest_highest_and_last_of_each_bucket(begin_s):
    time = begin_s + np.arange(12.0)
    assert kept(time, TWELVE, np.empty(0), 8).tolist() == OF_TWELVE
    assert kept(time, TWELVE, np.empty(0), 12).tolist() == list(range(12))
    assert kept(time, -TWELVE, np.empty(0), 8).tolist() == OF_TWELVE


def test_instants_that_must_stay_keep_all_their_sides_unless_they_are_very_many():
    time = np.array([0.0, 1, 2, 2, 2, 3, 6, 7, 8, 9, 10, 11])  # bounds as before: 2 is a jump
    whole = kept(time, TWELVE, np.array([2.0, 5.0, 10.0]), 8).tolist()
    assert whole == sorted({*OF_TWELVE, 2, 4, 10})  # nothing stands at 5 s
    for count, more in ((MOST_KEPT, [10]), (MOST_KEPT + 1, [])):
        always = np.full(count, 10.0)
        assert kept(np.arange(12.0), TWELVE, always, 8).tolist() == sorted([*OF_TWELVE, *more])


def test_a_line_at_one_instant_and_one_without_numbers_are_drawn():
    assert kept(np.full(9, 5.0), np.arange(9.0), np.empty(0), 8).tolist() == [0, 8]
    assert kept(np.arange(9.0), np.full(9, np.nan), np.empty(0), 4).tolist() == [0, 8]


@pytest.mark.parametrize(
    ("hours", "places"),
    [((3.5, 6.5), (3, 7)), ((3.0, 6.0), (2, 7)), ((0.0, 10.0), (0, 10)), ((9.5, 10.0), (9, 10))],
)
def test_inside_a_window_and_one_more_on_either_side(hours, places):
    time = 3600.0 * np.arange(11.0)
    found = inside(time, window_of(36_000.0, hours))
    assert (found.start, found.stop - 1) == places


@pytest.mark.parametrize(
    ("asked", "expected_h"),
    [(None, (0.0, 12.0)), ((8.0, 99.0), (8.0, 12.0)), ((11.0, 12.0), (0.0, 12.0)),
     ((10.0, 12.0), (0.0, 12.0))],
)  # fmt: skip
def test_what_ends_later_is_shown_but_no_window_without_the_run(asked, expected_h):
    window = window_of(36_000.0, asked, beyond_s=43_200.0)
    assert (window.low_s / 3600.0, window.high_s / 3600.0) == pytest.approx(expected_h)
    assert window.span_s == pytest.approx(3600.0 * (expected_h[1] - expected_h[0]))


@pytest.mark.parametrize(
    ("hours", "digits"),
    [(None, 2), ((8.0, 9.0), 2), ((8.0, 8.9), 3), ((8.0, 8.12), 3), ((8.0, 8.02), 4)],
)
def test_the_time_is_told_to_a_hundredth_of_what_is_shown(hours, digits):
    assert window_of(36_000.0, hours).digits == digits  # 0.01 h of 10 h, 0.0001 h of 72 s


def test_the_unit_is_that_of_the_last_instant_shown():
    assert [window_of(end_s, None).unit for end_s in (50.0, 1800.0, 36_000.0)] == ["s", "min", "h"]
    assert window_of(36_000.0, (8.0, 8.01)).unit == "h"
    assert window_of(36_000.0, (0.0, 0.1)).unit == "s"
