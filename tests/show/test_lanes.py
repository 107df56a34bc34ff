import hybrids
import made_up
import numpy as np
import pytest
from matplotlib.text import Text
from study_pictures import cut_off, laid_out

from bankSim.show.bins import by_day, edges_of, mean_in, most_in
from bankSim.show.course import course_of
from bankSim.show.days import clock_ticks, hour_ticks
from bankSim.show.figures import all_figures
from bankSim.show.lane_marks import Mark, marks, place_marks
from bankSim.show.lanes_figure import lanes_figure
from bankSim.show.temperature_figure import warms

RUNS = {
    "holds back": hybrids.holds_back, "cascade": hybrids.cascade, "hiccups": hybrids.hiccups,
    "days": hybrids.sunny, "a month": lambda: hybrids.sunny(30),
    "sixteen": lambda: made_up.crowd(16),
}  # fmt: skip


def texts(figure):
    return {text.get_text() for text in figure.findobj(Text) if text.get_visible()}


@pytest.fixture(scope="module", params=RUNS)
def figure(request):
    return laid_out(lanes_figure(RUNS[request.param]()))


def test_nothing_is_cut_off(figure):
    assert max(cut_off(figure)) <= 0.0


def test_no_mark_lies_over_another(figure):
    boxes = [text.get_window_extent() for text in figure.axes[-1].texts]
    for place, box in enumerate(boxes):
        assert not any(box.overlaps(other) for other in boxes[:place])


def test_the_surge_stands_at_its_lane_in_amperes():
    result = hybrids.holds_back()
    surge = next(e for e in result.events if e.what == "release").currents_after_A[0]
    shown = texts(lanes_figure(result))
    assert f"comes back: gives {surge:.1f} A" in shown
    assert {"small", "large", "mains, to 40.0 A", "all loads, to 12.0 A"} <= shown


def test_a_cascade_is_pointed_out():
    shown = texts(lanes_figure(hybrids.cascade()))
    assert {"trips at 83.3 A: cascade", "pushed to 125 A, trips", "pushed to 250 A, trips"} <= shown


def test_many_hiccups_are_one_mark():
    (many, *others) = marks(hybrids.hiccups())
    assert many.text == "cuts out x 101, then stays out"
    assert len(others) <= 1


def test_what_is_blocked_is_barred_on_its_side_of_the_line():
    axes = lanes_figure(hybrids.holds_back()).axes[-1]
    barred = [one for one in axes.collections if one.get_hatch() == "xxxx"]
    (path,) = [path for one in barred for path in one.get_paths()]
    trip, release = hybrids.holds_back().events[0], hybrids.holds_back().events[-1]
    assert path.vertices[:, 0].min() == pytest.approx(trip.time_s / 3600.0)
    assert path.vertices[:, 0].max() == pytest.approx(release.time_s / 3600.0)
    assert path.vertices[:, 1].max() == 0.0  # charge: below the line of the first lane


def test_states_differ_by_more_than_colour():
    figure = lanes_figure(hybrids.holds_back())
    patches = figure.legends[0].get_patches()
    assert (
        len({(patch.get_hatch(), np.mean(patch.get_facecolor()) > 0.6) for patch in patches}) == 4
    )


def test_places_for_marks():
    wanted = [Mark(0, 1.0, "first", 1.0), Mark(0, 1.0, "heavier", 2.0), Mark(1, 1.0, "x", 0.0)]
    placed, hidden = place_marks(wanted, 10.0, 1, 0.02, 0.01)
    assert [one.mark.text for one in placed] == ["heavier", "x"]
    assert hidden == 1
    both, none = place_marks(wanted, 10.0, 2, 0.02, 0.01)
    assert [(one.mark.text, one.row) for one in both] == [("heavier", 0), ("first", 1), ("x", 0)]
    assert none == 0
    ((late,), _) = place_marks([Mark(0, 10.0, "0123456789", 1.0)], 10.0, 1, 0.02, 0.01)
    assert late.end == pytest.approx(1.0)


def test_bins_keep_the_mean_and_the_highest():
    course = course_of(hybrids.holds_back())
    edges = edges_of(course)
    values = course.charger_A[0]
    means, most = mean_in(course, values, edges), most_in(course, values, edges)
    assert means @ np.diff(edges) == pytest.approx(values @ course.length_s, rel=1e-9)
    assert most.max() == values.max()
    assert np.all(most >= means - 1e-9)


def test_long_runs_are_drawn_by_the_day():
    course = course_of(hybrids.sunny(30))
    assert by_day(30 * 86400.0)
    assert edges_of(course) == pytest.approx(np.arange(31) * 86400.0)


def test_clock_ticks_are_round_and_name_midnight():
    ticks, words = clock_ticks(7.5 * 3600.0, 40 * 3600.0)
    assert words == ["12:00", "18:00", "day 2", "06:00", "12:00", "18:00"]
    assert ticks[0] == pytest.approx(4.5 * 3600.0)


@pytest.mark.parametrize("hours", [3.5, 24.0, 72.0, 2160.0])
def test_hour_ticks_are_few_and_even(hours):
    ticks = hour_ticks(hours * 3600.0)
    assert 3 <= len(ticks) <= 10
    assert np.ptp(np.diff(ticks)) < 1e-9


def test_a_clock_axis_only_where_it_is_known():
    assert "time of day [h:min]" in texts(lanes_figure(hybrids.sunny()))
    assert "time of day [h:min]" not in texts(lanes_figure(hybrids.holds_back()))


def test_runs_with_chargers_show_charge_over_time_and_what_chargers_give():
    figures = all_figures(hybrids.holds_back())
    assert list(figures) == ["lanes", "current", "voltage", "cells", "charge"]
    assert figures["charge"].axes[0].get_ylabel() == "state of charge [%]"
    assert {"mains", "all loads"} <= texts(figures["current"])


def test_temperatures_are_drawn_when_they_move():
    assert not warms(hybrids.holds_back())
