"""Which unknowns the spread of an answer comes from, the largest on top; what to measure next."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from bankSim.show.figure_words import draws_words
from bankSim.show.fitting import NAME_PT, fitted, heading, leave_room, room_beside
from bankSim.show.looks import COLOURS, INK, dress, new_figure
from bankSim.show.matters_words import (
    at_least,
    doubt,
    is_chance,
    is_range,
    is_rounding,
    nine_of_ten,
    percent,
    settled,
    too_rare,
    within,
)
from bankSim.show.study_marks import WHISKERS, beside_row, name_rows, sign, top_legend, whisker
from bankSim.show.study_words import of_100
from bankSim.show.words import counted
from bankSim.study.group_words import group_words
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
        return f"{percent(self.total.value)} %{f'  {MARK}' if self.marked else ''}"


def tornado_figure(result: MattersResult) -> "Figure":
    """Bars of the parts of the variance: pale for all that a group does, solid for it alone.

    Parameters
    ----------
    result : MattersResult
        With any number of groups, one at least; the least of very many are counted only.

    Returns
    -------
    figure : matplotlib Figure
        Axis in percent of the variance; groups to measure next are marked with words.
    """
    rows = group_rows(result)
    names = [fitted(row.name, NAMES_IN, LINES) for row in rows]
    inches = room_beside(names, BOLD * NAME_PT)
    figure = new_figure(2.0 + ROW_IN * len(rows))
    axes = figure.add_subplot()
    for place, row in enumerate(rows):
        _bars(axes, place, row)
    dress(
        axes, heading(_title(result), inches), f"part of the {doubt(result)}, as variance [%]", ""
    )
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
    advised = {group.name for group in _advised(result)}
    rows = [
        Row(group_words(one.group), within(one.first), within(one.total), one.group.name in advised)
        for one in result.matters[:MOST_ROWS]
    ]
    if result.rest is None:
        return rows
    others = counted(len(result.dropped), "group")
    return [*rows, Row(f"{REST} ({others})", within(result.rest.first), within(result.rest.total))]


def _advised(result: MattersResult) -> Sequence[Group]:
    """Return the groups that are worth measuring; none where even all of them help little."""
    measure = result.to_measure
    return () if measure is None or not measure.halves or is_rounding(result) else measure.groups


def _bars(axes: "Axes", place: int, row: Row) -> None:
    """Draw both bars with whiskers, and the words behind them."""
    total, alone = (100.0 * max(one.value, 0.0) for one in (row.total, row.first))
    axes.barh(place, total, height=ALL, color=PALE, edgecolor=INK, linewidth=0.6)
    axes.barh(place + ASIDE_ALONE, alone, height=ALONE, color=SOLID, linewidth=0)
    whisker(axes, row.first, place + ASIDE_ALONE)
    whisker(axes, row.total, place + ASIDE_ALL)
    beside_row(axes, row.end, place, row.words)


def _title(result: MattersResult) -> str:
    """Say how wide the answer spreads, and what measuring would leave of it."""
    text = result.answer.text
    if is_rounding(result):
        return f"{text}: hardly any spread; the ranking may be rounding of the solver"
    chance = is_chance(result)
    guess = f"best guess right in {of_100(result.guess)}"
    now = f"{text}: {guess}" if chance else f"{text}: 9 of 10 cases {nine_of_ten(result)}"
    if result.is_sure:
        few = "; too few cases differ to rank" if too_rare(result) else ""
        return f"{now}; nothing needs measuring{few}"
    measure, count = result.to_measure, len(_advised(result))
    if measure is None:
        return f"{now}; so few draws do not tell what to measure"
    if not count:
        return f"{now}; no few measurements halve {'the doubt' if chance else 'that'}"
    which = "the marked group is" if count == 1 else f"the {count} marked groups are"
    return f"{now}; {_left(result, measure)} when {which} measured"


def _left(result: MattersResult, measure: ToMeasure) -> str:
    """Say what is left of it once all that is marked is measured."""
    if is_chance(result):
        return f"settled in {at_least(settled(result, measure.remaining_sd.value))}"
    left = f"about {percent(measure.part.value)} %"
    return f"{left} as wide" if is_range(result) else f"{left} of the spread is left"


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
