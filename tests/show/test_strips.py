"""Slim strips above the lanes: the voltage at the bus, every charger, all loads together."""

from dataclasses import replace
from types import SimpleNamespace

import made_up
import numpy as np
import pytest
from matplotlib.colors import to_hex
from matplotlib.figure import Figure

from bankSim.show.course import Course
from bankSim.show.looks import QUIET
from bankSim.show.strips import live_range, strip_count, supply_strips, voltage_strip

H = 3600.0


def course(bus_V, charger_A=(), bank_A=None, length_h=1.0):
    """Spans of one hour each; the loads take what the bank and the chargers give."""
    bus_V = np.array(bus_V, dtype=float)
    count = bus_V.size
    length_s = np.full(count, length_h * H)
    start_s = np.cumsum(length_s) - length_s
    nothing = np.zeros((1, count))
    chargers = np.array(charger_A, dtype=float).reshape(-1, count)
    given = np.zeros(count) if bank_A is None else np.array(bank_A, dtype=float)
    return Course(
        start_s, length_s, nothing, nothing, nothing, given, bus_V, bus_V, chargers,
        np.full((1, 1), 0.01),
    )  # fmt: skip


def result(names=(), events=()):
    chargers = tuple(SimpleNamespace(name=name) for name in names)
    return SimpleNamespace(chargers=chargers, events=events, end_time_s=10.0 * H)


@pytest.mark.parametrize(
    ("volts", "low", "high"),
    [
        ([12.0, 13.0], 11.94, 13.06),  # 6 % of 1 V on both sides
        ([12.0, 13.0, 0.0, np.nan], 11.94, 13.06),  # a dead bus and a gap are no voltage
        ([13.0, 13.0], 12.98, 13.02),
        ([13.0, 13.1], 12.98, 13.12),  # 20 mV at least
        ([0.0, 0.0], -0.06, 1.06),
    ],
)
def test_limits_are_those_of_the_live_bus(volts, low, high):
    assert live_range(np.array(volts)) == pytest.approx((low, high))


def test_the_voltage_is_drawn_in_stretches_and_a_dead_bus_is_a_gap():
    axes = Figure().subplots()
    voltage_strip(axes, course([13.0, 12.0, 0.0, 11.0]), H)
    before, after = axes.lines
    assert list(before.get_xdata()) == [0.0, 1.0, 1.0, 2.0]
    assert list(before.get_ydata()) == [13.0, 13.0, 12.0, 12.0]
    assert list(after.get_xdata()) == [3.0, 4.0]
    assert list(after.get_ydata()) == [11.0, 11.0]
    assert axes.get_ylim() == pytest.approx((11.0 - 0.12, 13.0 + 0.12))
    assert axes.get_ylabel() == "bus [V]"


def test_a_strip_for_each_of_four_chargers_and_one_for_the_loads():
    assert [strip_count(result("abcdef"[:n])) for n in (0, 1, 4, 5)] == [1, 2, 5, 5]


def heights(collection):
    """Heights of the upper edge over the hour that begins at 0, 1, 2, ..."""
    rows = collection.get_paths()[0].vertices
    return [rows[np.abs(rows[:, 0] - at) < 0.4][:, 1].max() for at in (0.5, 1.5)]


def strips(names=("sun",), charger_A=([20.0, 10.0],), bank_A=(-20.0, 5.0), events=()):
    axes = Figure().subplots()
    supply_strips(axes, result(names, events), course([13.0, 13.0], charger_A, bank_A), H)
    return axes


def test_a_strip_is_scaled_by_its_own_highest_mean():
    axes = strips()
    pale, full, *_ = axes.collections
    assert pale.get_alpha() < full.get_alpha() == 1.0
    assert heights(full) == pytest.approx([0.8, 0.4], abs=1e-6)
    names = [text.get_text() for text in axes.get_yticklabels()]
    assert names == ["sun, to 20.0 A", "all loads, to 15.0 A"]  # 20 - 20, then 10 + 5


def test_strips_stand_one_below_the_other_the_loads_last():
    axes = strips(("a", "b"), ([20.0, 10.0], [0.0, 0.0]), (0.0, 0.0))
    floors = [line.get_ydata()[0] for line in axes.lines]
    assert floors == [0, -1, -2]
    names = [text.get_text() for text in axes.get_yticklabels()]
    assert names == ["a, to 20.0 A", "b: none", "all loads, to 20.0 A"]
    assert list(axes.get_yticks()) == pytest.approx([0.4, -0.6, -1.6])
    low, high = axes.get_ylim()
    assert -2.5 < low < -2.0 < 0.8 < high < 1.3  # all strips, and no room for one more


def test_of_many_chargers_four_have_a_strip():
    axes = strips("abcdef", [[1.0, 1.0]] * 6, (0.0, 0.0))
    names = [text.get_text() for text in axes.get_yticklabels()]
    assert names == [*(f"{one}, to 1.00 A" for one in "abcd"), "all loads, to 6.00 A"]


def told_unfed(*times_h):
    events = tuple(replace(made_up.collapse(1.0, ["a"]), time_s=at * H) for at in times_h)
    return [
        (text.get_text().strip(), text.xy[0], text.get_ha()) for text in strips(events=events).texts
    ]


def test_where_loads_are_not_fed_the_first_time_is_marked():
    assert told_unfed() == []
    assert told_unfed(4.0) == [("not fed", 4.0, "left")]
    assert told_unfed(4.0, 5.0) == [("not fed, 2 times", 4.0, "left")]
    assert told_unfed(8.5) == [("not fed", 8.5, "right")]  # near the end it is written before it


def test_each_strip_is_filled_from_its_own_floor_and_loads_are_grey():
    axes = strips(("a", "b"), ([20.0, 10.0], [5.0, 5.0]), (0.0, 0.0))
    floors = [one.get_paths()[0].vertices[:, 1].min() for one in axes.collections]
    assert floors == [0.0, 0.0, -1.0, -1.0, -2.0, -2.0]
    colours = [to_hex(one.get_facecolor()[0]) for one in axes.collections]
    assert len(set(colours[:4])) == 1  # chargers of one colour
    assert colours[4] == colours[5] == QUIET
    assert axes.get_ylabel() == "[A]"


def test_no_time_is_written_between_the_strips_and_the_lanes_below():
    bus = Figure().subplots()
    voltage_strip(bus, course([13.0, 12.0]), H)
    for axes in (bus, strips()):
        told = [text for text in axes.get_xticklabels() if text.get_visible()]
        assert told == []
    assert len(bus.get_yticks()) <= 5 + 2  # four spaces, and a tick beyond either end


def test_names_of_chargers_stand_as_written():
    (name, _) = strips(("$sun_1$",)).get_yticklabels()
    assert name.get_text() == "$sun_1$, to 20.0 A"
    assert not name.get_parse_math()
