"""Who cuts out first, which cell decides, and what to beware of: chances with their intervals."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from bankSim.show.cell_chances import cell_rows, draw_cells
from bankSim.show.figure_words import cases, draws_words, seed_of
from bankSim.show.fitting import (
    NAME_PT,
    fitted,
    heading,
    leave_room,
    name_of,
    room_beside,
)
from bankSim.show.looks import COLOURS, INK, dress, new_figure
from bankSim.show.study_marks import WHISKERS, beside_row, name_rows, sign, whisker
from bankSim.study.spread import SpreadResult
from bankSim.study.statistics import Estimate, chance
from bankSim.study.traced import CautionChance, Traced

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

MOST_ROWS, MOST_CAUTIONS = 12, 14
ROW_IN, PANEL_IN = 0.27, 1.0
BAR = 0.62
TOPIC_IN = 2.8  # widest name of a caution
AXIS = "of 100 cases"
NOBODY, TOGETHER = "nobody", "several at once"
SEVERITY_LOOKS: dict[str, dict[str, Any]] = {
    "danger": {"color": COLOURS[1], "hatch": "xxx"},
    "warning": {"color": COLOURS[4], "hatch": "///"},
    "note": {"color": "#cfcfcf", "hatch": ""},
}


@dataclass(frozen=True, slots=True)
class Row:
    """One bar: its name, its chance, its look."""

    name: str
    chance: Estimate
    look: dict[str, Any]


def chances_figure(result: SpreadResult) -> "Figure":
    """Bars of who cuts out first, a field of deciding cells, bars of cautions.

    Parameters
    ----------
    result : SpreadResult
        With any number of batteries; the least likely ones beyond `MOST_ROWS` are added up.

    Returns
    -------
    figure : matplotlib Figure
        Chances of 100 cases, with intervals that hold the true one in 95 of 100 studies. Without
        a cut-out there is no field of cells.
    """
    first, cells = first_rows(result), cell_rows(result, MOST_ROWS)
    cautions = caution_rows(result.traced.cautions)
    counts = [len(first), *([len(cells)] if cells else []), max(len(cautions), 1)]
    heights = [PANEL_IN + ROW_IN * count for count in counts]
    figure = new_figure(0.3 + sum(heights))
    panels = figure.subplots(len(heights), 1, height_ratios=heights)
    inches = room_beside([*(row.name for row in [*first, *cautions]), *(row.name for row in cells)])
    _bars(panels[0], first, _first_title(result), inches)
    if cells:
        draw_cells(panels[1], cells, inches)
    _bars(panels[-1], cautions, _cautions_title(result.traced), inches)
    for axes in (panels[0], panels[-1]):
        notes = [(100.0 * row.chance.high, cases(row.chance)) for row in [*first, *cautions]]
        leave_room(axes, [0.0, 100.0], notes, inches)
    told = draws_words(result.draws.count, seed_of(result.draws.plan))
    sign(figure, f"{WHISKERS}; {told}")
    return figure


def first_rows(result: SpreadResult) -> list[Row]:
    """Every battery's chance to cut out first; many of little chance together; nobody at the end.

    Whoever hardly ever is the first is in no row of its own in a crowd.
    """
    order = sorted(result.batteries, key=lambda one: -one.first.value)
    named = order if len(order) <= MOST_ROWS else order[: MOST_ROWS - 1]
    rows = [
        Row(name_of(one.name), one.first, {"color": COLOURS[0]})
        for one in (result.batteries if len(order) <= MOST_ROWS else named)
    ]
    draws, others = result.draws.count, order[len(named) :]
    if others:
        count = round(sum(one.first.value for one in others) * draws)
        rows.append(Row(f"{len(others)} others", chance(count, draws), {"color": COLOURS[5]}))
    if result.together.value > 0.0:
        rows.append(Row(TOGETHER, result.together, {"color": COLOURS[5], "hatch": "///"}))
    return [*rows, Row(NOBODY, result.nobody, {"color": "white", "hatch": "..."})]


def _first_title(result: SpreadResult) -> str:
    """Say who is most likely the first, or that it is open."""
    best, *others = sorted(result.batteries, key=lambda one: -one.first.value)
    if result.together.value > max(best.first.value, result.nobody.value):
        return f"Several cut out first, all at once, in {cases(result.together)} cases"
    if result.nobody.value >= best.first.value:
        return f"Nobody cuts out in {cases(result.nobody)} cases"
    told = f'"{name_of(best.name)}" in {cases(best.first)} cases'
    if others and best.first.low <= others[0].first.high:
        return f"Who cuts out first is open: {told} is the most"
    return f"Cuts out first: {told}"


def _bars(axes: "Axes", rows: Sequence[Row], title: str, inches: float) -> None:
    """Draw bars with whiskers, the chance in words behind each."""
    for place, row in enumerate(rows):
        value = 100.0 * row.chance.value
        axes.barh(place, value, height=BAR, edgecolor=INK, linewidth=0.6, **row.look)
        whisker(axes, row.chance, place)
        beside_row(axes, 100.0 * row.chance.high, place, cases(row.chance))
    dress(axes, heading(title, inches), f"chance [{AXIS}]", "")
    name_rows(axes, [row.name for row in rows])
    axes.set_xticks(range(0, 101, 20))


def caution_rows(cautions: Sequence[CautionChance]) -> list[Row]:
    """One row a topic, the worst severity first; those beyond `MOST_CAUTIONS` are left out."""
    return [Row(_topic(one), one.chance, _look(one.severity)) for one in cautions[:MOST_CAUTIONS]]


def _topic(one: CautionChance) -> str:
    return fitted(f"{one.severity}: {one.topic}", TOPIC_IN, lines=1, size_pt=NAME_PT)


def _look(severity: str) -> dict[str, Any]:
    return SEVERITY_LOOKS.get(severity, SEVERITY_LOOKS["danger"])


def _cautions_title(traced: Traced) -> str:
    draws, hidden = draws_words(traced.fan.draws, None), len(traced.cautions) - MOST_CAUTIONS
    if not traced.cautions:
        return f"No caution in {draws}"
    more = f"; {hidden} more are less severe or rarer" if hidden > 0 else ""
    return f"Cautions in {draws} that were looked at in full{more}"
