"""Histograms of one number of all draws."""

from dataclasses import replace

import numpy as np
import pytest
from matplotlib.figure import Figure
from told_studies import band

from bankSim.show.histogram import draw_histogram, edges_of
from bankSim.show.looks import INK

BAND = replace(band(10.0, 15.0, 20.0), central=None)
VALUES = np.concatenate([np.full(20, 10.0), np.full(60, 15.0), np.full(20, 20.0)])


def drawn(values, of):
    axes = Figure().subplots()
    draw_histogram(axes, values, of, "#0072B2")
    return axes


@pytest.mark.parametrize(("draws", "bins"), [(4, 5), (36, 6), (400, 20), (1600, 40), (10_000, 40)])
def test_bins_are_the_root_of_the_draws_within_bounds(draws, bins):
    edges = edges_of(np.linspace(1.0, 2.0, draws))
    assert edges.size == bins + 1
    assert (edges[0], edges[-1]) == (1.0, 2.0)
    np.testing.assert_allclose(np.diff(edges), 1.0 / bins)


@pytest.mark.parametrize(
    ("value", "half"), [(100.0, 5.0), (-100.0, 5.0), (2.0, 0.5), (0.0, 0.5), (10.0, 0.5)]
)
def test_draws_that_are_all_alike_get_room_around_them(value, half):
    edges = edges_of(np.full(50, value))
    assert (edges[0], edges[-1]) == pytest.approx((value - half, value + half))
    assert edges.size == 6
    assert edges_of(np.array([value, value * (1 + 5e-7)])).size == 6
    assert edges_of(np.array([100.0, 100.001]))[0] == 100.0  # 1e-5: a range of its own


def test_bars_count_the_draws():
    axes = drawn(VALUES, BAND)
    heights = [bar.get_height() for bar in axes.patches]
    assert len(heights) == 10
    assert [heights[0], heights[5], heights[9]] == [20, 60, 20]
    assert sum(heights) == 100
    assert axes.get_ylim()[0] == 0.0
    assert axes.get_ylim()[1] > 1.3 * 60  # room for the words above


def test_strokes_and_words_at_the_three_points():
    axes = drawn(VALUES, BAND)
    strokes = {line.get_xdata()[0]: line for line in axes.lines}
    assert sorted(strokes) == [10.0, 15.0, 20.0]
    assert strokes[15.0].get_linewidth() > strokes[10.0].get_linewidth()
    assert all(line.get_ydata()[0] == 0.0 and line.get_color() == INK for line in axes.lines)
    told = {text.get_text(): (text.xy, text.get_ha()) for text in axes.texts}
    assert set(told) == {"5 %: 10.0", "median: 15.0", "95 %: 20.0"}
    assert told["5 %: 10.0"][1] == "right"
    assert told["95 %: 20.0"][1] == "left"
    assert told["median: 15.0"][0][1] > told["5 %: 10.0"][0][1] > 60  # above, not over the others


def test_points_that_round_alike_are_told_once():
    axes = drawn(np.full(50, 15.0), band(15.0, 15.0, 15.0))
    assert [text.get_text() for text in axes.texts] == ["5 to 95 %: 15.0"]


def test_the_single_run_is_a_ring_that_is_always_seen():
    axes = drawn(VALUES, replace(BAND, central=30.0))
    ring = axes.lines[-1]
    assert (ring.get_marker(), ring.get_xdata()[0], ring.get_ydata()[0]) == ("o", 30.0, 0.0)
    low, high = axes.get_xlim()
    assert (low, high) == pytest.approx((10.0 - 2.6, 30.0 + 2.6))  # 13 % of 20 on both sides
    plain = drawn(VALUES, BAND)
    assert plain.get_xlim() == pytest.approx((10.0 - 1.3, 20.0 + 1.3))


def test_strokes_reach_just_above_the_highest_bar_and_stay_inside():
    axes = drawn(VALUES, BAND)
    tops = [line.get_ydata()[1] for line in axes.lines]
    assert all(60.0 < top < 0.9 * axes.get_ylim()[1] for top in tops)
    assert axes.get_ylim()[1] < 1.6 * 60.0  # bars keep most of the height


def test_draws_are_counted_in_whole_numbers_along_the_axis():
    axes = drawn(np.array([10.0, 15.0, 20.0]), BAND)
    assert all(float(tick).is_integer() for tick in axes.get_yticks())


def test_a_single_run_below_all_draws_is_seen_too():
    low, high = drawn(VALUES, replace(BAND, central=0.0)).get_xlim()
    assert (low, high) == pytest.approx((-2.6, 22.6))  # 13 % of 20 on both sides
