"""Episodes: from the instant at which a battery blocks a direction until it lets it go again."""

from bisect import bisect_left, bisect_right
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from bankSim.kernels.arrays import FIXED, PER_BATTERY
from bankSim.show.course import BIT, changes
from bankSim.sim.result import MAY_RETURN, RELEASE, STAYS_OUT, TRIP, Event, Result

TIE_S = 1e-3
FEW = 3
FAR = 6.0
SHUTS, OPENS = (TRIP, STAYS_OUT), (RELEASE, MAY_RETURN)


@dataclass(frozen=True, slots=True)
class Episode:
    """One direction of one battery is blocked.

    Parameters
    ----------
    battery : int
        Its place, counted from 0.
    direction : str
        "charge", "discharge" or "both".
    start_s, end_s : float
        [s]; `end_s` is None when it is still blocked at the end of the run.
    shut, opened : Event or None
        What blocked it and what let it go, where the log tells.
    """

    battery: int
    direction: str
    start_s: float
    end_s: float | None
    shut: Event | None
    opened: Event | None

    def length_s(self, end_of_run_s: float) -> float:
        """How long it lasts. [s]"""
        return (end_of_run_s if self.end_s is None else self.end_s) - self.start_s

    def surge_A(self) -> float:  # noqa: N802 - the unit as printed
        """Current of the battery just after it came back, discharge positive. [A]"""
        return 0.0 if self.opened is None else self.opened.currents_after_A[self.battery]

    def before_A(self) -> float:  # noqa: N802 - the unit as printed
        """Current just before it came back, through the body diode. [A]"""
        return 0.0 if self.opened is None else self.opened.currents_A[self.battery]

    def jump_A(self) -> float:  # noqa: N802 - the unit as printed
        """Size of the step of its current as it came back, >= 0. [A]"""
        return abs(self.surge_A() - self.before_A())


def episodes(result: Result) -> list[Episode]:
    """Return all episodes of a run in the order of time; both directions at once are one."""
    found: list[Episode] = []
    for place, battery in enumerate(result.batteries):
        at = FIXED + PER_BATTERY * place + 4
        own = [event for event in result.events if event.battery == battery.name]
        seen = {
            direction: changes(result.trace[:, 0], result.trace[:, at], BIT[direction])
            for direction in ("charge", "discharge")
        }
        others = set(seen["discharge"])
        shared = [stretch for stretch in seen["charge"] if stretch in others]
        together = set(shared)
        for direction, these in (*seen.items(), ("both", shared)):
            for begin, end in these:
                if direction == "both" or (begin, end) not in together:
                    found.append(_episode(place, direction, begin, end, own))
    return sorted(found, key=lambda one: one.start_s)


def _episode(place: int, way: str, begin: float, end: float | None, own: list[Event]) -> Episode:
    shut, opened = _event(own, SHUTS, way, begin), _event(own, OPENS, way, end)
    return Episode(place, way, begin, end, shut, opened)


def _event(own: list[Event], kinds: tuple[str, ...], way: str, time: float | None) -> Event | None:
    """Find the event of one of these kinds, at that time, that concerns this direction."""
    if time is None:
        return None
    first = bisect_left(own, time - 2.0 * TIE_S, key=lambda e: e.time_s)
    end = bisect_right(own, time + 2.0 * TIE_S, key=lambda e: e.time_s)
    near = (e for e in own[first:end] if e.what in kinds and abs(e.time_s - time) <= TIE_S)
    return next((e for e in near if e.blocks in (way, "both") or way == "both"), None)


def given_up(result: Result, last: Episode) -> bool:
    """Tell whether it goes on to the end because returns in vain of its direction are cut short.

    Parameters
    ----------
    result : Result
    last : Episode
        The last one of a battery and direction.
    """
    ways = ways_given_up(result).get(result.batteries[last.battery].name, set())
    own = ways if last.direction == "both" else ways & {last.direction, "both"}
    return last.end_s is None and bool(own)


def ways_given_up(result: Result) -> dict[str | None, set[str | None]]:
    """Return the directions in which returns in vain are cut short, by the name of the battery."""
    ways: dict[str | None, set[str | None]] = {}
    for event in result.events:
        if event.what == STAYS_OUT:
            ways.setdefault(event.battery, set()).add(event.blocks)
    return ways


def clusters(found: list[Episode]) -> list[list[Episode]]:
    """Gather the episodes of one battery and direction: the many that follow each other closely.

    Parameters
    ----------
    found : list of Episode
        From `episodes`, of the whole run.

    Returns
    -------
    gathered : list of list of Episode
        Single ones, and rows of more than 3, in the order of their first.
    """
    by_owner: dict[tuple[int, str], list[Episode]] = {}
    for episode in found:
        by_owner.setdefault((episode.battery, episode.direction), []).append(episode)
    gathered: list[list[Episode]] = []
    for own in by_owner.values():
        for row in _rows(own):
            gathered += [row] if len(row) > FEW else [[one] for one in row]
    return sorted(gathered, key=lambda row: row[0].start_s)


def _rows(own: list[Episode]) -> list[list[Episode]]:
    """Cut where the next one begins far later than is usual."""
    begins = np.array([one.start_s for one in own])
    usual = float(np.median(np.diff(begins))) if len(own) > FEW else 0.0
    rows = [[own[0]]]
    for before, one in pairwise(own):
        if len(own) > FEW and one.start_s - before.start_s <= FAR * usual:
            rows[-1].append(one)
        else:
            rows.append([one])
    return rows
