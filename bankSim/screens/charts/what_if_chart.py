"""A lean picture for playing: voltage and currents, a band, and the former run as a ghost."""

import base64
from collections.abc import Sequence
from typing import Any

import numpy as np

from bankSim.kernels.arrays import FIXED, PER_BATTERY, Floats
from bankSim.model.runs import runs_of
from bankSim.screens.charts.frame import Spec, legend, legend_px, with_key
from bankSim.screens.charts.look import FONT, LIGHT, SMALL_PX, Look
from bankSim.screens.charts.text import safe_name
from bankSim.screens.charts.thinning import digits_of
from bankSim.show.bands import averaged
from bankSim.show.causes import cut_outs
from bankSim.show.lines import averaging_width
from bankSim.show.thin import means_between
from bankSim.sim.result import Result
from bankSim.study.traced import Fan

BUS = 2  # column of the trace
BUCKETS = 80  # four points of each at most
MOST_LINES, MOST_BANDS = 8, 4  # batteries with a line of their own, and with a band
HEIGHT_PX = 340
PALE = 0.22
TOP_PX, AXIS_PX = 8, 48
VOLTAGE_ROW, CURRENT_ROW = (0.53, 1.0), (0.0, 0.47)
BEFORE = "before"
GAP = np.array([np.nan])


def what_if_chart(
    result: Result, fan: Fan | None, ghost: Result | None, *, chosen: int = 0, look: Look = LIGHT
) -> Spec:
    """Draw bus voltage and battery currents over time, with few points and traces.

    Parameters
    ----------
    result : Result
    fan : Fan or None
        Its 5 to 95 % become a band.
    ghost : Result or None
        A former run, thin and grey.
    chosen : int
        The battery that is played with, from 0; it has a line even where not all have.
    look : Look
    """
    shown = _shown(len(result.batteries), chosen)
    columns = _columns(shown)
    width_h = mean_h(result, columns)
    data: list[Any] = []
    if fan is not None:
        data.append(_band(fan.time_h, fan.voltage_V, width_h, look.ink, "y"))
        for place in shown[:MOST_BANDS]:
            rows, colour = fan.current_A[place], look.colour(place)
            data.append(_band(fan.time_h, rows, width_h, colour, "y2"))
    if ghost is not None:
        ghost_columns = _columns([place for place in shown if place < len(ghost.batteries)])
        data += _ghosts(calm(ghost, ghost_columns, mean_h(ghost, ghost_columns)), look)
    lines = calm(result, columns, width_h)
    data.append(_line(*lines[0], "bus", {"color": look.ink, "width": 2}, "y"))
    for place, line in zip(shown, lines[1:], strict=True):
        name = safe_name(result.batteries[place].name)
        data.append(_line(*line, name, look.line(place), "y2"))
    end_h = max(run.end_time_s for run in (result, ghost) if run is not None) / 3600.0
    names = [BEFORE, *(safe_name(result.batteries[place].name) for place in shown)]
    return {"data": with_key(data), "layout": _layout(end_h, legend_px(names), look)}


def _shown(count: int, chosen: int) -> list[int]:
    """Return the batteries that have a line, the chosen one among them."""
    if count <= MOST_LINES:
        return list(range(count))
    return sorted({*range(MOST_LINES - 1), min(chosen, count - 1)})


def _columns(shown: list[int]) -> list[int]:
    return [BUS, *(FIXED + PER_BATTERY * place for place in shown)]


def mean_h(result: Result, columns: Sequence[int]) -> float | None:
    """Return over how long lines are averaged, where something switches often. [h]"""
    hours = result.trace[:, 0] / 3600.0
    return averaging_width(hours, [_values(result, column) for column in columns])


def drawn_mean_h(result: Result, chosen: int = 0) -> float | None:
    """Return over how long the lines of the picture are averaged; None where they are not. [h]"""
    return mean_h(result, _columns(_shown(len(result.batteries), chosen)))


def calm(
    result: Result, columns: Sequence[int], width_h: float | None
) -> list[tuple[Floats, Floats]]:
    """Return time [h] and values of columns of the trace, or their means over a width [h].

    No mean reaches across a cut-out.
    """
    hours = result.trace[:, 0] / 3600.0
    lines = [_values(result, column) for column in columns]
    if width_h is None:
        return [(hours, line) for line in lines]
    breaks = np.array([event.time_s for event in cut_outs(result)]) / 3600.0
    known = [np.isfinite(line) for line in lines]
    return [
        means_between(hours[there], line[there], width_h, breaks)
        for there, line in zip(known, lines, strict=True)
    ]


def _values(result: Result, column: int) -> Floats:
    values = result.trace[:, column]
    return live(values) if column == BUS else values


def _line(
    hours: Floats, values: Floats, name: str, line: dict[str, Any], axis: str
) -> dict[str, Any]:
    x, y = thinned(hours, values)
    unit = "V" if axis == "y" else "A"
    return {
        "type": "scatter", "mode": "lines", "x": packed(x), "y": packed(y), "yaxis": axis,
        "line": line, "name": name, "showlegend": axis == "y2",
        "hovertemplate": f"%{{y:.2f}} {unit}",
    }  # fmt: skip


def live(volts: Floats) -> Floats:
    """Return bus voltages while there is one; NaN on a dead bus. [V]"""
    return np.where(volts > 0.0, volts, np.nan)


def _ghosts(lines: list[tuple[Floats, Floats]], look: Look) -> list[dict[str, Any]]:
    """Draw the former run (bus, then batteries) as one line a row; gaps part the batteries."""
    line = {"color": look.quiet, "width": 1.2, "dash": "3px,2px"}
    voltage = thinned(*lines[0])
    parts_x: list[Floats] = []
    parts_y: list[Floats] = []
    for line_of_battery in lines[1:]:
        x, y = thinned(*line_of_battery)
        parts_x += [x, x[-1:]]
        parts_y += [y, np.array([np.nan])]
    currents = (np.concatenate(parts_x), np.concatenate(parts_y))
    common = {"type": "scatter", "mode": "lines", "line": line, "hoverinfo": "skip"}
    return [
        {**common, "x": packed(x), "y": packed(y), "yaxis": axis, "name": BEFORE,
         "showlegend": axis == "y2"}
        for (x, y), axis in ((voltage, "y"), (currents, "y2"))
    ]  # fmt: skip


def _band(
    time_h: Floats, rows: Floats, width_h: float | None, colour: str, axis: str
) -> dict[str, Any]:
    """Return the area between the lowest and the highest row, in parts around a dead bus."""
    if axis == "y":
        rows = live(rows)
    low, high = (averaged(time_h, row, width_h) for row in (rows[0], rows[-1]))
    if np.isfinite(low).any():  # where the first draws have ended, the band reaches down to there
        low = np.where(np.isnan(low), np.nanmin(low), low)
    parts = runs_of(np.isfinite(low) & np.isfinite(high))
    xs: list[Floats] = [np.empty(0)]
    ys: list[Floats] = [np.empty(0)]
    for own in (slice(first, last + 1) for first, last in parts):
        xs += [time_h[own], time_h[own][::-1], GAP]
        ys += [high[own], low[own][::-1], GAP]
    return {
        "type": "scatter", "mode": "lines", "yaxis": axis, "fill": "toself", "hoverinfo": "skip",
        "x": packed(np.concatenate(xs)), "y": packed(np.concatenate(ys)),
        "line": {"width": 0}, "fillcolor": pale(colour), "showlegend": False,
    }  # fmt: skip


def pale(colour: str) -> str:
    """Return a colour that lets what is behind it through."""
    red, green, blue = (int(colour[place : place + 2], 16) for place in (1, 3, 5))
    return f"rgba({red},{green},{blue},{PALE})"


def thinned(x: Floats, y: Floats, buckets: int = BUCKETS) -> tuple[Floats, Floats]:
    """Keep first, lowest, highest and last point of each bucket, and both sides of each gap.

    In any unit, one for all. [any units]
    """
    if x.size <= 4 * buckets:
        return x, y
    width = -(-x.size // buckets)
    room = np.full((-(-x.size // width), width), np.nan)
    room.ravel()[: x.size] = y
    starts = np.arange(0, x.size, width)
    lowest = np.where(np.isnan(room), np.inf, room).argmin(axis=1)
    highest = np.where(np.isnan(room), -np.inf, room).argmax(axis=1)
    ends = np.minimum(starts + width, x.size) - 1
    edges = np.flatnonzero(np.diff(np.isnan(y)))
    found = [starts, starts + lowest, starts + highest, ends, edges, edges + 1]
    index = np.unique(np.concatenate(found))
    return x[index], y[index]


def packed(values: Floats) -> dict[str, str]:
    """Return numbers as plotly reads them fastest. [any unit]"""
    return {
        "dtype": "f4",
        "bdata": base64.b64encode(np.asarray(values, dtype="<f4").tobytes()).decode(),
    }


def _layout(end_h: float, names_px: float, look: Look) -> dict[str, Any]:
    """Return the layout; the legend has its room below, whether or not there is a former run."""
    plot_px = HEIGHT_PX - TOP_PX - AXIS_PX
    axis = {
        "gridcolor": look.faint, "zeroline": False, "linecolor": look.quiet, "showline": True,
        "ticks": "outside", "tickcolor": look.quiet, "ticklen": 4, "fixedrange": True,
    }  # fmt: skip
    return {
        "height": HEIGHT_PX + names_px,
        "margin": {"l": 52, "r": 10, "t": TOP_PX, "b": AXIS_PX + names_px},
        "template": {"layout": {}},  # plotly's own would be sent each time
        "paper_bgcolor": look.paper,
        "plot_bgcolor": look.paper,
        "font": {"family": FONT, "size": SMALL_PX, "color": look.ink},
        "hovermode": "x unified",
        "hoverlabel": {"bgcolor": look.paper, "font": {"color": look.ink}},
        "dragmode": False,
        "showlegend": True,
        "legend": legend(look, -AXIS_PX / plot_px),
        "xaxis": {
            **axis, "anchor": "y2", "range": [0, end_h], "hoverformat": f".{digits_of(end_h)}f",
            "title": {"text": "time [h]", "standoff": 4},
        },
        "yaxis": {**axis, "domain": list(VOLTAGE_ROW), "title": {"text": "bus [V]"}},
        "yaxis2": {**axis, "domain": list(CURRENT_ROW), "title": {"text": "battery [A]"}},
    }  # fmt: skip
