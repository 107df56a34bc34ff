"""What batteries block and release, in sentences; what repeats itself is condensed into one."""

from collections.abc import Callable, Iterable

import numpy as np

from bankSim.show.cascade_chapters import told_in_cascades
from bankSim.show.causes import cause
from bankSim.show.chapters import HEAVY, USUAL, Chapter
from bankSim.show.crowds import names, sentence
from bankSim.show.episodes import TIE_S, Episode, clusters, episodes, given_up
from bankSim.show.surges import is_loud, jump, surges
from bankSim.show.whens import at, between
from bankSim.sim.numbers import number, quoted, span
from bankSim.sim.result import Result

ALIKE_S = 600.0
HEAVY_SURGE_PER_H = 0.1
CAUSES_TOLD = 3
WORD = {"both": "charge and discharge"}
Row = list[Episode]


def block_chapters(result: Result) -> list[Chapter]:
    """Chapters of all blocks and come-backs that no cascade has told."""
    rows = clusters(episodes(result))
    single = [row[0] for row in rows if len(row) == 1]
    known = told_in_cascades(result)
    shuts = [one for one in single if one.shut is None or id(one.shut) not in known]
    back = [one for one in single if one.end_s is not None]
    return [
        *(_row(result, group) for group in _alike(row for row in rows if len(row) > 1)),
        *(_shut(result, group) for group in _together(shuts, lambda one: one.start_s)),
        *(_opened(result, group) for group in _together(back, lambda one: one.end_s or 0.0)),
    ]


def _together(found: Row, time: Callable[[Episode], float]) -> list[Row]:
    """Gather what happens at one instant in the same direction."""
    groups: dict[tuple[str, int], Row] = {}
    for one in sorted(found, key=time):
        groups.setdefault((one.direction, round(time(one) / TIE_S)), []).append(one)
    return list(groups.values())


def _alike(rows: Iterable[Row]) -> list[list[Row]]:
    """Gather rows of several batteries that begin close together and go the same way."""
    groups: list[list[Row]] = []
    for row in rows:
        for group in groups:
            first = group[0]
            close = abs(first[0].start_s - row[0].start_s) < ALIKE_S
            if close and first[0].direction == row[0].direction and len(first) == len(row):
                group.append(row)
                break
        else:
            groups.append([row])
    return groups


def _names(result: Result, group: Row) -> str:
    return sentence(names(result, [one.battery for one in group]))


def _shut(result: Result, group: Row) -> Chapter:
    first, way = group[0], WORD.get(group[0].direction, group[0].direction)
    verb = "blocks" if len(group) == 1 else "block"
    text = f"{_names(result, group)} {verb} {way} {at(result, first.start_s)}{_why(result, group)}"
    return Chapter(first.start_s, f"{text}{_before(group)}.", USUAL, len(group))


def _why(result: Result, group: Row, *, readings: bool = True) -> str:
    """One cause when all share it, else one for each of the first few."""
    events = [one.shut for one in group if one.shut is not None]
    if len(events) == 1:
        return f": {cause(result, events[0], readings=readings)}"
    shared = {cause(result, event, readings=False) for event in events}
    if len(shared) == 1:
        return f": in each of them, {shared.pop()}"
    told = [f"{quoted(event.battery or '')}: {cause(result, event)}" for event in events]
    more = "; ..." if len(told) > CAUSES_TOLD else ""
    return f" ({'; '.join(told[:CAUSES_TOLD])}{more})" if told else ""


def _before(group: Row) -> str:
    """Say what a lone battery carried until then."""
    one = group[0]
    if len(group) > 1 or one.shut is None or abs(one.shut.currents_A[one.battery]) < 1e-3:
        return ""
    amps = one.shut.currents_A[one.battery]
    return f"; until then it {'gave' if amps > 0.0 else 'took'} {number(abs(amps))} A"


def _opened(result: Result, group: Row) -> Chapter:
    first, way = group[0], WORD.get(group[0].direction, group[0].direction)
    lone = len(group) == 1
    why = f": {cause(result, first.opened)}" if lone and first.opened is not None else ""
    text = (
        f"{_names(result, group)} {'allows' if lone else 'allow'} {way} again "
        f"{at(result, first.end_s or 0.0)}, {_kept(group)} later{why}; {surges(result, group)}."
    )
    largest = max(one.jump_A() / result.batteries[one.battery].rated_Ah for one in group)
    weight = HEAVY if largest > HEAVY_SURGE_PER_H else USUAL
    return Chapter(first.end_s or 0.0, text, weight, len(group))


def _kept(group: Row) -> str:
    """How long it was blocked, the middle of several."""
    return span(float(np.median([(one.end_s or 0.0) - one.start_s for one in group])))


def _row(result: Result, group: list[Row]) -> Chapter:
    """Tell a row of repeated blocks in one sentence; several batteries alike share it."""
    row, lone = group[0], len(group) == 1
    first, last, way = row[0], row[-1], WORD.get(row[0].direction, row[0].direction)
    every = [one for own in group for one in own]
    back = [one for one in every if one.end_s is not None]
    who = sentence(names(result, [own[0].battery for own in group]))
    why = _why(result, [own[0] for own in group], readings=False)
    times = sum(one.end_s is not None for one in row)
    spell = between(first.start_s, last.start_s if last.end_s is None else last.end_s)
    text = (
        f"{who} {'blocks' if lone else 'block'} {way} and {'comes' if lone else 'come'} back "
        f"{times} times {spell}{why}; out for {_kept(back)} as a rule"
        f"{_loudest(result, back)}{_then(result, last)}."
    )
    return Chapter(first.start_s, text, HEAVY, 2 * len(every))


def _loudest(result: Result, back: Row) -> str:
    """Name the largest jump of current of many come-backs."""
    loudest = max(back, key=Episode.jump_A)
    if not is_loud(result, loudest):
        return "; the currents hardly change at the come-backs"
    name = quoted(result.batteries[loudest.battery].name)
    when = at(result, loudest.end_s or 0.0)
    return f"; the largest surge at a come-back, {when}: {name} {jump(loudest)}"


def _then(result: Result, last: Episode) -> str:
    if last.end_s is not None:
        return ""
    if not given_up(result, last):
        return "; the last block lasts to the end"
    return "; then it takes no more charge" if last.direction == "charge" else "; then it stays out"
