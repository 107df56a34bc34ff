"""The course of a run: its trace as spans of time, and what every battery does in each."""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from bankSim.kernels.arrays import FIXED, PER_BATTERY
from bankSim.model.curve import Floats
from bankSim.model.load import Flags
from bankSim.model.rule import Blocks
from bankSim.sim.result import Result
from bankSim.sim.returns import chargers_A

IDLE_PER_H = 1e-3
BRIEF_S = 1e-6
BIT = {"charge": int(Blocks.CHARGE), "discharge": int(Blocks.DISCHARGE), "both": int(Blocks.BOTH)}


@dataclass(frozen=True, slots=True, eq=False)
class Course:
    """Spans of time between neighbouring rows of a trace; currents are means over the span.

    Parameters
    ----------
    start_s, length_s : array (m,)
        Lengths are more than 0. [s]
    current_A : array (n, m)
        Of every battery, discharge positive. [A]
    blocked : array (n, m)
        Bits: 1 charge, 2 discharge. [bits]
    held : array (n, m)
        State of charge at the begin of the span. [1]
    bank_A, bus_V, at_loads_V : array (m,)
        Through the take-off; at the take-off (0 where it is dead at either end of the span);
        behind the main conductors. [A], [V], [V]
    charger_A : array (c, m)
        Of every charger. [A]
    idle_A : array (n, 1)
        A battery whose current is below this rests. [A]
    """

    start_s: Floats
    length_s: Floats
    current_A: Floats
    blocked: Floats
    held: Floats
    bank_A: Floats
    bus_V: Floats
    at_loads_V: Floats
    charger_A: Floats
    idle_A: Floats

    @property
    def end_s(self) -> Floats:
        """Ends of the spans. [s]"""
        return self.start_s + self.length_s

    @property
    def feeds(self) -> Flags:
        """Where a battery gives current, (n, m)."""
        return self.current_A > self.idle_A

    @property
    def takes(self) -> Flags:
        """Where a battery is charged, (n, m)."""
        return self.current_A < -self.idle_A

    @property
    def rests(self) -> Flags:
        """Where hardly any current flows through a battery, (n, m)."""
        return np.abs(self.current_A) <= self.idle_A

    @property
    def loads_A(self) -> Floats:  # noqa: N802 - the unit as printed
        """Current of all loads and heaters together, (m,). [A]"""
        return np.asarray(self.bank_A + self.charger_A.sum(axis=0))


def course_of(result: Result) -> Course:
    """Read the trace of a run; a run that ended at once has no spans.

    A battery rests below a thousandth of its label per hour: 0.1 A for 100 Ah.
    """
    rows, batteries = result.trace, len(result.batteries)
    length = np.diff(rows[:, 0])
    here = np.flatnonzero(length > BRIEF_S)
    at = FIXED + PER_BATTERY * np.arange(batteries)
    chargers = chargers_A(rows, len(result.scenario.bank.chargers)).T

    def mean(values: Floats) -> Floats:
        return np.asarray(0.5 * (values[here] + values[here + 1]))

    return Course(
        start_s=rows[here, 0],
        length_s=length[here],
        current_A=np.array([mean(rows[:, column]) for column in at]),
        blocked=np.array([rows[here, column + 4] for column in at]),
        held=np.array([rows[here, column + 2] for column in at]),
        bank_A=mean(rows[:, 3]),
        bus_V=np.where((rows[here, 2] == 0.0) | (rows[here + 1, 2] == 0.0), 0.0, mean(rows[:, 2])),
        at_loads_V=mean(rows[:, 4]),
        charger_A=np.array([mean(one) for one in chargers]).reshape(len(chargers), here.size),
        idle_A=np.array([[IDLE_PER_H * one.rated_Ah] for one in result.batteries]),
    )


def stretches(course: Course, where: Flags, gap_s: float = 0.0) -> list[tuple[float, float]]:
    """Return begin and end of every unbroken stretch of the spans marked in `where`. [s]

    Parameters
    ----------
    course : Course
    where : array (m,)
    gap_s : float
        Breaks up to this long are bridged. [s]
    """
    marked = np.concatenate([[False], where, [False]]).astype(int)
    begins, ends = np.flatnonzero(np.diff(marked) == 1), np.flatnonzero(np.diff(marked) == -1) - 1
    found: list[tuple[float, float]] = []
    for begin, end in zip(course.start_s[begins], course.end_s[ends], strict=True):
        if found and begin - found[-1][1] <= gap_s + BRIEF_S:
            found[-1] = (found[-1][0], float(end))
        else:
            found.append((float(begin), float(end)))
    return found


def changes(times: Floats, modes: Floats, bit: int) -> list[tuple[float, float | None]]:
    """Return when a direction was blocked and when it was open again (None: never). [s]

    Parameters
    ----------
    times, modes : array (r,)
        Rows of a trace: time and blocked directions. [s; bits]
    bit : int
        The direction.
    """
    shut = (modes.astype(int) & bit) > 0
    marks = np.flatnonzero(np.diff(np.concatenate([[False], shut]).astype(int)) != 0)
    ends: list[float | None] = [float(times[place]) for place in marks]
    ends += [None] if shut.size and shut[-1] else []
    return [(a, b) for a, b in list(pairwise(ends))[::2] if a is not None]
