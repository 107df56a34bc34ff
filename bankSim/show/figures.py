"""The figures of a run, and the voltage at the bus."""

from typing import TYPE_CHECKING

import numpy as np

from bankSim.show.cells_figure import cell_trips, cells_figure
from bankSim.show.charge_figure import charge_figure
from bankSim.show.current_figure import current_figure
from bankSim.show.days import clock_axis, mark_midnights
from bankSim.show.held_figure import cycles, held_figure
from bankSim.show.lanes_figure import lanes_figure
from bankSim.show.lines import mark_cut_outs, time_unit
from bankSim.show.looks import INK, dress, new_figure
from bankSim.show.strips import live_range
from bankSim.show.temperature_figure import temperature_figure, warms
from bankSim.show.thin import thin
from bankSim.sim.result import Result

if TYPE_CHECKING:
    from matplotlib.figure import Figure


def all_figures(result: Result) -> dict[str, "Figure"]:
    """Return every figure that this run has something for, by short name, in reading order.

    A run that ended at once has no lines over time: only the charges are left to show.
    """
    figures = {}
    if result.end_time_s > 0.0:
        figures["lanes"] = lanes_figure(result)
        figures["current"] = current_figure(result)
        figures["voltage"] = voltage_figure(result)
        if cell_trips(result):
            figures["cells"] = cells_figure(result)
        if warms(result):
            figures["temperature"] = temperature_figure(result)
    figures["charge"] = held_figure(result) if cycles(result) else charge_figure(result)
    return figures


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
    axes.set_ylim(*live_range(voltage))
    mark_midnights(axes, result, factor)
    clock_axis(axes, result, factor)
    mark_cut_outs(axes, result, factor, top=True)
    return figure
