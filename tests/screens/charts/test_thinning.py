"""Lines made short: nothing that matters is lost."""

import numpy as np
import pytest

from bankSim.screens.charts.thinning import POINTS, kept, window_of


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
