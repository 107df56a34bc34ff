"""A bank of any number of batteries as strips between upright rails, in one or more columns."""

import math
from dataclasses import dataclass

from bankSim.model.bank import Layout
from bankSim.show.wiring_facts import Facts, Source
from bankSim.show.wiring_panel import flat_panel
from bankSim.show.wiring_paper import (
    FACT_PX,
    MINUS,
    MINUS_SIGN,
    MOST_MARKS,
    PLUS,
    SHEET,
    SOFT,
    Paper,
)
from bankSim.show.wiring_text import in_two, width_px

WIDE_PX, NARROW_PX = 960.0, 390.0
EDGE_PX, GUTTER_PX, RETURN_PX = 14.0, 18.0, 14.0
MAIN_PX, STRIP_PX, BOX_PX, END_PX = 90.0, 70.0, 40.0, 30.0
LOW_STRIP_PX = 60.0  # where no lengths and areas are told
RAIL_IN_PX, BOX_IN_PX = 14.0, 64.0
BAR_PX, RAIL_PX, WIRE_PX = 7.0, 3.0, 2.2
SMALL_PX = 10.5
MOST_USERS = 16
IN_ONE, IN_TWO = 5, 16  # more batteries than that stand in two columns, in three
NOTES = (
    "Lead and main: plus and minus together, with joints and fuse.",
    "Link: one rail, between neighbours.",
)


@dataclass(frozen=True, slots=True)
class _Block:
    """One column of strips; left edge, top and width in px."""

    x: float
    y: float
    width: float
    first: int
    count: int
    pitch: float

    @property
    def plus(self) -> float:
        return self.x + RAIL_IN_PX

    @property
    def minus(self) -> float:
        return self.x + self.width - RAIL_IN_PX

    def at(self, place: int) -> float:
        return self.y + self.pitch * place + BOX_PX / 2

    @property
    def end(self) -> float:
        return self.y + self.pitch * self.count


def draw_strips(facts: Facts, picked: int | None, *, narrow: bool) -> tuple[Paper, float]:
    """Draw the bank; return the paper and its height. [px]"""
    paper = Paper(NARROW_PX if narrow else WIDE_PX)
    width = paper.width_px - 2 * EDGE_PX
    panel = flat_panel(paper, EDGE_PX, EDGE_PX, width, facts, MOST_USERS, stacked=narrow)
    top = EDGE_PX + panel
    blocks = _blocks(facts, top + MAIN_PX, width, narrow=narrow)
    for number, block in enumerate(blocks):
        _rails(paper, facts, block, number, len(blocks))
        for place in range(block.count):
            source = facts.sources[block.first + place]
            _strip(paper, source, block, place, is_picked=block.first + place == picked)
    _main(paper, facts, blocks, top)
    bottom = max(block.end for block in blocks) + (END_PX if _returns(facts, blocks) else 6.0)
    notes = NOTES[: 2 if facts.link is not None else 1]
    for line, text in enumerate(notes):
        paper.text(EDGE_PX, bottom + 14.0 * (line + 1), text, fill=SOFT, room=width)
    return paper, bottom + 14.0 * len(notes) + 14.0


def _blocks(facts: Facts, top: float, width: float, *, narrow: bool) -> list[_Block]:
    count = len(facts.sources)
    columns = 1 if narrow or count <= IN_ONE else 2 if count <= IN_TWO else 3
    each = math.ceil(count / columns)
    columns = math.ceil(count / each)
    room = width - (RETURN_PX if facts.minus_at_last else 0.0)
    pitch = STRIP_PX if any(one.lead.copper for one in facts.sources) else LOW_STRIP_PX
    wide = (room - GUTTER_PX * (columns - 1)) / columns
    return [
        _Block(
            EDGE_PX + number * (wide + GUTTER_PX),
            top,
            wide,
            number * each,
            min(each, count - number * each),
            pitch,
        )
        for number in range(columns)
    ]


def _returns(facts: Facts, blocks: list[_Block]) -> bool:
    """Tell whether anything is drawn below the last strips."""
    return facts.minus_at_last or len(blocks) > 1


def _main(paper: Paper, facts: Facts, blocks: list[_Block], top: float) -> None:
    """Main conductors from the box of loads to where the bank is taken off."""
    first, last = blocks[0], blocks[-1]
    start = first.at(0)
    paper.line([(first.plus, top), (first.plus, start)], PLUS, WIRE_PX)
    paper.resistor((first.plus, top + 20.0), upright=True, colour=PLUS)
    if facts.main.fuse:
        paper.fuse((first.plus, top + 48.0), upright=True, colour=PLUS)
    if facts.minus_at_last:
        low, right = last.end + 2.0, last.x + last.width + RETURN_PX - 4.0
        paper.line(
            [(last.minus, last.at(last.count - 1)), (last.minus, low), (right, low), (right, top)],
            MINUS,
            WIRE_PX,
        )
        paper.dot((last.minus, last.at(last.count - 1)), MINUS, 5.0)
        paper.text(last.minus - 10.0, low + 4.0, f"take-off {MINUS_SIGN}", bold=True, anchor="end")
    else:
        paper.line([(first.minus, top), (first.minus, start)], MINUS, WIRE_PX)
        paper.dot((first.minus, start), MINUS, 5.0)
    paper.dot((first.plus, start), PLUS, 5.0)
    _main_words(paper, facts, first, top)


def _main_words(paper: Paper, facts: Facts, block: _Block, top: float) -> None:
    room = block.width - 2 * RAIL_IN_PX - 48.0
    main = f"main conductors {', '.join(facts.main.parts)}"
    words = [*in_two(main, room, FACT_PX), facts.arrangement]
    if facts.link is not None:
        words.append(f"each link {', '.join(facts.link.parts)}")
    for line, text in enumerate(word for word in words if word):
        paper.text(block.plus + 24.0, top + 20.0 + 15.0 * line, text, room=room)
    taken = "take-off " if facts.link is not None else ""
    y = top + MAIN_PX - 4.0
    paper.text(block.plus + 12.0, y, f"{taken}+", bold=True)
    if not facts.minus_at_last:
        paper.text(block.minus - 12.0, y, f"{taken}{MINUS_SIGN}", bold=True, anchor="end")


def _rails(paper: Paper, facts: Facts, block: _Block, number: int, blocks: int) -> None:
    """Both rails of a column; where they go on in the next one, a letter says so."""
    equal = facts.layout is Layout.EQUAL_LEADS
    from_before, goes_on = number > 0, number + 1 < blocks
    for x, colour, sign in ((block.plus, PLUS, "+"), (block.minus, MINUS, MINUS_SIGN)):
        start = block.y - 14.0 if from_before else block.at(0)
        end = block.end + 2.0 if goes_on else block.at(block.count - 1)
        if end > start:
            paper.line([(x, start), (x, end)], colour, BAR_PX if equal else RAIL_PX)
        if facts.link is not None:
            for place in range(block.count - (0 if goes_on else 1)):
                paper.resistor((x, block.at(place) + block.pitch / 2), upright=True, colour=colour)
        for shown, y, letter in (
            (from_before, block.y - 20.0, number - 1),
            (goes_on, block.end + 10.0, number),
        ):
            if shown:
                _goes_on(paper, x, y, f"{chr(ord('a') + letter)}{sign}", colour)


def _goes_on(paper: Paper, x: float, y: float, text: str, colour: str) -> None:
    paper.box(x - 12.0, y - 9.0, 24.0, 18.0, fill=SHEET, colour=colour, round_px=9.0)
    paper.text(x, y + 4.0, text, anchor="middle", bold=True)


def _strip(paper: Paper, source: Source, block: _Block, place: int, *, is_picked: bool) -> None:
    y, left, right = block.at(place), block.x + BOX_IN_PX, block.x + block.width - 34.0
    paper.line([(block.plus, y), (left, y)], PLUS, WIRE_PX)
    paper.line([(right, y), (block.minus, y)], MINUS, WIRE_PX)
    paper.dot((block.plus, y), PLUS)
    paper.dot((block.minus, y), MINUS)
    fused = bool(source.lead.fuse)
    paper.resistor((block.plus + (15.0 if fused else 26.0), y), colour=PLUS)
    if fused:
        paper.fuse((block.plus + 39.0, y), colour=PLUS)
    top, room = y - BOX_PX / 2, right - left
    paper.box(left, top, room, BOX_PX, line=4.0 if is_picked else 1.5)
    marks_px = _marks_px(source, room)
    paper.cells(right - 8.0 - marks_px, top + 12.0, source.cells, marks_px)
    paper.name(left + 8.0, top + 16.0, source.name, room - marks_px - 26.0)
    facts = [part for part in (source.chemistry, source.label, source.holds) if part]
    paper.text(left + 8.0, top + 32.0, ", ".join(facts), room=room - 16.0)
    _below(paper, source, left, right, top + BOX_PX)


def _below(paper: Paper, source: Source, left: float, right: float, top: float) -> None:
    """Write the lead and the number of cells under the box of a battery."""
    series = source.series_shortly
    aside = width_px(series, SMALL_PX) + 8.0 if series else 0.0
    lead = ", ".join(part for part in (source.lead.resistance, source.lead.fuse) if part)
    paper.text(
        left, top + 13.0, f"lead {lead}", size=SMALL_PX, fill=SOFT, room=right - left - aside
    )
    paper.text(right, top + 13.0, series, size=SMALL_PX, fill=SOFT, anchor="end")
    if source.lead.copper:
        paper.text(
            left, top + 25.0, source.lead.copper, size=SMALL_PX, fill=SOFT, room=right - left
        )


def _marks_px(source: Source, room: float) -> float:
    return min(7.0 * min(source.cells, MOST_MARKS), 0.4 * room)
