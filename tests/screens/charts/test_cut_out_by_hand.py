"""The time around a cut-out by hand: rows, limits on their side of zero, words."""

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from made_results import Course, event, made
from pytest import approx
from simple_banks import affine_cell, bank_of, battery

from bankSim.screens.charts.cut_out import cut_out_chart, cut_out_words
from bankSim.screens.charts.look import LIGHT
from bankSim.sim.result import TRIP

TIMES_S = np.array([0.0, 600.0, 1200.0, 1260.0, 1300.0, 2400.0])
CELLS_V = ([3.3, 3.3, 3.2, 3.1, 3.0, 3.1], [3.3, 3.2, 3.0, 2.8, 2.6, 2.9])


def run(watches, threshold, *, batteries=2, own=1, unit="V", blocks="discharge", value=None):
    """Batteries of two cells; the one at place `own` is blocked after 1300 s."""
    bank = bank_of(*[battery(f"b{k}", affine_cell(), affine_cell()) for k in range(batteries)])
    told = event(
        1300.0, TRIP, f"b{own}", watches=watches, cell=2 if "cell" in watches else None,
        value=threshold if value is None else value, threshold=threshold, unit=unit, blocks=blocks,
        cell_voltages_V=(3.0, 2.6), currents_A=tuple(10.0 + k for k in range(batteries)),
        currents_after_A=tuple(0.0 if k == own else 20.0 + k for k in range(batteries)),
    )  # fmt: skip
    course = Course(A=20.0, V=5.6, K=263.15, cells=CELLS_V)
    courses = [Course(A=7.0, V=6.0, K=300.0)] * own + [course]
    courses += [Course(A=5.0)] * (batteries - len(courses))
    return made(bank, TIMES_S, *courses, events=(told,)), told


def chart(*given, **more):
    spec = cut_out_chart(*run(*given, **more))
    layout = spec["layout"]
    limits = [(one["yaxis"], one["y"].tolist()) for one in spec["data"]
              if one.get("hoverinfo") == "skip"]  # fmt: skip
    return spec, [one["text"] for one in layout["annotations"]], limits


@pytest.mark.parametrize(
    ("watches", "threshold", "unit", "titles", "limit", "words"),
    [
        ("lowest cell voltage", 2.5, "V", [], ("y", 2.5), "limit 2.50 V"),
        ("battery voltage", 10.75, "V", ["Voltage of b1 [V]"], ("y2", 10.75), "limit 10.75 V"),
        ("temperature", -10.0, "degC", ["Temperature of b1 [°C]"], ("y2", -10.0), "limit -10 °C"),
        ("discharge current", 12.5, "A", [], ("y2", 12.5), "limit 12.5 A"),
        ("charge current", 50.0, "A", [], ("y2", -50.0), "limit -50 A"),
    ],
)
def test_the_limit_stands_in_the_row_of_what_is_watched(
    watches, threshold, unit, titles, limit, words
):
    spec, notes, limits = chart(watches, threshold, unit=unit)
    rows = ["Cells of b1 [V]", *titles, "Current [A], discharge positive"]
    assert [one for one in notes if "[" in one] == rows
    assert limits == [(limit[0], [limit[1]] * 2)]
    assert words in notes
    domains = [spec["layout"][f"yaxis{n or ''}"]["domain"] for n in [0, *range(2, len(rows) + 1)]]
    assert all(low < high for low, high in domains)
    assert all(a[0] > b[1] for a, b in pairwise(domains))  # none over another


def test_lines_are_those_of_that_battery_from_the_instant_it_switched():
    spec, notes, _ = chart("lowest cell voltage", 2.5)
    (deciding,) = [one for one in spec["data"] if one["line"]["color"] == LIGHT.alert]
    assert deciding["name"] == "cell 2"
    # usually at 3.0 V (median before), it was last at 3/4 of the way from there at 1200 s: 100 s
    # before, as much again, and a quarter of all that after
    assert spec["layout"]["xaxis"]["title"]["text"] == "time from the switching [s]"
    assert spec["layout"]["xaxis"]["range"] == approx([-200.0, 50.0])
    at = dict(zip(np.round(deciding["x"] + 1300.0, 6), deciding["y"], strict=True))
    assert at == {
        time: volts for time, volts in zip(TIMES_S, CELLS_V[1], strict=True) if time in at
    }
    assert at[1300.0] == 2.6
    currents = {one["name"]: one["y"][0] for one in spec["data"] if one.get("showlegend")}
    assert currents == {"b0": 7.0, "b1": 20.0}
    assert "<b>cell 2</b>" in " ".join(notes)


def test_temperatures_are_in_degrees_celsius():
    spec, _, _ = chart("temperature", -10.0, unit="degC")
    (line,) = [one for one in spec["data"] if "°C" in str(one.get("hovertemplate"))]
    assert line["y"] == approx(-10.0)  # 263.15 K
    assert line["hovertemplate"] == "b1: %{y:.1f} °C<extra></extra>"


def test_cells_have_room_above_and_below():
    spec, _, _ = chart("lowest cell voltage", 2.5)
    low, high = spec["layout"]["yaxis"]["range"]
    assert (low, high) == approx((2.5 - 0.08 * 0.8, 3.3 + 0.08 * 0.8))  # limit to highest reading


def test_names_stand_beside_the_ends_of_their_lines():
    spec, _, _ = chart("lowest cell voltage", 2.5)
    (low, high), (foot, top) = (spec["layout"]["yaxis"][key] for key in ("range", "domain"))
    notes = {one["text"]: one["y"] for one in spec["layout"]["annotations"]}
    for name, end_V in (("<b>cell 2</b>", 2.9), ("cell 1", 3.1)):
        assert notes[name] == approx(foot + (end_V - low) / (high - low) * (top - foot))
    assert spec["layout"]["margin"]["r"] == approx(12.0 + 7.2 * len("cell 2"))


def test_the_voltage_of_a_battery_is_its_own():
    spec, _, _ = chart("battery voltage", 10.75)
    (line,) = [one for one in spec["data"] if one["yaxis"] == "y2" and "hovertemplate" in one]
    assert set(line["y"]) == {5.6}
    assert line["hovertemplate"] == "b1: %{y:.3f} V<extra></extra>"


def test_words_say_why_and_where_the_currents_go():
    result, told = run("lowest cell voltage", 2.5, value=2.5)
    words = cut_out_words(result, told)
    assert words.startswith('"b1" cuts out after 21.7 min: its cell 2 ')
    assert words.endswith('The currents go: "b0" from 10.0 to 20.0 A, "b1" from 11.0 to 0 A.')
    result, told = run("highest cell voltage", 3.6, blocks="charge", value=3.6)
    assert '"b1" is blocked after 21.7 min' in cut_out_words(result, told)


@pytest.mark.parametrize(
    ("batteries", "own", "first", "end"),
    [(6, 5, '"b0" from', '"b5" from 15.0 to 0 A.'),
     (9, 8, '"b8" from 18.0 to 0 A, "b0" from', '"b4" from 14.0 to 24.0 A, and 3 more.')],
)  # fmt: skip
def test_of_many_the_one_that_cuts_out_is_always_told(batteries, own, first, end):
    words = cut_out_words(*run("lowest cell voltage", 2.5, batteries=batteries, own=own))
    assert words.partition("The currents go: ")[2].startswith(first)
    assert words.endswith(end)


def test_what_has_no_cells_says_so():
    result, told = run("lowest cell voltage", 2.5)
    for nothing in (replace(told, battery=None), replace(told, cell_voltages_V=None)):
        (note,) = cut_out_chart(result, nothing)["layout"]["annotations"]
        assert note["text"] == "No cells to draw here."
