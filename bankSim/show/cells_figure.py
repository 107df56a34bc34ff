"""The cells around each cut-out: one panel a cut-out, the knee in view."""

import math
from typing import TYPE_CHECKING, Any

import numpy as np

from bankSim.model.curve import Floats
from bankSim.model.rule import Watch
from bankSim.show.causes import ALIKE_V, all_alike, deciding_cells, first_trips
from bankSim.show.lines import time_unit
from bankSim.show.looks import (
    ALERT,
    DASHES,
    INK,
    QUIET,
    dress,
    halo,
    label,
    new_figure,
    plain,
)
from bankSim.show.thin import thin
from bankSim.sim.numbers import listing
from bankSim.sim.result import Event, Result

if TYPE_CHECKING:
    import pandas as pd
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

MOST_PANELS = 6
CELLS_TOLD_APART = 6
GREYS = ("#333333", "#6b6b6b", "#9a9a9a")
CELL_WATCHES = (Watch.LOWEST_CELL.value, Watch.HIGHEST_CELL.value)
KNEE_SHARE = 0.75
NAME_GAP = 0.075
ALIKE = 0.02


def cell_trips(result: Result) -> list[Event]:
    """Return the first trip of each kind; a temperature is no matter of the cells."""
    return [event for event in first_trips(result) if event.watches != Watch.TEMPERATURE.value]


def cells_figure(result: Result) -> "Figure":
    """Cell voltages around the first cut-outs, the limit as a line, the deciding cell in colour.

    Parameters
    ----------
    result : Result
        With at least one of `cell_trips`; the first 6 get a panel.

    Returns
    -------
    figure : matplotlib Figure
        Axes in V over s, min or h from the cut-out.
    """
    told = cell_trips(result)
    shown = told[:MOST_PANELS]
    table = result.timeline(jumps=True)
    columns = 1 if len(shown) == 1 else 2
    rows = math.ceil(len(shown) / columns)
    figure = new_figure(0.6 + 3.0 * rows)
    grid = figure.subplots(rows, columns, squeeze=False)
    for axes in grid.flat[len(shown) :]:
        axes.remove()
    for axes, event in zip(grid.flat, shown, strict=False):
        _panel(axes, result, event, table)
    if len(told) > len(shown):
        figure.suptitle(
            f"The first {len(shown)} of {len(told)} kinds of switching", fontsize=10, color=INK
        )
    return figure


def _panel(axes: "Axes", result: Result, event: Event, table: "pd.DataFrame") -> None:
    """One cut-out: the cells of its battery in a window that shows the knee."""
    time = table["time_s"].to_numpy(dtype=float)
    cells = _cells(table, event)
    deciding = deciding_place(event, cells)
    start_s, end_s = window(time, cells[deciding], event, result.end_time_s)
    factor, unit = time_unit(end_s - start_s)
    inside = _inside(time, start_s, end_s)
    x = (time[inside] - event.time_s) / factor
    for place, voltage in enumerate(cells):
        axes.plot(*thin(x, voltage[inside]), **_look(place, place == deciding))
    title = f"{label(event.battery or '')} {_did(event)}\n{_cell_words(event, deciding)}"
    axes.margins(y=0.08)
    dress(axes, title, f"time from the switching [{unit}]", "cell voltage [V]")
    axes.set_xlim((start_s - event.time_s) / factor, (end_s - event.time_s) / factor)
    axes.axvline(0.0, color=QUIET, linewidth=0.8, zorder=1)
    _limit(axes, event)
    _names(axes, [voltage[inside] for voltage in cells], deciding)


def _cells(table: "pd.DataFrame", event: Event) -> list[Floats]:
    count = len(event.cell_voltages_V or ())
    names = [f"{event.battery}.cell{k}_voltage_V" for k in range(1, count + 1)]
    return [table[name].to_numpy(dtype=float) for name in names]


def deciding_place(event: Event, cells: list[Floats]) -> int:
    """Place of the deciding cell; the lowest one when the rule watches no cell.

    Voltages of the cells. [V]
    """
    if event.cell is not None:
        return event.cell - 1
    readings = event.cell_voltages_V or ()
    return int(np.argmin(readings)) if readings else 0


def window(time: Floats, voltage: Floats, event: Event, end_s: float) -> tuple[float, float]:
    """Choose the stretch around a cut-out in which the deciding cell makes its last move.

    It begins where the cell has come within 3/4 of the way from its usual voltage (the median
    before) to its voltage at the cut-out, and as much again before that.

    Parameters
    ----------
    time, voltage : array (n,)
        Of the deciding cell. [s], [V]
    event : Event
    end_s : float
        End of the run. [s]

    Returns
    -------
    start_s, end_s : float
        [s]
    """
    before = (time <= event.time_s) & np.isfinite(voltage)
    last_V = (event.cell_voltages_V or (0.0,))[deciding_place(event, [])]
    usual_V = float(np.median(voltage[before])) if before.any() else last_V
    far = before & (np.abs(voltage - last_V) > KNEE_SHARE * abs(usual_V - last_V))
    knee_s = float(time[far][-1]) if far.any() else 0.0
    shortest_s = max(60.0, 0.002 * end_s)
    length_s = max(2.0 * (event.time_s - knee_s), shortest_s)
    past_s = min(0.25 * length_s, max(end_s - event.time_s, 0.03 * length_s))
    return max(event.time_s - length_s, 0.0), event.time_s + past_s


def _inside(time: Floats, start_s: float, end_s: float) -> slice:
    """Places of the points in the window and one more on either side."""
    low = max(int(np.searchsorted(time, start_s)) - 1, 0)
    high = min(int(np.searchsorted(time, end_s, side="right")) + 1, time.size)
    return slice(low, high)


def _look(place: int, deciding: bool) -> dict[str, Any]:
    """Strong colour for the deciding cell, greys and dashes for the others."""
    if deciding:
        return {"color": ALERT, "linewidth": 2.4, "zorder": 4}
    look = {"color": GREYS[place % len(GREYS)], "linestyle": DASHES[1 + place % 4]}
    return {**look, "linewidth": 1.2}


def _did(event: Event) -> str:
    return "cuts out" if event.cuts_out else "blocks charge"


def _cell_words(event: Event, deciding: int) -> str:
    if all_alike(event):
        return "all its cells alike"
    cells = deciding_cells(event)
    if len(cells) > 1:
        return f"cells {listing([str(cell) for cell in cells])} decide alike"
    if cells:
        return f"cell {cells[0]} decides"
    readings = event.cell_voltages_V or (0.0,)
    if max(readings) - min(readings) <= ALIKE_V:
        return f"{event.watches} decides"
    return f"{event.watches} decides; lowest: cell {deciding + 1}"


def _limit(axes: "Axes", event: Event) -> None:
    """Draw the rule's limit when it is a cell voltage."""
    if event.watches not in CELL_WATCHES or event.threshold is None:
        return
    axes.axhline(event.threshold, color=INK, linewidth=0.9, linestyle=(0, (1, 2)))
    text = axes.annotate(
        f"limit {event.threshold:.2f} V", (0.02, event.threshold),
        xycoords=("axes fraction", "data"), xytext=(0, 3), textcoords="offset points",
        fontsize=8, color=INK, zorder=6,
    )  # fmt: skip
    halo(plain(text))


def _names(axes: "Axes", lines_V: list[Floats], deciding: int) -> None:
    """Name the cells at the right edge, each near its line's end, so that none overlap."""
    low, high = axes.get_ylim()
    ends = [(float(line[-1]) - low) / (high - low) for line in lines_V]
    texts = who_ends_where(ends, deciding, covered(lines_V, deciding))
    heights = spread([height for _, height in texts], NAME_GAP)
    for place, ((words, _), height) in enumerate(zip(texts, heights, strict=True)):
        text = axes.annotate(
            words, (1.015, height), xycoords="axes fraction", va="center", fontsize=8,
            color=INK if place else ALERT, fontweight="normal" if place else "bold",
        )  # fmt: skip
        plain(text)


def covered(lines_V: list[Floats], deciding: int) -> list[int]:
    """Places of the cells whose lines the deciding cell's line covers, its own among them."""
    own = lines_V[deciding]
    return [k for k, line in enumerate(lines_V) if np.nanmax(np.abs(line - own)) <= ALIKE_V]


def who_ends_where(ends: list[float], deciding: int, hidden: list[int]) -> list[tuple[str, float]]:
    """Texts and heights, the deciding cell first; others that end alike share a text. [V]"""
    words = f"cell {deciding + 1}" if len(hidden) == 1 else f"cells {_numbers(hidden)} alike"
    texts = [(words, ends[deciding])]
    others = [place for place in range(len(ends)) if place not in hidden]
    if not others:
        return texts
    if len(others) >= CELLS_TOLD_APART:
        return [*texts, ("others", float(np.mean([ends[place] for place in others])))]
    alike: list[list[int]] = []
    for place in sorted(others, key=lambda place: ends[place]):
        if alike and ends[place] - ends[alike[-1][0]] < ALIKE:
            alike[-1].append(place)
        else:
            alike.append([place])
    for group in alike:
        names = _numbers(group)
        texts.append((f"cell {names}" if len(group) == 1 else f"cells {names}", ends[group[0]]))
    return texts


def _numbers(places: list[int]) -> str:
    """Cell numbers, as "1-4" where they run on and as "1, 3, 4" where not."""
    cells = sorted(place + 1 for place in places)
    if len(cells) > 2 and cells[-1] - cells[0] == len(cells) - 1:
        return f"{cells[0]}-{cells[-1]}"
    return ", ".join(str(cell) for cell in cells)


def spread(heights: list[float], gap: float) -> list[float]:
    """Move heights apart to at least `gap`, keeping their order and their middle.

    Unit: [unit of the axis]
    """
    order = np.argsort(heights, kind="stable")
    moved = np.asarray(heights, dtype=float)[order]
    for place in range(1, moved.size):
        moved[place] = max(moved[place], moved[place - 1] + gap)
    moved += np.mean(np.asarray(heights)) - moved.mean()
    back = np.empty_like(moved)
    back[order] = moved
    return [float(height) for height in back]
