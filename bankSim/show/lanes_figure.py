"""The life of the bank: a lane per battery, what feeds and charges it above, surges marked."""

from typing import TYPE_CHECKING, Any

import numpy as np

from bankSim.model.load import Flags
from bankSim.show.bins import by_day, edges_of, mean_in
from bankSim.show.course import BIT, Course, course_of, stretches
from bankSim.show.days import clock_axis, hour_ticks, mark_midnights
from bankSim.show.lane_marks import Placed, lane_of, marks, place_marks
from bankSim.show.lines import time_unit
from bankSim.show.looks import COLOURS, INK, dress, halo, label, new_figure, plain
from bankSim.show.strips import strip_count, supply_strips, voltage_strip
from bankSim.sim.cascades import cascades, chain_events
from bankSim.sim.result import Result

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

HALF = 0.30
ROW = 0.24
FEED_LOOK: dict[str, Any] = {"facecolor": COLOURS[0], "edgecolor": "none"}
TAKE_LOOK: dict[str, Any] = {
    "facecolor": "#ffffff",
    "edgecolor": COLOURS[1],
    "hatch": "||||||",
    "linewidth": 0.6,
}
SHUT_LOOK: dict[str, Any] = {
    "facecolor": "none",
    "edgecolor": INK,
    "hatch": "xxxx",
    "linewidth": 0.6,
}
OUT_LOOK: dict[str, Any] = {"facecolor": "#bdbdbd", "edgecolor": "none"}
FEW_LANES, MANY_LANES = 6, 24
LANE_IN = (0.24, 0.46, 0.72)  # by rows of marks
MOST_BLOCKS = 30
LEAST_SHOWN = 0.002
INK_IN = 5.9


def lanes_figure(result: Result) -> "Figure":
    """One lane a battery over time; above them the bus voltage, the chargers and the loads.

    Above a lane's middle line: it feeds (full) or its discharge is blocked (crossed). Below: it
    is charged (upright lines) or its charge is blocked (crossed). Grey behind: blocked and idle.
    Where it switches often, the height is the part of the time.

    Parameters
    ----------
    result : Result
        Of more than an instant.

    Returns
    -------
    figure : matplotlib Figure
        Time in s, min or h, the wall clock above where the scenario tells it.
    """
    course = course_of(result)
    count = len(result.batteries)
    rows = 2 if count <= FEW_LANES else 1 if count <= MANY_LANES else 0
    pitch = 2 * HALF + ROW * rows + 0.12
    lane_in = LANE_IN[rows]
    heights = [0.8, 0.25 * strip_count(result) + 0.1, lane_in * count + 0.2]
    figure = new_figure(1.9 + sum(heights))
    top, middle, bottom = figure.subplots(3, 1, sharex=True, height_ratios=heights)
    factor, unit = time_unit(result.end_time_s)
    voltage_strip(top, course, factor)
    supply_strips(middle, result, course, factor)
    _lanes(bottom, result, course, factor, pitch)
    placed, hidden = place_marks(
        marks(result), result.end_time_s, rows, 0.061 / INK_IN, 0.09 / INK_IN
    )
    _write_marks(bottom, result, placed, factor, pitch)
    dress(bottom, "", _time_label(unit, hidden), "battery")
    _name_lanes(bottom, result, pitch, rows)
    for axes in (top, middle):
        axes.set_xlabel(bottom.get_xlabel(), visible=False)
    for axes in (top, middle, bottom):
        mark_midnights(axes, result, factor)
        axes.set_xlim(0.0, result.end_time_s / factor)
    if unit == "h":
        bottom.set_xticks(hour_ticks(result.end_time_s))
    clock_axis(top, result, factor)
    _legend(figure, "of each day" if by_day(result.end_time_s) else "of the time")
    figure.get_layout_engine().set(hspace=0.0, h_pad=0.05)  # type: ignore[union-attr, call-arg]
    return figure


def _time_label(unit: str, hidden: int) -> str:
    have = "more mark has" if hidden == 1 else "more marks have"
    note = f"{hidden} {have} no room here: events.csv        " if hidden else ""
    return f"{note}time [{unit}]"


def _lanes(axes: "Axes", result: Result, course: Course, factor: float, pitch: float) -> None:
    """Draw what every battery does."""
    edges = edges_of(course)
    x = np.repeat(edges, 2)[1:-1] / factor
    for place in range(len(result.batteries)):
        base = -pitch * place
        parts = {
            "feeds": course.feeds[place],
            "takes": course.takes[place],
            "idle": course.rests[place] & (course.blocked[place] > 0),
        }
        feeds, takes, idle = (np.repeat(mean_in(course, one, edges), 2) for one in parts.values())
        axes.fill_between(x, base - HALF, base + HALF, where=idle > 0.5, linewidth=0, **OUT_LOOK)
        axes.fill_between(x, base, base + HALF * feeds, zorder=3, linewidth=0, **FEED_LOOK)
        axes.fill_between(x, base, base - HALF * takes, where=takes > 0.0, zorder=3, **TAKE_LOOK)
        axes.axhline(base, color=INK, linewidth=0.7, zorder=4)
        for way, sign in (("discharge", 1.0), ("charge", -1.0)):
            _blocks(
                axes, course, factor, base, (course.blocked[place].astype(int) & BIT[way]) > 0, sign
            )


def _blocks(
    axes: "Axes", course: Course, factor: float, base: float, shut: Flags, sign: float
) -> None:
    """Draw when a direction is blocked: each time, or the part of the time where it is dense."""
    times = stretches(course, shut)
    edges = edges_of(course)
    if len(times) > MOST_BLOCKS:
        part = np.repeat(mean_in(course, shut, edges), 2)
        x = np.repeat(edges, 2)[1:-1] / factor
        ends = base + sign * HALF * part
        axes.fill_between(x, base, ends, where=part > 0.0, zorder=2, **SHUT_LOOK)
        return
    least = LEAST_SHOWN * course.end_s[-1]
    bars = [(start / factor, max(end - start, least) / factor) for start, end in times]
    axes.broken_barh(bars, (base, sign * HALF), zorder=2, **SHUT_LOOK)


def _write_marks(
    axes: "Axes", result: Result, placed: list[Placed], factor: float, pitch: float
) -> None:
    """Write the marks, each with a fine line down to its instant; join what belongs together."""
    reach = result.end_time_s / factor
    for one in placed:
        top = -pitch * one.mark.lane + HALF
        x, y = one.mark.time_s / factor, top + ROW * (one.row + 0.5)
        axes.plot([x, x], [top - 2 * HALF, y - 0.3 * ROW], color=INK, linewidth=0.7, zorder=5)
        text = axes.annotate(
            one.mark.text, (one.start * reach, y), va="center", fontsize=7.5, color=INK, zorder=6
        )
        halo(plain(text))
    for chain in cascades(result):
        lanes = [lane_of(result, event) for event in chain_events(chain)]
        x, ends = chain[0].event.time_s / factor, (-pitch * max(lanes), -pitch * min(lanes))
        axes.plot([x, x], ends, color=INK, linewidth=1.0, linestyle=(0, (1, 1)), zorder=5)


def _name_lanes(axes: "Axes", result: Result, pitch: float, rows: int) -> None:
    count = len(result.batteries)
    axes.set_yticks([-pitch * k for k in range(count)], [label(b.name) for b in result.batteries])
    for tick in axes.get_yticklabels():
        plain(tick)
    axes.set_ylim(-pitch * (count - 1) - HALF - 0.12, HALF + ROW * rows + 0.08)
    axes.grid(False, axis="y")


def _legend(figure: "Figure", part: str) -> None:
    from matplotlib.patches import Patch

    entries = {
        "feeds": Patch(**FEED_LOOK),
        "is charged": Patch(**TAKE_LOOK),
        "blocked: above the line for discharge, below it for charge": Patch(**SHUT_LOOK),
        "blocked and idle": Patch(**OUT_LOOK),
    }
    figure.legend(
        list(entries.values()), list(entries), loc="outside lower center", ncols=2,
        frameon=False, fontsize=8.5, handlelength=3.0, handleheight=1.2,
        title=f"Line only: rests. Where much switches, the height of a bar is its part {part}.",
        title_fontsize=8.5,
    )  # fmt: skip
