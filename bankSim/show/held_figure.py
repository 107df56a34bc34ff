"""The state of charge of every battery over time, for runs in which charge goes both ways."""

from typing import TYPE_CHECKING

from bankSim.show.days import clock_axis, mark_midnights
from bankSim.show.lines import time_unit
from bankSim.show.looks import QUIET, dress, label, line_look, new_figure, side_legend
from bankSim.show.thin import thin
from bankSim.sim.result import Result

if TYPE_CHECKING:
    from matplotlib.figure import Figure

CYCLED = 0.2
MOST_NAMED = 12
CROWD_LOOK = {"color": QUIET, "linestyle": "-", "linewidth": 0.6}


def cycles(result: Result) -> bool:
    """Tell whether the bank is charged so much that totals of one discharge would mislead."""
    taken = max(battery.charged_Ah / battery.rated_Ah for battery in result.batteries)
    return result.end_time_s > 0.0 and (bool(result.chargers) or taken > CYCLED)


def held_figure(result: Result) -> "Figure":
    """State of charge in % over s, min or h; beyond 12 batteries some stay grey and unnamed."""
    table = result.timeline(jumps=True)
    factor, unit = time_unit(result.end_time_s)
    time = table["time_s"].to_numpy(dtype=float) / factor
    figure = new_figure(3.8)
    axes = figure.add_subplot()
    lines, names = [], []
    for place, battery in enumerate(result.batteries):
        held = 100.0 * table[f"{battery.name}.state_of_charge"].to_numpy(dtype=float)
        look = line_look(place) if place < MOST_NAMED else CROWD_LOOK
        (line,) = axes.plot(*thin(time, held), **look)
        if place < MOST_NAMED:
            lines.append(line)
            names.append(f"{label(battery.name)} ({battery.rated_Ah:.4g} Ah)")
    hidden = len(result.batteries) - len(names)
    if hidden > 0:
        lines.append(axes.lines[-1])
        names.append(f"{hidden} others")
    dress(axes, "What each battery holds", f"time [{unit}]", "state of charge [%]")
    mark_midnights(axes, result, factor)
    clock_axis(axes, result, factor)
    side_legend(figure, lines, names)
    return figure
