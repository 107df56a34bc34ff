"""The bus voltage of all draws over time, and how many of them still run."""

from typing import TYPE_CHECKING

import numpy as np

from bankSim.kernels.arrays import Floats
from bankSim.model.load import Flags
from bankSim.scenario.record import Scenario
from bankSim.show.bands import averaged, draw_bands, mark_ends
from bankSim.show.figure_words import middle_and_range, scaled
from bankSim.show.fitting import heading
from bankSim.show.looks import INK, QUIET, dress
from bankSim.show.strips import live_range
from bankSim.study.spread import SpreadResult
from bankSim.study.traced import Fan

if TYPE_CHECKING:
    from matplotlib.axes import Axes

WIDE_IN = 7.0
DEAD_V = 0.0
IN_AN_HOUR = {"h": 1.0, "min": 60.0, "s": 3600.0}


def draw_voltage(
    axes: "Axes", result: SpreadResult, time: Floats, unit: str, width: float | None
) -> None:
    """Draw bands of the voltage, with rings where lines stop because draws end.

    Parameters
    ----------
    axes : Axes
    result : SpreadResult
    time : array (t,)
        In the unit of the axis.
    unit : str
        That unit: s, min or h.
    width : float or None
        Of a running average, in that unit.
    """
    fan = result.traced.fan
    five = np.array([averaged(time, line, width, apart=DEAD_V) for line in fan.voltage_V])
    draw_bands(axes, time, five, INK)
    mark_ends(axes, time, five, ended(fan, result.draws.plan.scenario), INK)
    dress(axes, heading(_title(result, unit), WIDE_IN), "", "bus voltage [V]")
    axes.set_ylim(*live_range(five))


def ended(fan: Fan, scenario: Scenario) -> Flags:
    """Tell which of the five lines of the voltage stop before the duration is over; (5,)."""
    step_h = float(fan.time_h[1] - fan.time_h[0]) if fan.time_h.size > 1 else 0.0
    whole = 3600.0 * (float(fan.time_h[-1]) + 1.5 * step_h) >= scenario.bank.duration_s
    return ~(np.isfinite(fan.voltage_V[:, -1]) & whole)


def _title(result: SpreadResult, unit: str) -> str:
    """Say how long the loads are fed, where draws end before the duration is over."""
    if not np.any(ended(result.traced.fan, result.draws.plan.scenario)):
        return "Voltage at the bus; all draws run to the end"
    fed = middle_and_range(scaled(result.runtime, IN_AN_HOUR[unit], unit))
    return f"Voltage at the bus: the loads are fed for {fed} {unit}"


def draw_running(axes: "Axes", fan: Fan, time: Floats) -> None:
    """Draw the part of the draws that still run; `time` as in `draw_voltage`. [unit of the axis]"""
    axes.fill_between(time, 0.0, 100.0 * fan.running, color=QUIET, alpha=0.6, linewidth=0)
    axes.plot(time, 100.0 * fan.running, color=INK, linewidth=0.8)
    dress(axes, "", "", "still run [%]")
    axes.set_ylim(0.0, 105.0)
    axes.set_yticks([0, 50, 100])
