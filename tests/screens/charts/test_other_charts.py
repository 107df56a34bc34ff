"""Cut-outs, charge, shares, differences, maps, what matters: values, words, hostile names."""

import numpy as np
import pytest
from chart_cases import (
    NASTY,
    SHIPPED,
    at_once,
    checked,
    hybrid_run,
    is_harmless,
    nasty,
    run_of,
    shipped,
    shipped_spread,
    text_of,
    texts,
    two,
)
from pytest import approx

from bankSim.screens import charts
from bankSim.screens.charts import DARK, LIGHT
from bankSim.show.causes import cut_outs, trips

LABELS = ("load [W]", "health [1]", "delivered [Ah]")


def bars(spec, name):
    """Lengths of the bars of one kind, from top to bottom."""
    return [x for one in spec["data"] if one["name"] == name for x in one["x"]]


def every_chart(result, spread=None):
    """All charts of a run."""
    yield charts.charge_bars(result, spread)
    yield charts.shares_chart(result, look=DARK)
    for quantity in ("Ah", "hours"):
        yield charts.difference_bars(result, two(), quantity=quantity)
    for event in trips(result)[:6]:
        yield charts.cut_out_chart(result, event)


def test_cells_before_a_cut_out():
    result = two()
    event = cut_outs(result)[0]
    spec = checked(charts.cut_out_chart(result, event, LIGHT))
    table = result.timeline(jumps=True)
    own = next(one for one in spec["data"] if one["line"]["color"] == LIGHT.alert)
    assert own["name"] == f"cell {event.cell}"
    time_s = event.time_s + own["x"] * {"s": 1.0, "min": 60.0, "h": 3600.0}[unit_of(spec)]
    column = table[f"{event.battery}.cell{event.cell}_voltage_V"]
    for at, volts in list(zip(time_s, own["y"], strict=True))[::5]:
        same = column[np.abs(table["time_s"] - at) < 1e-6]
        assert np.abs(same - volts).min() < 1e-12
    before = own["y"][own["x"] <= 0.0]
    assert before[0] > before[-1]
    assert event.cell_voltages_V[event.cell - 1] in own["y"].tolist()
    notes = [one["text"] for one in spec["layout"]["annotations"]]
    assert f"limit {event.threshold:.2f} V" in notes
    limit = next(one for one in spec["data"] if one.get("hoverinfo") == "skip")
    assert limit["y"].tolist() == [event.threshold] * 2
    assert f"cell{event.cell}".replace("cell", "cell ") in " ".join(notes) or "alike" in str(notes)


def unit_of(spec):
    return spec["layout"]["xaxis"]["title"]["text"].rpartition("[")[2].rstrip("]")


def test_charge_adds_up_and_has_whiskers():
    path = next(one for one in SHIPPED if one.stem == "weak-cell")
    result, spread = shipped(path), shipped_spread(path)
    spec = checked(charts.charge_bars(result, spread))
    assert bars(spec, "delivered") == approx([one.delivered_Ah for one in result.batteries])
    assert bars(spec, "locked in") == approx([one.stranded_Ah for one in result.batteries])
    assert bars(spec, "left") == approx([one.remaining_Ah for one in result.batteries])
    assert bars(spec, "label") == approx([one.rated_Ah for one in result.batteries])
    starts = next(one["base"] for one in spec["data"] if one["name"] == "locked in")
    assert starts == approx([one.delivered_Ah for one in result.batteries])
    ends = [x for x in bars(spec, "5 to 95 %") if x is not None]
    assert ends == approx(
        [spread.delivered_Ah[one.name][at] for one in result.batteries for at in (0, 2)]
    )


def test_charge_that_was_taken_in_does_not_count_twice():
    path = next(one for one in SHIPPED if one.stem == "three-days-of-sun")
    result = shipped(path)
    assert all(one.charged_Ah > 1.0 for one in result.batteries)
    spec = checked(charts.charge_bars(result, shipped_spread(path)))
    net = [max(one.delivered_Ah - one.charged_Ah, 0.0) for one in result.batteries]
    assert bars(spec, "delivered, net of charge taken") == approx(net)
    starts = next(one["base"] for one in spec["data"] if one["name"] == "locked in")
    assert starts == approx(net)
    assert not any(one["name"] in ("delivered", "5 to 95 %") for one in spec["data"])
    assert charts.charge_words(result).count("), takes in ") == len(result.batteries)


def test_shares_are_parts_of_what_is_given():
    result = run_of(text_of(("old", 80.0, 1.0), ("new", 100.0, 1.0)))
    spec = checked(charts.shares_chart(result))
    parts = np.array([one["y"] for one in spec["data"]])
    busy = parts.sum(axis=0) > 0.0
    assert parts.sum(axis=0)[busy] == approx(100.0)
    assert parts[:, 0] == approx([100.0 * one.share_at_start for one in result.batteries], abs=3.0)


def test_differences():
    before, after = two(), two(200.0)
    spec = checked(charts.difference_bars(before, after))
    for name, run in (("before", before), ("now", after)):
        own = [run.bank.delivered_Ah]
        for one in run.batteries:
            own += [one.delivered_Ah, one.stranded_Ah]
        assert bars(spec, name) == approx([x for x in own if x > 0.02])
    hours = charts.difference_bars(before, after, quantity="hours")
    assert bars(hours, "now")[0] == approx(after.bank.runtime_s / 3600.0)
    words = charts.difference_words(before, after)
    gap = after.bank.delivered_Ah - before.bank.delivered_Ah
    assert f"({'+' if gap > 0 else '-'}{abs(gap):.3g}"[:5] in words


def test_one_battery_more_and_one_less():
    other = run_of(text_of(("old", 80.0, 0.9), ("third", 60.0, 1.0)))
    words = charts.difference_words(two(), other)
    assert '"new" delivers' in words
    assert '"third" delivers' in words
    assert "only before" in words
    assert "only now" in words
    checked(charts.difference_bars(two(), other))


def test_map_shows_numbers_and_letters():
    z = np.array([[170.0, 160.0], [180.0, np.nan]])
    first = [["old", "new"], ["old", ""]]
    spec = checked(charts.map_chart([30, 60], [0.8, 1.0], z, LABELS, first=first, here=(45, 0.8)))
    heat = spec["data"][0]
    assert heat["text"] == [["170<br>A", "160<br>B"], ["180<br>A", "-<br>–"]]
    ring = next(one for one in spec["data"] if one.get("name") == "as it stands")
    assert (ring["x"], ring["y"]) == ([0.5], [0.0])
    assert {"A: old first out", "B: new first out"} <= {one.get("name") for one in spec["data"]}
    words = charts.map_words([30, 60], [0.8, 1.0], z, LABELS, first=first)
    assert "least 160 at 60 and 0.8; most 180 at 30 and 1" in words
    wide = charts.map_chart(range(30), [1, 2], np.ones((2, 30)), LABELS)
    assert set(wide["data"][0]["text"][0]) == {""}


def test_map_marks_what_is_on_paper_only():
    z, first = np.array([[170.0, 160.0], [180.0, 150.0]]), [["old", "old"], ["old", ""]]
    given, paper = ([30, 60], [0.8, 1.0], z, LABELS), [[False, True], [True, False]]
    spec = checked(charts.map_chart(*given, first=first, paper=paper))
    heat = spec["data"][0]
    assert heat["text"] == [["170<br>A", "160*<br>A"], ["180*<br>A", "150<br>–"]]
    told = [["on paper only" in one for one in row] for row in heat["customdata"]]
    assert told == paper
    assert "*: on paper only" in {one.get("name") for one in spec["data"]}
    words = charts.map_words(*given, first=first, paper=paper)
    assert words.endswith("nobody in 1. On paper only in 2 of 4 fields.")
    none = charts.map_chart(*given, first=first, paper=[[False] * 2] * 2)
    assert "*: on paper only" not in {one.get("name") for one in none["data"]}
    many = charts.map_chart(range(30), [1], np.ones((1, 30)), LABELS, paper=[[True] * 30])
    assert set(many["data"][0]["text"][0]) == {"*"}


def test_what_matters_is_sorted_and_meets_in_the_middle():
    labels, low, high = ["a", "b", "c"], [99.0, 80.0, np.nan], [101.0, 115.0, 3.0]
    spec = checked(charts.tornado_chart(labels, low, high, middle=100.0))
    assert [one["name"] for one in spec["data"]] == ["at its low end", "at its high end"]
    for trace, ends in zip(spec["data"], ([80.0, 99.0], [115.0, 101.0]), strict=True):
        assert np.add(trace["base"], trace["x"]) == approx(ends)
        assert trace["y"][0] > trace["y"][1]
    words = charts.tornado_words(labels, low, high, middle=100.0)
    assert words.index("b moves it from 80.0 to 115 Ah") < words.index("a moves it")


@pytest.mark.parametrize("path", SHIPPED, ids=lambda path: path.stem)
def test_every_shipped_scenario_draws(path):
    result = shipped(path)
    for spec in every_chart(result, shipped_spread(path)):
        checked(spec)
        assert spec["data"]
    assert charts.charge_words(result)
    assert charts.shares_words(result)
    for event in cut_outs(result):
        assert f'"{event.battery}" cuts out' in charts.cut_out_words(result, event)


@pytest.mark.parametrize("seed", range(12))
def test_random_hybrids_draw(seed):
    for spec in every_chart(hybrid_run(seed)):
        checked(spec)


def test_runs_that_end_at_once_draw():
    for spec in every_chart(at_once()):
        checked(spec)


def test_hostile_names_do_no_harm():
    specs = [
        *every_chart(nasty()),
        charts.map_chart([1], [1], np.ones((1, 1)), (NASTY,) * 3, first=[[NASTY]]),
        charts.tornado_chart([NASTY], [1.0], [2.0], middle=1.5, unit=NASTY, answer=NASTY),
    ]
    for spec in specs:
        checked(spec)
        assert [text for text in texts(spec) if not is_harmless(text)] == []
