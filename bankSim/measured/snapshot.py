"""Cut-out snapshot: what each cell still had when the battery stopped giving, and which decided.

Charge left is counted from a cell's voltage down to the limit at which the discharge ended, under
the same current. A perfect balance lets all cells reach the limit together: it wins the mean of
what is left less what the deciding cell had left. That holds where cells differ in charge; a
smaller cell stays the first one whatever the balance, and one snapshot cannot tell these apart.
"""

from dataclasses import dataclass, replace

import numpy as np

from bankSim.measured.knee import Drive, state_of_charge_at, stretched
from bankSim.measured.knee_facts import (
    CAPACITY_SD,
    CELL_KNEE_SD,
    CELL_RESISTANCE_SD,
    CURRENT_SD,
    CURVE_V,
    FASTEST_PER_H,
    METER_V,
    RESISTANCE_SD,
    REST_V,
    SLOWEST_PER_H,
    TEMPERATURE_K,
    KneeFacts,
    facts_of,
)
from bankSim.model.chemistry import CHEMISTRIES, Chemistry
from bankSim.model.curve import Floats

DRAWS = 2500
LOW, HIGH = 0.05, 0.95
LARGEST_STRETCH = 3.0


@dataclass(frozen=True, slots=True)
class Range:
    """A value with its 90 % interval. All in the unit of the value."""

    value: float
    low: float
    high: float

    def times(self, factor: float) -> "Range":
        """Return all three multiplied by a factor >= 0."""
        return Range(self.value * factor, self.low * factor, self.high * factor)


@dataclass(frozen=True, slots=True)
class Circumstances:
    """What is known besides the cell voltages; None where it is not.

    Parameters
    ----------
    rated_Ah : float
        Of the label, or the best figure there is. [Ah]
    chemistry : str
        Word of a known chemistry.
    current_A : float or None
        At cut-out, discharge positive. [A]
    limit_V : float or None
        Voltage at which the electronics stop a cell. [V]
    temperature_C : float or None
        Of the cells. [degC]
    meter_V : float
        Standard deviation of one cell voltage. [V]
    rest_s : float or None
        Time since the current stopped; None: under load. [s]
    stretch, stretch_sd : float or None
        As in `KneeFacts`, where this battery's own knee was measured. [1]
    """

    rated_Ah: float
    chemistry: str = "LFP"
    current_A: float | None = None
    limit_V: float | None = None
    temperature_C: float | None = None
    meter_V: float = METER_V
    rest_s: float | None = None
    stretch: float | None = None
    stretch_sd: float | None = None

    @property
    def material(self) -> Chemistry:
        """The chemistry."""
        return CHEMISTRIES[self.chemistry]

    @property
    def facts(self) -> KneeFacts:
        """What is assumed of its knee."""
        return facts_of(self.material)

    @property
    def cell_Ah(self) -> float:  # noqa: N802 - the unit as printed
        """Charge of the available well over its state of charge. [Ah]"""
        kind = self.material
        return self.rated_Ah * kind.capacity_per_rated * kind.available_fraction

    @property
    def per_h(self) -> float:
        """Current over label, the middle of the usual range where it is not known. [1/h]"""
        if self.current_A is not None:
            return self.current_A / self.rated_Ah
        return float(np.sqrt(SLOWEST_PER_H * FASTEST_PER_H))


@dataclass(frozen=True, slots=True)
class CellLeft:
    """One cell at the instant.

    Parameters
    ----------
    cell : int
        Counted from 1.
    voltage_V : float
        As given. [V]
    left_Ah : Range
        Down to the limit of this discharge, at the same current; below 0 when past it. [Ah]
    to_floor_Ah : Range
        Down to the lowest voltage makers usually allow, likewise. [Ah]
    chance_lowest : float
        That it was the lowest, given what the meter may be off. [1]
    flat : bool
        Above the knee: what is left is "at least" the low end.
    """

    cell: int
    voltage_V: float
    left_Ah: Range
    to_floor_Ah: Range
    chance_lowest: float
    flat: bool


@dataclass(frozen=True, eq=False)
class Snapshot:
    """What one snapshot tells.

    Parameters
    ----------
    cells : tuple of CellLeft
    decider : int
        Cell of the lowest reading, counted from 1.
    limit_V : float
        To which charge left is counted. [V]
    limit_from : str
        "given", "lowest reading" or "usual".
    won_Ah : Range
        What a perfect balance would win. [Ah]
    mean_left_Ah : Range
        Down to the limit, mean of all cells. [Ah]
    gap_Ah : Range or None
        What the deciding cell lacks against the mean of the others; None for a single cell. [Ah]
    lowest_V, sum_V : float
        Lowest reading, and all readings together. [V]
    flat : bool
        Some cell stands above the knee.
    """

    cells: tuple[CellLeft, ...]
    decider: int
    limit_V: float
    limit_from: str
    won_Ah: Range
    mean_left_Ah: Range
    gap_Ah: Range | None
    lowest_V: float
    sum_V: float
    flat: bool


@dataclass(frozen=True, eq=False)
class Drawn:
    """Charge left over the cell's charge, (draws, cells); row 0 is the case without errors.

    A pure number. [1]
    """

    left: Floats
    floor: Floats
    lowest: Floats


def take_snapshot(
    voltages_V: tuple[float, ...],
    around: Circumstances,
    *,
    step_V: float = 0.0,
    seed: int = 1,
    draws: int = DRAWS,
) -> Snapshot:
    """Return what is left in each cell, with 90 % intervals by seeded draws.

    Parameters
    ----------
    voltages_V : tuple of float
        Cell 1 first. [V]
    around : Circumstances
    step_V : float
        What the last typed digit is worth, spread evenly on top of the meter. [V]
    seed, draws : int

    Source
    ------
    docs/theory.md, eq. 28.3.
    """
    limit_V, source = limit_of(voltages_V, around)
    readings = np.asarray(voltages_V)
    drawn = _draw(readings, around, source, step_V, seed, draws)
    ah = _amounts(around, seed, draws)
    left, floor = drawn.left * ah, drawn.floor * ah
    decider = int(np.argmin(readings))
    rows, first = np.arange(draws + 1), np.argmin(drawn.lowest, axis=1)
    chances = np.bincount(first[1:], minlength=readings.size) / draws
    mean, low = left.mean(axis=1), left[rows, first]
    cells = tuple(
        CellLeft(place + 1, float(readings[place]), _range(left[:, place]), _range(floor[:, place]),
                 float(chances[place]), bool(readings[place] > around.facts.knee_V))
        for place in range(readings.size)
    )  # fmt: skip
    gap = None
    if readings.size > 1:
        gap = _range((left.sum(axis=1) - low) / (readings.size - 1) - low)
    return Snapshot(
        cells=cells,
        decider=decider + 1,
        limit_V=limit_V,
        limit_from=source,
        won_Ah=_range(mean - low),
        mean_left_Ah=_range(mean),
        gap_Ah=gap,
        lowest_V=float(readings.min()),
        sum_V=float(readings.sum()),
        flat=any(cell.flat for cell in cells),
    )


def left_draws(
    voltages_V: tuple[float, ...],
    around: Circumstances,
    end_V: float,
    step_V: float,
    seed: int,
    draws: int = DRAWS,
) -> Floats:
    """Return the charge left in each cell down to a voltage, below 0 when past it.

    Parameters
    ----------
    voltages_V : tuple of float
        [V]
    around : Circumstances
        Its limit is not used.
    end_V : float
        Under the same current. [V]
    step_V : float
    seed, draws : int
        As in `take_snapshot`.

    Returns
    -------
    left : array (draws + 1, cells)
        Row 0 is the case without errors. [Ah]
    """
    ending = replace(around, limit_V=end_V)
    drawn = _draw(np.asarray(voltages_V), ending, "given", step_V, seed, draws)
    return np.asarray(drawn.left * _amounts(around, seed, draws))


def limit_of(voltages_V: tuple[float, ...], around: Circumstances) -> tuple[float, str]:
    """Return to which voltage charge left is counted, and where that comes from. [V]"""
    if around.limit_V is not None:
        return around.limit_V, "given"
    lowest, facts = min(voltages_V), around.facts
    if around.rest_s is None and lowest < facts.battery_V[1]:
        return lowest, "lowest reading"
    return facts.usual_limit_V, "usual"


def _range(values: Floats) -> Range:
    """Central case and 5 to 95 % of the others; the central case never lies outside."""
    low, high = np.quantile(values[1:], (LOW, HIGH))
    value = float(values[0])
    return Range(value, min(float(low), value), max(float(high), value))


def _normal(random: np.random.Generator, shape: tuple[int, ...], sd: float) -> Floats:
    """Normal numbers with row 0 put to 0."""
    values = random.normal(0.0, sd, shape)
    values[0] = 0.0
    return values


def _amounts(around: Circumstances, seed: int, draws: int) -> Floats:
    """Return the charge of the cells; (draws + 1, 1). [Ah]"""
    random = np.random.default_rng((seed, 2))
    return np.asarray(around.cell_Ah * np.exp(_normal(random, (draws + 1, 1), CAPACITY_SD)))


def _draw(
    readings: Floats, around: Circumstances, source: str, step_V: float, seed: int, draws: int
) -> Drawn:
    """Draw what is not known and read each cell's charge off the curve."""
    random = np.random.default_rng((seed, 1))
    shape, kind = (draws + 1, readings.size), around.material
    rounding = random.uniform(-0.5 * step_V, 0.5 * step_V, shape)
    rounding[0] = 0.0
    voltage = readings + _normal(random, shape, around.meter_V) + rounding
    drive = _drives(around, random, shape)
    stretch = _stretches(around, random, shape)
    limit = np.full((draws + 1, 1), limit_of(tuple(readings), around)[0])
    if source == "lowest reading":
        limit = voltage.min(axis=1, keepdims=True)
    here = state_of_charge_at(kind, voltage, drive, around.rest_s)
    floor = np.full_like(limit, around.facts.floor_V)

    def left_above(end_V: Floats) -> Floats:
        return stretched(here - state_of_charge_at(kind, end_V, drive), stretch)

    return Drawn(left_above(limit), left_above(floor), voltage)


def _drives(around: Circumstances, random: np.random.Generator, shape: tuple[int, ...]) -> Drive:
    """Draw current, resistances, temperature and offset of the curve."""
    one = (shape[0], 1)
    if around.current_A is None:
        span = np.log(FASTEST_PER_H / SLOWEST_PER_H)
        per_h = SLOWEST_PER_H * np.exp(span * random.uniform(0.0, 1.0, one))
        per_h[0] = around.per_h
    else:
        per_h = around.per_h * (1.0 + _normal(random, one, CURRENT_SD))
    common, own = _normal(random, one, RESISTANCE_SD), _normal(random, shape, CELL_RESISTANCE_SD)
    warm_sd = 1.0 if around.temperature_C is not None else TEMPERATURE_K
    middle = 25.0 if around.temperature_C is None else around.temperature_C
    offset_sd = CURVE_V if around.rest_s is None else float(np.hypot(CURVE_V, REST_V))
    return Drive(
        per_h=per_h,
        resistance=np.exp(common + own),
        temperature_C=middle + _normal(random, one, warm_sd),
        offset_V=_normal(random, one, offset_sd),
    )


def _stretches(
    around: Circumstances, random: np.random.Generator, shape: tuple[int, ...]
) -> Floats:
    """Draw how far the knees are stretched, all together and each a little."""
    facts = around.facts
    middle = facts.stretch if around.stretch is None else around.stretch
    sd = facts.stretch_sd if around.stretch_sd is None else around.stretch_sd
    spread = _normal(random, (shape[0], 1), sd) + _normal(random, shape, CELL_KNEE_SD)
    return np.asarray(np.minimum(middle * np.exp(spread), LARGEST_STRETCH))
