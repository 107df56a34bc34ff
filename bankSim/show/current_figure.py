"""The current of every battery and of the bank over time, with its short peaks."""

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

import numpy as np

from bankSim.model.curve import Floats
from bankSim.model.load import Flags
from bankSim.show.cascade_panel import cascade_times, draw_cascade
from bankSim.show.days import clock_axis, mark_midnights
from bankSim.show.least_to_most import switchings_s
from bankSim.show.lines import (
    averaged_note,
    averaging_width,
    changing,
    mark_cut_outs,
    name_lines,
    time_unit,
)
from bankSim.show.looks import INK, QUIET, dress, label, line_look, new_figure, side_legend
from bankSim.show.thin import thin
from bankSim.sim.numbers import number
from bankSim.sim.result import Result

if TYPE_CHECKING:
    import pandas as pd
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure
    from matplotlib.lines import Line2D

MOST_NAMED = 12
NAMED_IN_A_CROWD = 8
FEW = 3
EVEN_TIMES = 4000
SPIKY = 3.0
MOST_CHARGERS = 4
LONGEST_TITLE = 62
CASCADE_SHARE = 0.75
TITLE = "How the current was shared"
Y_LABEL = "discharge current [A]"
BANK_LOOK = {"color": INK, "linestyle": "-", "linewidth": 2.2}
LOADS_LOOK = {"color": QUIET, "linestyle": "-", "linewidth": 1.4}
CROWD_LOOK = {"color": QUIET, "linestyle": "-", "linewidth": 0.6}


@dataclass
class _Panel:
    """Lines that share an axis: their currents [A], looks and names ("" for the crowd)."""

    title: str
    share: float
    y_label: str = Y_LABEL
    lines: list[tuple[Floats, dict[str, Any], str]] = field(default_factory=list)

    def ends(self, where: Flags | slice = slice(None)) -> tuple[float, float]:
        """Lowest and highest current of all, there. [A]"""
        currents = [current[where] for current, _, _ in self.lines]
        return min(float(c.min()) for c in currents), max(float(c.max()) for c in currents)


def current_figure(result: Result) -> "Figure":
    """Current of every battery and of the bank over time, discharge positive.

    Where short peaks would flatten the rest, a low panel shows the full range and the panel under
    it the range in which the currents are during 98 % of the time. A cascade is enlarged below.

    Parameters
    ----------
    result : Result
        Of more than an instant, with any number of batteries; beyond 12 only those with the
        highest peaks are named.

    Returns
    -------
    figure : matplotlib Figure
        Axes in A over s, min or h.
    """
    table = result.timeline(jumps=True)
    factor, unit = time_unit(result.end_time_s)
    time = table["time_s"].to_numpy(dtype=float) / factor
    bank = table["bank.current_A"].to_numpy(dtype=float)
    own = _panels(result, bank, [table[f"{b.name}.current_A"] for b in result.batteries])
    panels = [*own, *_supply_panels(result, table)]
    usual = [_usual(time, panel) for panel in panels]
    heights = _heights(panels, usual)
    cascade = cascade_times(result)
    below = [CASCADE_SHARE] if cascade else []
    figure = new_figure(2.0 + 2.4 * sum(heights) + 3.2 * sum(below))
    rows = figure.subplots(len(heights + below), 1, height_ratios=heights + below, squeeze=False)
    grid = list(rows.flat)[: len(heights)]
    for shared in grid[1:]:
        shared.sharex(grid[0])
    free = iter(grid)
    breaks = switchings_s(result) / factor
    drawn: list[tuple[Line2D, str]] = []
    for panel, limits in zip(panels, usual, strict=True):
        if limits:
            _full_range(next(free), time, panel, unit)
        axes = next(free)
        drawn += _dressed(axes, time, panel, breaks, unit, limits)
        mark_cut_outs(axes, result, factor, top=False)
        mark_midnights(axes, result, factor)
    lines, names = [line for line, _ in drawn], [name for _, name in drawn]
    clock_axis(grid[0], result, factor)
    for axes_above in grid[:-1]:
        axes_above.xaxis.label.set_visible(False)
        axes_above.tick_params(labelbottom=False)
    if cascade:
        looks = [(current, look) for one in own for current, look, _ in one.lines]
        draw_cascade(rows.flat[-1], result, cascade, time * factor, looks)
    if cascade or len(panels) > 1 or not name_lines(axes, lines, names):
        unnamed = sum(1 for panel in panels for _, _, name in panel.lines if not name)
        _legend(figure, lines, names, unnamed)
    return figure


def _heights(panels: list[_Panel], usual: list[tuple[float, float] | None]) -> list[float]:
    """Relative heights; a panel that is enlarged has a low one with the full range above it."""
    return [
        height
        for panel, limits in zip(panels, usual, strict=True)
        for height in ([0.5, panel.share] if limits else [panel.share])
    ]


def _dressed(
    axes: "Axes",
    time: Floats,
    panel: _Panel,
    breaks: Floats,
    unit: str,
    limits: tuple[float, float] | None,
) -> list[tuple["Line2D", str]]:
    """Draw a panel with its title and axes; return its named lines."""
    title = "The same, enlarged" if limits else panel.title
    width = averaging_width(time, [current for current, _, _ in panel.lines])
    drawn = _main(axes, time, panel, breaks, width)
    note = averaged_note(width, unit)
    title += f"\n{note.strip()}" if len(title + note) > LONGEST_TITLE else note
    dress(axes, title, f"time [{unit}]", panel.y_label)
    if limits:
        axes.set_ylim(*limits)
    return drawn


def _panels(result: Result, bank: Floats, currents: list[Any]) -> list[_Panel]:
    """One panel for bank and batteries; two when the bank would dwarf them."""
    named = _worth_a_name(result)
    batteries: list[tuple[Floats, dict[str, Any], str]] = [
        (np.asarray(current, dtype=float), CROWD_LOOK, "")
        for place, current in enumerate(currents)
        if place not in named
    ]
    for order, place in enumerate(named):
        name = label(result.batteries[place].name)
        batteries.append((np.asarray(currents[place], dtype=float), line_look(order), name))
    whole = (bank, BANK_LOOK, "whole bank")
    if len(currents) <= FEW:
        return [_Panel(TITLE, 1.0, lines=[whole, *batteries])]
    first = _Panel(f"{TITLE}: the whole bank", 0.65, lines=[whole])
    return [first, _Panel("Each battery", 1.0, lines=batteries)]


def _supply_panels(result: Result, table: "pd.DataFrame") -> list[_Panel]:
    """A panel of what chargers give and loads draw, where there is a charger."""
    if not result.chargers:
        return []
    given = [table[f"{one.name}.current_A"].to_numpy(dtype=float) for one in result.chargers]
    drawn = table["bank.current_A"].to_numpy(dtype=float) + sum(given)
    batteries = len(_worth_a_name(result))
    lines: list[tuple[Floats, dict[str, Any], str]] = [(drawn, LOADS_LOOK, "all loads")]
    for place, (one, amps) in enumerate(zip(result.chargers, given, strict=True)):
        named = place < MOST_CHARGERS
        look = line_look(batteries + place) if named else CROWD_LOOK
        lines.append((amps, look, label(one.name) if named else ""))
    return [_Panel("What chargers give and loads draw", 0.65, "current [A]", lines)]


def _usual(time: Floats, panel: _Panel) -> tuple[float, float] | None:
    """Limits of the range in which the lines usually are, where peaks go far beyond it."""
    even = np.linspace(time[0], time[-1], EVEN_TIMES)
    values = np.array([np.interp(even, time, current) for current, _, _ in panel.lines])
    low, high = float(np.percentile(values, 1.0)), float(np.percentile(values, 99.0))
    lowest, highest = panel.ends(time < time[-1])  # all is off at the end: that is no spike
    if highest - lowest < SPIKY * (high - low) or high <= low:
        return None
    margin = 0.15 * (high - low)
    return low - margin, high + margin


def _full_range(axes: "Axes", time: Floats, panel: _Panel, unit: str) -> None:
    """Every line with its peaks, none averaged."""
    for current, look, _ in panel.lines:
        axes.plot(*thin(time, current), **{**look, "linewidth": min(look["linewidth"], 1.2)})
    low, high = panel.ends()
    title = f"{panel.title}, full range: {number(low)} to {number(high)} A"
    dress(axes, title, f"time [{unit}]", "[A]")
    axes.axhline(0.0, color=QUIET, linewidth=0.8, zorder=1)


def _main(
    axes: "Axes", time: Floats, panel: _Panel, breaks: Floats, width: float | None
) -> list[tuple["Line2D", str]]:
    """Draw the lines; return those with a name, the bank's last."""
    drawn = [(changing(axes, time, y, look, breaks, width), name) for y, look, name in panel.lines]
    axes.axhline(0.0, color=QUIET, linewidth=0.8, zorder=1)
    named = [(line, name) for line, name in drawn if name]
    return sorted(named, key=lambda pair: pair[0].get_color() == INK)


def _legend(figure: "Figure", lines: list["Line2D"], names: list[str], unnamed: int) -> None:
    """Name the lines at the side; a crowd is counted in one entry."""
    from matplotlib.lines import Line2D

    if unnamed:
        lines = [*lines, Line2D([], [], **CROWD_LOOK)]  # type: ignore[arg-type]
        names = [*names, f"{unnamed} others"]
    side_legend(figure, lines, names)


def _worth_a_name(result: Result) -> list[int]:
    """Places of the batteries that get a line of their own look."""
    count = len(result.batteries)
    if count <= MOST_NAMED:
        return list(range(count))
    peaks = [max(one.peak_discharge_A, one.peak_charge_A) for one in result.batteries]
    highest = np.argsort([-peak for peak in peaks], kind="stable")[:NAMED_IN_A_CROWD]
    return sorted(int(place) for place in highest)
