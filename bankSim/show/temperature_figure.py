"""The temperature of every battery over time, where any of them moves."""

from typing import TYPE_CHECKING, Any

import numpy as np

from bankSim.model.cell import ZERO_C_K
from bankSim.show.days import clock_axis, mark_midnights
from bankSim.show.lines import time_unit
from bankSim.show.looks import QUIET, dress, label, line_look, new_figure, side_legend
from bankSim.show.thin import thin
from bankSim.sim.result import Result

if TYPE_CHECKING:
    from matplotlib.figure import Figure

MOVES_K = 1.0
MOST_NAMED = 12
SURROUNDINGS: dict[str, Any] = {"color": QUIET, "linestyle": (0, (1, 1)), "linewidth": 1.2}
POINTS = 600


def warms(result: Result) -> bool:
    """Tell whether the temperature of any battery moves by more than 1 K."""
    return any(one.warmest_C - one.coldest_C > MOVES_K for one in result.batteries)


def temperature_figure(result: Result) -> "Figure":
    """Temperature of the batteries and the surroundings in degC over s, min or h.

    Beyond 12 batteries those with the widest range are drawn.
    """
    table = result.timeline(jumps=True)
    factor, unit = time_unit(result.end_time_s)
    time = table["time_s"].to_numpy(dtype=float) / factor
    figure = new_figure(3.6)
    axes = figure.add_subplot()
    lines, names = [], []
    ranges = [one.coldest_C - one.warmest_C for one in result.batteries]
    for order, place in enumerate(sorted(np.argsort(ranges, kind="stable")[:MOST_NAMED])):
        name = result.batteries[place].name
        values = table[f"{name}.temperature_C"].to_numpy(dtype=float)
        lines += axes.plot(*thin(time, values), **line_look(order))
        names.append(label(name))
    even = np.linspace(0.0, result.end_time_s, POINTS)
    around = [result.scenario.bank.ambient_K(float(at)) - ZERO_C_K for at in even]
    lines += axes.plot(even / factor, around, **SURROUNDINGS)
    dress(axes, "Temperature of the batteries", f"time [{unit}]", "temperature [degC]")
    mark_midnights(axes, result, factor)
    clock_axis(axes, result, factor)
    side_legend(figure, lines, [*names, "surroundings"])
    return figure
