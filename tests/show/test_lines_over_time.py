"""Lines over time: names beside them, marks at cut-outs, averages where much switches."""

import made_up
import numpy as np
import pytest
from matplotlib.figure import Figure

from bankSim.show.lines import (
    averaged_note,
    averaging_width,
    changing,
    mark_cut_outs,
    name_lines,
    time_unit,
)
from bankSim.show.looks import FAINT, QUIET

H = 3600.0


@pytest.mark.parametrize(
    ("span_s", "unit"),
    [
        (599.0, (1.0, "s")),
        (600.0, (60.0, "min")),
        (3 * H - 1.0, (60.0, "min")),
        (3 * H, (H, "h")),
    ],
)
def test_time_has_the_unit_that_suits_the_span(span_s, unit):
    assert time_unit(span_s) == unit


def duty(times):
    """Off for 3 and on for 1, so many times, with both values at each jump."""
    edges = np.cumsum(np.tile([3.0, 1.0], times))
    x = np.concatenate([[0.0], np.repeat(edges, 2)[:-1]])
    return x, np.repeat(np.tile([0.0, 10.0], times), 2)


def test_one_width_for_all_lines_where_one_switches_often():
    x, y = duty(31)
    assert averaging_width(x, [np.zeros(x.size), y]) == pytest.approx(4.0)
    x, y = duty(30)
    assert averaging_width(x, [y, y]) is None
    assert averaging_width(x, []) is None


def test_averages_are_told_with_their_width():
    assert averaged_note(None, "h") == ""
    told = " (line: average in each 1.5 h; band: from least to most in it)"
    assert averaged_note(1.5, "h") == told


def test_a_line_that_switches_is_its_average_in_a_band_from_least_to_most():
    axes = Figure().subplots()
    x = np.array([0.0, 1.0, 1.0, 2.0, 2.0, 4.0])
    y = np.array([0.0, 0.0, 10.0, 10.0, 0.0, 0.0])
    line = changing(axes, x, y, {"color": "k"}, np.empty(0), 4.0)
    assert set(line.get_ydata()) == {2.5}
    rows = axes.collections[0].get_paths()[0].vertices[:, 1]
    assert (rows.min(), rows.max()) == (0.0, 10.0)
    assert len(axes.lines) == 3  # two fine edges below the line


def test_a_line_that_does_not_is_drawn_as_it_is_without_gaps():
    axes = Figure().subplots()
    line = changing(
        axes, np.arange(3.0), np.array([1.0, np.nan, 3.0]), {"color": "k"}, np.empty(0), None
    )
    assert (list(line.get_xdata()), list(line.get_ydata())) == ([0.0, 2.0], [1.0, 3.0])
    assert not axes.collections


def marked(*hours, end_h=100.0, top=True, names=None):
    """Hairlines and words at cut-outs of a battery each."""
    names = names or [f"b{n}" for n in range(len(hours))]
    trips = [made_up.trip(name, at, names) for name, at in zip(names, hours, strict=True)]
    outcomes = [made_up.outcome(trip.battery, cut=trip) for trip in trips]
    result = made_up.result(outcomes, trips, end_h)
    axes = Figure().subplots()
    mark_cut_outs(axes, result, H, top=top)
    return axes


def test_a_cut_out_has_a_hairline_and_its_name_on_the_side_with_room():
    axes = marked(5.0, 50.0)
    assert [line.get_xdata()[0] for line in axes.lines] == [5.0, 50.0]
    early, late = axes.texts
    assert (early.get_text(), early.get_ha(), early.xyann[0]) == ("b0 out", "left", 3)
    assert (late.get_text(), late.get_ha(), late.xyann[0]) == ("b1 out", "right", -3)
    assert early.get_va() == "top"
    assert marked(50.0, top=False).texts[0].get_va() == "bottom"


def test_cut_outs_whose_marks_would_touch_share_one():
    told = [text.get_text() for text in marked(50.0, 52.9, 53.1).texts]
    assert told == ["b0 and b1 out", "b2 out"]  # within 3 % of the run from the first
    long = [text.get_text() for text in marked(50.0, 51.0, names=["the long name", "other"]).texts]
    assert long == ["2 batteries out"]


def test_of_many_marks_only_the_lines_are_left():
    assert len(marked(*(10.0 + 5.0 * n for n in range(6))).texts) == 6
    seven = marked(*(10.0 + 5.0 * n for n in range(7)))
    assert (len(seven.texts), len(seven.lines)) == (0, 7)
    assert {line.get_color() for line in marked(*(5.0 * n for n in range(1, 13))).lines} == {QUIET}
    assert {line.get_color() for line in marked(*(5.0 * n for n in range(1, 14))).lines} == {FAINT}


def lines_in(*heights):
    """Level lines in axes from 0 to 10, and from 0 to 1 upwards; a pair is a slope."""
    axes = Figure().subplots()
    axes.set_xlim(0.0, 10.0)
    axes.set_ylim(0.0, 1.0)
    ends = [one if isinstance(one, tuple) else (one, one) for one in heights]
    return axes, [axes.plot([0.0, 10.0], one)[0] for one in ends]


def test_names_stand_on_their_own_lines_inside_and_not_over_each_other():
    axes, lines = lines_in(0.5, 0.4)
    assert name_lines(axes, lines, ["a", "b"])
    (ax, ay), (bx, by) = (text.xy for text in axes.texts)
    assert (ay, by) == pytest.approx((0.5, 0.4))
    assert all(1.4 <= x <= 8.6 for x in (ax, bx))
    assert [text.get_va() for text in axes.texts] == ["bottom", "bottom"]
    assert [text.get_color() for text in axes.texts] == [line.get_color() for line in lines]


def test_a_name_stands_where_lines_are_farthest_apart():
    axes, lines = lines_in(0.5, (0.5, 0.6))
    assert name_lines(axes, lines, ["level", "rising"])
    level, rising = (text.xy for text in axes.texts)
    assert max(level[0], rising[0]) == pytest.approx(8.6, abs=0.1)
    assert rising[1] == pytest.approx(0.5 + 0.01 * rising[0])


def test_a_name_high_up_stands_below_its_line():
    axes, lines = lines_in(0.92)
    assert name_lines(axes, lines, ["high"])
    assert axes.texts[0].get_va() == "top"


@pytest.mark.parametrize(
    "heights",
    [(0.5, 0.52), (0.01,), (0.96,), (0.5, 0.5)],
    ids=["too near", "at the bottom", "at the top", "on each other"],
)
def test_nothing_is_named_where_one_has_no_room(heights):
    axes, lines = lines_in(*heights)
    assert not name_lines(axes, lines, ["x"] * len(lines))
    assert not axes.texts


def test_a_line_that_ends_is_named_before_its_end():
    axes, _ = lines_in()
    short, long = axes.plot([0.0, 4.0], [0.5, 0.5])[0], axes.plot([0.0, 10.0], [0.4, 0.4])[0]
    assert name_lines(axes, [short, long], ["short", "long"])
    assert axes.texts[0].xy[0] <= 4.0


def test_heights_count_as_shares_of_the_axes():
    axes, lines = lines_in(15.0, (14.0, 10.0))
    axes.set_ylim(10.0, 20.0)
    assert name_lines(axes, lines, ["level", "falling"])
    level, falling = (text.xy for text in axes.texts)
    assert level[1] == pytest.approx(15.0)
    assert falling[1] == pytest.approx(14.0 - 0.4 * falling[0])
    axes.set_ylim(0.0, 80.0)  # 4.4 of 80 apart where names may stand at most: 5.5 %
    assert name_lines(axes, lines, ["level", "falling"])
    axes.set_ylim(0.0, 1000.0)
    assert not name_lines(axes, lines, ["level", "falling"])
