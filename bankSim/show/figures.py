"""The figures of a run: how the current was shared, and the voltage at the bus."""

from typing import TYPE_CHECKING

import numpy as np

from bankSim.model.curve import Floats
from bankSim.show.causes import trips
from bankSim.show.cells_figure import cells_figure
from bankSim.show.charge_figure import charge_figure
from bankSim.show.lines import averaged_note, changing, mark_cut_outs, name_lines, time_unit
from bankSim.show.looks import INK, QUIET, dress, label, line_look, new_figure, plain, side_legend
from bankSim.show.thin import thin
from bankSim.show.words import number
from bankSim.sim.result import Result

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure
    from matplotlib.lines import Line2D

MOST_NAMED = 12
NAMED_IN_A_CROWD = 8
FEW = 3
EVEN_TIMES = 4000
SPIKY = 3.0
BANK_LOOK = {"color": INK, "linestyle": "-", "linewidth": 2.2}
CROWD_LOOK = {"color": QUIET, "linestyle": "-", "linewidth": 0.6}


def all_figures(result: Result) -> dict[str, "Figure"]:
    """Return every figure that this run has something for, by short name, in reading order."""
    figures = {"current": current_figure(result), "voltage": voltage_figure(result)}
    if trips(result):
        figures["cells"] = cells_figure(result)
    figures["charge"] = charge_figure(result)
    return figures


def current_figure(result: Result) -> "Figure":
    """Current of every battery and of the bank over time, discharge positive.

    Parameters
    ----------
    result : Result
        With any number of batteries; beyond 12 only those with the highest peaks are named.

    Returns
    -------
    figure : matplotlib Figure
        Axes in A over s, min or h.
    """
    table = result.timeline(jumps=True)
    factor, unit = time_unit(result.end_time_s)
    time = table["time_s"].to_numpy(dtype=float) / factor
    currents = [
        table[f"{battery.name}.current_A"].to_numpy(dtype=float) for battery in result.batteries
    ]
    bank = table["bank.current_A"].to_numpy(dtype=float)
    few = len(currents) <= FEW
    figure = new_figure(4.4 if few else 6.0)
    upper, lower = _panels(figure, few)
    whole = changing(upper, time, bank, BANK_LOOK)
    named = _worth_a_name(result)
    for place in set(range(len(currents))).difference(named):
        changing(lower, time, currents[place], CROWD_LOOK)
    lines = [changing(lower, time, currents[k], line_look(n)) for n, k in enumerate(named)]
    names = [label(result.batteries[place].name) for place in named]
    _leave_spikes_out(upper, time, [bank, *currents] if few else [bank])
    if not few:
        _leave_spikes_out(lower, time, currents)
    for axes in {upper, lower}:
        axes.axhline(0.0, color=QUIET, linewidth=0.8, zorder=1)
        mark_cut_outs(axes, result, factor, top=False)
    title = f"How the current was shared{averaged_note(time, bank)}"
    x_label, y_label = f"time [{unit}]", "discharge current [A]"
    dress(lower, title if few else "Each battery", x_label, y_label)
    if few:
        lines, names = [*lines, whole], [*names, "whole bank"]
    else:
        dress(upper, title.replace("shared", "shared: the whole bank"), x_label, y_label)
    if not (few and name_lines(lower, lines, names)):
        _legend(figure, lines, names, len(currents) - len(named))
    return figure


def _leave_spikes_out(axes: "Axes", time: Floats, currents: list[Floats]) -> None:
    """Let short spikes leave the panel, and say so, where they would flatten the rest.

    The panel then shows the range in which the currents are during 98 % of the time.
    """
    if time[-1] <= time[0]:
        return
    even = np.linspace(time[0], time[-1], EVEN_TIMES)
    usual = np.array([np.interp(even, time, current) for current in currents])
    low, high = float(np.percentile(usual, 1.0)), float(np.percentile(usual, 99.0))
    lowest = min(float(current.min()) for current in currents)
    peak = max(float(current.max()) for current in currents)
    if peak - lowest < SPIKY * (high - low) or high <= low:
        return
    margin = 0.15 * (high - low)
    axes.set_ylim(low - margin, high + 2.0 * margin)
    text = f"for moments beyond: {number(lowest)} to {number(peak)} A"
    plain(axes.annotate(text, (0.01, 0.97), xycoords="axes fraction", va="top", fontsize=8))


def _panels(figure: "Figure", few: bool) -> tuple["Axes", "Axes"]:
    """One panel for bank and batteries; two when the bank would dwarf them."""
    if few:
        axes = figure.add_subplot()
        return axes, axes
    upper, lower = figure.subplots(2, 1, sharex=True, height_ratios=(1, 1.6))
    return upper, lower


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


def voltage_figure(result: Result) -> "Figure":
    """Voltage at the take-off over time, with the cut-outs marked; axes in V over s, min or h."""
    table = result.timeline(jumps=True)
    factor, unit = time_unit(result.end_time_s)
    time = table["time_s"].to_numpy(dtype=float) / factor
    voltage = table["bank.voltage_V"].to_numpy(dtype=float)
    figure = new_figure(3.6)
    axes = figure.add_subplot()
    known = np.isfinite(voltage)
    axes.plot(*thin(time[known], voltage[known]), color=INK, linewidth=1.0)
    dress(axes, "Voltage at the bus", f"time [{unit}]", "bus voltage [V]")
    axes.set_ylim(*_range_of_a_live_bus(voltage))
    mark_cut_outs(axes, result, factor, top=True)
    return figure


def _range_of_a_live_bus(voltage: Floats) -> tuple[float, float]:
    """Limits that show the curve, not the drop to nothing after everything is off."""
    known = voltage[np.isfinite(voltage)]
    alive = known[known > 0.3 * np.median(known)] if known.size else np.array([0.0, 1.0])
    if alive.size == 0:
        alive = known
    low, high = float(alive.min()), float(alive.max())
    margin = max(0.06 * (high - low), 0.02)
    return low - margin, high + margin
