"""What is written above the lanes: surges, cascades, blocks, hiccups; never one over another."""

from dataclasses import dataclass

from bankSim.show.episodes import Episode, clusters, episodes, given_up
from bankSim.show.surges import is_loud
from bankSim.sim.cascades import cascades, chain_events
from bankSim.sim.numbers import number
from bankSim.sim.result import Event, Result

CASCADE, MANY, SURGE, PLAIN = 4.0, 3.5, 3.0, 1.0
SHORT = {"charge": "blocks charge", "discharge": "cuts out", "both": "blocks both ways"}
BACK = {"charge": "charge again", "discharge": "comes back", "both": "comes back"}


@dataclass(frozen=True, slots=True)
class Mark:
    """A text at an instant of a lane; where there is no room the heavier one stays."""

    lane: int
    time_s: float
    text: str
    weight: float


@dataclass(frozen=True, slots=True)
class Placed:
    """A mark with its row above the lane and where its text begins and ends, as parts of 1.

    Parts of the width. [1]
    """

    mark: Mark
    row: int
    start: float
    end: float


def marks(result: Result) -> list[Mark]:
    """Return everything worth a mark, in the order of time."""
    found = _cascade_marks(result)
    known = {(mark.lane, mark.time_s) for mark in found}
    for row in clusters(episodes(result)):
        if len(row) > 1:
            found.append(_many(result, row))
        else:
            found += [mark for mark in _single(result, row[0]) if _new(mark, known)]
    found += [_loudest(result, row) for row in clusters(episodes(result)) if len(row) > 1]
    return sorted((one for one in found if one.text), key=lambda one: one.time_s)


def _new(mark: Mark, known: set[tuple[int, float]]) -> bool:
    return (mark.lane, mark.time_s) not in known


def lane_of(result: Result, event: Event) -> int:
    """Return the place of the event's battery, counted from 0."""
    return [battery.name for battery in result.batteries].index(event.battery or "")


def _cascade_marks(result: Result) -> list[Mark]:
    found = []
    for chain in cascades(result):
        first = chain_events(chain)[0]
        lane = lane_of(result, first)
        text = f"trips at {number(first.currents_A[lane])} A: cascade"
        found.append(Mark(lane, first.time_s, text, CASCADE))
        for link in chain:
            text = f"pushed to {number(link.to_A)} A, trips"
            found.append(Mark(lane_of(result, link.event), link.event.time_s, text, CASCADE))
    return found


def _single(result: Result, one: Episode) -> list[Mark]:
    shut = Mark(one.battery, one.start_s, SHORT[one.direction], PLAIN)
    if one.end_s is None:
        return [shut]
    loud = one.opened is not None and is_loud(result, one)
    text = f"comes back{_surge(one)}" if loud else BACK[one.direction]
    return [shut, Mark(one.battery, one.end_s, text, SURGE if loud else PLAIN)]


def _surge(one: Episode) -> str:
    amps = one.surge_A()
    return f": {'gives' if amps > 0.0 else 'takes'} {number(abs(amps))} A"


def _many(result: Result, row: list[Episode]) -> Mark:
    first = row[0]
    out = "takes no more" if first.direction == "charge" else "stays out"
    then = f", then {out}" if given_up(result, row[-1]) else ""
    return Mark(first.battery, first.start_s, f"{SHORT[first.direction]} x {len(row)}{then}", MANY)


def _loudest(result: Result, row: list[Episode]) -> Mark:
    """Return the largest surge of many come-backs; an empty text when none is loud."""
    back = [one for one in row if one.opened is not None and is_loud(result, one)]
    if not back:
        return Mark(row[0].battery, row[0].start_s, "", PLAIN)
    one = max(back, key=Episode.jump_A)
    return Mark(one.battery, one.end_s or 0.0, f"comes back{_surge(one)}", SURGE)


def place_marks(
    found: list[Mark], end_s: float, rows: int, letter: float, gap: float
) -> tuple[list[Placed], int]:
    """Choose the marks that fit, the heaviest first, and their rows.

    Parameters
    ----------
    found : list of Mark
    end_s : float
        Right edge. [s]
    rows : int
        Rows of text above each lane.
    letter, gap : float
        Width of a letter and of the space between texts, as parts of the lane's length. [1]

    Returns
    -------
    placed : list of Placed
    hidden : int
        How many found no room.
    """
    placed: list[Placed] = []
    for mark in sorted(found, key=lambda one: (-one.weight, one.time_s)):
        here = mark.time_s / end_s
        width = letter * len(mark.text)
        start = min(here, max(1.0 - width, 0.0))
        taken = [one for one in placed if one.mark.lane == mark.lane]
        for row in range(rows):
            free = all(
                one.row != row or start > one.end + gap or one.start > start + width + gap
                for one in taken
            )
            if free:
                placed.append(Placed(mark, row, start, start + width))
                break
    return placed, len(found) - len(placed)
