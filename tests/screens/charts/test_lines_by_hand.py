"""Lines and bands by hand: rows over time, the picture of What if, parts of the current."""

import base64
from dataclasses import replace

import numpy as np
import pytest
from made_results import Course, made
from pytest import approx
from simple_banks import affine, bank_of

from bankSim.screens.charts import rows as r
from bankSim.screens.charts import what_if_chart as w
from bankSim.screens.charts.look import LIGHT
from bankSim.screens.charts.shares import shares_chart, shares_words
from bankSim.screens.charts.thinning import window_of
from bankSim.study.traced import Fan

REFS = {"xaxis": "x", "yaxis": "y2"}
HOURS = np.array([0.0, 1.0, 2.0, 3.0, 4.0])
BUS_V = [13.0, 12.5, 0.0, 12.0, 12.2]  # dead for a while
FIRST_A, SECOND_A = [30.0, 20.0, 0.0, 5.0, -4.0], [10.0, 20.0, 0.0, 5.0, 12.0]


def run(*names, scale=3600.0, **more):
    names = names or ("old", "new")
    courses = [Course(A=amps, z=[0.9, 0.8, 0.7, 0.6, 0.5])
               for amps in (FIRST_A, SECOND_A, *[[0.0] * 5] * 20)[: len(names)]]  # fmt: skip
    bank = bank_of(*map(affine, names))
    return made(bank, scale * HOURS, *courses, bus_V=BUS_V, **more)


def fan_of(volts_low, volts_high, batteries=2):
    """A band whose quarter lines lie between its ends, of four steps of an hour."""
    low, high = np.array(volts_low), np.array(volts_high)
    five = np.array([low, 0.75 * low + 0.25 * high, 0.5 * (low + high),
                     0.25 * low + 0.75 * high, high])  # fmt: skip
    amps = np.array([[-1.0] * 4, [0.0] * 4, [1.0] * 4, [2.0] * 4, [3.0] * 4])
    time_h = np.array([0.5, 1.5, 2.5, 3.5])
    return Fan(time_h, np.ones(4), five, np.array([amps] * batteries), 40,
               np.array([0.01 * amps] * batteries))  # fmt: skip


def pen(result, window_h=None):
    return r.Pen(result, window_of(result.end_time_s, window_h), LIGHT)


# ---------- rows over time


def test_lines_of_each_row_are_those_of_the_trace():
    mine = pen(run())
    (bus,) = mine.lines(r.LINE_ROWS["voltage"], REFS, named=False)
    assert (bus["x"], bus["y"]) == (
        approx(HOURS), approx([13.0, 12.5, np.nan, 12.0, 12.2], nan_ok=True),
    )  # fmt: skip
    assert (bus["name"], bus["hovertemplate"]) == ("bus", "bus: %{y:.3f} V<extra></extra>")
    old, new = mine.lines(r.LINE_ROWS["current"], REFS, named=True)
    assert (old["y"], new["y"]) == (approx(FIRST_A), approx(SECOND_A))
    assert old["hovertemplate"] == "old: %{y:.2f} A<extra></extra>"
    assert (new["legendgroup"], new["showlegend"]) == ("battery 1", True)
    charge = mine.lines(r.LINE_ROWS["charge"], REFS, named=False)
    assert charge[1]["y"] == approx([90.0, 80.0, 70.0, 60.0, 50.0])  # of 1 -> in %
    assert charge[1]["hovertemplate"] == "new: %{y:.1f} %<extra></extra>"


def test_lines_reach_one_row_beyond_the_window_in_its_unit():
    (old, _) = pen(run(), (1.2, 1.8)).lines(r.LINE_ROWS["current"], REFS, named=True)
    assert old["x"] == approx([60.0, 120.0])  # min
    assert old["y"] == approx(FIRST_A[1:3])


def test_a_former_run_is_told_of_batteries_of_the_same_name_only():
    mine = pen(run("old", "other"))
    former = run("new", "old")
    (ghost,) = mine.ghost(r.LINE_ROWS["current"], former, REFS, named=True)
    assert ghost["y"] == approx(SECOND_A)  # the second one was "old"
    assert ghost["x"] == approx(HOURS)
    assert (ghost["showlegend"], ghost["hoverinfo"]) == (True, "skip")
    (bus,) = mine.ghost(r.LINE_ROWS["voltage"], former, REFS, named=False)
    assert bus["y"] == approx([13.0, 12.5, np.nan, 12.0, 12.2], nan_ok=True)
    assert not bus["showlegend"]
    two = pen(run()).ghost(r.LINE_ROWS["current"], run(), REFS, named=True)
    assert [one["showlegend"] for one in two] == [True, False]


def test_a_band_is_upper_line_then_lower_line_back():
    fan = fan_of([12.9, 12.5, 12.1, 11.8], [13.1, 13.0, 12.8, 12.7])
    wide, narrow = pen(run()).bands(r.LINE_ROWS["voltage"], fan, REFS)
    assert wide["x"] == approx([0.5, 1.5, 2.5, 3.5, 3.5, 2.5, 1.5, 0.5])
    assert wide["y"] == approx([13.1, 13.0, 12.8, 12.7, 11.8, 12.1, 12.5, 12.9])
    assert narrow["y"][:4] == approx(0.25 * wide["y"][7:3:-1] + 0.75 * wide["y"][:4])
    assert wide["fillcolor"].endswith(f",{r.WIDE:g})")
    assert narrow["fillcolor"].endswith(f",{r.NARROW:g})")


def test_where_the_first_draws_have_ended_the_band_reaches_to_the_lowest_drawn():
    fan = fan_of([12.9, 12.5, np.nan, np.nan], [13.1, 13.0, 12.8, np.nan])
    wide = pen(run()).bands(r.LINE_ROWS["voltage"], fan, REFS)[0]
    assert wide["x"] == approx([0.5, 1.5, 2.5, 2.5, 1.5, 0.5])
    assert wide["y"] == approx([13.1, 13.0, 12.8, 12.0, 12.5, 12.9])  # 12.0 V: of the line
    deeper = fan_of([12.9, 11.5, np.nan, np.nan], [13.1, 13.0, 12.8, np.nan])
    wide = pen(run()).bands(r.LINE_ROWS["voltage"], deeper, REFS)[0]
    assert wide["y"][3:] == approx([11.5, 11.5, 12.9])  # its own lowest


def test_a_band_has_two_parts_around_a_dead_bus_and_none_outside_the_window():
    fan = fan_of([12.9, 0.0, 12.1, 11.8], [13.1, 0.0, 12.8, 12.7])
    parts = pen(run()).bands(r.LINE_ROWS["voltage"], fan, REFS)[:2]
    assert [one["x"].tolist() for one in parts] == [[0.5, 0.5], [2.5, 3.5, 3.5, 2.5]]
    sound = fan_of([12.9, 12.5, 12.1, 11.8], [13.1, 13.0, 12.8, 12.7])
    wide = pen(run(), (3.2, 4.0)).bands(r.LINE_ROWS["voltage"], sound, REFS)[0]
    assert wide["x"] == approx([2.5, 3.5, 3.5, 2.5])  # one step before it begins


def test_bands_of_charge_are_in_percent_or_not_at_all():
    fan = fan_of([12.0] * 4, [13.0] * 4)
    wide = pen(run()).bands(r.LINE_ROWS["charge"], fan, REFS)[0]
    assert (wide["y"].max(), wide["y"].min()) == approx((3.0, -1.0))
    assert pen(run()).bands(r.LINE_ROWS["charge"], replace(fan, state_of_charge=None), REFS) == []


@pytest.mark.parametrize(("batteries", "areas"), [(4, 8), (5, 5)])
def test_of_many_batteries_the_wide_bands_only(batteries, areas):
    result = run(*[f"b{k}" for k in range(batteries)])
    fan = fan_of([12.0] * 4, [13.0] * 4, batteries)
    assert len(pen(result).bands(r.LINE_ROWS["current"], fan, REFS)) == areas


# ---------- parts of the current


def test_parts_of_what_is_given_only():
    result = run()
    spec = shares_chart(result)
    assert spec["layout"]["xaxis"]["range"] == [0.0, 4.0]
    assert spec["layout"]["yaxis"]["range"] == [0.0, 100.0]
    assert spec["layout"]["legend"]["y"] == approx(-44.0 / 220.0)
    old, new = (np.asarray(one["y"]) for one in spec["data"])
    x = np.asarray(spec["data"][0]["x"])
    assert x[0] == approx(4.0 / 600.0)  # middles of 300 even stretches
    # means of each hour's span: 25 and 15 A, 10 and 10 A, 2.5 and 2.5 A, 0.5 and 8.5 A
    for hour, part in enumerate((25.0 / 40.0, 0.5, 0.5, 0.5 / 9.0)):
        here = (x > hour + 0.01) & (x < hour + 0.99)
        assert old[here] == approx(100.0 * part)
        assert (old + new)[here] == approx(100.0)
    assert shares_words(result) == (
        'Parts of the current that the batteries give: "old" 62 % at first, 6 % in the end; '
        '"new" 38 % at first, 94 % in the end.'
    )
    assert "at first, 50 % in the end" in shares_words(result, (0.0, 3.0))


def test_charge_taken_in_is_no_part_and_nothing_given_no_parts():
    bank = bank_of(affine("a"), affine("b"))
    result = made(bank, [0.0, 3600.0], Course(A=-10.0), Course(A=4.0))
    a, b = shares_chart(result)["data"]
    assert (set(a["y"]), set(b["y"])) == ({0.0}, {100.0})
    calm = made(bank, [0.0, 3600.0], Course(A=-10.0), Course(A=0.0))
    assert shares_words(calm) == "No battery gives current here."
    assert {*shares_chart(calm)["data"][1]["y"]} == {0.0}


@pytest.mark.parametrize(("batteries", "end"), [(6, '"b5" 0 % at first, 0 % in the end.'),
                                                (8, "; and 2 more.")])  # fmt: skip
def test_parts_of_many_are_counted(batteries, end):
    assert shares_words(run(*[f"b{k}" for k in range(batteries)])).endswith(end)


def test_a_run_at_one_instant_has_no_parts():
    result = made(bank_of(affine("a")), [0.0, 0.0], Course(A=1.0))
    assert shares_words(result) == "The run ends at once; there is no course to draw."
    assert shares_chart(result)["data"] == []


# ---------- What if


def numbers(packed):
    assert packed["dtype"] == "f4"
    return np.frombuffer(base64.b64decode(packed["bdata"]), dtype="<f4")


def told(spec, name):
    return [one for one in spec["data"] if one.get("name") == name]


def test_the_lean_picture_has_the_numbers_of_the_run():
    spec = w.what_if_chart(run(), None, None)
    (bus,), (new,) = told(spec, "bus"), told(spec, "new")
    assert numbers(bus["x"]) == approx(HOURS)
    assert numbers(bus["y"]) == approx([13.0, 12.5, np.nan, 12.0, 12.2], nan_ok=True)
    assert numbers(new["y"]) == approx(SECOND_A)
    assert (bus["hovertemplate"], new["hovertemplate"]) == ("%{y:.2f} V", "%{y:.2f} A")
    assert (bus["showlegend"], new["showlegend"]) == (False, True)
    assert spec["layout"]["xaxis"]["range"] == [0, 4.0]


@pytest.mark.parametrize(("scale", "digits"), [(3600.0, 2), (36.0, 4)])
def test_the_cursor_tells_the_time_of_a_short_run_too(scale, digits):
    # 4 h: to 0.01 h; 144 s are 0.04 h, of which one digit would tell nothing
    axis = w.what_if_chart(run(scale=scale), None, None)["layout"]["xaxis"]
    assert axis["hoverformat"] == f".{digits}f"


def test_a_band_of_the_bus_is_in_parts_around_a_dead_bus():
    # it fell to 0 V and across the gap, which left the lines a tenth of the height
    fan = fan_of([12.9, 0.0, 12.1, np.nan], [13.1, 0.0, 12.8, 12.7])
    band, amps, _ = w.what_if_chart(run(), fan, None)["data"][:3]
    assert numbers(band["x"]) == approx([0.5, 0.5, np.nan, 2.5, 3.5, 3.5, 2.5, np.nan], nan_ok=True)
    assert numbers(band["y"]) == approx(
        [13.1, 12.9, np.nan, 12.8, 12.7, 12.1, 12.1, np.nan], nan_ok=True
    )
    assert numbers(amps["y"]) == approx([3.0] * 4 + [-1.0] * 4 + [np.nan], nan_ok=True)
    none = fan_of([np.nan] * 4, [np.nan] * 4)
    assert numbers(w.what_if_chart(run(), none, None)["data"][0]["x"]).size == 0


def test_a_current_of_nothing_is_no_gap_in_its_band():
    fan = fan_of([12.0] * 4, [13.0] * 4)
    still = replace(fan, current_A=0.0 * fan.current_A)
    band = w.what_if_chart(run(), still, None)["data"][1]
    assert numbers(band["x"])[:-1] == approx([0.5, 1.5, 2.5, 3.5, 3.5, 2.5, 1.5, 0.5])


def test_a_former_run_is_one_line_a_row_and_keeps_room_for_its_end():
    former = run(scale=7200.0)
    spec = w.what_if_chart(run(), None, former)
    bus, amps = told(spec, "before")
    assert numbers(bus["x"]) == approx(2.0 * HOURS)
    assert [(one["yaxis"], one["showlegend"]) for one in (bus, amps)] == [
        ("y", False),
        ("y2", True),
    ]
    assert numbers(amps["y"]) == approx([*FIRST_A, np.nan, *SECOND_A, np.nan], nan_ok=True)
    assert spec["layout"]["xaxis"]["range"] == [0, 8.0]
    fewer = told(w.what_if_chart(run(), None, run("old")), "before")[1]
    assert numbers(fewer["y"]) == approx([*FIRST_A, np.nan], nan_ok=True)
    alone = w.what_if_chart(run(), None, None)
    assert alone["layout"]["height"] == spec["layout"]["height"]  # nothing jumps


@pytest.mark.parametrize(
    ("count", "chosen", "shown"),
    [(8, 7, list(range(8))), (9, 0, list(range(7))), (9, 8, [*range(7), 8]),
     (20, 12, [*range(7), 12]), (9, 99, [*range(7), 8])],
)  # fmt: skip
def test_the_battery_that_is_played_with_always_has_a_line(count, chosen, shown):
    # of nine and more the first seven, and the chosen one
    assert w._shown(count, chosen) == shown


@pytest.mark.parametrize("count", [320, 321])
def test_thinning_begins_beyond_four_points_of_each_bucket(count):
    x = np.arange(float(count))
    y = np.where(x == 17.0, 5.0, np.where(x == 19.0, -5.0, 0.0))
    found, values = w.thinned(x, y)
    assert (found.size == count) == (count == 320)
    assert {0.0, 17.0, 19.0, count - 1.0} <= set(found)
    assert (values.max(), values.min()) == (5.0, -5.0)
