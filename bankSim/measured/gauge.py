"""How far a gauge that knows only the voltage is off along a discharge or a charge."""

from dataclasses import dataclass

import numpy as np

from bankSim.measured.log import LogError
from bankSim.measured.voltage_table import VoltageTable
from bankSim.model.curve import Floats

NEAR_POINTS = 10.0
METER_V = 0.01
RATE_H = 10.0  # the load of C/10
UNSEEN_PART = 0.01  # of the capacity: less lost inside is no matter for a counter
REST_A_PER_AH = 1.0 / 200.0  # below this part of the capacity a battery is told to rest


@dataclass(frozen=True, eq=False)
class Course:
    """A battery over time, with its charge counted.

    Parameters
    ----------
    name : str
        As it stands in sentences.
    time_s, voltage_V, current_A : array (n,)
        Voltage where the gauge is connected; discharge positive. [s], [V], [A]
    counted_Ah : array (n,)
        Charge given at the terminals since the start, net of what was taken. [Ah]
    true_percent : array (n,)
        What is left, of `capacity_Ah`: by counting, or in a prediction what the cells hold. [%]
    capacity_Ah : float
        What counts as 100 %. [Ah]
    ohm : float or None
        Of the battery after some minutes of load. [ohm]
    basis : tuple of str
        What was taken for granted, one sentence each.
    chemistry : str or None
        As in the scenario file.
    inside_Ah : float
        Lost inside until the end, by self-discharge, gassing and charging, which a counter at the
        terminals does not see. [Ah]
    charge_V : array (n,) or None
        What a charge meets after some minutes besides `ohm`; None for nothing. [V]
    """

    name: str
    time_s: Floats
    voltage_V: Floats
    current_A: Floats
    counted_Ah: Floats
    true_percent: Floats
    capacity_Ah: float
    ohm: float | None = None
    basis: tuple[str, ...] = ()
    chemistry: str | None = None
    inside_Ah: float = 0.0
    charge_V: Floats | None = None

    @property
    def counts_all(self) -> bool:
        """Whether a counter at the terminals sees all that goes."""
        return abs(self.inside_Ah) <= UNSEEN_PART * self.capacity_Ah

    def counter_percent(self, counted_Ah: float) -> float:
        """Return what a counter at the terminals would show after so much charge. [%]"""
        return float(self.true_percent[0]) - 100.0 * counted_Ah / self.capacity_Ah


@dataclass(frozen=True, slots=True)
class Place:
    """One instant, and what moves the reading there.

    Parameters
    ----------
    time_s, counted_Ah, voltage_V, current_A : float
    reading_percent, true_percent, error_points : float
        Shown, counted, shown less counted.
    low_percent, high_percent : float
        Of all tables at this voltage.
    points_per_10mV : float
        How far 10 mV of meter error move the reading.
    points_per_C10 : float or None
        How far a load of C/10 more pulls the reading down.
    points_by_current : float or None
        What the current of this instant adds to the reading through the resistance. [points]
    """

    time_s: float
    counted_Ah: float
    voltage_V: float
    current_A: float
    reading_percent: float
    true_percent: float
    error_points: float
    low_percent: float
    high_percent: float
    points_per_10mV: float
    points_per_C10: float | None
    points_by_current: float | None


@dataclass(frozen=True, eq=False)
class Judged:
    """A gauge held against counted charge.

    Parameters
    ----------
    course : Course
    table : VoltageTable
    reading_percent, low_percent, high_percent, error_points : array (n,)
    over, under : Place
        Where it reads most above, and most below, what was counted.
    within_10_points : float
        Part of the time. [1]
    mean_points : float
        Mean size of the error over time.
    rests : bool
        Whether part of the course is rest.
    """

    course: Course
    table: VoltageTable
    reading_percent: Floats
    low_percent: Floats
    high_percent: Floats
    error_points: Floats
    over: Place
    under: Place
    within_10_points: float
    mean_points: float
    rests: bool

    @property
    def worst(self) -> Place:
        """The larger of the two errors."""
        return max(self.over, self.under, key=lambda place: abs(place.error_points))


def judge(course: Course, table: VoltageTable) -> Judged:
    """Hold a gauge against the counted remainder.

    error(t) = reading(V(t)) - remainder(t). On a straight table V = a + b z and under a steady
    current I behind R this is -I R / b at every instant.

    Source: docs/theory.md, eq. 30.1.
    """
    reading = table.reading(course.voltage_V)
    low, high = table.band(course.voltage_V)
    error = reading - course.true_percent
    weight = _weights(course.time_s)
    rest_A = course.capacity_Ah * REST_A_PER_AH
    return Judged(
        course=course,
        table=table,
        reading_percent=reading,
        low_percent=low,
        high_percent=high,
        error_points=error,
        over=place_of(course, table, int(np.argmax(error))),
        under=place_of(course, table, int(np.argmin(error))),
        within_10_points=float(weight[np.abs(error) <= NEAR_POINTS].sum()),
        mean_points=float((weight * np.abs(error)).sum()),
        rests=bool((np.abs(course.current_A) < rest_A).sum() > 1),
    )


def place_of(course: Course, table: VoltageTable, at: int) -> Place:
    """Return one instant of a course and how firm the reading is there."""
    volts = float(course.voltage_V[at])
    reading = float(table.reading(np.asarray(volts)))
    low, high = table.band(np.array([volts]))
    return Place(
        time_s=float(course.time_s[at]),
        counted_Ah=float(course.counted_Ah[at]),
        voltage_V=volts,
        current_A=float(course.current_A[at]),
        reading_percent=reading,
        true_percent=float(course.true_percent[at]),
        error_points=reading - float(course.true_percent[at]),
        low_percent=float(low[0]),
        high_percent=float(high[0]),
        points_per_10mV=METER_V * table.points_per_V(volts, METER_V),
        points_per_C10=load_points(table, volts, course.ohm, course.capacity_Ah),
        points_by_current=_by_current(course, table, at),
    )


def _by_current(course: Course, table: VoltageTable, at: int) -> float | None:
    if course.ohm is None:
        return None
    volts, current_A = float(course.voltage_V[at]), float(course.current_A[at])
    rest_V = volts + current_A * course.ohm
    if course.charge_V is not None:
        rest_V -= float(course.charge_V[at])
    both = table.reading(np.array([volts, rest_V]))
    return float(both[0] - both[1])


def load_points(
    table: VoltageTable, voltage_V: float, ohm: float | None, capacity_Ah: float
) -> float | None:
    """Return by how many points a load of C/10 more pulls the reading down; None without ohm."""
    if ohm is None:
        return None
    drop_V = ohm * capacity_Ah / RATE_H
    both = table.reading(np.array([voltage_V, voltage_V - drop_V]))
    return float(both[0] - both[1])


def _weights(time_s: Floats) -> Floats:
    """Return the part of the time that each sample stands for, by half intervals; sum 1."""
    half = np.diff(time_s) / 2.0
    weight = np.concatenate([half, [0.0]]) + np.concatenate([[0.0], half])
    total = weight.sum()
    if not total > 0.0:
        raise LogError("the voltage and current stand still at one instant; expected a time span")
    return np.asarray(weight / total)
