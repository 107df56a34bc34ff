"""Slim strips above the lanes: the voltage at the bus, every charger, all loads together."""

from typing import TYPE_CHECKING

import numpy as np

from bankSim.model.curve import Floats
from bankSim.show.bins import edges_of, mean_in, most_in
from bankSim.show.course import Course, stretches
from bankSim.show.looks import COLOURS, INK, QUIET, dress, halo, label, plain
from bankSim.show.thin import thin
from bankSim.sim.numbers import number
from bankSim.sim.result import COLLAPSE, Result

if TYPE_CHECKING:
    from matplotlib.axes import Axes

MOST_CHARGERS = 4
TALL = 0.8
FLOWS_A = 1e-3
LATE = 0.8


def live_range(voltage: Floats) -> tuple[float, float]:
    """Limits that show all of the curve, but not the drop to 0 V after everything is off. [V]"""
    known = voltage[np.isfinite(voltage)]
    alive = known[known != 0.0] if np.any(known != 0.0) else np.array([0.0, 1.0])
    low, high = float(alive.min()), float(alive.max())
    margin = max(0.06 * (high - low), 0.02)
    return low - margin, high + margin


def voltage_strip(axes: "Axes", course: Course, factor: float) -> None:
    """Draw the bus voltage; a dead bus is a gap."""
    for start, end in stretches(course, course.bus_V != 0.0):
        here = (course.start_s >= start) & (course.start_s < end)
        time = np.column_stack([course.start_s[here], course.end_s[here]]).ravel() / factor
        axes.plot(*thin(time, np.repeat(course.bus_V[here], 2)), color=INK, linewidth=0.9)
    dress(axes, "The life of the bank", "", "bus [V]")
    axes.set_ylim(*live_range(course.bus_V))
    axes.locator_params(axis="y", nbins=4)
    axes.tick_params(labelbottom=False)


def strip_count(result: Result) -> int:
    """Strips of chargers and the one of all loads."""
    return min(len(result.chargers), MOST_CHARGERS) + 1


def _mark_unfed(axes: "Axes", result: Result, factor: float, height: float) -> None:
    """Write where the loads could not be fed, at the first time of it."""
    times = [event.time_s for event in result.events if event.what == COLLAPSE]
    if not times:
        return
    late = times[0] > LATE * result.end_time_s
    text = " not fed " if len(times) == 1 else f" not fed, {len(times)} times "
    at = (times[0] / factor, height)
    side = "right" if late else "left"
    halo(axes.annotate(text, at, va="center", ha=side, fontsize=7.5, color=INK, zorder=6))


def supply_strips(axes: "Axes", result: Result, course: Course, factor: float) -> None:
    """Draw what the chargers give and the loads draw: mean full, the highest in a bin pale."""
    edges = edges_of(course)
    x = np.repeat(edges, 2)[1:-1] / factor
    rows = [
        (label(one.name), amps) for one, amps in zip(result.chargers, course.charger_A, strict=True)
    ]
    rows = [*rows[:MOST_CHARGERS], ("all loads", np.maximum(course.loads_A, 0.0))]
    names = []
    for place, (name, amps) in enumerate(rows):
        most = float(amps.max(initial=0.0))
        names.append(f"{name}, to {number(most)} A" if most > FLOWS_A else f"{name}: none")
        colour = QUIET if place == len(rows) - 1 else COLOURS[2]
        means = mean_in(course, amps, edges)
        scale = TALL / max(float(means.max()), FLOWS_A)
        for values, alpha in ((most_in(course, amps, edges), 0.35), (means, 1.0)):
            heights = -place + np.minimum(scale * np.repeat(values, 2), TALL)
            axes.fill_between(x, -place, heights, color=colour, alpha=alpha, linewidth=0)
        axes.axhline(-place, color=INK, linewidth=0.5)
    _mark_unfed(axes, result, factor, 0.4 - (len(rows) - 1))
    dress(axes, "", "", "[A]")
    axes.set_yticks([0.4 - place for place in range(len(rows))], names)
    for tick in axes.get_yticklabels():
        plain(tick)
    axes.set_ylim(-len(rows) + 0.9, 1.0)
    axes.grid(False, axis="y")
    axes.tick_params(axis="x", labelbottom=False)
    axes.tick_params(axis="y", length=0)
