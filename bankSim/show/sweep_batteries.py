"""Lines of single batteries along a swept key: their Ah, and the chance to cut out first."""

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any

import numpy as np

from bankSim.kernels.arrays import Floats
from bankSim.show.fitting import name_of
from bankSim.show.looks import INK, QUIET, line_look
from bankSim.show.study_words import MIDDLE
from bankSim.show.sweep_axis import KeyAxis
from bankSim.study.statistics import Estimate
from bankSim.study.sweep import SweepResult

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.lines import Line2D

MOST_NAMED = 12
NAMES_IN = 1.8
NOBODY = "nobody"
ASIDE = 0.06  # of a cell: how far marks of neighbours stand apart
MARKERS = "osD^vP*"
CROWD_LOOK: dict[str, Any] = {"color": QUIET, "linestyle": "-", "linewidth": 0.6}
CROWD_IN_CELLS: dict[str, Any] = {"color": QUIET, "linestyle": "none", "marker": "_"}
NOBODY_LOOK: dict[str, Any] = {
    "color": INK, "linestyle": (0, (1, 1.5)), "linewidth": 1.6, "marker": "x", "markersize": 4,
}  # fmt: skip


def named_places(result: SweepResult) -> list[int]:
    """Return which batteries have a name and a look: all, or the likeliest to cut out first."""
    most = [
        max(point.first[place].value for point in result.points)
        for place in range(len(result.scenario.bank.batteries))
    ]
    likeliest = np.argsort(-np.array(most), kind="stable")[:MOST_NAMED]
    return sorted(int(place) for place in likeliest)


def draw_batteries(
    axes: "Axes", result: SweepResult, one: KeyAxis
) -> tuple[list["Line2D"], list[str]]:
    """Draw the medians of every battery's Ah; return the lines to be named, and the names."""
    lines: dict[int, Line2D] = {}
    named = named_places(result)
    for place in _named_last(result, named):
        values = [point.by_battery[place].percentiles[MIDDLE].value for point in result.points]
        look, moved = look_of(place, named, one), _moved(one, place, named)
        (lines[place],) = _line(axes, moved, np.array(values), look)
    batteries = result.scenario.bank.batteries
    handles = [lines[place] for place in named]
    names = [name_of(batteries[place].name, NAMES_IN) for place in named]
    hidden = len(batteries) - len(named)
    if hidden > 0:
        return [*handles, axes.lines[0]], [*names, f"{hidden} others"]
    return handles, names


def draw_first(axes: "Axes", result: SweepResult, one: KeyAxis) -> "Line2D":
    """Draw every battery's chance to cut out first, with whiskers; return the line of nobody."""
    named = named_places(result)
    for place in _named_last(result, named):
        chances = [point.first[place] for point in result.points]
        _chances(axes, _moved(one, place, named), chances, look_of(place, named, one))
    part = np.array([point.nobody.value for point in result.points])
    (line,) = _line(axes, one, 100.0 * part, NOBODY_LOOK)
    return line


def look_of(place: int, named: Sequence[int], one: KeyAxis) -> dict[str, Any]:
    """Colour, dashes and marker of a battery; grey for those without a name."""
    if place not in named:
        return CROWD_IN_CELLS if one.in_cells else CROWD_LOOK
    order = named.index(place)
    look = {**line_look(order), "marker": MARKERS[order % len(MARKERS)], "markersize": 4}
    return {**look, "linestyle": "none"} if one.in_cells else look


def _named_last(result: SweepResult, named: Sequence[int]) -> list[int]:
    """Return all places, those with names on top of the others."""
    crowd = [place for place in range(len(result.scenario.bank.batteries)) if place not in named]
    return [*crowd, *named]


def _moved(one: KeyAxis, place: int, named: Sequence[int]) -> KeyAxis:
    """Let marks in a cell stand side by side."""
    if not one.in_cells or place not in named:
        return one
    return replace(one, at=one.at + ASIDE * (named.index(place) - 0.5 * (len(named) - 1)))


def _line(axes: "Axes", one: KeyAxis, values: Floats, look: dict[str, Any]) -> list["Line2D"]:
    order = np.argsort(one.at)
    own = {**look, "linestyle": "none"} if one.in_cells else look
    return axes.plot(one.at[order], values[order], **own)


def _chances(axes: "Axes", one: KeyAxis, chances: Sequence[Estimate], look: dict[str, Any]) -> None:
    low, value, high = 100.0 * np.array([[c.low, c.value, c.high] for c in chances]).T
    if "markersize" in look:
        axes.vlines(one.at, low, high, color=look["color"], linewidth=0.8)
    _line(axes, one, value, look)
