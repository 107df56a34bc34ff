"""Bands of percentiles along a line, and averages where much switches."""

import numpy as np
import pytest
from matplotlib.colors import to_hex
from matplotlib.figure import Figure

from bankSim.show.bands import (
    NARROW_ALPHA,
    WIDE_ALPHA,
    averaged,
    band_legend,
    draw_bands,
    mark_ends,
    switching_width,
)

X = np.array([0.0, 1.0, 2.0])
FIVE = np.array([[1.0, 2.0, 3.0], [2.0, 3.0, 4.0], [4.0, 5.0, 6.0], [7.0, 8.0, 9.0],
                 [11.0, 12.0, 13.0]])  # fmt: skip


@pytest.fixture
def axes():
    return Figure().subplots()


def reach(collection):
    """Lowest and highest point of a filled area at x = 0."""
    rows = collection.get_paths()[0].vertices
    heights = rows[rows[:, 0] == 0.0, 1]
    return heights.min(), heights.max()


def test_the_wide_band_is_pale_and_the_narrow_one_lies_on_it(axes):
    draw_bands(axes, X, FIVE, "#0072B2")
    wide, narrow = axes.collections
    assert reach(wide) == (1.0, 11.0)  # 5 to 95 %
    assert reach(narrow) == (2.0, 7.0)  # 25 to 75 %
    assert wide.get_alpha() < narrow.get_alpha()
    assert {to_hex(one.get_facecolor()[0]) for one in (wide, narrow)} == {"#0072b2"}


def test_edges_are_fine_and_the_median_is_not(axes):
    draw_bands(axes, X, FIVE, "#0072B2")
    low, high, median = axes.lines
    assert list(low.get_ydata()) == [1.0, 2.0, 3.0]
    assert list(high.get_ydata()) == [11.0, 12.0, 13.0]
    assert list(median.get_ydata()) == [4.0, 5.0, 6.0]
    assert median.get_linewidth() > 2 * max(low.get_linewidth(), high.get_linewidth())


def test_the_legend_has_the_ink_of_one_band_on_the_other():
    marks = band_legend(ends=False)
    assert list(marks) == ["median of the draws", "25 to 75 %", "5 to 95 %"]
    assert marks["5 to 95 %"].get_alpha() == WIDE_ALPHA
    both = WIDE_ALPHA + NARROW_ALPHA
    assert WIDE_ALPHA < marks["25 to 75 %"].get_alpha() == pytest.approx(both)
    assert band_legend(ends=True)["5, 50, 95 % of the runs have ended"].get_marker() == "o"


def rings(axes):
    return [
        (line.get_xdata()[0], line.get_ydata()[0], line.get_markersize()) for line in axes.lines
    ]


def test_a_ring_at_the_last_point_of_each_line_that_draws_end(axes):
    five = FIVE.copy()
    five[0, 1:], five[2, 2:] = np.nan, np.nan  # the 5 % end first, then the middle
    mark_ends(axes, X, five, np.ones(5, dtype=bool), "k")
    assert rings(axes) == [(1.0, 5.0, 6.0), (0.0, 1.0, 4.0), (2.0, 13.0, 4.0)]


def test_no_ring_where_nothing_ends_or_nothing_was(axes):
    five = FIVE.copy()
    five[4] = np.nan
    ended = np.array([False, True, False, True, True])
    mark_ends(axes, X, five, ended, "k")
    assert rings(axes) == []


def test_lines_that_end_in_one_point_have_one_ring(axes):
    five = np.tile(FIVE[2], (5, 1))
    mark_ends(axes, X, five, np.ones(5, dtype=bool), "k")
    assert rings(axes) == [(2.0, 6.0, 6.0)]


def duty(times, high=10.0):
    """One row in four is high, so many times; a row every unit."""
    x = np.arange(4.0 * times + 1.0)
    return x, np.where(x % 4 == 2, high, 0.0)


def test_only_thirty_switchings_and_more_are_averaged():
    x, y = duty(30)
    assert switching_width(x, [y]) is None
    x, y = duty(31)
    assert switching_width(x, [np.zeros(x.size), y]) == pytest.approx(4.0)


def test_no_line_or_a_flat_one_switches_never():
    x = np.arange(200.0)
    assert switching_width(x, []) is None
    assert switching_width(x, [np.full(200, 3.0)]) is None
    assert switching_width(x, [np.full(200, np.nan)]) is None


def test_the_mean_of_a_slope_is_the_slope_half_a_width_inside():
    x = np.arange(11.0)
    mean = averaged(x, 3.0 * x + 1.0, 4.0)
    assert np.isnan(mean[[0, 1, 9, 10]]).all()
    np.testing.assert_allclose(mean[2:9], 3.0 * x[2:9] + 1.0)


def test_rows_of_uneven_steps_count_by_their_time():
    x = np.array([0.0, 1.0, 1.0, 9.0, 9.0, 10.0])
    y = np.array([0.0, 0.0, 8.0, 8.0, 0.0, 0.0])  # 8 from 1 to 9
    mean = averaged(x, y, 2.0)
    np.testing.assert_allclose(mean[[1, 2]], 4.0)  # half of the window from 0 to 2
    assert averaged(x, y, None) is y


def test_stretches_are_averaged_apart_and_short_ones_left():
    x = np.arange(12.0)
    y = np.array([5.0, 7.0, 5.0, 7.0, 5.0, np.nan, 50.0, 70.0, np.nan, 1.0, 3.0, 1.0])
    mean = averaged(x, y, 2.0)
    np.testing.assert_allclose(mean[1:4], 6.0)
    assert list(mean[6:8]) == [50.0, 70.0]  # shorter than a width
    assert list(mean[9:]) == [1.0, 3.0, 1.0]  # as long as a width: still left
    assert np.isnan(mean[[0, 4, 5, 8]]).all()


def test_values_apart_stay_where_they_are():
    x = np.arange(8.0)
    y = np.array([2.0, 4.0, 2.0, 4.0, 0.0, 0.0, 0.0, 0.0])
    mean = averaged(x, y, 2.0, apart=0.0)
    assert list(mean[4:]) == [0.0] * 4
    np.testing.assert_allclose(mean[1:3], 3.0)
    assert np.isnan(mean[3])
