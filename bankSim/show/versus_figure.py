"""Two scenarios on the same draws: their difference, both side by side, who cuts out first."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from bankSim.show.figure_words import cases, draws_words, middle_and_range
from bankSim.show.fitting import NAME_PT, fitted, heading, leave_room, name_of, room_beside
from bankSim.show.histogram import draw_histogram
from bankSim.show.looks import COLOURS, INK, QUIET, dress, new_figure
from bankSim.show.study_marks import (
    WHISKERS,
    beside_row,
    interval_legend,
    interval_mark,
    name_rows,
    sign,
    whisker,
)
from bankSim.show.versus_advice import is_on_paper
from bankSim.show.versus_names import Side, sides_of
from bankSim.show.versus_story import difference_sentence
from bankSim.show.versus_words import words_of
from bankSim.show.words import counted
from bankSim.sim.numbers import clean
from bankSim.study.blocks import Draws
from bankSim.study.outcomes import FIRST
from bankSim.study.statistics import Estimate, chance
from bankSim.study.versus import VersusResult

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

MOST_ROWS = 12
HISTOGRAM_IN, SIDE_IN, PAIR_IN, PANEL_IN = 2.5, 1.7, 0.5, 1.0
BAR = 0.34
LOOKS: tuple[dict[str, Any], ...] = (
    {"color": COLOURS[0]},
    {"color": COLOURS[4], "hatch": "///"},
)
ABSENT = "not in this bank"


@dataclass(frozen=True, slots=True)
class Pair:
    """A chance in one and in the other scenario; None where the battery is not."""

    name: str
    chances: tuple[Estimate | None, Estimate | None]


def versus_figure(result: VersusResult) -> "Figure":
    """Histogram of the difference in Ah draw by draw, both banks' Ah, who cuts out first in each.

    Ah taken in where no bank has a load.

    Parameters
    ----------
    result : VersusResult
        Of banks with any number of batteries; of many the likeliest to cut out first are shown.

    Returns
    -------
    figure : matplotlib Figure
        Axes in Ah and chances of 100 cases.
    """
    pairs = first_pairs(result)
    heights = [HISTOGRAM_IN, SIDE_IN, PANEL_IN + PAIR_IN * len(pairs)]
    figure = new_figure(0.8 + sum(heights))
    top, middle, bottom = figure.subplots(3, 1, height_ratios=heights)
    sides = sides_of(result)
    names = scenario_names(result, sides)
    inches = room_beside([*names, *(pair.name for pair in pairs)])
    _difference(top, result, sides, inches)
    _both(middle, result, names, inches)
    _first(bottom, pairs, len(result.batteries) + 1 - len(pairs), sides, inches)
    interval_legend(figure, with_label=False)
    sign(figure, f"{WHISKERS}; {draws_words(result.one.count, result.seed)}")
    return figure


def scenario_names(result: VersusResult, sides: tuple[Side, Side]) -> list[str]:
    """Name both scenarios, with their titles where these say more, on a few lines each."""
    titles = [clean(draws.plan.scenario.title) for draws in (result.one, result.other)]
    told = [
        side.name if side.name == title.strip() else f"{side.name}: {title}"
        for side, title in zip(sides, titles, strict=True)
    ]
    return [fitted(one, lines=3) for one in told]


def _difference(
    axes: "Axes", result: VersusResult, sides: tuple[Side, Side], inches: float
) -> None:
    first = result.differences[0]
    gap = first.answer.of(result.other) - first.answer.of(result.one)
    below = f"{sides[1].said} less {sides[0].said}, of the same draw [Ah]"
    title = difference_sentence(first, sides, paper=is_on_paper(result))
    axes.axvline(0.0, color=INK, linewidth=1.2, linestyle=(0, (4, 2)))
    draw_histogram(axes, gap, first.difference, QUIET)
    dress(
        axes, heading(title, inches),
        heading(below, inches, NAME_PT + 1.0), "number of draws",
    )  # fmt: skip
    low, high = axes.get_xlim()
    reach = 0.04 * (high - low)
    axes.set_xlim(min(low, -reach), max(high, reach))


def _both(axes: "Axes", result: VersusResult, names: Sequence[str], inches: float) -> None:
    bands = (result.differences[0].one, result.differences[0].other)
    ends: list[float] = []
    notes: list[tuple[float, str]] = []
    for place, (band, look) in enumerate(zip(bands, LOOKS, strict=True)):
        interval_mark(axes, band, place, look["color"])
        own = [point.value for point in band.percentiles]
        own += [band.central] if band.central is not None else []
        notes.append((max(own, default=0.0), f"{middle_and_range(band)} Ah"))
        beside_row(axes, notes[-1][0], place, notes[-1][1])
        ends += own
    does = words_of(result.differences[0].answer).does
    dress(axes, f"What each bank {does}", "charge [Ah]", "")
    name_rows(axes, names)
    leave_room(axes, ends, notes, inches)


def first_pairs(result: VersusResult) -> list[Pair]:
    """Return every battery's chances to cut out first, the likeliest of many, and nobody's."""
    pairs = [Pair(name_of(one.name), one.first) for one in result.batteries]
    if len(pairs) > MOST_ROWS:
        best = sorted(pairs, key=_likeliest, reverse=True)[:MOST_ROWS]
        pairs = [pair for pair in pairs if pair in best]
    return [*pairs, Pair("nobody", (_nobody(result.one), _nobody(result.other)))]


def _likeliest(pair: Pair) -> float:
    return max(one.value if one is not None else 0.0 for one in pair.chances)


def _nobody(draws: Draws) -> Estimate:
    return chance(int((draws.column(FIRST) == 0).sum()), draws.count)


def _not_shown(count: int) -> str:
    told = counted(count, "less likely battery", "less likely batteries")
    return f"{told} {'is' if count == 1 else 'are'} not shown"


def _first(
    axes: "Axes", pairs: Sequence[Pair], hidden: int, sides: tuple[Side, Side], inches: float
) -> None:
    for row, pair in enumerate(pairs):
        for side, (one, look) in enumerate(zip(pair.chances, LOOKS, strict=True)):
            place = row + (side - 0.5) * 1.08 * BAR
            if one is None:
                beside_row(axes, 0.0, place, ABSENT, 7.5)
                continue
            axes.barh(place, 100.0 * one.value, height=BAR, edgecolor=INK, linewidth=0.6, **look)
            whisker(axes, one, place)
            beside_row(axes, 100.0 * one.high, place, cases(one), 7.5)
    note = f"; {_not_shown(hidden)}" if hidden > 0 else ""
    bars = f"plain bars {sides[0].said}, hatched bars {sides[1].said}"
    title = f"Who cuts out first: {bars}{note}"
    dress(axes, heading(title, inches), "chance [of 100 cases]", "")
    name_rows(axes, [pair.name for pair in pairs])
    every = [one for pair in pairs for one in pair.chances if one is not None]
    notes = [(100.0 * one.high, cases(one)) for one in every]
    leave_room(axes, [0.0, 100.0], notes, inches)
    axes.set_xticks(range(0, 101, 20))
