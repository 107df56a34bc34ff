"""The cells around each cut-out."""

from dataclasses import replace

import made_up
import numpy as np
import pytest

from bankSim.show.cells_figure import (
    cell_trips,
    cells_figure,
    covered,
    deciding_place,
    spread,
    who_ends_where,
    window,
)
from bankSim.show.looks import ALERT

H = 3600.0
NAMES = ["old", "new"]


def cut(name="old", at_h=5.0, **changes):
    return made_up.trip(name, at_h, NAMES, **changes)


def result_of(*cuts, end_h=10.0):
    firsts = {one.battery: one for one in reversed(cuts)}
    outcomes = [made_up.outcome(name, cut=firsts.get(name)) for name in NAMES]
    return made_up.result(outcomes, cuts, end_h=end_h)


def title(*cuts, place=0):
    return cells_figure(result_of(*cuts)).axes[place].get_title(loc="left")


def test_titles_tell_who_and_which_cell():
    assert title(cut()) == "old cuts out\ncell 3 decides"
    two = (2.5, 2.9, 2.5004, 2.8)
    assert title(cut(cell_voltages_V=two)) == "old cuts out\ncells 1 and 3 decide alike"
    same = (2.5, 2.5004, 2.5, 2.4998)
    assert title(cut(cell_voltages_V=same)) == "old cuts out\nall its cells alike"
    charge = cut(blocks="charge", watches="highest cell voltage")
    assert title(charge).startswith("old blocks charge\n")


def test_a_rule_that_watches_no_cell_names_the_lowest():
    whole = {"watches": "battery voltage", "cell": None}
    low = (2.9, 2.8, 2.4, 2.9)
    assert (
        title(cut(**whole, cell_voltages_V=low))
        == "old cuts out\nbattery voltage decides; lowest: cell 3"
    )
    same = (2.5, 2.5004, 2.5, 2.4998)
    assert title(cut(**whole, cell_voltages_V=same)) == "old cuts out\nbattery voltage decides"


def test_the_limit_of_a_cell_is_drawn_and_that_of_a_battery_is_not():
    axes = cells_figure(result_of(cut(threshold=2.6))).axes[0]
    assert "limit 2.60 V" in [text.get_text() for text in axes.texts]
    other = cells_figure(result_of(cut(watches="battery voltage", cell=None))).axes[0]
    assert not [text for text in other.texts if "limit" in text.get_text()]


def test_each_kind_of_switching_has_a_panel_up_to_six():
    cuts = [cut("old", 1.0 + 0.5 * n, threshold=2.0 + 0.1 * n) for n in range(7)]
    assert len(cell_trips(result_of(*cuts))) == 7
    assert len(cell_trips(result_of(cuts[0], cut("old", 3.0, threshold=2.0)))) == 1  # one kind
    many = cells_figure(result_of(*cuts))
    assert len(many.axes) == 6
    assert many.get_suptitle() == "The first 6 of 7 kinds of switching"
    few = cells_figure(result_of(*cuts[:3]))
    assert (len(few.axes), few.get_suptitle()) == (3, "")


def test_time_counts_from_the_switching_and_ends_with_the_run():
    axes = cells_figure(result_of(cut("old", 10.0), end_h=10.0)).axes[0]
    low, high = axes.get_xlim()
    assert low < 0.0 < high < 0.04 * (high - low)  # a little beyond: there is nothing more
    middle = cells_figure(result_of(cut("old", 5.0))).axes[0]
    low, high = middle.get_xlim()
    assert high == pytest.approx(0.25 * -low, rel=1e-6)
    assert middle.get_xlabel().startswith("time from the switching [")


def test_the_deciding_cell_stands_out_and_others_are_grey():
    axes = cells_figure(result_of(cut(cell=2))).axes[0]
    lines = [line for line in axes.lines if len(line.get_xdata()) > 2]
    assert [line.get_color() == ALERT for line in lines] == [False, True, False, False]
    assert lines[1].get_linewidth() > max(lines[n].get_linewidth() for n in (0, 2, 3))
    looks = {(lines[n].get_color(), str(lines[n]._unscaled_dash_pattern)) for n in (0, 2, 3)}
    assert len(looks) == 3  # told apart


@pytest.mark.parametrize(
    ("changes", "place"),
    [
        ({"cell": 1}, 0),
        ({"cell": 4}, 3),
        ({"cell": None, "cell_voltages_V": (3.0, 2.0, 2.5)}, 1),
        ({"cell": None, "cell_voltages_V": ()}, 0),
        ({"cell": None, "cell_voltages_V": None}, 0),
    ],
)
def test_place_of_the_deciding_cell(changes, place):
    assert deciding_place(replace(cut(), **changes), []) == place


def knee(time_s, usual_V, last_V, from_s):
    """A cell that is level up to an instant and falls evenly to its last voltage at 1000 s."""
    part = np.clip((time_s - from_s) / (1000.0 - from_s), 0.0, 1.0)
    return usual_V + part * (last_V - usual_V)


def test_the_window_is_twice_as_long_as_the_last_quarter_of_the_fall():
    time = np.linspace(0.0, 1000.0, 10_001)
    event = cut(at_h=1000.0 / H, cell=1, cell_voltages_V=(2.5, 3.0, 3.0, 3.0))
    start_s, end_s = window(time, knee(time, 3.3, 2.5, 800.0), event, 1000.0)
    # the usual voltage is that before the fall; 3/4 of the way is left until 800 + 200 / 4
    assert start_s == pytest.approx(1000.0 - 2.0 * 150.0, abs=1.0)
    assert end_s == pytest.approx(1000.0 + 0.03 * 300.0, abs=0.1)
    later = window(time, knee(time, 3.3, 2.5, 800.0), event, 2000.0)
    assert later[1] == pytest.approx(1000.0 + 0.25 * 300.0, abs=0.5)


def test_a_rise_to_a_limit_is_shown_like_a_fall():
    time = np.linspace(0.0, 1000.0, 10_001)
    event = cut(at_h=1000.0 / H, cell=1, cell_voltages_V=(3.65, 3.4, 3.4, 3.4))
    start_s, _ = window(time, knee(time, 3.3, 3.65, 800.0), event, 1000.0)
    assert start_s == pytest.approx(1000.0 - 2.0 * 150.0, abs=1.0)


def test_names_stand_at_the_ends_of_their_lines_and_the_limit_across():
    axes = cells_figure(result_of(cut("old", 10.0, cell=3), end_h=10.0)).axes[0]
    low, high = axes.get_ylim()
    lines = [line for line in axes.lines if len(line.get_xdata()) > 2]
    names = {text.get_text(): text.xy[1] for text in axes.texts if "cell" in text.get_text()}
    assert names["cell 3"] == pytest.approx(
        (lines[2].get_ydata()[-1] - low) / (high - low), abs=0.1
    )
    level = [line for line in axes.lines if list(line.get_ydata()) == [2.5, 2.5]]
    assert len(level) == 1
    start_h = (
        10.0
        + axes.get_xlim()[0]
        * {"s": 1 / H, "min": 1 / 60, "h": 1}[axes.get_xlabel().split("[")[1].rstrip("]")]
    )
    assert lines[0].get_xdata()[0] <= axes.get_xlim()[0]  # one point more, so that no gap is left
    assert 0.0 < start_h < 10.0


def test_the_window_is_a_minute_or_a_part_of_the_run_at_least_and_begins_no_earlier_than_it():
    time = np.linspace(0.0, 1000.0, 10_001)
    event = cut(at_h=1000.0 / H, cell=1, cell_voltages_V=(2.5, 3.0, 3.0, 3.0))
    sudden = np.where(time < 999.0, 3.3, 2.5)
    assert window(time, sudden, event, 1000.0)[0] == pytest.approx(940.0)
    assert window(time, sudden, event, 100_000.0)[0] == pytest.approx(800.0)  # 0.2 % of it
    level = np.full(time.size, 2.5)
    assert window(time, level, event, 1000.0)[0] == 0.0
    unknown = np.full(time.size, np.nan)
    assert window(time, unknown, event, 1000.0)[0] == 0.0


def test_lines_within_a_millivolt_of_the_deciding_one_are_covered():
    own = np.array([3.2, 2.5])
    lines = [own + 0.0005, own, own + np.array([0.0, 0.01]), own - 0.0005]
    assert covered(lines, 1) == [0, 1, 3]
    assert covered(lines, 2) == [2]


def test_cells_are_named_where_they_end():
    assert who_ends_where([0.1, 0.5, 0.9], 0, [0]) == [
        ("cell 1", 0.1), ("cell 2", 0.5), ("cell 3", 0.9),
    ]  # fmt: skip
    assert who_ends_where([0.9, 0.1, 0.505, 0.5], 1, [1]) == [
        ("cell 2", 0.1), ("cells 3, 4", 0.5), ("cell 1", 0.9),
    ]  # fmt: skip
    assert who_ends_where([0.1, 0.1, 0.1, 0.5], 0, [0, 1, 2]) == [
        ("cells 1-3 alike", 0.1), ("cell 4", 0.5),
    ]  # fmt: skip
    assert who_ends_where([0.1] * 4, 0, [0, 1, 2, 3]) == [("cells 1-4 alike", 0.1)]
    assert who_ends_where([0.1, 0.5, 0.1], 0, [0, 2])[0] == ("cells 1, 3 alike", 0.1)


def test_many_other_cells_share_one_name_at_their_middle():
    six = [0.1, 0.4, 0.5, 0.6, 0.7, 0.8]
    assert len(who_ends_where(six, 0, [0])) == 6
    told = who_ends_where([*six, 0.9], 0, [0])
    assert told == [("cell 1", 0.1), ("others", pytest.approx(0.65))]


def test_names_move_apart_about_their_middle():
    assert spread([0.5, 0.5], 0.1) == pytest.approx([0.45, 0.55])
    assert spread([0.9, 0.1], 0.1) == pytest.approx([0.9, 0.1])  # far enough apart
    assert spread([0.3], 0.1) == pytest.approx([0.3])
