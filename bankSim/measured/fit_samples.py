"""The samples of a log that a fit looks at, and how much each of them counts."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from bankSim.measured.log import Log
from bankSim.measured.parameters import Recipe
from bankSim.measured.replay import Course
from bankSim.model.curve import Floats
from bankSim.model.upkeep import Thermal

FINEST_V = 0.003  # of one cell: what a model of this kind can be asked for
CHARGE_PART = 0.002  # of the capacity: how well the place on a steep curve is known
FULL_V, FULL_PART = 0.05, 0.04  # more doubt near full, and over which part of the charge it fades
SAMPLES = 500  # of each log
RESTS_PART = 0.02  # of the largest current: less counts as rest
STEP_PART, MOST_STEPS = 0.1, 60  # of the largest current; load steps that get samples of their own
AFTER_STEP_S = np.array([2.0, 4.0, 8.0, 15.0, 30.0, 60.0, 120.0, 240.0])
AFTER_STEP = 10  # samples: as long the doubt about when a load step came is looked for
INTERVAL_SD = 1.0 / np.sqrt(12.0)  # of an interval in which anything may be: JCGM 100, 4.3.7
FINEST_DROP_V, DROP_PART = 0.002, 0.1  # of a first load step: least doubt, and part of the drop
GOES_ON = 1.0  # of what falls from its first sample to the next may have fallen before, too
CURVE_TOLD = 0.9  # of its charge: how far the log that is the curve counts in the fit

Flags = NDArray[np.bool_]


@dataclass(frozen=True, eq=False)
class FirstStep:
    """The first load step of a log that begins full and at rest: its drop tells of resistance.

    Parameters
    ----------
    before, after : int
        Samples before and after it, counted as in `Samples.index`.
    sd_V : array (cells,)
        What a residual of the drop is held against. [V]
    """

    before: int
    after: int
    sd_V: Floats

    def drop(self, voltage: Floats) -> Floats:
        """Return the drop of voltages (m, cells) over what it is held against; (cells,). [1]"""
        return np.asarray((voltage[self.before] - voltage[self.after]) / self.sd_V)


@dataclass(frozen=True, eq=False)
class Samples:
    """The samples of one log that are fitted.

    Parameters
    ----------
    index : array (m,)
        Into the log.
    time_s : array (m,)
        [s]
    voltage_V : array (m, cells)
        Measured, of each cell, or of one where only the battery was logged: divided by the cells.
    sd_V : array (m, cells)
        What a residual is held against. [V]
    fitted : array (m,)
        False where a stretch is held out.
    course : Course
    first_step : FirstStep or None
        Where the log begins full and at rest.
    """

    index: NDArray[np.intp]
    time_s: Floats
    voltage_V: Floats
    sd_V: Floats
    fitted: Flags
    course: Course
    first_step: FirstStep | None = None


def samples_of(
    log: Log,
    recipe: Recipe,
    temperature_C: float,
    *,
    hold_out: float = 0.0,
    is_curve: bool = False,
    start_full: bool = False,
    most: int = SAMPLES,
) -> Samples:
    """Choose samples evenly in time, evenly in how the voltage moves, and after load steps.

    Parameters
    ----------
    log : Log
    recipe : Recipe
    temperature_C : float
    hold_out : float
        Part of the time that is left out of the fit, in stretches. [1]
    is_curve : bool
        Its voltage is the voltage curve, so it says nothing of the resistance near empty.
    start_full : bool
        It begins full: the first drop holds more than resistance, and counts less. Not with two
        wells, which show from the start on.
    most : int
        How many at most, beside those after load steps.

    Source
    ------
    docs/theory.md, eq. 25.2.
    """
    cells = recipe.label.cells_in_series
    logged = recipe.each_cell and log.cells_V.shape[1] == cells
    voltage = log.cells_V if logged else log.voltage_V[:, None] / cells
    moved = np.concatenate([[0.0], np.cumsum(np.abs(np.diff(log.voltage_V)))])
    wishes = [
        np.interp(np.linspace(0.0, course[-1], most // 2), course, np.arange(log.count))
        for course in (log.time_s, moved)
        if course[-1] > 0.0
    ]
    even = np.round(np.concatenate(wishes)).astype(np.intp)
    index = np.unique(np.concatenate([even, _around_steps(log)]))
    index = index[np.isfinite(voltage[index]).all(axis=1)]
    charge_Ah, given = recipe.typical.charge_C / 3600.0, log.counted_Ah()
    # At rest a meter's noise flows back, too; steps tell cells apart more finely than the knee.
    rising = given if recipe.separated else np.maximum.accumulate(given)
    noise_only = float((rising - given).max()) < CHARGE_PART * charge_Ah
    steep = _steepness(log, rising if noise_only else given, voltage, charge_Ah)
    drawn = (given[index] - given.min()) / charge_Ah
    near_full = FULL_V * np.exp(-drawn / FULL_PART) if start_full else np.zeros(index.size)
    sd = np.hypot(np.hypot(FINEST_V, steep[index]), near_full[:, None])
    sd = np.hypot(sd, _step_doubt_V(log, voltage)[index])
    stretch = 20.0 * log.time_s[index] / (log.time_s[-1] or 1.0)
    every = round(1.0 / hold_out) if hold_out > 0.0 else 0
    fitted = (stretch.astype(int) % every != every // 2) if every else np.ones(index.size, bool)
    if is_curve:
        fitted = fitted & (given[index] < CURVE_TOLD * given[-1])
    return Samples(
        index, log.time_s[index], voltage[index], sd, np.asarray(fitted),
        Course.of(log, *_warmth(log, recipe, temperature_C)),
        _first_step(log, recipe, index, voltage) if start_full else None,
    )  # fmt: skip


def _first_step(
    log: Log, recipe: Recipe, index: NDArray[np.intp], voltage: Floats
) -> FirstStep | None:
    """Return the load step with which a full battery leaves its rest; None without a rest.

    What a full cell loses beside resistance goes on in the samples after it, and lies within what
    the typical curve falls over that charge; what it rests above a full one is no resistance.

    Source: docs/theory.md, eq. 25.14.
    """
    steps = steps_of(log)
    if not steps.size or steps[0] + 2 >= log.count:
        return None
    before, after = int(steps[0]), int(steps[0]) + 1
    largest_A = float(log.current_A.max())
    rests = abs(float(log.current_A[before])) < RESTS_PART * largest_A
    if not rests or log.current_A[after] < largest_A / 2.0 or after + 1 in steps + 1:
        return None
    places = np.searchsorted(index, [before, after])
    if places[-1] >= index.size or np.any(index[places] != [before, after]):
        return None
    curve = recipe.chemistry.ocv_V()
    drawn_C = float(log.current_A[after] * (log.time_s[after] - log.time_s[before]))
    fall_V = float(curve(1.0) - curve(1.0 - drawn_C / recipe.typical.charge_C))
    goes_on_V = GOES_ON * np.abs(voltage[after] - voltage[after + 1])
    above_V = np.clip(voltage[before] - float(curve(1.0)), 0.0, None)
    part_V = DROP_PART * np.abs(voltage[before] - voltage[after])
    parts = [np.full_like(part_V, FINEST_DROP_V), np.full_like(part_V, fall_V),
             goes_on_V, above_V, part_V]  # fmt: skip
    sd = np.sqrt(sum(one**2 for one in parts))
    return FirstStep(int(places[0]), int(places[1]), sd) if np.isfinite(sd).all() else None


def _around_steps(log: Log) -> NDArray[np.intp]:
    """Return samples just before some load steps and ever more rarely after them."""
    steps = steps_of(log)
    if steps.size > MOST_STEPS:
        steps = steps[np.linspace(0, steps.size - 1, MOST_STEPS).round().astype(int)]
    after = np.searchsorted(log.time_s, log.time_s[steps, None] + AFTER_STEP_S)
    found = np.concatenate([steps, steps + 1, after.ravel()]).astype(np.intp)
    return np.unique(np.clip(found, 0, log.count - 1))


def steps_of(log: Log) -> NDArray[np.intp]:
    """Return the samples after which the current steps."""
    change = np.abs(np.diff(log.current_A))
    return np.flatnonzero(change > STEP_PART * float(np.abs(log.current_A).max(initial=0.0)))


def _step_doubt_V(log: Log, voltage: Floats) -> Floats:  # noqa: N802 - the unit as printed
    """Return what it moves a voltage that a load step came somewhere between two samples. [V]

    How fast the voltage moves after the step, times the standard deviation of the instant.
    """
    doubt = np.zeros_like(voltage)
    step = np.zeros(log.count, bool)
    step[steps_of(log)] = True
    steps = np.flatnonzero(step)
    between_s = log.time_s[steps + 1] - log.time_s[steps]
    for after in range(1, AFTER_STEP + 1):
        good = steps + after < log.count - 1
        steps, between_s = steps[good], between_s[good]
        here = steps + after
        going = ~step[here]  # the next step moves the voltage by itself
        steps, between_s, here = steps[going], between_s[going], here[going]
        passed_s = np.maximum(log.time_s[here + 1] - log.time_s[here], 1e-9)
        moved = np.abs(voltage[here + 1] - voltage[here])
        doubt[here] = np.nan_to_num(moved * (INTERVAL_SD * between_s / passed_s)[:, None])
    return doubt


def _warmth(log: Log, recipe: Recipe, temperature_C: float) -> tuple[float, Thermal | None]:
    """Return the measured temperature, or that of the air and how the battery warms up in it."""
    measured = log.temperature_C
    if measured is None or not np.isfinite(measured).any():
        return temperature_C, recipe.thermal
    return float(np.nanmean(measured)), recipe.thermal if log.of_air else None


def _steepness(log: Log, given: Floats, voltage: Floats, charge_Ah: float) -> Floats:
    """Return by how much the voltage moves over `CHARGE_PART` of charge, at steady current."""
    width = CHARGE_PART * charge_Ah
    if not np.all(np.diff(given) >= 0.0):
        return np.zeros_like(voltage)
    ahead = np.clip(np.searchsorted(given, given + width), 0, log.count - 1)
    behind = np.clip(np.searchsorted(given, given - width), 0, log.count - 1)
    steady = np.abs(log.current_A[ahead] - log.current_A[behind]) < 0.05 * np.abs(log.current_A)
    moved = np.abs(voltage[ahead] - voltage[behind]) / 2.0
    return np.where(steady[:, None] & np.isfinite(moved), moved, 0.0)
