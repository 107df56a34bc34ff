"""From the labels to the bank as it is wired: one step a row, on an axis that starts at zero."""

import math
from typing import TYPE_CHECKING, Any

from bankSim.show.figure_words import draws_words, seed_of, signed
from bankSim.show.fitting import fitted, heading, leave_room, room_beside
from bankSim.show.looks import COLOURS, FAINT, INK, QUIET, dress, new_figure
from bankSim.show.study_marks import beside_row, name_rows, sign
from bankSim.show.study_words import HIGH, LOW, MIDDLE
from bankSim.show.sums_words import CAUSES, is_single, middle
from bankSim.show.words import beside
from bankSim.sim.numbers import sentence
from bankSim.study.spread import Band
from bankSim.study.sums import Part, SumsResult

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

BAR = 0.62
ROW_IN = 0.55
NAMES_IN, BETWEEN_IN = 1.7, 0.4
FAR, MORE_ROOM = 6.0, 1.6  # times the second largest change
LEAST_SHARE = 0.005  # of the largest sum: changes are enlarged no further than that
LESS: dict[str, Any] = {"color": COLOURS[1], "hatch": "///"}
MORE: dict[str, Any] = {"color": COLOURS[2], "hatch": "..."}
LEVEL: dict[str, Any] = {"color": COLOURS[0]}


def sums_figure(result: SumsResult) -> "Figure":
    """Levels from 0 Ah on the left, the change of every step enlarged on the right.

    Parameters
    ----------
    result : SumsResult

    Returns
    -------
    figure : matplotlib Figure
        Both axes in Ah; medians, with 5 to 95 % of the draws as whiskers.
    """
    parts = result.parts
    figure = new_figure(1.5 + ROW_IN * len(parts))
    left, right = figure.subplots(1, 2, width_ratios=[1.0, 1.0], sharey=True)
    names = [fitted(sentence(part.text), NAMES_IN, lines=3) for part in parts]
    inches = 0.5 * (room_beside(names) - BETWEEN_IN)
    _levels(left, parts, inches, ("Label", "battery") if is_single(result) else ("Labels", "bank"))
    _changes(right, parts, inches)
    name_rows(left, names)
    right.tick_params(labelleft=False)
    right.grid(False, axis="y")
    told = draws_words(result.draws, seed_of(result.plan))
    how = "one draw: no range" if result.draws == 1 else "medians, whiskers from 5 to 95 % of draws"
    sign(figure, f"{how}; {told}")
    return figure


def _levels(axes: "Axes", parts: tuple[Part, ...], inches: float, ends: tuple[str, str]) -> None:
    """Draw full bars at both ends, floating ones between, joined by fine lines."""
    levels = [middle(part.Ah) for part in parts]
    scale = max(levels) or 1.0
    notes: list[tuple[float, str]] = []
    for row, (part, level) in enumerate(zip(parts, levels, strict=True)):
        axes.barh(row, level, height=BAR, color=FAINT, linewidth=0)
        if row in (0, len(parts) - 1):
            axes.barh(row, level, height=BAR, edgecolor=INK, linewidth=0.6, **LEVEL)
        if row:
            step = level - levels[row - 1]
            look = MORE if step > 0.0 else LESS
            axes.barh(
                row, step, left=levels[row - 1], height=BAR, edgecolor=INK, linewidth=0.6, **look
            )
            axes.plot([levels[row - 1]] * 2, [row - 1, row], color=INK, linewidth=0.7)
        _whisker(axes, part.Ah, row)
        end = max(level, part.Ah.percentiles[HIGH].value, levels[max(row - 1, 0)])
        notes.append((end, f"{beside(level, scale)} Ah"))
        beside_row(axes, end, row, notes[-1][1])
    title = f"{ends[0]} {beside(levels[0], scale)} Ah, {ends[1]} {beside(levels[-1], scale)} Ah"
    dress(axes, heading(title, inches), "charge [Ah]", "")
    leave_room(axes, [0.0, *levels], notes, inches)


def _changes(axes: "Axes", parts: tuple[Part, ...], inches: float) -> None:
    """Draw what every step changes, against the one above it; a bar far beyond all is cut off."""
    scale = max(middle(part.Ah) for part in parts) or 1.0
    reach = _reach(parts, scale)
    notes: list[tuple[float, str]] = []
    for row, part in enumerate(parts):
        if part.change is None:
            continue
        low, by, high = (part.change.percentiles[n].value for n in (LOW, MIDDLE, HIGH))
        look = MORE if by > 0.0 else LESS
        axes.barh(row, by, height=BAR, edgecolor=INK, linewidth=0.6, **look)
        _whisker(axes, part.change, row)
        if max(abs(low), abs(high)) > reach:
            _cut_bar(axes, math.copysign(reach, by), row)
        words = f"{signed(by, scale)} ({signed(low, scale)} to {signed(high, scale)})"
        words = signed(by, scale) if low == high else words
        notes.append((min(max(high, 0.0), reach), max(words, CAUSES[part.word], key=len)))
        beside_row(axes, notes[-1][0], row, f"{words}\n{CAUSES[part.word]}")
    axes.axvline(0.0, color=QUIET, linewidth=0.8)
    dress(
        axes,
        heading("Where they go: change of every step", inches),
        "change [Ah]",
        "",
    )
    low, high = _ends(parts)
    leave_room(axes, [max(low, -reach), min(high, reach)], notes, inches)


def _ends(parts: tuple[Part, ...]) -> tuple[float, float]:
    points = [p.value for part in parts if part.change for p in part.change.percentiles]
    return min(*points, 0.0), max(*points, 0.0)


def _reach(parts: tuple[Part, ...], scale: float) -> float:
    """Return how far the axis goes to either side: all the way, or past the second largest."""
    sizes = [
        max(abs(point.value) for point in part.change.percentiles) for part in parts if part.change
    ]
    second, largest = sorted([0.0, *sizes])[-2:]
    least = LEAST_SHARE * scale
    return max(largest, least) if largest <= FAR * max(second, least) else MORE_ROOM * second


def _cut_bar(axes: "Axes", end: float, row: int) -> None:
    """Show that a bar goes on beyond the axis: two white strokes through it, and words."""
    for at in (0.90, 0.94):
        ends = [(at - 0.015) * end, (at + 0.015) * end]
        axes.plot(ends, [row + 0.36, row - 0.36], color="white", linewidth=3.0, zorder=6)
    note = axes.annotate(
        "bar is cut off", (0.87 * end, row), ha="left" if end < 0.0 else "right", va="center",
        fontsize=7.5, color=INK, zorder=7,
    )  # fmt: skip
    note.set_bbox({"facecolor": "white", "edgecolor": "none", "pad": 1.5})


def _whisker(axes: "Axes", band: Band, row: int) -> None:
    ends = [band.percentiles[place].value for place in (LOW, HIGH)]
    axes.plot(
        ends, [row, row], color=INK, linewidth=1.0, marker="|", markersize=5,
        markeredgewidth=1.0, zorder=5,
    )  # fmt: skip
