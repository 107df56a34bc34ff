"""Lines over time: a time axis in the right unit, names beside the lines, marks at cut-outs."""

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from bankSim.model.curve import Floats
from bankSim.show.causes import cut_outs
from bankSim.show.least_to_most import windows_between
from bankSim.show.looks import FAINT, INK, QUIET, halo, label, plain
from bankSim.show.thin import rises, smoothing_width, thin
from bankSim.show.words import whole_or
from bankSim.sim.numbers import clean, listing
from bankSim.sim.result import Event, Result

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.lines import Line2D

OFTEN = 30
BAND, EDGE_PT = 0.35, 0.7  # ink of a band from least to most, width of its edges
MOST_MARKS = 6
LONGEST_MARK = 18
SAMPLES = 80
LEAST_ROOM = 0.05
INSIDE = (0.02, 0.95)


def time_unit(span_s: float) -> tuple[float, str]:
    """Seconds in the unit that suits a span, and its name. [that unit]"""
    if span_s < 600.0:
        return 1.0, "s"
    return (60.0, "min") if span_s < 3.0 * 3600.0 else (3600.0, "h")


def changing(
    axes: "Axes", x: Floats, y: Floats, look: dict[str, Any], breaks: Floats, width: float | None
) -> "Line2D":
    """Draw a line; with a width (unit of x) a band from least to most and the average on top.

    y in the unit of its axis.

    No window reaches across one of `breaks`, in the unit of x.
    """
    known = np.isfinite(y)
    x, y = x[known], y[known]
    if width is None:
        return axes.plot(*thin(x, y), **look)[0]
    own = windows_between(x, y, width, breaks)
    axes.fill_between(own.x, own.low, own.high, color=look["color"], alpha=BAND, linewidth=0.0)
    for edge in (own.low, own.high):
        axes.plot(own.x, edge, color=look["color"], linewidth=EDGE_PT)
    return axes.plot(own.x, own.mean, **look)[0]


def averaging_width(x: Floats, lines: Sequence[Floats]) -> float | None:
    """Return one width for all lines of a panel, where any of them switches often; in units of x.

    Unit: [unit of x]

    It is whole periods of the line that switches most.
    """
    finite = [np.isfinite(y) for y in lines]
    ups = [rises(x[known], y[known]) for known, y in zip(finite, lines, strict=True)]
    up = max((np.unique(one) for one in ups), key=lambda one: one.size, default=np.empty(0))
    return smoothing_width(x, up) if up.size > OFTEN else None


def averaged_note(width: float | None, unit: str) -> str:
    """Say over how long lines are averages, if they are, and what the bands are. [unit of time]"""
    if width is None:
        return ""
    return f" (line: average in each {whole_or(width, 2)} {unit}; band: from least to most in it)"


def mark_cut_outs(axes: "Axes", result: Result, factor: float, *, top: bool) -> None:
    """Draw a hairline at each cut-out; up to `MOST_MARKS` of them carry names, at top or bottom."""
    events = cut_outs(result)
    for event in events:
        colour = QUIET if len(events) <= 2 * MOST_MARKS else FAINT
        axes.axvline(event.time_s / factor, color=colour, linewidth=0.7, zorder=1)
    reach = max(result.end_time_s / factor, 1e-12)
    groups = _close_together(events, factor, 0.03 * reach)
    for at, names in groups if len(groups) <= MOST_MARKS else ():
        left = at > 0.05 * reach
        text = axes.annotate(
            _mark_text(names), (at, 0.98 if top else 0.02),
            xycoords=("data", "axes fraction"),
            xytext=(-3 if left else 3, 0), textcoords="offset points", rotation=90,
            ha="right" if left else "left", va="top" if top else "bottom", fontsize=7.5, color=INK,
        )  # fmt: skip
        halo(plain(text))


def _mark_text(names: Sequence[str]) -> str:
    """Name one or two batteries, count more."""
    text = listing([clean(name, LONGEST_MARK) for name in names])
    return f"{text if len(text) <= LONGEST_MARK else f'{len(names)} batteries'} out"


def _close_together(
    events: Sequence[Event], factor: float, reach: float
) -> list[tuple[float, list[str]]]:
    """Gather the names of cut-outs whose marks would touch."""
    groups: list[tuple[float, list[str]]] = []
    for event in events:
        at, name = event.time_s / factor, label(event.battery or "")
        if groups and at - groups[-1][0] < reach:
            groups[-1][1].append(name)
        else:
            groups.append((at, [name]))
    return groups


def name_lines(axes: "Axes", lines: Sequence["Line2D"], names: Sequence[str]) -> bool:
    """Write each name where its line is farthest from the others and from other names.

    Returns
    -------
    done : bool
        False, and nothing written, when two lines lie too close together to be told apart.
    """
    low, high = axes.get_xlim()
    bottom, top = axes.get_ylim()
    at = np.linspace(low + 0.14 * (high - low), low + 0.86 * (high - low), SAMPLES)
    heights = (np.array([_heights(line, at) for line in lines]) - bottom) / (top - bottom)
    taken: list[tuple[int, float]] = []
    for place in range(len(lines)):
        room = _room(heights, place, taken)
        if room.max() < LEAST_ROOM:
            return False
        best = int(np.argmax(room))
        taken.append((best, float(heights[place, best])))
    for line, name, (best, height) in zip(lines, names, taken, strict=True):
        _write_name(axes, (at[best], bottom + height * (top - bottom)), name, line, height < 0.9)
    return True


def _write_name(
    axes: "Axes", point: tuple[float, float], name: str, line: "Line2D", above: bool
) -> None:
    text = axes.annotate(
        name, point, xytext=(0, 5 if above else -5), textcoords="offset points", ha="center",
        va="bottom" if above else "top", fontsize=8.5, color=line.get_color(), fontweight="bold",
    )  # fmt: skip
    halo(plain(text))


def _heights(line: "Line2D", at: Floats) -> Floats:
    x, y = (np.asarray(values, dtype=float) for values in line.get_data())
    return np.asarray(np.interp(at, x, y, left=np.nan, right=np.nan))


def _room(heights: Floats, place: int, taken: list[tuple[int, float]]) -> Floats:
    """Distance to the nearest other line or name, in shares of the axes; -1 where unseen."""
    own = heights[place]
    others = np.delete(heights, place, axis=0)
    gaps = np.abs(others - own) if len(others) else np.full((1, own.size), 1.0)
    room = np.minimum(np.nanmin(np.where(np.isnan(gaps), 1.0, gaps), axis=0), 0.15)
    for x, y in taken:
        sideways = np.abs(np.arange(own.size) - x) / SAMPLES
        clear = np.maximum(sideways / 0.25, np.abs(own - y) / 0.08)
        room = np.minimum(room, 0.15 * np.minimum(clear, 1.0))
    outside = np.isnan(own) | (own < INSIDE[0]) | (own > INSIDE[1])
    return np.where(outside, -1.0, room)
