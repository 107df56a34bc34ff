"""Cells on the knee of the curve, each with what it had left and how sure that is."""

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from bankSim.measured.snapshot import CellLeft, Circumstances, Snapshot, take_snapshot
from bankSim.measured.snapshot_answer import Answered
from bankSim.model.curve import Floats
from bankSim.show.looks import ALERT, COLOURS, INK, QUIET, dress, halo, new_figure, plain

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

MARKS = ("o", "s", "^", "D", "v", "P", "X", "<", ">", "p")
POINTS = 40
BAND = "#d5e3ee"
LIMITS = {
    "given": "limit given",
    "lowest reading": "lowest cell at cut-out",
    "usual": "usual limit",
}


def snapshot_figure(answered: Answered) -> "Figure":
    """Draw the voltage under load over the charge left, and the cells of all snapshots on it."""
    figure = new_figure(4.8)
    axes = figure.subplots()
    shot = answered.shots[0]
    unit = "% of capacity" if answered.percent_only else "Ah"
    dress(axes, "Where the cells stood at cut-out", f"Left down to {shot.limit_V:.2f} V ({unit})",
          "Cell voltage under load (V)" if answered.around.rest_s is None
          else "Cell voltage after rest (V)")  # fmt: skip
    _curve(axes, answered)
    for place, one in enumerate(answered.shots):
        _cells(axes, one, place, _shift(answered, one))
    axes.axhline(shot.limit_V, color=ALERT, linewidth=1.2, linestyle=(0, (6, 2)))
    axes.margins(x=0.04)
    side = axes.get_xlim()[1]
    halo(
        axes.text(
            side,
            shot.limit_V,
            LIMITS[shot.limit_from],
            ha="right",
            va="bottom",
            fontsize=8.5,
            color=INK,
        )
    )
    if len(shot.cells) > 1:
        _mean(axes, shot, unit, " (snapshot 1)" if len(answered.shots) > 1 else "")
    _legend(axes, answered)
    return figure


def _curve(axes: "Axes", answered: Answered) -> None:
    """Draw the curve with its band, from below the lowest cell to above the highest."""
    shot, around = answered.shots[0], answered.around
    volts = [cell.voltage_V for one in answered.shots for cell in one.cells]
    low = min(*volts, shot.limit_V) - 0.03
    grid = np.linspace(low, max(*volts, shot.limit_V + 0.2) + 0.04, POINTS)
    middle, least, most = _left_over(grid, shot.limit_V, around)
    axes.fill_betweenx(grid, least, most, color=BAND, linewidth=0, label="90 % of what it may be")
    axes.plot(middle, grid, color=COLOURS[0], linewidth=1.6, label="typical cell")


def _left_over(
    grid: Floats, limit_V: float, around: Circumstances
) -> tuple[Floats, Floats, Floats]:
    """Return charge left at voltages without meter error: middle, low, high. [Ah]"""
    loaded = replace(around, limit_V=limit_V, meter_V=0.0)
    cells = take_snapshot(tuple(grid.tolist()), loaded, draws=1500).cells
    spans = [cell.left_Ah for cell in cells]
    return tuple(np.array([getattr(one, name) for one in spans])
                 for name in ("value", "low", "high"))  # type: ignore[return-value]  # fmt: skip


def _shift(answered: Answered, shot: Snapshot) -> float:
    """Charge between the end of a repeat and that of the first, which the axis counts from. [Ah]"""
    end_V = answered.shots[0].limit_V
    if shot.limit_V == end_V:
        return 0.0
    return float(_left_over(np.array([shot.limit_V]), end_V, answered.around)[0][0])


def _cells(axes: "Axes", shot: Snapshot, place: int, shift: float) -> None:
    """Draw the cells of one snapshot with error bars; those of the first are named."""
    mark = MARKS[place % len(MARKS)]
    for cell in shot.cells:
        left = cell.left_Ah
        lowest = cell.cell == shot.decider
        axes.errorbar(
            left.value + shift,
            cell.voltage_V,
            xerr=[[left.value - left.low], [left.high - left.value]],
            fmt=mark,
            markersize=7,
            color=INK,
            markerfacecolor=ALERT if lowest else "white",
            ecolor=QUIET,
            elinewidth=1.2,
            capsize=3,
            zorder=4,
        )
    if place == 0:
        _names(axes, shot)


def _names(axes: "Axes", shot: Snapshot) -> None:
    """Name the cells right of their error bars; those whose names would touch share one."""
    low, high = axes.get_ylim()
    left, right = axes.get_xlim()
    near_V, near_Ah = 0.04 * (high - low), 0.14 * (right - left)
    groups: list[list[CellLeft]] = []
    for cell in sorted(shot.cells, key=lambda one: one.voltage_V):
        last = groups[-1][-1] if groups else None
        if (
            last is not None
            and cell.voltage_V - groups[-1][0].voltage_V < near_V
            and cell.left_Ah.high - last.left_Ah.high < near_Ah
        ):
            groups[-1].append(cell)
        else:
            groups.append([cell])
    for group in groups:
        names = sorted(cell.cell for cell in group)
        text = ("cell " if len(names) == 1 else "cells ") + ", ".join(map(str, names))
        end = max(cell.left_Ah.high for cell in group)
        volts = sum(cell.voltage_V for cell in group) / len(group)
        above = 8 if abs(volts - shot.limit_V) < 0.5 * near_V else 0  # not on the limit's line
        note = axes.annotate(text, (end, volts), xytext=(6, above), textcoords="offset points",
                             va="center", fontsize=8.5, color=INK, zorder=5)  # fmt: skip
        halo(plain(note))


def _mean(axes: "Axes", shot: Snapshot, unit: str, which: str) -> None:
    """Mark the mean: what all would have given if balanced."""
    mean = shot.mean_left_Ah.value
    axes.axvline(mean, color=QUIET, linewidth=1.2, linestyle=(0, (2, 1.5)),
                 label=f"mean of the cells{which}, {mean:.2g} {unit}")  # fmt: skip


def _legend(axes: "Axes", answered: Answered) -> None:
    """Explain lines and marks below the axes."""
    handles, names = axes.get_legend_handles_labels()
    if len(answered.shots) > 1:
        for place in range(min(len(answered.shots), len(MARKS))):
            (handle,) = axes.plot([], [], MARKS[place], color=INK, markerfacecolor="white")
            handles.append(handle)
            names.append(f"snapshot {place + 1}")
    figure = axes.get_figure()
    assert figure is not None
    legend = figure.legend(handles, names, loc="outside lower center", frameon=False, fontsize=8.5,
                           ncols=min(len(names), 4))  # fmt: skip
    for text in legend.get_texts():
        plain(text)
