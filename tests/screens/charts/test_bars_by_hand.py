"""Lying bars by hand: charge, before and after, what matters; figures, words, and their places."""

import math
from dataclasses import replace

import numpy as np
import pytest
from made_results import Course, event, made
from pytest import approx
from simple_banks import affine, bank_of

from bankSim.screens.charts import bars, charge, difference, tornado
from bankSim.screens.charts.frame import faded, figure_of, frame, legend_px, with_key
from bankSim.screens.charts.look import DARK, LIGHT
from bankSim.sim.result import TRIP
from bankSim.study.quick_fan import QuickSpread
from bankSim.study.traced import Fan

NAMES = ("old", "new")


def run(*outcomes, delivered_Ah=0.0, runtime_h=1.0):
    """Batteries of 100 Ah with totals as given."""
    batteries = [affine(name) for name in NAMES[: len(outcomes)]]
    courses = [Course()] * len(outcomes)
    result = made(bank_of(*batteries), [0.0, 3600.0], *courses, outcomes=outcomes)
    bank = replace(result.bank, delivered_Ah=delivered_Ah, runtime_s=3600.0 * runtime_h)
    return replace(result, bank=bank)


def spread_of(**delivered_Ah):
    fan = Fan(np.zeros(1), np.ones(1), np.zeros((5, 1)), np.zeros((2, 5, 1)), 7)
    three = {name: np.array(values) for name, values in delivered_Ah.items()}
    return QuickSpread(fan, np.zeros(3), (), 1.0, 0.0, {}, {}, three, {}, np.zeros(3), 40)


def notes(spec):
    return [one["text"] for one in spec["layout"]["annotations"]]


def trace(spec, name):
    (found,) = [one for one in spec["data"] if one["name"] == name]
    return found


# ---------- frames


def test_legends_have_room_for_names_side_by_side_on_a_narrow_screen():
    # a name of 10 letters is 54 + 66 px wide: two of them fit into 320 px, the third begins anew
    assert [legend_px(["a" * 10] * count) for count in (0, 1, 2, 3, 4, 5)] == [
        8.0, 30.0, 30.0, 52.0, 52.0, 74.0,
    ]  # fmt: skip
    assert legend_px(["a" * 60]) == 30.0  # alone in a row, however long
    assert legend_px(["a", "a" * 60, "a"]) == 74.0


def test_a_name_of_just_the_width_fits():
    # 2 (54 + 6.6 n) = 320 for n = 16.06: 16 letters fit twice, 17 do not
    assert legend_px(["a" * 16] * 2) == 30.0
    assert legend_px(["a" * 17] * 2) == 52.0


def test_names_of_the_legend_flow_and_own_groups_stay():
    data = [
        {"name": "a", "showlegend": True},
        {"name": "b", "showlegend": True, "legendgroup": "own"},
        {"name": "c", "showlegend": False},
        {"name": "", "showlegend": True},
    ]
    assert [one.get("legendgroup") for one in with_key(data)] == ["a", "own", None, None]


def test_faded_colours_and_the_height_of_a_frame():
    assert faded("#0a10ff", 0.25) == "rgba(10,16,255,0.25)"
    layout = frame(DARK, 119.6, barmode="overlay")
    assert (layout["height"], layout["barmode"]) == (120, "overlay")
    assert layout["paper_bgcolor"] == DARK.paper
    figure = figure_of({"data": [{"type": "bar", "x": [1.0]}], "layout": {"height": 120}})
    assert (figure.data[0].x, figure.layout.height) == ((1.0,), 120)


# ---------- bars


def test_bars_stand_below_their_words_from_top_to_bottom():
    part = bars.Part(2.0, 3.0, "all", "told")
    groups = [
        bars.Group(("one", "two"), (bars.Bar(20.0, (part,)), bars.Bar(10.0, (part,), (4.0, 5.5)))),
        bars.Group(("three",), (bars.Bar(20.0, (part,)),)),
    ]
    spec = bars.draw_groups(groups, {"all": {}, "none": {}}, "charge [Ah]", LIGHT, middle=4.0)
    # by hand: words of 17 px each, then the bars; 12 px between groups
    heights = [2 * 17 + 10, 2 * 17 + 20 + 5, 2 * 17 + 30 + 12 + 17 + 10]
    drawn = trace(spec, "all")
    assert drawn["y"] == approx([-one for one in heights])
    assert drawn["width"] == approx([0.86 * one for one in (20.0, 10.0, 20.0)])
    assert (drawn["base"], drawn["x"]) == ([2.0] * 3, [3.0] * 3)
    assert [one["y"] for one in spec["layout"]["annotations"]] == approx([-17, -34, -93])
    whole = 2 * 17 + 30 + 12 + 17 + 20 + 12
    assert spec["layout"]["yaxis"]["range"] == approx([-whole, 0.0])
    whiskers = trace(spec, "5 to 95 %")
    assert whiskers["x"] == [4.0, 5.5, None]
    assert whiskers["y"][:2] == approx([-59.0] * 2)
    assert [one["name"] for one in spec["data"]] == ["all", "5 to 95 %"]  # nothing of "none"
    (line,) = spec["layout"]["shapes"]
    assert (line["x0"], line["x1"]) == (4.0, 4.0)
    foot = 44 + legend_px(["all", "5 to 95 %"])
    assert spec["layout"]["height"] == round(34 + whole + foot)
    assert spec["layout"]["margin"]["b"] == foot
    assert spec["layout"]["legend"]["y"] == approx(-44 / whole)  # just below the axis
    assert "range" not in spec["layout"]["xaxis"]


def test_no_bars_say_so():
    assert notes(bars.draw_groups([], {}, "x", LIGHT)) == ["Nothing to draw."]


# ---------- charge


def test_a_battery_that_only_gave_has_bars_end_to_end_and_a_whisker():
    result = run({"delivered_Ah": 61.24, "stranded_Ah": 8.0, "remaining_Ah": 0.5})
    spread = spread_of(old=(55.0, 61.0, 66.0))
    spec = charge.charge_bars(result, spread)
    assert notes(spec) == ["<b>old</b>", "label 100, delivered 61.2, locked in 8.0, left 0.5 Ah"]
    bases = [trace(spec, what)["base"][0] for what in ("delivered", "locked in", "left")]
    assert bases == approx([0.0, 61.24, 69.24])
    assert trace(spec, "5 to 95 %")["x"] == [55.0, 66.0, None]
    assert trace(spec, "delivered")["text"] == ["delivered 61.2 Ah"]
    assert charge.charge_words(result, spread) == (
        'Bars of charge: "old" delivers 61.2 Ah (label 100 Ah), 8.0 Ah stay locked in, 0.5 Ah are '
        "left. Whiskers hold 5 to 95 % of 40 draws."
    )
    assert "Whiskers" not in charge.charge_words(result)


def test_of_a_charged_battery_the_net_is_drawn_without_a_whisker_or_words_of_one():
    took = {"delivered_Ah": 70.0, "charged_Ah": 30.0, "stranded_Ah": 1.0, "remaining_Ah": 59.0}
    result, spread = run(took), spread_of(old=(55.0, 61.0, 66.0))
    spec = charge.charge_bars(result, spread)
    assert trace(spec, charge.NET)["x"] == [40.0]
    assert trace(spec, "locked in")["base"] == [40.0]
    assert trace(spec, "taken in")["x"] == [30.0]
    assert notes(spec)[1:] == [
        "label 100, delivered net 40.0, locked in 1.0, left 59.0 Ah", "70.0 Ah out and 30.0 Ah in",
    ]  # fmt: skip
    assert "5 to 95 %" not in [one["name"] for one in spec["data"]]
    words = charge.charge_words(result, spread)  # what is not drawn is not spoken of
    assert "(label 100 Ah), takes in 30.0 Ah, 1.0 Ah stay" in words
    assert "Whiskers" not in words


@pytest.mark.parametrize(
    ("rated_Ah", "words"),
    [(20.0, "label 20, delivered 12.3,"), (280.0, "label 280, delivered 12.3,"),
     (1200.0, "label 1200, delivered 12,")],
)  # fmt: skip
def test_digits_go_by_the_size_of_the_battery(rated_Ah, words):
    result = run({"delivered_Ah": 12.34})
    result = replace(result, batteries=(replace(result.batteries[0], rated_Ah=rated_Ah),))
    assert notes(charge.charge_bars(result))[1].startswith(words)


def test_more_in_than_out_is_no_bar_to_the_left():
    spec = charge.charge_bars(run({"delivered_Ah": 5.0, "charged_Ah": 30.0}))
    assert trace(spec, charge.NET)["x"] == [0.0]


@pytest.mark.parametrize(("taken_Ah", "counts"), [(0.05, False), (0.06, True)])
def test_a_trace_of_charge_is_none(taken_Ah, counts):
    result = run({"delivered_Ah": 50.0, "charged_Ah": taken_Ah})
    names = [one["name"] for one in charge.charge_bars(result)["data"]]
    assert (charge.NET in names) == counts
    assert ("takes in" in charge.charge_words(result)) == counts


# ---------- before and after


@pytest.mark.parametrize(
    ("before", "now", "words"),
    [
        (163.0, 171.1, "bank: 163 Ah, now 171 (+8.10)"),
        (171.1, 163.0, "bank: 171 Ah, now 163 (-8.10)"),
        (163.0, 163.4, "bank: 163 Ah, now 163 (+0.400)"),
        (10.0, 10.0004, "bank: 10.0 Ah, unchanged"),
        (10.0, 9.9994, "bank: 10.0 Ah, now 10.0 (-0.000600)"),
        (None, 5.0, "bank: 5.00 Ah, only now"), (5.0, None, "bank: 5.00 Ah, only before"),
    ],
)  # fmt: skip
def test_a_change_is_told_with_its_sign(before, now, words):
    assert difference.Change("bank", "Ah", before, now).words == words


@pytest.mark.parametrize(
    ("before", "now", "counts"),
    [(0.0, 0.0, False), (0.02, 0.0, False), (0.0, 0.021, True), (None, 0.01, False),
     (0.5, None, True), (None, None, False)],
)  # fmt: skip
def test_what_is_too_small_for_a_bar_is_left_out(before, now, counts):
    assert difference.Change("x", "Ah", before, now).counts == counts


def out_at(hours):
    return {"first_cut_out": event(3600.0 * hours, TRIP, "old", blocks="discharge")}


def test_a_battery_that_cuts_out_at_once_after_a_change_is_told():
    # an over-current trip comes within a second of the start: the worst that a change can bring
    before, now = run({}, {}, runtime_h=9.0), run(out_at(1.0 / 3600.0), {}, runtime_h=4.0)
    found = difference.changes(before, now, "hours")
    assert [one.what for one in found] == ["loads are fed", '"old" cuts out at']
    assert (found[1].before, found[1].now) == (None, approx(1.0 / 3600.0))
    assert difference.difference_words(before, now, "hours") == (
        "Before and after the change: loads are fed: 9.00 h, now 4.00 (-5.00); "
        '"old" cuts out at: 0 h, only now.'
    )
    spec = difference.difference_bars(before, now, quantity="hours")
    assert trace(spec, "now")["x"] == approx([4.0, 1.0 / 3600.0])
    assert spec["layout"]["xaxis"]["title"]["text"] == "time from the start [h]"


def test_charge_before_and_now_in_pairs_of_bars_matched_by_name():
    before = run({"delivered_Ah": 60.0}, {"delivered_Ah": 90.0, "stranded_Ah": 4.0},
                 delivered_Ah=150.0)  # fmt: skip
    now = run({"delivered_Ah": 70.0}, delivered_Ah=70.0)
    spec = difference.difference_bars(before, now)
    assert trace(spec, "before")["x"] == [150.0, 60.0, 90.0, 4.0]
    assert trace(spec, "now")["x"] == [70.0, 70.0]
    assert trace(spec, "now")["text"] == ["now 70.0 Ah"] * 2
    assert {*trace(spec, "now")["base"], *trace(spec, "before")["base"]} == {0.0}
    assert notes(spec) == [
        "bank delivers: 150 Ah, now 70.0 (-80.0)", '"old" delivers: 60.0 Ah, now 70.0 (+10.0)',
        '"new" delivers: 90.0 Ah, only before', '"new": locked in: 4.00 Ah, only before',
    ]  # fmt: skip
    assert spec["layout"]["xaxis"]["title"]["text"] == "charge [Ah]"


# ---------- what matters


def test_widest_moves_first_bars_from_the_middle_to_either_end():
    spec = tornado.tornado_chart(["a", "b"], [95.0, 80.0], [101.0, 115.0], middle=100.0)
    low, high = (trace(spec, name) for name in (tornado.AT_LOW, tornado.AT_HIGH))
    assert (low["base"], low["x"]) == ([100.0] * 2, [-20.0, -5.0])
    assert (high["base"], high["x"]) == ([100.0] * 2, [15.0, 1.0])
    assert low["y"] == high["y"]  # either side of one bar
    assert notes(spec) == ["b: 80.0 … 115", "a: 95.0 … 101"]
    assert low["text"][0] == "at its low end: 80.0 Ah"
    room = 0.04 * 35.0
    assert spec["layout"]["xaxis"]["range"] == approx([80.0 - room, 115.0 + room])
    assert spec["layout"]["xaxis"]["title"]["text"] == "the bank delivers [Ah]"


def test_both_ends_on_one_side_hide_neither():
    spec = tornado.tornado_chart(["a"], [90.0], [95.0], middle=100.0)
    low, high = (trace(spec, name) for name in (tornado.AT_LOW, tornado.AT_HIGH))
    assert low["y"][0] - high["y"][0] == approx(0.6 * 20.0)  # one below the other
    assert spec["layout"]["xaxis"]["range"] == approx([90.0 - 0.4, 100.0 + 0.4])
    one = tornado.tornado_chart(["a"], [100.0], [95.0], middle=100.0)  # an end in the middle
    assert trace(one, tornado.AT_LOW)["y"] == trace(one, tornado.AT_HIGH)["y"]


def test_what_matters_in_words_and_nothing_that_does():
    words = tornado.tornado_words(list("abcd"), [1.0, 1, 1, 1], [2.0, 5, 3, 4], middle=1.5,
                                  unit="h", answer="it runs")  # fmt: skip
    assert words == (
        "As it stands it runs 1.50 h. What moves it most: b moves it from 1.00 to 5.00 h; "
        "d moves it from 1.00 to 4.00 h; c moves it from 1.00 to 3.00 h."
    )
    assert tornado._order([0.0, math.nan, 0.0], [0.0, 9.0, -2.0]) == [2, 0]
    assert notes(tornado.tornado_chart(["a"], [math.nan], [1.0], middle=1.0)) == [
        "Nothing was found that matters."
    ]
    assert tornado.tornado_words(["a"], [math.inf], [1.0], middle=1.0) == (
        "Nothing was found that matters."
    )


def test_of_very_many_the_twelve_widest_are_drawn():
    high = np.arange(1.0, 21.0)
    spec = tornado.tornado_chart([f"k{k}" for k in range(20)], np.zeros(20), high, middle=0.0)
    assert len(trace(spec, tornado.AT_HIGH)["x"]) == 12
    assert trace(spec, tornado.AT_HIGH)["x"][0] == 20.0
