"""Habits of a bank that people meet: taking turns, sitting at full, leading and following."""

from itertools import pairwise

import numpy as np

from bankSim.show.course import BIT, Course, stretches
from bankSim.show.words import percent, volts
from bankSim.sim.numbers import listing, number, quoted, span
from bankSim.sim.result import Result

SOLE = 0.8
STINT_S = 300.0
LEAST_TURNS = 3
FULL, STEADY, DRAINED = 0.85, 0.03, 0.1
LEADS = 0.25
LONG_OUT = 0.2
DIODE_AH = 0.005


def patterns(result: Result, course: Course) -> list[str]:
    """Name the habits that this run shows, a sentence each."""
    lines = [*_turns(result, course), *_sitting(result, course), *_through_diodes(result, course)]
    return lines if result.chargers else [*lines, *_leading(result, course)]


def _turns(result: Result, course: Course) -> list[str]:
    """First one, then another battery carries nearly all that the bank gives."""
    total = course.current_A.sum(axis=0)
    gives = total > course.idle_A.sum()
    part = np.where(gives, course.current_A / np.where(gives, total, 1.0), 0.0)
    sole = np.where(part.max(axis=0) >= SOLE, part.argmax(axis=0), -1)
    stints = [
        (start, end, place)
        for place in range(len(result.batteries))
        for start, end in stretches(course, sole == place, gap_s=STINT_S)
        if end - start >= STINT_S
    ]
    stints.sort()
    changes = [pair for pair in pairwise(stints) if pair[0][2] != pair[1][2]]
    if len(changes) < LEAST_TURNS:
        return []
    who = sorted({place for _, _, place in stints})
    names = listing([quoted(result.batteries[place].name) for place in who], 4)
    return [
        f"They take turns: {names} change places {len(changes)} times as the one that carries "
        f"nearly all of the discharge, between {span(stints[0][0])} and {span(stints[-1][1])}."
    ]


def _sitting(result: Result, course: Course) -> list[str]:
    """One battery stays at full while another one drains."""
    lines = []
    for place, battery in enumerate(result.batteries):
        idle = stretches(course, course.rests[place], gap_s=STINT_S)
        found = [one for span_ in idle if (one := _drained(course, place, span_)) is not None]
        if not found:
            continue
        start_s, end_s, other, fall = max(found, key=lambda one: one[1] - one[0])
        held = course.held[place, np.searchsorted(course.start_s, start_s)]
        times = f" (the longest of {len(found)} such times)" if len(found) > 1 else ""
        lines.append(
            f"{quoted(battery.name)} sits at {percent(held)} from {span(start_s)} to {span(end_s)} "
            f"while {quoted(result.batteries[other].name)} drains by {percent(fall)} of its "
            f"capacity{times}: {_sits_because(result, course, place, start_s, end_s)}."
        )
    return lines[:3]


def _drained(
    course: Course, place: int, stretch: tuple[float, float]
) -> tuple[float, float, int, float] | None:
    """Return the stretch, who drained most in it and by how much, if the battery sat it out."""
    inside = slice(*np.searchsorted(course.start_s, stretch))
    held = course.held[:, inside]
    waits = np.all(course.blocked[place, inside] == BIT["charge"])
    full = held.shape[1] > 1 and (waits or held[place].min() >= FULL)
    if not full or np.ptp(held[place]) > STEADY:
        return None
    falls = held.max(axis=1) - held[:, -1]
    other = int(np.argmax(falls))
    return (*stretch, other, float(falls[other])) if falls[other] >= DRAINED else None


def _sits_because(result: Result, course: Course, place: int, start_s: float, end_s: float) -> str:
    shut = course.blocked[place, slice(*np.searchsorted(course.start_s, (start_s, end_s)))]
    usual = int(np.median(shut))
    if usual == BIT["charge"]:
        drop = volts(result.scenario.bank.batteries[place].diode_drop_V)
        return (
            "its charge is blocked, so it can give only through the body diode, once the bus is "
            f"{drop} below its own voltage"
        )
    if usual:
        return "its discharge is blocked"
    return "the others hold the voltage of the bus where it neither gives nor takes"


def _through_diodes(result: Result, course: Course) -> list[str]:
    """Charge that went through body diodes while the other direction was blocked."""
    lines = []
    for way, verb, flows in (("charge", "give", course.feeds), ("discharge", "take", course.takes)):
        told = []
        for place, battery in enumerate(result.batteries):
            where = flows[place] & (course.blocked[place] == BIT[way])
            moved_Ah = float(
                (np.abs(course.current_A[place]) * course.length_s)[where].sum() / 3600.0
            )
            if moved_Ah > DIODE_AH * battery.rated_Ah:
                hours = span(float(course.length_s[where].sum()))
                what = f"{quoted(battery.name)} {verb}s {number(moved_Ah)} Ah so, in {hours}"
                told.append((moved_Ah, what))
        if told:
            names = [text for _, text in sorted(told, reverse=True)]
            lines.append(
                f"With {way} blocked, current still flows the other way through the body diode: "
                f"{listing(names, 3)}."
            )
    return lines


def _out(course: Course, places: tuple[int, ...]) -> bool:
    """Tell whether one of these is out for long: its rule and not its nature decides then."""
    shut = (course.blocked[list(places)].astype(int) & BIT["discharge"]) > 0
    return bool(((shut * course.length_s).sum(axis=1) > LONG_OUT * course.length_s.sum()).any())


def _leading(result: Result, course: Course) -> list[str]:
    """One battery does most of the work first, another one late."""
    total = np.maximum(course.current_A.sum(axis=0), 0.0) * course.length_s
    given = np.maximum(course.current_A, 0.0) * course.length_s * (total > 0.0)
    if len(result.batteries) < 2 or total.sum() <= 0.0 or given.sum() <= 0.0:
        return []
    early = np.cumsum(total) <= 0.5 * total.sum()
    if not given[:, early].sum() or not given[:, ~early].sum():
        return []
    first = given[:, early].sum(axis=1) / given[:, early].sum()
    second = given[:, ~early].sum(axis=1) / given[:, ~early].sum()
    lead, follow = int(np.argmax(first - second)), int(np.argmax(second - first))
    if first[lead] - second[lead] < LEADS or _out(course, (lead, follow)):
        return []
    late = quoted(result.batteries[follow].name)
    return [
        f"{quoted(result.batteries[lead].name)} does most of its work first: it gives "
        f"{percent(first[lead])} of the first half of the Ah that the bank gives and "
        f"{percent(second[lead])} of the second half; {late} follows late "
        f"({percent(first[follow])}, then {percent(second[follow])})."
    ]
