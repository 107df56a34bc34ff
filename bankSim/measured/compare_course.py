"""Voltage and currents over time, of a prediction and of a log alike, and what is read off them."""

from dataclasses import dataclass

import numpy as np

from bankSim.kernels.arrays import FIXED, PER_BATTERY
from bankSim.model.curve import Floats
from bankSim.sim.result import Result

START_S, START_PART = 600.0, 0.05  # shares at the start are means over the shorter of both


@dataclass(frozen=True, eq=False)
class Course:
    """What a bank did.

    Parameters
    ----------
    time_s : array (t,)
        In the scenario's time; never falls, may stand still. [s]
    voltage_V, current_A : array (t,)
        At the bus, through the take-off; discharge positive. [V], [A]
    batteries_A : array (batteries, t)
        Discharge positive; NaN all along where it is not known. [A]
    """

    time_s: Floats
    voltage_V: Floats
    current_A: Floats
    batteries_A: Floats

    @property
    def end_s(self) -> float:
        """Last instant. [s]"""
        return float(self.time_s[-1])

    @property
    def known(self) -> tuple[int, ...]:
        """Places of the batteries whose current is known."""
        return tuple(n for n, row in enumerate(self.batteries_A) if np.isfinite(row).all())

    def until(self, end_s: float) -> "Course":
        """Return the part up to an instant; at least one row."""
        count = max(int(np.searchsorted(self.time_s, end_s, side="right")), 1)
        here = slice(0, count)
        return Course(
            self.time_s[here], self.voltage_V[here], self.current_A[here], self.batteries_A[:, here]
        )

    def scaled(self, current: float = 1.0, voltage: float = 1.0) -> "Course":
        """Return what meters with another gain would have read. Both are factors. [1]"""
        return Course(
            self.time_s,
            self.voltage_V * voltage,
            self.current_A * current,
            self.batteries_A * current,
        )


def course_of(result: Result) -> Course:
    """Return the course of a finished run."""
    return course_of_trace(result.trace, len(result.batteries))


def course_of_trace(trace: Floats, count: int) -> Course:
    """Return the course of a trace (see `Result`) of so many batteries.

    Columns in the units of `Result`; copies, so that the cells of some hundred runs are let go.
    """
    places = FIXED + PER_BATTERY * np.arange(count)
    time_s, voltage_V, current_A = (trace[:, column].copy() for column in (0, 2, 3))
    return Course(time_s, voltage_V, current_A, trace[:, places].T)


def floor_of(current_A: Floats) -> float:
    """Return the current below which nothing flows: 2 % of what usually flows. [A]"""
    flowing = current_A[current_A > 0.0]
    usual = float(np.percentile(flowing, 95.0)) if flowing.size else 0.0
    return max(0.02 * usual, 0.02)


def starts_s(course: Course, floor_A: float) -> float | None:
    """Return the instant from which a current lasts; None where none does. [s]

    Between the last sample without and the first with it lies the truth: the middle is taken.
    """
    flows = course.current_A > floor_A
    lasting = flows & np.append(flows[1:], flows[-1])
    if not lasting.any():
        return None
    first = int(np.argmax(lasting))
    before = course.time_s[max(first - 1, 0)]
    return float((before + course.time_s[first]) / 2.0)


def stops_s(time_s: Floats, current_A: Floats, floor_A: float) -> float:
    """Return the last instant at which current flows; the first one where none does. [s]"""
    flows = np.flatnonzero(current_A > floor_A)
    return float(time_s[flows[-1]] if flows.size else time_s[0])


def area(time_s: Floats, values: Floats, at_s: Floats) -> Floats:
    """Return the integral of a line from its start to some instants. [unit of the line times s]"""
    parts = np.diff(time_s) * (values[1:] + values[:-1]) / 2.0
    whole = np.concatenate([[0.0], np.cumsum(parts)])
    at_s = np.clip(at_s, time_s[0], time_s[-1])
    row = np.searchsorted(time_s, at_s, side="right") - 1  # the last one up to each instant
    ends = values[row] + np.interp(at_s, time_s, values)
    return np.asarray(whole[row] + (at_s - time_s[row]) * ends / 2.0)


def in_steps(course: Course, edges_s: Floats) -> Floats:
    """Return means over steps of time: voltage, bank current, currents; (2 + n, steps). [V, A]

    The part of a step before the end of the course counts; steps after it are NaN.
    """
    inside = np.clip(edges_s, course.time_s[0], course.end_s)
    ran = np.diff(inside)
    rows = (course.voltage_V, course.current_A, *course.batteries_A)
    sums = np.array([np.diff(area(course.time_s, row, inside)) for row in rows])
    return np.where(ran > 0.0, sums / np.where(ran > 0.0, ran, 1.0), np.nan)


def delivered_Ah(time_s: Floats, current_A: Floats) -> float:  # noqa: N802 - the unit as printed
    """Return the charge given, without what was taken. [Ah]"""
    return float(area(time_s, np.maximum(current_A, 0.0), time_s[-1:])[0]) / 3600.0


def delivered_Wh(course: Course) -> float:  # noqa: N802 - the unit as printed
    """Return the energy given at the bus. [Wh]"""
    power = np.maximum(course.current_A, 0.0) * course.voltage_V
    return float(area(course.time_s, power, course.time_s[-1:])[0]) / 3600.0


def shares_at_start(course: Course, floor_A: float = 0.0) -> Floats:
    """Return the part of every battery in the charge of the first minutes under load; (n,). [1]"""
    flows = np.flatnonzero(course.current_A > floor_A)
    first = float(course.time_s[flows[0]] if flows.size else course.time_s[0])
    end = first + min(START_S, START_PART * (course.end_s - first))
    at = np.array([first, end])
    bank = np.diff(area(course.time_s, course.current_A, at))[0]
    own = np.array([np.diff(area(course.time_s, row, at))[0] for row in course.batteries_A])
    return own / bank if bank > 0.0 else np.full(len(own), np.nan)


def slip_Ah(time_s: Floats, current_A: Floats) -> float:  # noqa: N802 - the unit as printed
    """Return the standard deviation of the charge that comes from samples far apart. [Ah]

    A step of height h that lies anywhere between two samples d apart moves the area of the line
    through them by up to h d / 2 either way, evenly: its standard deviation is h d / sqrt(12).
    """
    costs = np.diff(current_A) * np.diff(time_s)
    return float(np.sqrt(np.sum(costs**2) / 12.0)) / 3600.0
