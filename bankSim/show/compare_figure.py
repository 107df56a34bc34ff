"""A prediction and a measurement over each other, and what would explain their difference."""

from typing import TYPE_CHECKING

import numpy as np

from bankSim.measured.compare_found import Comparison
from bankSim.model.curve import Floats
from bankSim.show.compare_words import amount_words, far_words, removed_words, what_words
from bankSim.show.fitting import fitted, heading, leave_room, room_beside
from bankSim.show.lines import time_unit
from bankSim.show.looks import ALERT, COLOURS, INK, QUIET, dress, label, new_figure
from bankSim.show.study_marks import beside_row, name_rows, sign, top_legend
from bankSim.show.words import left_over
from bankSim.sim.numbers import number, quoted

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

WIDE_IN = 7.0
BAND = "#c9dcec"
PREDICTED, SEEN = COLOURS[0], "#111111"
MOST_BATTERIES = 6
ROW_IN, NAMES_IN = 0.52, 2.5
PALE = "#bcd7ea"


def compare_figures(found: Comparison) -> "dict[str, Figure]":
    """Return the overlay, and the explanations where there is something to explain."""
    figures = {"overlay": overlay_figure(found)}
    if found.explained.ranked and found.explained.matters:
        figures["explanations"] = explanations_figure(found)
    return figures


def overlay_figure(found: Comparison) -> "Figure":
    """Voltage with its band, what is left of it, and the current of each battery.

    Parameters
    ----------
    found : Comparison

    Returns
    -------
    figure : matplotlib Figure
        Axes in V, mV and A over s, min or h.
    """
    lines = found.lines
    known = [n for n in range(len(found.names)) if np.isfinite(lines.measured[2 + n]).any()]
    shown = known[:MOST_BATTERIES]
    heights = [2.5, 1.2, *([1.3] * max(len(shown), 1))]
    figure = new_figure(1.3 + sum(heights))
    grid = figure.add_gridspec(len(heights), 1, height_ratios=heights)
    factor, unit = time_unit(3600.0 * float(lines.time_h[-1]))
    time = lines.time_h * (3600.0 / factor)
    panels = [figure.add_subplot(grid[row, 0]) for row in range(len(heights))]
    _voltage(panels[0], found, time)
    _residual(panels[1], found, time)
    if shown:
        for axes, battery in zip(panels[2:], shown, strict=True):
            _pair(axes, found, time, 2 + battery)
            dress(axes, label(found.names[battery]), "", "current [A]")
    else:
        _pair(panels[2], found, time, 1)
        dress(panels[2], "Bank", "", "current [A]")
    for axes in panels:
        last = axes is panels[-1]
        axes.set_xlim(0.0, float(time[-1]) * 1.01)
        axes.tick_params(labelbottom=last)
        if last:
            axes.set_xlabel(f"time [{unit}]", fontsize=9.5, color=INK)
    top_legend(figure, _legend())
    hidden = len(known) - len(shown)
    others = left_over(hidden, "battery", "is not drawn", "are not drawn", "batteries")
    more = f"{others}; " if hidden else ""
    sign(figure, f"{more}band: {found.draws} draws, seed {found.seed}")
    return figure


def _voltage(axes: "Axes", found: Comparison, time: Floats) -> None:
    _pair(axes, found, time, 0)
    Ah = found.numbers[0]
    least = "at least " if found.outlasts else ""
    title = (
        f"Voltage at the bus: {number(Ah.measured, 4)} Ah measured, {least}"
        f"{number(Ah.predicted, 4)} Ah predicted; {100.0 * found.inside_band:.0f} % of the time "
        "in the band"
    )
    dress(axes, heading(title, WIDE_IN), "", "bus voltage [V]")
    both = np.concatenate([found.lines.predicted[0], found.lines.measured[0]])
    live = both[np.isfinite(both) & (both > 0.0)]
    low, high = float(live.min()), float(live.max())
    room = max(0.06 * (high - low), 0.02)
    axes.set_ylim(low - room, high + room)


def _pair(axes: "Axes", found: Comparison, time: Floats, row: int) -> None:
    """Draw the band, the prediction dashed, the measurement solid."""
    lines = found.lines
    low = np.where(np.isfinite(lines.low[row]), lines.low[row], 0.0)
    high = lines.high[row]
    there = np.isfinite(high)
    axes.fill_between(time[there], low[there], high[there], color=BAND, linewidth=0)
    axes.plot(time, lines.predicted[row], color=PREDICTED, linestyle=(0, (5, 2)), linewidth=1.7)
    axes.plot(time, lines.measured[row], color=SEEN, linewidth=1.2)


def _residual(axes: "Axes", found: Comparison, time: Floats) -> None:
    gap = 1000.0 * found.lines.residual_V
    axes.axhline(0.0, color=QUIET, linewidth=0.9)
    axes.plot(time, gap, color=ALERT, linewidth=1.3)
    one = found.residual
    both = gap[np.isfinite(gap)]
    most = float(np.percentile(np.abs(both), 97.0)) if both.size else 1.0
    cut = float(np.abs(both).max()) > 3.0 * most
    if cut:  # the cliff at the end would hide all the rest
        axes.set_ylim(-3.0 * most, 3.0 * most)
    tail = f"; the scale ends before the largest, {1000.0 * one.largest_V:+.0f} mV" if cut else ""
    title = f"Measured less predicted: {number(1000.0 * one.rms_V, 2)} mV rms{tail}"
    dress(axes, heading(title, WIDE_IN), "", "difference [mV]")


def _legend() -> dict[str, object]:
    from matplotlib.lines import Line2D
    from matplotlib.patches import Patch

    return {
        "measured": Line2D([], [], color=SEEN, linewidth=1.2),
        "predicted": Line2D([], [], color=PREDICTED, linestyle=(0, (5, 2)), linewidth=1.7),
        "5 to 95 % of the draws": Patch(facecolor=BAND),
    }


def explanations_figure(found: Comparison) -> "Figure":
    """Bars of what each explanation removes, the first on top; how far it is moved beside them.

    Parameters
    ----------
    found : Comparison
        With one explanation or more.

    Returns
    -------
    figure : matplotlib Figure
        Axis in percent of the misfit.
    """
    explained = found.explained
    rows = [*explained.ranked[:8], *explained.pairs[:1]]
    names = [
        fitted(" and ".join(what_words(move) for move in one.moves), NAMES_IN, 3) for one in rows
    ]
    notes = [
        f"{removed_words(one)}: "
        + "; ".join(f"{amount_words(m)}, {far_words(m).partition(',')[0]}" for m in one.moves)
        for one in rows
    ]
    inches = room_beside(names)
    figure = new_figure(1.7 + ROW_IN * len(rows))
    axes = figure.add_subplot()
    for place, one in enumerate(rows):
        alike = place in explained.alike
        axes.barh(
            place, 100.0 * one.removed, height=0.62, color=COLOURS[0] if alike else PALE,
            edgecolor=INK, linewidth=0.6, hatch="//" if len(one.moves) > 1 else None,
        )  # fmt: skip
        beside_row(axes, 100.0 * one.removed, place, notes[place])
    first = rows[0].moves[0]
    title = f"What would explain the difference: first {what_words(first)}"
    dress(axes, heading(title, inches), "removes so much of the difference [%]", "")
    ends = [(100.0 * one.removed, note) for one, note in zip(rows, notes, strict=True)]
    leave_room(axes, [0.0, 100.0], ends, inches)
    axes.set_xticks([0, 20, 40, 60, 80, 100])
    name_rows(axes, names)
    full = f"full colour: {'about equally good' if len(explained.alike) > 1 else 'the best'}"
    pair = "; hatched: two values together" if explained.pairs else ""
    sign(figure, f"{full}{pair}; sd: standard deviations; {quoted(found.scenario.title)}")
    return figure
