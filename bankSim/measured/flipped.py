"""A current whose sign changes while the voltage goes on as if nothing had happened."""

from dataclasses import dataclass, replace

import numpy as np

from bankSim.measured.log import WARNING, Finding, Rows
from bankSim.measured.sign import present
from bankSim.model.curve import Floats
from bankSim.sim.numbers import number

FLOWS = 0.1  # of the largest current: above it some flows
ALIKE = 0.25  # of the current: before and after a change of sign only, it is the same
STEPS = 0.3  # of the largest current: a change that the voltage must answer
ANSWERED = 0.25  # of the answer that the log's other steps make one expect
CLEAR = 6.0  # times the usual change from sample to sample
LASTING = 0.005  # of the voltage: what it must move on both sides of the change
NEAR, FAR = 3, 2_000  # samples looked at: of the step, and of the course beside it
WITHIN = 2  # samples in which the current may pass through zero
GAP = 3.0  # times the usual interval: across it anything may happen
MOST = 50  # turns looked at


@dataclass(frozen=True, slots=True)
class Flipped:
    """A change of sign that the voltage does not answer.

    Parameters
    ----------
    at : int
        First sample that is written the other way.
    before_A, after_A : float
        Current on both sides, in the sign of the file. [A]
    course : str
        "falling" or "rising" where the voltage does so on both sides, else "as before".
    count : int
        How many such changes there are.
    """

    at: int
    before_A: float
    after_A: float
    course: str
    count: int


def find_flipped(time_s: Floats, voltage_V: Floats, current_A: Floats) -> Flipped | None:
    """Return the first change of sign that no battery could answer in this way; None without one.

    From discharge to charge of the same size the voltage leaps up by twice what that current drops
    in the battery, and rises from there; back again it falls. It counts as flipped where that leap
    is missing though other steps of the log are answered, or where the voltage moves the same way
    for long on both sides without it.

    Parameters
    ----------
    time_s, voltage_V, current_A : array (n,)
        In the order of time. [s], [V], [A]
    """
    turns = _turns(time_s, current_A)[:MOST]
    if not turns:
        return None
    there = present(voltage_V)
    seen = _answer(voltage_V, current_A, there)
    found = [one for at in turns if (one := _look(at, voltage_V, current_A, there, seen))]
    return replace(found[0], count=len(found)) if found else None


def _turns(time_s: Floats, current_A: Floats) -> list[int]:
    """Return the samples at which the current has turned at once, not across a gap."""
    reach = float(np.max(np.abs(current_A), initial=0.0))
    busy = np.flatnonzero(np.abs(current_A) > FLOWS * reach)
    ways, usual_s = np.sign(current_A[busy]), float(np.median(np.diff(time_s)))
    turned = (ways[1:] != ways[:-1]) & (np.diff(busy) <= WITHIN)
    turned &= np.diff(time_s[busy]) <= GAP * WITHIN * usual_s
    return [int(busy[place + 1]) for place in np.flatnonzero(turned)]


def _look(
    at: int, voltage_V: Floats, current_A: Floats, there: np.ndarray, seen: tuple[float, float]
) -> Flipped | None:
    """Judge one turn of the current."""
    begin, end = _same_way(at, current_A)
    left, right = slice(begin, at - 1), slice(at + 1, end)
    if left.stop - left.start < NEAR or right.stop - right.start < NEAR:
        return None
    if not (there[left].all() and there[right].all()):
        return None
    before, after = (float(np.median(current_A[one])) for one in
                     (slice(left.stop - NEAR, left.stop), slice(at, at + NEAR)))  # fmt: skip
    if abs(abs(before) - abs(after)) > ALIKE * max(abs(before), abs(after)):
        return None
    leap = _level(voltage_V, right.start, right.start + NEAR) - _level(
        voltage_V, left.stop - NEAR, left.stop
    )
    moved = [_moved(voltage_V[one], current_A[one]) for one in (left, right)]
    if _unanswered(leap, before - after, seen) or _goes_on(leap, moved, voltage_V[at]):
        same = moved[0] * moved[1] > 0.0
        course = ("falling" if moved[0] < 0.0 else "rising") if same else "as before"
        return Flipped(at, before, after, course, 1)
    return None


def _same_way(at: int, current_A: Floats) -> tuple[int, int]:
    """Return the samples around a turn up to the next one on each side, or to a rest."""
    old = max(at - WITHIN, 0)
    low, high = max(at - FAR, 0), min(at + FAR, current_A.size)
    least = (1.0 - 2.0 * ALIKE) * min(abs(current_A[at]), np.abs(current_A[old:at]).max())
    before = np.flatnonzero(~_like(current_A[low : at - 1], current_A[old], least))
    after = np.flatnonzero(~_like(current_A[at:high], current_A[at], least))
    begin = low + int(before[-1]) + 1 if before.size else low
    return begin, at + int(after[0]) if after.size else high


def _like(current_A: Floats, one: float, least: float) -> np.ndarray:
    return np.asarray((np.sign(current_A) == np.sign(one)) & (np.abs(current_A) > least))


def _level(voltage_V: Floats, begin: int, end: int) -> float:
    return float(np.median(voltage_V[begin:end]))


def _moved(voltage_V: Floats, current_A: Floats) -> float:
    """Return how far a voltage moved at a steady current; 0 where the current was not steady."""
    few = max(voltage_V.size // 10, 1)
    sizes = [float(np.median(np.abs(one))) for one in (current_A[:few], current_A[-few:])]
    if abs(sizes[0] - sizes[1]) > ALIKE * max(sizes):
        return 0.0
    return float(np.median(voltage_V[-few:]) - np.median(voltage_V[:few]))


def _answer(voltage_V: Floats, current_A: Floats, there: np.ndarray) -> tuple[float, float]:
    """Return what the voltage answers to a change of current, and what it does on its own.

    The first in ohm, from the steps of the log that are no turns, 0 where there is none; the
    second is the usual change from sample to sample, where there is one. [V]
    """
    jumps, answers = np.diff(current_A), np.diff(voltage_V)
    reach = float(np.max(np.abs(current_A), initial=0.0))
    turns = np.sign(current_A[1:]) * np.sign(current_A[:-1]) < 0.0
    steps = (np.abs(jumps) > STEPS * reach) & there[1:] & there[:-1] & ~turns
    ohm = float(np.median(np.abs(answers[steps] / jumps[steps]))) if steps.any() else 0.0
    moved = np.abs(answers[~steps & (answers != 0.0)])  # those that stand still show no noise
    usual = float(np.median(moved)) if moved.size else 0.0
    usual = max(usual, 1e-4 * float(np.median(np.abs(voltage_V))))
    return ohm, usual


def _unanswered(leap: float, change_A: float, seen: tuple[float, float]) -> bool:
    """Tell whether a leap is far smaller than those at the other steps of the log."""
    expected = seen[0] * abs(change_A)
    return expected > CLEAR * seen[1] and abs(leap) < ANSWERED * expected


def _goes_on(leap: float, moved: list[float], voltage_V: float) -> bool:
    """Tell whether the voltage moves the same way on both sides, with no leap between."""
    least = LASTING * abs(voltage_V)
    same = moved[0] * moved[1] > 0.0
    return bool(same and min(map(abs, moved)) > least and abs(leap) < least)


def flipped_finding(flipped: Flipped, rows: Rows) -> Finding:
    """Warn that a part of the log is written with the wrong sign."""
    row = int(rows[flipped.at])
    more = f" {flipped.count - 1} more like it." if flipped.count > 1 else ""
    text = (
        f"Row {row}: the direction of the current changes, from {number(flipped.before_A)} to "
        f"{number(flipped.after_A)} A in the file, but the voltage does not leap as it would and "
        f"goes on {flipped.course}: a part of the log has the wrong sign, and Ah and Wh are wrong."
        f"{more} Look at how it was logged, and turn the sign of the one part."
    )
    return Finding(text, (row,), flipped.count, WARNING, spoils=True)
