import numpy as np
import pytest

from bankSim.show.least_to_most import windows_between
from bankSim.show.lines import averaging_width
from bankSim.show.thin import means, means_between, rises, smoothing_width, thin


def test_short_lines_stay_as_they_are():
    x = np.arange(100.0)
    assert thin(x, x)[0] is x


def test_long_lines_keep_their_ends_and_a_lone_peak():
    x = np.arange(100_000.0)
    y = np.zeros_like(x)
    y[54_321] = 7.0
    y[77_777] = -3.0
    short_x, short_y = thin(x, y)
    assert short_x.size <= 4 * 1200
    assert (short_x[0], short_x[-1]) == (0.0, 99_999.0)
    assert (short_y.max(), short_y.min()) == (7.0, -3.0)
    assert np.all(np.diff(short_x) > 0)


def on_and_off(on, off, times):
    """A line of 10 while on and 0 while off, with both values at each jump."""
    edges = np.cumsum(np.tile([on, off], times))
    x = np.concatenate([[0.0], np.repeat(edges, 2)[:-1]])
    y = np.repeat(np.tile([10.0, 0.0], times), 2)
    return x, y


def test_running_average_of_a_duty_is_its_mean_without_a_beat():
    # 1.5 min on, 4.5 min off: 10 A x 1.5/6 = 2.5 A, whatever stretch is asked for
    x, y = on_and_off(1.5, 4.5, 160)
    width = smoothing_width(x, rises(x, y))
    assert width == pytest.approx(18.0)  # three periods of 6 min are nearest to 960/60 = 16 min
    at, mean = means(x, y, width)
    assert (at[0], at[-1]) == (9.0, 951.0)
    assert mean == pytest.approx(np.full(at.size, 2.5))


def test_rises_are_jumps_up_of_the_usual_range_even_beside_a_spike():
    x, y = on_and_off(1.0, 1.0, 50)
    y[120:122] = 1000.0
    assert rises(x, y).size == pytest.approx(49, abs=1)


def test_a_smooth_line_does_not_count_as_switching():
    x = np.linspace(0.0, 20.0, 2000)
    assert rises(x, np.sin(x)).size == 0
    assert rises(x, np.zeros(2000)).size == 0
    assert rises(x[:1], x[:1]).size == 0


def test_no_average_reaches_across_a_break():
    x = np.concatenate([np.linspace(0.0, 10.0, 101), np.linspace(10.0, 20.0, 101)])
    y = np.where(np.arange(202) < 101, 4.0, 0.0)
    at, mean = means_between(x, y, 2.0, np.array([10.0]))
    known = np.isfinite(mean)
    # 4 before the break and 0 after it, nothing in between
    assert set(np.round(mean[known], 12)) <= {4.0, 0.0}
    assert np.all(mean[known & (at < 9.0)] == pytest.approx(4.0))
    assert np.isnan(mean).sum() == 2


def test_a_short_stretch_gets_its_plain_mean():
    x = np.linspace(0.0, 1.0, 11)
    at, mean = means_between(x, x, 5.0, np.empty(0))
    assert at[:2].tolist() == [0.0, 1.0]
    assert mean[:2] == pytest.approx([0.5, 0.5])


def test_rises_of_one_instant_count_once():
    # 200 times on and off within one instant, then a beat of 2 s: the beat is the period
    beat = np.repeat(np.arange(1.0, 101.0), 2)
    x = np.concatenate([np.full(400, 0.5), beat])
    y = np.concatenate([np.tile([0.0, 1.0], 200), np.tile([0.0, 1.0, 1.0, 0.0], 50)])
    width = averaging_width(x, [y])
    assert width is not None
    assert width > 0.0


def test_windows_tell_least_most_and_average_and_begin_anew_at_a_break():
    # 70 A that fall with 0.2 h from 8 h on, nothing before: the mean over the first 0.5 h is
    # 70 x 0.2/0.5 x (1 - exp(-2.5)) = 25.70 A
    after = np.linspace(8.0, 10.0, 4001)
    x = np.concatenate([[0.0, 8.0], after])
    y = np.concatenate([[0.0, 0.0], 70.0 * np.exp((8.0 - after) / 0.2)])
    own = windows_between(x, y, 0.5, np.array([8.0]))
    assert own.x[::2] == pytest.approx(0.5 * np.arange(20))
    before = own.x[1::2] <= 8.0
    for values in (own.low, own.high, own.mean):
        assert not values[::2][before].any()
    first = np.flatnonzero(~before)[0] * 2
    assert own.high[first] == pytest.approx(70.0)
    assert own.low[first] == pytest.approx(70.0 * np.exp(-2.5), rel=1e-6)
    assert own.mean[first] == pytest.approx(28.0 * (1.0 - np.exp(-2.5)), rel=1e-5)


def test_windows_of_a_duty_are_its_two_values_and_its_mean():
    x, y = on_and_off(1.5, 4.5, 160)
    own = windows_between(x, y, 18.0, np.empty(0))
    assert (own.x[0], own.x[-1]) == (0.0, x[-1])
    assert own.mean[:-2] == pytest.approx(2.5)
    assert set(own.low) == {0.0}
    assert set(own.high) == {10.0}


def test_the_last_window_takes_in_what_is_left():
    x = np.linspace(0.0, 10.0, 11)
    own = windows_between(x, x, 4.0, np.array([9.0]))
    assert own.x.tolist() == [0.0, 4.0, 4.0, 9.0, 9.0, 10.0]
    assert own.mean[::2] == pytest.approx([2.0, 6.5, 9.5])


def test_windows_without_a_row_at_a_break_follow_the_line():
    own = windows_between(np.array([0.0, 10.0]), np.array([0.0, 10.0]), 4.0, np.array([5.0]))
    assert (own.low.min(), own.high.max()) == (0.0, 10.0)
