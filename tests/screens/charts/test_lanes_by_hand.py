"""Lanes by hand: what a battery does, its bars, and which words find room above it."""

import numpy as np
import pytest
from made_results import Course, made
from pytest import approx
from simple_banks import affine, bank_of

from bankSim.screens.charts import lanes as l
from bankSim.screens.charts.look import LIGHT
from bankSim.screens.charts.thinning import Window, window_of
from bankSim.show.course import course_of
from bankSim.show.lane_marks import Mark

REFS = {"xaxis": "x", "yaxis": "y2"}
HOURS = 3600.0 * np.array([0.0, 1, 1, 2, 2, 3, 3, 4])
AMPERES = [10.0, 10, 0, 0, -5, -5, 0, 0]  # feeds, rests, is charged, rests
BLOCKED = [0, 0, 2, 2, 2, 2, 1, 1]  # nothing, discharge, discharge, charge


def run(modes=tuple(BLOCKED), batteries=1, amperes=tuple(AMPERES)):
    bank = bank_of(*[affine(f"b{k}") for k in range(batteries)])
    course = Course(A=list(amperes), mode=list(modes))
    return made(bank, HOURS, *[course] * batteries)


def drawn(result, width_s=None, window_h=None):
    window = window_of(result.end_time_s, window_h)
    return l.lanes(result, window, l.plan_lanes(result, window), LIGHT, REFS, width_s)


def names(found):
    return [one["name"] for one in found.data if one.get("name")]


@pytest.mark.parametrize(
    ("mode", "rests", "end"),
    [
        (0, "rests", ""), (1, "rests", ", charge blocked"), (2, "out", ", discharge blocked"),
        (3, "out", ", blocked both ways"),
    ],
)  # fmt: skip
def test_what_a_battery_does_in_words(mode, rests, end):
    # one that blocks only its charge rests and could feed: it is not out
    course = course_of(run(modes=[mode] * 8))
    at_s = 3600.0 * np.array([0.5, 1.5, 2.5, 3.5])
    words = [f"{one}{end}" for one in ("feeds", rests, "is charged", rests)]
    assert l._does(course, 0, at_s) == words
    ends = l._does(course, 0, 3600.0 * np.array([0.0, 1.0, 4.0, 4.5]))  # an end belongs to its span
    assert [one.partition(",")[0] for one in ends[:2]] == ["feeds", "feeds"]


def test_the_line_of_a_lane_tells_it_at_its_instants():
    found = drawn(run())
    (line,) = [one for one in found.data if "hovertemplate" in one]
    assert line["hovertemplate"] == "b0: %{text}<extra></extra>"
    told = dict(zip(np.round(line["x"], 6), line["text"], strict=True))
    assert [told[at] for at in (0.5, 1.5, 2.5, 3.5)] == [
        "feeds", "out, discharge blocked", "is charged, discharge blocked", "rests, charge blocked",
    ]  # fmt: skip
    assert line["x"][[0, -1]] == approx([0.0, 4.0])
    assert found.notes[0]["text"] == "<b>b0</b>"


@pytest.mark.parametrize(
    ("modes", "amperes", "keys"),
    [
        ([0] * 8, AMPERES, ["feeds", "is charged"]),
        ([0] * 8, [1.0] * 8, ["feeds"]),
        ([0] * 8, [0.0] * 8, []),
        ([1] * 8, [0.0] * 8, ["blocked and idle", "blocked: above discharge, below charge"]),
        ([2] * 8, [1.0] * 8, ["feeds", "blocked: above discharge, below charge"]),
    ],
)
def test_the_legend_explains_what_is_drawn_and_nothing_else(modes, amperes, keys):
    assert names(drawn(run(modes=modes, amperes=amperes))) == keys


def area(found, name):
    """Outline of a bar, ends of gaps left out, heights in parts of the lane above its line."""
    (one,) = [one for one in found.data if one.get("legendgroup") == name and "name" not in one]
    base = next(one for one in found.data if "hovertemplate" in one)["y"][0]
    known = np.isfinite(one["x"])
    return one["x"][known], (one["y"][known] - base) / l.BAR_PX


@pytest.mark.parametrize(
    ("name", "reach_h", "heights"),
    [
        ("feeds", [(0.0, 1.0)], {0.0, 1.0}),  # above its line
        ("is charged", [(2.0, 3.0)], {0.0, -1.0}),
        ("blocked and idle", [(1.0, 2.0), (3.0, 4.0)], {0.0, 1.0, -1.0}),
        ("blocked: above discharge, below charge", [(1.0, 3.0), (3.0, 4.0)], {0.0, 1.0, -1.0}),
    ],
)
def test_bars_stand_where_it_happens_and_on_their_side(name, reach_h, heights):
    x, y = area(drawn(run()), name)
    assert set(np.round(x, 6)) == {end for pair in reach_h for end in pair}
    assert set(np.round(y, 6)) == heights
    if name.startswith("blocked:"):  # discharge from 1 to 3 h above, charge from 3 h below
        assert set(np.round(x[y > 0.5], 6)) == {1.0, 3.0}
        assert set(np.round(x[y < -0.5], 6)) == {3.0, 4.0}


def test_where_much_switches_the_height_is_the_part_of_the_time():
    # bins of 4 h: a quarter of it feeds, a quarter is charged, a half is blocked for discharge
    found = drawn(run(), width_s=4 * 3600.0)
    assert max(area(found, "feeds")[1]) == approx(0.25)
    assert min(area(found, "is charged")[1]) == approx(-0.25)
    _, blocked = area(found, "blocked: above discharge, below charge")
    assert (max(blocked), min(blocked)) == approx((0.5, -0.25))
    assert "blocked and idle" not in names(found)  # a half of the time is not most of it
    halves = drawn(run(), width_s=2 * 3600.0)
    assert max(area(halves, "feeds")[1]) == approx(0.5)


def test_only_the_window_is_drawn():
    x, _ = area(drawn(run(), window_h=(0.5, 2.0)), "feeds")
    assert (x.min(), x.max()) == approx((30.0, 60.0))  # in minutes, as the axis


def test_an_outline_steps_where_the_height_changes():
    part = np.array([0.0, 1.0, 1.0, 0.5, 0.0, 1e-12])
    x, y = l._outline([(part, -1.0)], np.arange(7.0), -20.0)
    assert x == approx([1, 1, 3, 3, 4, 4, np.nan], nan_ok=True)
    assert y == approx([-20, -33, -33, -26.5, -26.5, -20, np.nan], nan_ok=True)
    assert l._outline([(np.zeros(3), 1.0)], np.arange(4.0), 0.0)[0].size == 0


def test_lanes_stand_below_each_other():
    mark = Mark(0, 0.0, "out", 1.0)
    plan = l.Plan(2, [(mark, 0, False)], 0)
    # name 16, one row of words 16, bar 26, gap 9
    assert (plan.rows, plan.pitch_px, plan.height_px) == (1, 67.0, 134.0)
    assert [plan.middle_px(place) for place in (0, 1)] == [-45.0, -112.0]
    assert l.Plan(2, [], 3).rows == 0
    notes, shapes = l._words(plan, window_of(36_000.0, None), LIGHT, REFS)
    assert (notes[0]["y"], notes[0]["xanchor"]) == (-33.0, "left")
    assert (shapes[0]["y0"], shapes[0]["y1"]) == (-58.0, -30.0)  # from below the bar to the words
    upper = l.Plan(2, [(Mark(1, 7200.0, "out", 1.0), 1, True)], 0)  # two rows: 83 to the next lane
    notes, shapes = l._words(upper, window_of(36_000.0, None), LIGHT, REFS)
    assert (notes[0]["x"], notes[0]["y"], notes[0]["xanchor"]) == (2.0, -144 + 13 + 16 - 1, "right")
    assert (shapes[0]["x0"], shapes[0]["x1"]) == (2.0, 2.0)


def test_the_name_is_the_lowest_line_of_words_whatever_stands_above(monkeypatch):
    for count in (0, 2):
        monkeypatch.setattr(l, "marks", lambda result, n=count: [Mark(0, 7200.0, "out", 1.0)] * n)
        found = drawn(run())
        assert found.notes[0]["y"] == -16.0  # its own 16 px below the top of the lane
        assert len(found.notes) == 1 + count


def placed(*marks, rows=2, begin_s=0.0):
    window = Window(begin_s, begin_s + 320.0, 1.0, "s")  # a pixel a second
    found = l._placed(list(marks), window, rows)
    return [(mark.text, row, left) for mark, row, left in found]


def test_the_heaviest_words_find_room_first():
    ten = "a" * 10  # 66 + 8 px wide
    one, two, three = (Mark(0, 0.0, ten + x, heavy) for x, heavy in (("x", 1), ("y", 3), ("z", 2)))
    assert placed(one, two, three) == [(ten + "y", 0, False), (ten + "z", 1, False)]
    assert placed(one, two, three, rows=0) == []
    assert len(placed(one, Mark(1, 0.0, ten, 1.0), rows=1)) == 2  # another lane


@pytest.mark.parametrize(("at_s", "count"), [(73.0, 1), (74.0, 2)])
def test_words_stand_as_close_as_they_are_wide(at_s, count):
    ten = "a" * 10
    assert len(placed(Mark(0, 0.0, ten, 2.0), Mark(0, at_s, ten, 1.0), rows=1)) == count


@pytest.mark.parametrize(
    ("at_s", "letters", "left"),
    [(246.0, 10, False), (247.0, 10, True), (159.0, 40, False), (161.0, 40, True)],
)
def test_words_near_the_end_read_to_the_left(at_s, letters, left):
    for begin_s in (0.0, 100.0):
        mark = Mark(0, begin_s + at_s, "a" * letters, 1.0)
        assert placed(mark, begin_s=begin_s) == [("a" * letters, 0, left)]


@pytest.mark.parametrize(("at_s", "count"), [(227.0, 1), (226.0, 2)])
def test_words_that_read_to_the_left_keep_their_room_too(at_s, count):
    # at 300 px 74 px to the left of it are taken; the other one ends where it begins
    ten, more = "a" * 10, "a" * 20
    assert len(placed(Mark(0, 300.0, ten, 2.0), Mark(0, at_s, more, 1.0), rows=1)) == count


@pytest.mark.parametrize(("batteries", "rows"), [(6, 2), (7, 1), (24, 1), (25, 0)])
def test_many_batteries_get_fewer_rows_of_words(batteries, rows, monkeypatch):
    marks = [Mark(0, 7200.0, "out", 1.0), Mark(0, 7200.0, "back", 1.0), Mark(0, 9e4, "later", 1.0)]
    monkeypatch.setattr(l, "marks", lambda result: marks)
    plan = l.plan_lanes(run(batteries=batteries), window_of(4 * 3600.0, None))
    assert (plan.count, plan.rows, plan.hidden) == (batteries, rows, 2 - rows)
