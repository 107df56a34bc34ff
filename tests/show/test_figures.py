import itertools
from dataclasses import replace
from functools import cache

import hybrids
import made_up
import numpy as np
import pytest
from matplotlib.colors import to_rgb
from matplotlib.text import Text
from study_pictures import cut_off, laid_out

from bankSim.scenario.read import read_scenario
from bankSim.show.cells_figure import cells_figure, spread, window
from bankSim.show.charge_figure import charge_figure
from bankSim.show.current_figure import current_figure
from bankSim.show.figures import all_figures
from bankSim.show.looks import COLOURS, DASHES, line_look
from bankSim.sim.result import ALL_OVER
from bankSim.sim.run import simulate

UNITS = ("[A]", "[V]", "[Ah]", "[h]", "[min]", "[s]", "battery", "[h:min]", "[1]", "[degC]", "[%]")


def hostile():
    names = ["$\\frac{1}{0$ _x_", "_hidden", "a\nb\x1b[1m" + "w" * 60]
    cuts = [made_up.trip(name, 5.0 + k, names) for k, name in enumerate(names)]
    outcomes = [made_up.outcome(n, cut=cut) for n, cut in zip(names, cuts, strict=True)]
    return made_up.result(outcomes, cuts, end_h=8.0)


def at_once():
    cut = made_up.trip("a", 0.0, ["a"])
    return made_up.result([made_up.outcome("a", cut=cut, delivered_Ah=0.0)], [cut], end_h=0.0)


def sixteen_cells():
    cut = made_up.trip("a", 5.0, ["a"], cell=9, cells=16)
    return made_up.result([made_up.outcome("a", cut=cut)], [cut], end_h=6.0, cells=16)


def quiet():
    return made_up.result([made_up.outcome("a")], end_reason=ALL_OVER)


CASES = {
    "pair": made_up.pair, "hostile": hostile, "at once": at_once, "sixteen cells": sixteen_cells,
    "quiet": quiet, "nine": lambda: made_up.crowd(9), "crowd": lambda: made_up.crowd(64),
}  # fmt: skip


@cache
def figures_of(case):
    """The figures of a case, laid out; tests only look at them."""
    return {name: laid_out(figure) for name, figure in all_figures(CASES[case]()).items()}


@pytest.fixture(scope="module", params=CASES)
def drawn(request):
    return figures_of(request.param)


def test_every_axis_has_a_label_with_its_unit(drawn):
    for figure in drawn.values():
        for axes in figure.axes:
            assert axes.get_xlabel().endswith(UNITS)
            assert axes.get_ylabel().endswith(UNITS)


def test_nothing_is_cut_off_at_the_edge(drawn):
    for figure in drawn.values():
        assert max(cut_off(figure)) <= 0.0


def test_panels_keep_room_for_the_lines(drawn):
    for name, figure in drawn.items():
        least = 0.01 if name == "lanes" else 0.12  # strips above the lanes are slim
        assert all(axes.get_position().width > 0.25 for axes in figure.axes)
        assert all(axes.get_position().height > least for axes in figure.axes)


def test_no_text_is_read_as_a_formula(drawn):
    for figure in drawn.values():
        for text in figure.findobj(Text):
            shown = text.get_visible()
            assert not (shown and text.get_parse_math() and "$" in text.get_text())


def test_a_quiet_run_has_no_cells_figure():
    assert list(figures_of("quiet")) == ["lanes", "current", "voltage", "charge"]


def test_current_figure_has_a_line_a_battery_and_the_bank():
    figure = figures_of("pair")["current"]
    lines = [line for line in figure.axes[0].lines if len(line.get_xdata()) > 2]
    assert len(lines) == 3
    assert np.ptp(lines[0].get_xdata()) == pytest.approx(54.2)  # hours
    texts = {text.get_text() for text in figure.findobj(Text)}
    assert {"old", "new", "whole bank", "old out", "new out"} <= texts


def test_crowd_names_eight_and_counts_the_rest():
    figure = figures_of("crowd")["current"]
    legend = [text.get_text() for text in figure.legends[0].get_texts()]
    assert len(legend) == 10
    assert "whole bank" in legend
    assert legend[-1] == "56 others"


def test_hostile_names_stand_as_written():
    figures = figures_of("hostile")
    ticks = [tick.get_text() for tick in figures["charge"].axes[0].get_yticklabels()]
    assert ticks[:2] == ["$\\frac{1}{0$ _x_", "_hidden"]
    assert ticks[2].startswith("a?b?[1mww")
    assert len(ticks[2]) == 24


def test_deciding_cell_is_the_strongest_line_and_the_limit_is_drawn():
    figure = figures_of("pair")["cells"]
    assert len(figure.axes) == 2
    cells = [line for line in figure.axes[0].lines if len(line.get_xdata()) > 2]
    widths = [line.get_linewidth() for line in cells]
    assert len(cells) == 4
    assert widths.index(max(widths)) == 2  # cell 3
    assert "limit 2.50 V" in {text.get_text() for text in figure.axes[0].texts}


def test_bars_show_what_was_given_and_the_label():
    axes = figures_of("pair")["charge"].axes[0]
    widths = [[bar.get_width() for bar in group] for group in axes.containers]
    assert widths[0] == pytest.approx([84.2, 146.8])
    assert widths[1] == pytest.approx([1.234, 0.4])
    assert widths[-1] == pytest.approx([100.0, 140.0])
    assert "84.2 of 100" in {text.get_text() for text in axes.texts}


def test_window_shows_the_knee_not_the_whole_run():
    time = np.linspace(0.0, 100_000.0, 5001)
    voltage = 3.3 - 0.8 * np.exp((time - 100_000.0) / 2000.0)
    cut = made_up.trip("a", 100_000.0 / 3600.0, ["a"], cell=3)
    start_s, end_s = window(time, voltage, cut, 100_000.0)
    # 3/4 of the way is lost where exp(-t/2000 s) = 1/4, 2773 s before; twice that is shown
    assert 100_000.0 - start_s == pytest.approx(2 * 2773.0, rel=0.02)
    assert 100_000.0 < end_s < 101_000.0


def test_spread_keeps_order_and_distance():
    heights = spread([0.5, 0.5, 0.1, 0.52], 0.1)
    assert np.argsort(heights).tolist() == [2, 0, 1, 3]
    assert min(np.diff(sorted(heights))) >= 0.1 - 1e-12


def test_first_thirty_lines_differ_and_neighbours_differ_in_dashes():
    looks = [(line_look(k)["color"], str(line_look(k)["linestyle"])) for k in range(30)]
    assert len(set(looks)) == 30
    assert all(a[1] != b[1] for a, b in itertools.pairwise(looks))
    assert len(DASHES) == 5


def test_line_colours_are_strong_enough_on_white():
    # WCAG 2.2, 1.4.11 asks 3:1 of graphics; lines here are bold and dashed, 2:1 is the floor
    def luminance(colour):
        linear = [
            c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in to_rgb(colour)
        ]
        return float(np.dot(linear, (0.2126, 0.7152, 0.0722)))

    assert all(1.05 / (luminance(colour) + 0.05) > 2.0 for colour in COLOURS)


def test_a_short_spike_has_a_panel_of_its_own_that_shows_all_of_it():
    result = made_up.pair()
    trace = result.trace.copy()
    trace[100, 3], trace[7, 5] = 500.0, -90.0  # bank and "old", one instant each
    figure = current_figure(replace(result, trace=trace))
    full, enlarged = figure.axes
    assert full.get_ylim()[0] < -90.0
    assert full.get_ylim()[1] > 500.0
    drawn = np.concatenate([line.get_ydata() for line in full.lines])
    assert (drawn.min(), drawn.max()) == (-90.0, 500.0)
    assert full.get_title(loc="left").endswith("full range: -90.0 to 500 A")
    assert enlarged.get_ylim()[1] < 12.0
    assert "enlarged" in enlarged.get_title(loc="left")


@pytest.mark.parametrize("count", [1, 2, 3, 5])
def test_every_line_has_a_label_or_a_legend_also_where_they_coincide(count):
    names = [f"pack {k}" for k in range(count)]
    result = made_up.result([made_up.outcome(name) for name in names], end_reason=ALL_OVER)
    trace = result.trace.copy()
    trace[:, 3] = 2.0
    for k in range(count):
        trace[:, 5 + 5 * k] = 1.0 if k < 2 else 0.0
    figure = current_figure(replace(result, trace=trace))
    shown = {text.get_text() for text in figure.findobj(Text)}
    assert {*names, "whole bank"} <= shown


def test_equal_cells_are_named_together():
    cut = made_up.trip("a", 5.0, ["a"], cell=1)
    cut = replace(cut, cell_voltages_V=(2.5, 2.5004, 2.5, 2.4998))
    result = made_up.result([made_up.outcome("a", cut=cut)], [cut], end_h=6.0)
    trace = result.trace.copy()
    trace[:, 10:14] = trace[:, 10:11] + np.array([0.0, 0.0004, 0.0, -0.0002])
    axes = cells_figure(replace(result, trace=trace)).axes[0]
    assert "cells 1-4 alike" in {text.get_text() for text in axes.texts}
    assert axes.get_title(loc="left").endswith("all its cells alike")


def test_the_limit_is_written_over_the_lines():
    axes = figures_of("pair")["cells"].axes[0]
    (limit,) = (text for text in axes.texts if text.get_text() == "limit 2.50 V")
    assert limit.get_zorder() > max(line.get_zorder() for line in axes.lines)


def test_a_temperature_is_no_matter_of_cells():
    cut = made_up.trip("a", 5.0, ["a"], watches="temperature", cell=None, unit="degC")
    result = made_up.result([made_up.outcome("a", cut=cut)], [cut], end_h=6.0)
    assert "cells" not in all_figures(result)


def test_a_run_that_ends_at_once_has_no_empty_figure():
    assert list(figures_of("at once")) == ["charge"]


def test_bars_are_net_where_charge_came_in_between():
    one = made_up.outcome("a", 110.0, delivered_Ah=117.9, charged_Ah=8.7)
    two = made_up.outcome("b", 100.0, delivered_Ah=143.0)
    axes = charge_figure(made_up.result([one, two], end_reason=ALL_OVER)).axes[0]
    assert axes.containers[0][0].get_width() == pytest.approx(109.2)
    said = {text.get_text() for text in axes.texts}
    assert said == {"109.2 of 110 (117.9 out, 8.7 in)", "143.0 of 100, more than the label"}


def test_marks_say_what_is_out():
    names = ["a rather long one", "another long one"]
    cuts = [made_up.trip(name, 5.0 + 0.01 * k, names) for k, name in enumerate(names)]
    outcomes = [made_up.outcome(n, cut=cut) for n, cut in zip(names, cuts, strict=True)]
    figure = current_figure(made_up.result(outcomes, cuts, end_h=8.0))
    assert "2 batteries out" in {text.get_text() for text in figure.findobj(Text)}


def test_a_short_cascade_gets_a_panel_of_its_own():
    shown = current_figure(hybrids.cascade())
    assert shown.axes[-1].get_title(loc="left").startswith("The cascade, enlarged: after 10.1 min")
    low, high = shown.axes[-1].get_xlim()
    assert high - low < 60.0
    assert not any("cascade" in one.get_title(loc="left") for one in
                   current_figure(hybrids.holds_back()).axes)  # fmt: skip


def test_no_charger_looks_like_a_battery():
    lines = current_figure(hybrids.three_and_a_charger()).legends[0].get_lines()
    colours = {line.get_color() for line in lines}
    assert len(lines) == len(colours) == 6  # three batteries, the bank, the loads, the charger


SWITCHES_AND_IS_CHARGED = """
[simulation]
duration_h = 30.0
stop = "end"
[[battery]]
name = "a"
chemistry = "LFP"
cells_in_series = 4
rated_capacity_Ah = 100.0
state_of_charge = 0.8
[[load]]
name = "fridge"
power_W = 60
duty = { on_min = 20, off_min = 20 }
[[charger]]
name = "alternator"
limit_A = 70
hold_V = 14.0
active_h = [[8.0, 9.0]]
"""


def test_bands_of_switching_currents_hold_the_extremes_and_begin_with_the_charger(tmp_path):
    # 70 A flow at first, from 8 h on and not before; in grey the band is darker than the grid
    (tmp_path / "bank.toml").write_text(SWITCHES_AND_IS_CHARGED)
    figure = current_figure(simulate(read_scenario(tmp_path / "bank.toml")))
    axes = next(one for one in figure.axes[::-1] if one.collections)  # chargers and loads
    assert "band: from least to most" in axes.get_title(loc="left")
    corners = np.concatenate([one.get_paths()[0].vertices for one in axes.collections])
    assert corners[:, 1].max() == pytest.approx(70.0, rel=1e-3)
    assert corners[corners[:, 1] > 20.0, 0].min() == pytest.approx(8.0, abs=1e-6)
    assert all(one.get_alpha() >= 0.3 for one in axes.collections)
