"""The life of the bank in sentences: who did what, when, with how many amperes, and why."""

import numpy as np

from bankSim.model.curve import Floats
from bankSim.show.block_chapters import block_chapters
from bankSim.show.blocks import Section
from bankSim.show.cascade_chapters import cascade_chapters
from bankSim.show.chapters import Chapter
from bankSim.show.course import BRIEF_S, Course, course_of
from bankSim.show.crowds import amounts, names
from bankSim.show.headline import delivers
from bankSim.show.patterns import patterns
from bankSim.show.supplies import charger_lines, heater_lines, load_chapters
from bankSim.show.whens import at
from bankSim.show.words import percent
from bankSim.sim.numbers import listing, number
from bankSim.sim.result import Result
from bankSim.sim.returns import column

MOST_CHAPTERS = 60
MUCH_MORE, LEAST_PER_H = 2.0, 0.02  # than at the start; of the label capacity
MOST_CHAPTERS_BRIEFLY = 12
ROUNDS_UP = 1.005  # is told as 101 %
OVERFULL = "; above 100 %: held above its voltage at rest when full"


def life(result: Result, *, briefly: bool = False) -> Section | None:
    """Tell the run in the order of time, then the habits of the bank, chargers and heaters.

    Parameters
    ----------
    result : Result
    briefly : bool
        True: of a long row of happenings only the weightiest.

    Returns
    -------
    section : Section or None
        None for a run that ended at once.
    """
    course = course_of(result)
    if course.start_s.size == 0:
        return None
    chapters = [*cascade_chapters(result), *block_chapters(result), *load_chapters(result, course)]
    chapters += _heaviest(result)
    lines = [
        _opening(result, course),
        *_in_time(chapters, MOST_CHAPTERS_BRIEFLY if briefly else MOST_CHAPTERS),
        *patterns(result, course),
        *charger_lines(result, course),
        *heater_lines(result, course),
        *_closing(result, course),
    ]
    return Section("The life of the bank", tuple(lines))


def _in_time(chapters: list[Chapter], most: int) -> list[str]:
    """Keep the weightiest, in the order of time, and count what is left out."""
    kept = sorted(chapters, key=lambda one: (-one.weight, one.time_s))[:most]
    lines = [one.text for one in sorted(kept, key=lambda one: one.time_s)]
    hidden = sum(one.count for one in chapters) - sum(one.count for one in kept)
    if hidden:
        lines.append(f"{hidden} smaller events are left out here; all are in events.csv.")
    return lines


def _opening(result: Result, course: Course) -> str:
    """Say what flows just after the start, the largest first."""
    first = _currents(result, int(np.searchsorted(result.trace[:, 0], 0.0, side="right")) - 1)
    order, idle = np.argsort(-np.abs(first), kind="stable"), course.idle_A[:, 0]
    texts = []
    for mask, one, many in (
        (first > idle, "feeds", "feed"),
        (first < -idle, "is charged", "are charged"),
        (np.abs(first) <= idle, "rests", "rest"),
    ):
        places = [int(place) for place in order if mask[place]]
        if places:
            verb = one if len(places) == 1 else many
            texts.append(f"{_who(result, places, first, rests=one == 'rests')} {verb}")
    return f"At the start {'; '.join(texts)}."


def _currents(result: Result, row: int) -> Floats:
    """Currents of all batteries in a row of the trace. [A]"""
    return np.array([column(result.trace, k, 0)[row] for k in range(len(result.batteries))])


def _heaviest(result: Result) -> list[Chapter]:
    """Say when the bank gives most, where that is much more than at the start."""
    lasts = np.diff(result.trace[:, 0]) > BRIEF_S  # what a rule stops at once has not flowed
    bank_A = np.where(np.append(lasts, False) | np.append(False, lasts), result.trace[:, 3], 0.0)
    row = int(np.argmax(bank_A))
    amps, time_s = _currents(result, row), float(result.trace[row, 0])
    least_A = LEAST_PER_H * sum(one.rated_Ah for one in result.batteries)
    if bank_A[row] <= max(MUCH_MORE * bank_A[0], least_A) or time_s == 0.0:
        return []
    places = [int(k) for k in np.argsort(-amps, kind="stable") if amps[k] > 0.0]
    told = amounts(result, places, [f"({number(amps[k])} A)" for k in places], 4)
    who = f"all from {names(result, places)}" if len(places) == 1 else told
    text = f"The bank gives most {at(result, time_s)}: {number(bank_A[row])} A, {who}."
    return [Chapter(time_s, text)]


def _who(result: Result, places: list[int], amps: Floats, *, rests: bool) -> str:
    if rests:
        return names(result, places)
    return amounts(result, places, [f"({number(abs(amps[place]))} A)" for place in places], 3)


def _closing(result: Result, course: Course) -> list[str]:
    """Say in which range the charge moved, and who stands blocked at the end."""
    lines = []
    if result.chargers or not delivers(result):
        ends = [
            f"{percent(held.min())} to {percent(held.max())}, {percent(held[-1])} at the end"
            for held in course.held
        ]
        told = amounts(result, range(len(ends)), [f"({text})" for text in ends], 4)
        over = any(held.max() > ROUNDS_UP for held in course.held)
        lines.append(f"State of charge: {told}{OVERFULL if over else ''}.")
    shut: dict[str, list[int]] = {}
    for place, battery in enumerate(result.batteries):
        if battery.blocked is not None:
            shut.setdefault(battery.blocked, []).append(place)
    ways = [
        f"{names(result, places)} ({'charge and discharge' if way == 'both' else way})"
        for way, places in shut.items()
    ]
    return [*lines, *([f"Still blocked at the end: {listing(ways)}."] if ways else [])]
