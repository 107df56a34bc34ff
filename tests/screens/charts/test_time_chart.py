"""The course of a run: what is drawn is what the run says."""

import numpy as np
import pytest
from chart_cases import (
    SHIPPED,
    at_once,
    checked,
    hybrid_run,
    is_harmless,
    named,
    nasty,
    run_of,
    shipped,
    shipped_spread,
    text_of,
    texts,
    two,
)
from pytest import approx

from bankSim.screens.charts import DARK, ROWS, figure_of, time_chart, time_words
from bankSim.study.quick_fan import quick_fan

AXES = {"voltage": "y2", "current": "y3", "charge": "y4"}


def line_of(spec, name, unit):
    (line,) = [one for one in named(spec, f"{name}: %{{y") if f" {unit}<" in one["hovertemplate"]]
    return line


@pytest.mark.parametrize("hours", [None, (3.0, 9.0)])
def test_lines_are_those_of_the_timeline(hours):
    result = two()
    spec = checked(time_chart(result, window_h=hours))
    table = result.timeline(jumps=True)
    time_h = table["time_s"].to_numpy() / 3600.0
    lines = [
        (line_of(spec, "bus", "V"), table["bank.voltage_V"].to_numpy()),
        (line_of(spec, "old", "A"), table["old.current_A"].to_numpy()),
        (line_of(spec, "new", "%"), 100.0 * table["new.state_of_charge"].to_numpy()),
    ]
    for line, values in lines:
        for x, y in list(zip(line["x"], line["y"], strict=True))[::7]:
            same = values[np.abs(time_h - x) < 1e-9]
            assert same.size
            if np.isfinite(y):
                assert np.abs(same - y).min() < 1e-12
            else:
                assert 0.0 in same
        inside = (time_h >= line["x"][0]) & (time_h <= line["x"][-1]) & (values != 0.0)
        assert np.nanmax(line["y"]) == approx(values[inside].max())
        assert line["x"].size <= 700
    low, high = spec["layout"]["xaxis"]["range"]
    assert (low, high) == approx(hours or (0.0, result.end_time_s / 3600.0))


def test_a_window_shows_more_of_a_fine_run():
    result = run_of(text_of(("old", 80.0, 0.9), ("new", 100.0, 1.0),
                            head="[simulation]\noutput_every_s = 5\n"))  # fmt: skip
    whole, part = (line_of(time_chart(result, window_h=w), "old", "A") for w in (None, (2.0, 3.0)))
    assert whole["x"].size <= 700
    assert np.sum((whole["x"] >= 2.0) & (whole["x"] <= 3.0)) < 60 < part["x"].size


def test_bands_are_those_of_the_fan():
    result = two()
    fan = quick_fan(result.scenario, draws=16)
    spec = checked(time_chart(result, fan=fan))
    areas = [
        one for one in spec["data"]
        if one.get("fill") == "toself" and one["yaxis"] == "y3" and len(one["x"]) > 2
    ]  # fmt: skip
    wide = [(0, 4, 0), (0, 4, 1), (1, 3, 0), (1, 3, 1)]
    assert len(areas) == len(wide)
    for area, (low, high, place) in zip(areas, wide, strict=True):
        known = np.isfinite(fan.current_A[place, high])
        count = known.sum()
        assert area["x"][:count] == approx(fan.time_h[known])
        assert area["y"][:count] == approx(fan.current_A[place, high][known])
        assert area["y"][count:][::-1] == approx(fan.current_A[place, low][known])
    assert "90 of 100 cases" in [one.get("name") for one in spec["data"]]


def test_a_band_does_not_bridge_a_dead_bus():
    path = next(one for one in SHIPPED if one.stem == "three-days-of-sun")
    result = shipped(path)
    fan = shipped_spread(path).fan
    spec = time_chart(result, fan=fan)
    dead = fan.time_h[fan.voltage_V[3] == 0.0]  # most draws have a dead bus then
    assert dead.size
    narrow = [one for one in spec["data"] if one["yaxis"] == "y2" and len(one["x"]) > 2]
    narrow = [one for one in narrow if one.get("fillcolor", "").endswith(",0.26)")]
    assert len(narrow) > 1
    for area in narrow:
        assert not (area["x"].min() < dead[0] and area["x"].max() > dead[-1])


def test_a_ghost_is_grey_and_only_of_batteries_that_are_still_there():
    other = run_of(text_of(("old", 60.0, 0.9), ("gone", 100.0, 1.0)))
    spec = checked(time_chart(two(), ghost=other, look=DARK))
    ghosts = [one for one in spec["data"] if one.get("legendgroup") == "ghost"]
    assert sorted(one["yaxis"] for one in ghosts) == ["y2", "y3", "y4"]
    assert {one["line"]["color"] for one in ghosts} == {DARK.quiet}
    assert sum(one["showlegend"] for one in ghosts) == 1
    own = next(one for one in ghosts if one["yaxis"] == "y3")
    assert np.nanmax(own["y"]) == approx(other.timeline(jumps=True)["old.current_A"].max())


def test_lanes_tell_who_feeds_and_who_is_out():
    result = run_of(text_of(("old", 80.0, 1.0), ("new", 100.0, 1.0)))
    spec = time_chart(result, rows=("lanes",))
    out = min(event.time_s for event in result.events if event.cuts_out) / 3600.0
    first = next(event.battery for event in result.events if event.cuts_out)
    (line,) = named(spec, f"{first}: %{{text}}")
    words = np.array(line["text"])
    before, after = line["x"] < out - 0.1, line["x"] > out + 0.1
    assert set(words[before]) == {"feeds"}
    assert set(words[after]) <= {"out, discharge blocked", "out, blocked both ways"}
    notes = [one["text"] for one in spec["layout"]["annotations"]]
    assert "cuts out" in notes


def test_rows_are_chosen_and_share_one_axis():
    spec = checked(time_chart(two(), rows=("charge", "voltage")))
    assert {one["yaxis"] for one in spec["data"]} == {"y", "y2"}
    assert {one["xaxis"] for one in spec["data"]} == {"x"}
    layout = spec["layout"]
    assert (layout["hovermode"], layout["hoversubplots"]) == ("x unified", "axis")
    tops = [layout[name]["domain"] for name in ("yaxis", "yaxis2")]
    assert tops[0][0] >= tops[1][1]


def test_loads_that_switch_often_are_averaged_on_a_band():
    head = "[simulation]\nduration_h = 20\n"
    text = text_of(("old", 80.0, 1.0), ("new", 100.0, 1.0), watts=90.0, head=head)
    result = run_of(text + "duty = { on_min = 4, off_min = 6 }\n")
    spec = checked(time_chart(result))
    line = line_of(spec, "old", "A")
    current = result.timeline(jumps=True)["old.current_A"]
    assert np.nanmax(line["y"][5:-5]) < 0.6 * current.max()
    assert len(named_areas(spec)) == 1
    areas = [one for one in spec["data"] if one.get("fill") and one["yaxis"] == "y3"]
    assert (np.max(areas[0]["y"]), np.min(areas[0]["y"])) == approx((current.max(), current.min()))
    known = np.isfinite(line["y"])
    net_Ah = result.batteries[0].delivered_Ah - result.batteries[0].charged_Ah
    mean = np.trapezoid(line["y"][known], line["x"][known]) / np.ptp(line["x"][known])
    assert mean == approx(net_Ah / (result.end_time_s / 3600.0), rel=0.05)


def named_areas(spec):
    return [
        one for one in spec["data"] if str(one.get("name")).startswith("least to most in each ")
    ]


def test_no_window_of_a_switching_load_reaches_over_a_charger_that_begins():
    # 30 A from 8 h on; the load of 10 min periods makes the lines averages
    head = "[simulation]\nduration_h = 20\n"
    text = text_of(("old", 80.0, 0.3), ("new", 100.0, 0.3), watts=90.0, head=head)
    charger = '[[charger]]\nname = "c"\nlimit_A = 30\nhold_V = 13.6\nactive_h = [[8.0, 9.0]]\n'
    result = run_of(f"{text}duty = {{ on_min = 4, off_min = 6 }}\n{charger}")
    line = line_of(checked(time_chart(result)), "old", "A")
    before, after = line["x"] < 8.0, (line["x"] > 8.0) & (line["x"] < 9.0)
    assert np.nanmin(line["y"][before]) > 0.0
    assert np.nanmax(line["y"][after]) < 0.0


def test_the_wall_clock_is_told():
    text = text_of(("old", 50.0, 1.0), head='[simulation]\nstarts_at = "22:30"\n')
    spec = time_chart(run_of(text))
    assert spec["data"][0]["text"][0] == "22:30"
    assert spec["data"][0]["text"][-1].startswith("day 2")
    assert not named(time_chart(two()), "%{text}<")


@pytest.mark.parametrize("path", SHIPPED, ids=lambda path: path.stem)
def test_every_shipped_scenario(path):
    result, spread = shipped(path), shipped_spread(path)
    for hours in (None, (0.2, 0.9)):
        spec = checked(time_chart(result, fan=spread.fan, window_h=hours, ghost=result))
        assert len(figure_of(spec).data) == len(spec["data"])
        assert all(is_harmless(text) for text in texts(spec))
    words = time_words(result, fan=spread.fan, ghost=result)
    assert all(f'"{one.name}" cuts out' in words for one in result.batteries if one.first_cut_out)


@pytest.mark.parametrize("seed", range(12))
def test_random_hybrids(seed):
    result = hybrid_run(seed)
    end_h = result.end_time_s / 3600.0
    for hours in (None, (0.3 * end_h, 0.35 * end_h)):
        checked(time_chart(result, window_h=hours))
    assert time_words(result)


def test_a_run_that_ends_at_once():
    for rows in (ROWS, ("lanes",)):
        checked(time_chart(at_once(), rows=rows))
    assert time_words(at_once())


def test_names_do_no_harm():
    spec = checked(time_chart(nasty()))
    assert [text for text in texts(spec) if not is_harmless(text)] == []
