"""Which unknowns the spread of an answer comes from, the largest on top; what to measure next."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from bankSim.show.figure_words import draws_words
from bankSim.show.fitting import NAME_PT, fitted, heading, leave_room, room_beside
from bankSim.show.looks import COLOURS, INK, dress, new_figure
from bankSim.show.study_marks import WHISKERS, beside_row, name_rows, sign, top_legend, whisker
from bankSim.show.words import counted, percent
from bankSim.sim.numbers import number
from bankSim.study.groups import Group
from bankSim.study.matters import MattersResult
from bankSim.study.statistics import Estimate
from bankSim.study.to_measure import ToMeasure

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

MOST_ROWS = 12
ROW_IN = 0.55
NAMES_IN, LINES = 2.4, 3
BOLD = 1.12  # bold letters are so much wider
ALL, ALONE = 0.72, 0.30  # heights of the bars, of a row
ASIDE_ALONE, ASIDE_ALL = -0.12, 0.22  # where the whiskers lie in a row
PALE, SOLID = "#bcd7ea", COLOURS[0]
REST = "all the rest"
MARK = "\N{BLACK LEFT-POINTING TRIANGLE} measure"


@dataclass(frozen=True, slots=True)
class Row:
    """One group of unknowns, and its parts of the variance.

    Parameters
    ----------
    name : str
    first, total : Estimate
        Alone, and with all that it does together with others.
    marked : bool
        It is to be measured next.
    """

    name: str
    first: Estimate
    total: Estimate
    marked: bool = False

    @property
    def end(self) -> float:
        """Where the longer whisker ends. [%]"""
        return 100.0 * max(self.total.high, self.first.high, 0.0)

    @property
    def words(self) -> str:
        """What stands behind the bars."""
        return f"{_percent(self.total.value)} %{f'  {MARK}' if self.marked else ''}"


def tornado_figure(result: MattersResult) -> "Figure":
    """Bars of the parts of the variance: pale for all that a group does, solid for it alone.

    Parameters
    ----------
    result : MattersResult
        With any number of groups; the least of very many are counted only.

    Returns
    -------
    figure : matplotlib Figure
        Axis in percent of the variance; groups to measure next are marked with words.
    """
    rows = group_rows(result)
    names = [fitted(row.name, NAMES_IN, LINES) for row in rows]
    inches = room_beside(names, BOLD * NAME_PT)
    figure = new_figure(2.0 + ROW_IN * max(len(rows), 1))
    axes = figure.add_subplot()
    for place, row in enumerate(rows):
        _bars(axes, place, row)
    dress(axes, heading(_title(result), inches), "part of the variance [%]", "")
    notes = [(row.end, row.words) for row in rows]
    leave_room(axes, [0.0, 1.0, *(row.end for row in rows)], notes, inches)
    axes.set_xticks([tick for tick in axes.get_xticks() if tick <= 100.0])
    name_rows(axes, names)
    for tick, row in zip(axes.get_yticklabels(), rows, strict=True):
        tick.set_fontweight("bold" if row.marked else "normal")
    top_legend(figure, _legend())
    sign(figure, _small_print(result))
    return figure


def group_rows(result: MattersResult) -> list[Row]:
    """Return the groups that matter, the largest first, and all the rest together."""
    advised = {group.name for group in _advised(result.to_measure)}
    rows = [
        Row(one.group.name, one.first, one.total, one.group.name in advised)
        for one in result.matters[:MOST_ROWS]
    ]
    if result.rest is None:
        return rows
    others = counted(len(result.dropped), "group")
    return [*rows, Row(f"{REST} ({others})", result.rest.first, result.rest.total)]


def _advised(measure: ToMeasure | None) -> Sequence[Group]:
    """Return the groups that are worth measuring; none where even all of them help little."""
    return measure.groups if measure is not None and measure.halves else ()


def _bars(axes: "Axes", place: int, row: Row) -> None:
    """Draw both bars with whiskers, and the words behind them."""
    total, alone = (100.0 * max(one.value, 0.0) for one in (row.total, row.first))
    axes.barh(place, total, height=ALL, color=PALE, edgecolor=INK, linewidth=0.6)
    axes.barh(place + ASIDE_ALONE, alone, height=ALONE, color=SOLID, linewidth=0)
    whisker(axes, row.first, place + ASIDE_ALONE)
    whisker(axes, row.total, place + ASIDE_ALL)
    beside_row(axes, row.end, place, row.words)


def _percent(part: float) -> str:
    return "<1" if 0.0 < part < 0.005 else f"{100.0 * max(part, 0.0):.0f}"


def _title(result: MattersResult) -> str:
    """Say how wide the answer spreads, and what measuring would leave of it."""
    if result.nothing_moves:
        return f"{result.answer.text}: nothing that was drawn changes it"
    measure, count = result.to_measure, len(_advised(result.to_measure))
    which = "the marked group is" if count == 1 else f"the {count} marked groups are"
    if result.answer.equals is not None:
        told = f"What decides {result.answer.text}"
        if measure is None or not count:
            return f"{told}: no few measurements halve the doubt"
        return f"{told}: {percent(measure.part.value)} of the doubt remains when {which} measured"
    told = f"{result.answer.text}: standard deviation {_sd(result, result.sd)}"
    if measure is None or not count:
        return f"{told}; no few measurements halve it"
    return f"{told}, {_sd(result, measure.remaining_sd)} when {which} measured"


def _sd(result: MattersResult, sd: Estimate) -> str:
    return f"{number(sd.value)} {result.answer.unit}".rstrip()


def _small_print(result: MattersResult) -> str:
    hidden = len(result.matters) - MOST_ROWS
    more = f"{counted(hidden, 'more group')} below these; " if hidden > 0 else ""
    told = draws_words(result.draws, result.seed)
    return f"{more}{WHISKERS.replace('chance', 'part')}; {told}"


def _legend() -> dict[str, object]:
    from matplotlib.patches import Patch

    return {
        "with all that it does together with others": Patch(
            facecolor=PALE, edgecolor=INK, linewidth=0.6
        ),
        "alone": Patch(facecolor=SOLID),
    }
