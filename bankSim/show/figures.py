"""The figures of a run, and the voltage at the bus."""

from typing import TYPE_CHECKING

import numpy as np

from bankSim.model.curve import Floats
from bankSim.show.cells_figure import cell_trips, cells_figure
from bankSim.show.charge_figure import charge_figure
from bankSim.show.current_figure import current_figure
from bankSim.show.lines import mark_cut_outs, time_unit
from bankSim.show.looks import INK, dress, new_figure
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
        figures["current"] = current_figure(result)
        figures["voltage"] = voltage_figure(result)
        if cell_trips(result):
            figures["cells"] = cells_figure(result)
    figures["charge"] = charge_figure(result)
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
    axes.set_ylim(*_range_of_a_live_bus(voltage))
    mark_cut_outs(axes, result, factor, top=True)
    return figure


def _range_of_a_live_bus(voltage: Floats) -> tuple[float, float]:
    """Limits that show all of the curve, but not the drop to 0 V after everything is off."""
    known = voltage[np.isfinite(voltage)]
    alive = known[known != 0.0] if np.any(known != 0.0) else np.array([0.0, 1.0])
    low, high = float(alive.min()), float(alive.max())
    margin = max(0.06 * (high - low), 0.02)
    return low - margin, high + margin
