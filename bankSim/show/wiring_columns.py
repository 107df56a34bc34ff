"""A bank of few batteries as people sketch it: side by side between two rails."""

from dataclasses import dataclass

from bankSim.model.bank import Layout
from bankSim.show.wiring_facts import Cable, Facts, Source
from bankSim.show.wiring_panel import tall_height, tall_panel
from bankSim.show.wiring_paper import MINUS, MINUS_SIGN, NAME_PX, PLUS, SOFT, Paper

WIDTH_PX = 960.0
MOST_COLUMNS, MOST_USERS = 5, 6
EDGE_PX, PANEL_PX, FIRST_PX = 16.0, 212.0, 356.0
PLUS_Y, BOX_Y, BOX_PX, MINUS_Y, RETURN_PX = 84.0, 186.0, 112.0, 344.0, 38.0
WIDEST_PX = 200.0
BAR_PX, RAIL_PX, WIRE_PX = 7.0, 3.0, 2.2
LEAD_IN_PX = 16.0  # from the left edge of a battery's box to its lead
NOTE = "Lead and main: plus and minus together, with joints and fuse."
LINK_NOTE = " Link: one rail."


@dataclass(frozen=True, slots=True)
class _Grid:
    """Where the columns stand. [px]"""

    pitch: float
    count: int

    def left(self, place: int) -> float:
        return FIRST_PX + self.pitch * place

    def lead(self, place: int) -> float:
        return self.left(place) + LEAD_IN_PX


def draw_columns(facts: Facts, picked: int | None) -> tuple[Paper, float]:
    """Draw up to `MOST_COLUMNS` batteries; return the paper and its height. [px]"""
    paper, count = Paper(WIDTH_PX), len(facts.sources)
    grid = _Grid(min((WIDTH_PX - EDGE_PX - FIRST_PX) / count, WIDEST_PX), count)
    top = PLUS_Y - 24.0
    least = MINUS_Y + 18.0 + (RETURN_PX if facts.minus_at_last else 0.0) - top
    high = max(tall_height(facts, PANEL_PX, MOST_USERS), least)
    _main(paper, facts, grid)
    tall_panel(paper, EDGE_PX, top, PANEL_PX, high, facts, MOST_USERS)
    _rails(paper, facts, grid)
    for place, source in enumerate(facts.sources):
        _column(paper, source, grid, place, is_picked=place == picked)
    bottom = top + high + 24.0
    paper.text(EDGE_PX, bottom, NOTE + (LINK_NOTE if facts.link else ""), fill=SOFT)
    return paper, bottom + 14.0


def _main(paper: Paper, facts: Facts, grid: _Grid) -> None:
    """Main conductors from the take-off to the box of loads."""
    start, end, middle = EDGE_PX + PANEL_PX, grid.lead(0), 0.5 * (EDGE_PX + PANEL_PX + FIRST_PX)
    paper.line([(start, PLUS_Y), (end, PLUS_Y)], PLUS, WIRE_PX)
    paper.resistor((middle - 18.0, PLUS_Y), colour=PLUS)
    if facts.main.fuse:
        paper.fuse((middle + 18.0, PLUS_Y), colour=PLUS)
    for line, text in enumerate(["main conductors", *facts.main.parts]):
        y = PLUS_Y - 14.0 - 14.0 * (len(facts.main.parts) - line)
        paper.text(middle, y, text, anchor="middle", room=FIRST_PX - start - 8.0)
    if not facts.minus_at_last:
        paper.line([(start, MINUS_Y), (end, MINUS_Y)], MINUS, WIRE_PX)
        return
    last, low = grid.lead(grid.count - 1), MINUS_Y + RETURN_PX
    paper.line([(last, MINUS_Y), (last, low), (start, low)], MINUS, WIRE_PX)


def _rails(paper: Paper, facts: Facts, grid: _Grid) -> None:
    first, last = grid.lead(0), grid.lead(grid.count - 1)
    equal = facts.layout is Layout.EQUAL_LEADS
    ends = (first - LEAD_IN_PX, last + LEAD_IN_PX) if equal else (first, last)
    if grid.count > 1:
        for y, colour in ((PLUS_Y, PLUS), (MINUS_Y, MINUS)):
            paper.line([(ends[0], y), (ends[1], y)], colour, BAR_PX if equal else RAIL_PX)
    if facts.link is not None:
        for place in range(grid.count - 1):
            _link(paper, facts.link, 0.5 * (grid.lead(place) + grid.lead(place + 1)), grid.pitch)
    word = "bar" if equal and grid.count > 1 else "take-off"
    place = grid.count - 1 if facts.minus_at_last else 0
    paper.text(first - 8.0, PLUS_Y + 20.0, word, anchor="end")
    x, anchor = (last + 10.0, "start") if facts.minus_at_last else (first - 8.0, "end")
    paper.text(x, MINUS_Y - 9.0, word, anchor=anchor)
    paper.dot((first, PLUS_Y), PLUS, 5.0)
    paper.dot((grid.lead(place), MINUS_Y), MINUS, 5.0)


def _link(paper: Paper, link: Cable, x: float, pitch: float) -> None:
    """One link on both rails, with its resistance."""
    for y, colour, up in ((PLUS_Y, PLUS, True), (MINUS_Y, MINUS, False)):
        paper.resistor((x, y), colour=colour)
        for line, text in enumerate(link.parts):
            at = y - 11.0 - 13.0 * (len(link.parts) - 1 - line) if up else y + 19.0 + 13.0 * line
            paper.text(x, at, text, anchor="middle", room=pitch - 10.0)


def _column(paper: Paper, source: Source, grid: _Grid, place: int, *, is_picked: bool) -> None:
    x, lead, wide = grid.left(place), grid.lead(place), grid.pitch - 12.0
    paper.line([(lead, PLUS_Y), (lead, BOX_Y)], PLUS, WIRE_PX)
    paper.line([(lead, BOX_Y + BOX_PX), (lead, MINUS_Y)], MINUS, WIRE_PX)
    paper.dot((lead, PLUS_Y), PLUS)
    paper.dot((lead, MINUS_Y), MINUS)
    paper.resistor((lead, PLUS_Y + 36.0), upright=True, colour=PLUS)
    if source.lead.fuse:
        paper.fuse((lead, PLUS_Y + 68.0), upright=True, colour=PLUS)
    for line, text in enumerate(["lead", *source.lead.parts]):
        paper.text(lead + 12.0, PLUS_Y + 34.0 + 14.0 * line, text, room=grid.pitch - 44.0)
    paper.box(x, BOX_Y, wide, BOX_PX, line=4.0 if is_picked else 1.5)
    _label(paper, source, x + 10.0, wide - 20.0)


def _label(paper: Paper, source: Source, x: float, room: float) -> None:
    paper.text(x, BOX_Y + 15.0, "+", bold=True, size=NAME_PX)
    paper.text(x, BOX_Y + BOX_PX - 6.0, MINUS_SIGN, bold=True, size=NAME_PX)
    paper.name(x, BOX_Y + 31.0, source.name, room)
    kind = ", ".join(part for part in (source.chemistry, source.series_shortly) if part)
    for line, text in enumerate([kind, source.label, source.holds]):
        paper.text(x, BOX_Y + 47.0 + 14.0 * line, text, room=room)
    paper.cells(x + 16.0, BOX_Y + BOX_PX - 14.0, source.cells, room - 16.0)
