"""Which unknowns the spread of an answer comes from, the largest on top; what to measure next."""

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

from bankSim.show.figure_words import draws_words
from bankSim.show.fitting import fitted, heading, leave_room, room_beside
from bankSim.show.looks import COLOURS, INK, dress, halo, new_figure
from bankSim.show.study_marks import WHISKERS, beside_row, name_rows, sign, top_legend, whisker
from bankSim.show.words import counted
from bankSim.sim.numbers import number
from bankSim.study.matters import Matter, MattersResult

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

MOST_ROWS = 12
ROW_IN = 0.55
NAMES_IN, LINES = 2.4, 3
ALL, ALONE = 0.72, 0.30
PALE, SOLID = "#bcd7ea", COLOURS[0]
NEXT = "measure"


def tornado_figure(result: MattersResult) -> "Figure":
    """Bars of the parts of the variance: pale for all that a group does, solid for it alone.

    Parameters
    ----------
    result : MattersResult
        With any number of groups; those beyond `MOST_ROWS` are counted.

    Returns
    -------
    figure : matplotlib Figure
        Axis in percent of the variance; groups to measure next are marked with words.
    """
    shown, measure = result.matters[:MOST_ROWS], _to_measure(result)
    figure = new_figure(2.0 + ROW_IN * max(len(shown), 1))
    axes = figure.add_subplot()
    names = [fitted(one.group.name, NAMES_IN, LINES) for one in shown]
    inches = room_beside(names)
    notes = [_bars(axes, row, one, measure) for row, one in enumerate(shown)]
    dress(axes, heading(_title(result), inches), "part of the variance [%]", "")
    leave_room(axes, [0.0, 1.0, *(at for at, _ in notes)], notes, inches)
    name_rows(axes, names)
    for tick, one in zip(axes.get_yticklabels(), shown, strict=True):
        tick.set_fontweight("bold" if one.group.name in measure else "normal")
    _tell_rest(axes, result.matters[MOST_ROWS:])
    top_legend(figure, _legend())
    sign(figure, f"{WHISKERS.replace('chance', 'part')}; {draws_words(result.draws, result.seed)}")
    return figure


def _to_measure(result: MattersResult) -> list[str]:
    """Names of the groups that are worth measuring; none where even all of them help little."""
    measure = result.to_measure
    return [group.name for group in measure.groups] if measure and measure.halves else []


def _bars(axes: "Axes", row: int, one: Matter, measure: Sequence[str]) -> tuple[float, str]:
    """Draw both bars with whiskers; mark what is to be measured; return the words and where."""
    axes.barh(row, 100.0 * one.total.value, height=ALL, color=PALE, edgecolor=INK, linewidth=0.6)
    axes.barh(row - 0.12, 100.0 * one.first.value, height=ALONE, color=SOLID, linewidth=0)
    whisker(axes, one.first, row - 0.12)
    whisker(axes, one.total, row + 0.22)
    words = f"{_percent(one.total.value)} %"
    if one.group.name in measure:
        words = f"{words}  \N{BLACK LEFT-POINTING TRIANGLE} {NEXT}"
    end = 100.0 * max(one.total.high, one.first.high)
    beside_row(axes, end, row, words)
    return end, words


def _percent(part: float) -> str:
    return "<1" if 0.0 < part < 0.005 else f"{100.0 * max(part, 0.0):.0f}"


def _title(result: MattersResult) -> str:
    """Say how wide the answer spreads, and what measuring would leave of it."""
    measure, count = result.to_measure, len(_to_measure(result))
    if result.nothing_moves:
        return f"{result.answer.text}: nothing that was drawn changes it"
    unit = f" {result.answer.unit}" if result.answer.unit else ""
    told = f"{result.answer.text}: standard deviation {number(result.sd.value)}{unit}"
    if measure is None or not count:
        return f"{told}; no few measurements halve it"
    which = "the marked group is" if count == 1 else f"the {count} marked groups are"
    return f"{told}, {number(measure.remaining_sd.value)}{unit} when {which} measured"


def _tell_rest(axes: "Axes", rest: Sequence[Matter]) -> None:
    """Say how many groups have no bar, and how little they do."""
    if not rest:
        return
    most = math.floor(100.0 * max(one.total.value for one in rest)) + 1
    words = f"{counted(len(rest), 'more group')}, each below {most} %"
    note = axes.annotate(
        words, (1.0, 0.02), xycoords="axes fraction", ha="right", va="bottom", fontsize=8.0,
        color=INK, zorder=6,
    )  # fmt: skip
    halo(note)


def _legend() -> dict[str, object]:
    from matplotlib.patches import Patch

    return {
        "with all that it does together with others": Patch(
            facecolor=PALE, edgecolor=INK, linewidth=0.6
        ),
        "alone": Patch(facecolor=SOLID),
    }
