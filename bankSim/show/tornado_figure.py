"""Which unknowns the spread of an answer comes from, the largest on top; what to measure next."""

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, Protocol

from bankSim.show.figure_words import draws_words
from bankSim.show.fitting import fitted, heading, leave_room, room_beside
from bankSim.show.looks import COLOURS, INK, dress, halo, new_figure
from bankSim.show.study_marks import WHISKERS, beside_row, name_rows, sign, top_legend, whisker
from bankSim.show.words import counted
from bankSim.sim.numbers import number
from bankSim.study.answers import Answer
from bankSim.study.statistics import Estimate

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

MOST_ROWS = 12
ROW_IN = 0.55
NAMES_IN, LINES = 2.4, 3
ALL, ALONE = 0.72, 0.30
PALE, SOLID = "#bcd7ea", COLOURS[0]
NEXT = "measure"


class Group(Protocol):
    """Unknowns that one measures together, and the parts of the variance that are theirs."""

    @property
    def name(self) -> str:
        """What they are."""

    @property
    def first(self) -> Estimate:
        """Their own part, with everything else as it may be."""

    @property
    def total(self) -> Estimate:
        """Their part with all that they do together with others."""


class Matters(Protocol):
    """What was found about which unknowns matter."""

    @property
    def answer(self) -> Answer:
        """Of what the spread is."""

    @property
    def draws(self) -> int:
        """How many there were."""

    @property
    def seed(self) -> int:
        """Of the draws."""

    @property
    def sd(self) -> float:
        """Standard deviation of the answer, in its unit."""

    @property
    def groups(self) -> Sequence[Group]:
        """The largest total first."""

    @property
    def measure(self) -> Sequence[str]:
        """Names of the groups to measure next."""

    @property
    def remaining_sd(self) -> float:
        """Standard deviation that is left then."""


def tornado_figure(result: Matters) -> "Figure":
    """Bars of the parts of the variance: pale for all that a group does, solid for it alone.

    Parameters
    ----------
    result : Matters
        With any number of groups; those beyond `MOST_ROWS` are counted.

    Returns
    -------
    figure : matplotlib Figure
        Axis in percent of the variance; groups to measure next are marked with words.
    """
    shown = result.groups[:MOST_ROWS]
    figure = new_figure(2.0 + ROW_IN * max(len(shown), 1))
    axes = figure.add_subplot()
    names = [fitted(group.name, NAMES_IN, LINES) for group in shown]
    inches = room_beside(names)
    notes = [_bars(axes, row, group, result.measure) for row, group in enumerate(shown)]
    dress(axes, heading(_title(result), inches), "part of the variance [%]", "")
    leave_room(axes, [0.0, 1.0, *(at for at, _ in notes)], notes, inches)
    name_rows(axes, names)
    for tick, group in zip(axes.get_yticklabels(), shown, strict=True):
        tick.set_fontweight("bold" if group.name in result.measure else "normal")
    _tell_rest(axes, result.groups[MOST_ROWS:])
    top_legend(figure, _legend())
    sign(figure, f"{WHISKERS.replace('chance', 'part')}; {draws_words(result.draws, result.seed)}")
    return figure


def _bars(axes: "Axes", row: int, group: Group, measure: Sequence[str]) -> tuple[float, str]:
    """Draw both bars with whiskers; mark what is to be measured; return the words and where."""
    axes.barh(row, 100.0 * group.total.value, height=ALL, color=PALE, edgecolor=INK, linewidth=0.6)
    axes.barh(row - 0.12, 100.0 * group.first.value, height=ALONE, color=SOLID, linewidth=0)
    whisker(axes, group.first, row - 0.12)
    whisker(axes, group.total, row + 0.22)
    words = f"{_percent(group.total.value)} %"
    if group.name in measure:
        words = f"{words}  \N{BLACK LEFT-POINTING TRIANGLE} {NEXT}"
    end = 100.0 * max(group.total.high, group.first.high)
    beside_row(axes, end, row, words)
    return end, words


def _percent(part: float) -> str:
    return "<1" if 0.0 < part < 0.005 else f"{100.0 * max(part, 0.0):.0f}"


def _title(result: Matters) -> str:
    """Say how wide the answer spreads, and what measuring would leave of it."""
    unit = f" {result.answer.unit}" if result.answer.unit else ""
    now, then = (f"{number(sd)}{unit}" for sd in (result.sd, result.remaining_sd))
    told = f"{result.answer.text}: standard deviation {now}"
    count = len(result.measure)
    if not count:
        return f"{told}; no single group is worth a measurement"
    which = "the marked group is" if count == 1 else f"the {count} marked groups are"
    return f"{told}, {then} when {which} measured"


def _tell_rest(axes: "Axes", rest: Sequence[Group]) -> None:
    """Say how many groups have no bar, and how little they do."""
    if not rest:
        return
    most = math.floor(100.0 * max(group.total.value for group in rest)) + 1
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
