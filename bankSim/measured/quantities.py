"""The numbers of a fit as people know them, each with its standard error."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from bankSim.measured.first_guess import given_Ah
from bankSim.measured.fit import Fit, prior_rows
from bankSim.measured.parameters import MIDDLE, Recipe
from bankSim.measured.straps import Straps
from bankSim.measured.told_cells import mean_cell, told_cells
from bankSim.model.cell import Cell
from bankSim.model.curve import Floats

STEP_OF_SD = 0.02
RECTANGULAR = 1.0 / np.sqrt(3.0)  # standard uncertainty of a limit, JCGM 100, 4.3.7
ENTANGLED = 0.8
MOST_PAIRS = 6
SURE = 2.0
BETWEEN = "of it between cells and terminals"
AT_ONCE = "resistance at once, half full"
AFTER_LONG = "resistance after long, half full"
LABEL_H = 20.0  # of the discharge for which lead batteries are labelled
IN_LABEL_H = f"charge given in {LABEL_H:g} h"
WELLS_PERCENT = 2.0  # standard error of what two wells miss of a real battery; own choice
WELL_UNITS = ("", "1/h")  # of the available part and of the rate
SELDOM = 0.3  # learned less than this: the typical value stands


@dataclass(frozen=True, slots=True)
class Value:
    """A number of the battery.

    Parameters
    ----------
    name : str
        In words.
    value, sd : float
        In `unit`; the standard error holds all that is listed.
    typical, typical_sd : float
        Before the logs. In `unit`.
    unit : str
    learned : float
        1 - (sd / typical sd)^2: what part of the doubt the logs have settled, 0 to 1. [1]

    Source
    ------
    docs/theory.md, eq. 25.7.
    """

    name: str
    value: float
    sd: float
    typical: float
    typical_sd: float
    unit: str
    learned: float


@dataclass(frozen=True, slots=True)
class CellValue:
    """One cell against the mean of all.

    Parameters
    ----------
    cell : int
        Counted from 1.
    capacity_percent, charge_percent, resistance_percent : float
        More than the mean; charge at the start, in percent of the capacity.
    capacity_sd, charge_sd, resistance_sd : float
        Standard errors, in the same unit. [percent]
    left_at_end_Ah, left_sd_Ah : float
        What it holds above the emptiest cell at the end of a full discharge, and its error. [Ah]
    """

    cell: int
    capacity_percent: float
    charge_percent: float
    resistance_percent: float
    capacity_sd: float
    charge_sd: float
    resistance_sd: float
    left_at_end_Ah: float
    left_sd_Ah: float


@dataclass(frozen=True, slots=True)
class Pair:
    """Two values whose errors hang together.

    Parameters
    ----------
    one, other : str
    correlation : float
        -1 to 1. [1]
    """

    one: str
    other: str
    correlation: float


@dataclass(frozen=True, eq=False)
class _Wanted:
    """A quantity as a function of one typical cell of the battery.

    `blurred` are the pairs that a load step at an unknown instant mixes into it; `straps_mohm`
    by how much usual straps and switches resist more than those that were read.
    """

    name: str
    unit: str
    of: Callable[[Cell], float]
    blurred: tuple[int, ...] = ()
    straps_mohm: float = 0.0


def usual_straps_mohm(recipe: Recipe) -> float:
    """Return what usually lies between cells and terminals of such a battery. [mohm]"""
    return 1e3 * recipe.usual_straps_ohm


def _wanted(recipe: Recipe) -> list[_Wanted]:
    n = recipe.label.cells_in_series

    def ohmic(z: float) -> Callable[[Cell], float]:
        return lambda cell: 1e3 * n * float(cell.ohmic_ohm(z))

    def pair(j: int) -> Callable[[Cell], float]:
        return lambda cell: 1e3 * n * cell.relaxation[j].resistance_ohm

    def time_s(j: int) -> Callable[[Cell], float]:
        return lambda cell: cell.relaxation[j].time_constant_s

    def after_long(z: float) -> Callable[[Cell], float]:
        parts = [ohmic(z), *(pair(j) for j in range(len(recipe.typical.relaxation)))]
        return lambda cell: sum(part(cell) for part in parts)

    pairs = tuple(range(len(recipe.typical.relaxation)))
    read_ohm = recipe.straps_ohm
    straps = 0.0 if read_ohm is None else 1e3 * (recipe.usual_straps_ohm - read_ohm)
    found = [
        _Wanted("capacity", "Ah", lambda cell: cell.charge_C / 3600.0),
        _Wanted(AT_ONCE, "mohm", ohmic(MIDDLE), pairs, straps),
        _Wanted(AFTER_LONG, "mohm", after_long(MIDDLE), straps_mohm=straps),
        _Wanted("resistance after long, at 15 %", "mohm", after_long(0.15), straps_mohm=straps),
    ]
    for j in range(len(recipe.typical.relaxation)):
        found.append(_Wanted(f"relaxation {j + 1}, resistance", "mohm", pair(j), (j,)))
        found.append(_Wanted(f"relaxation {j + 1}, time", "s", time_s(j)))
    if recipe.typical.available_fraction < 1.0:
        found += [
            _Wanted("available part of the charge", "", lambda cell: cell.available_fraction),
            _Wanted("rate between the wells", "1/h", lambda cell: 3600.0 * cell.well_rate_per_s),
        ]
    return found


def _in_usual_time(recipe: Recipe) -> list[_Wanted]:
    """Two wells hold more than they give in the time for which they are labelled."""
    if recipe.typical.available_fraction == 1.0:
        return []

    def given(cell: Cell) -> float:
        return given_Ah(cell, LABEL_H, recipe.chemistry.lowest_safe_V)

    return [_Wanted(IN_LABEL_H, "Ah", given)]


@dataclass(frozen=True, slots=True)
class Beside:
    """Errors that no residual shows (JCGM 100, Type B).

    Parameters
    ----------
    shunt_gain_percent : float
        Limit of the error of the current's scale; counts in capacity and resistance. [%]
    missed_percent : float
        Standard error of resistances from what a model of this kind misses. [%]
    deepest_Ah : float
        The most charge that a log has seen; half of what the capacity holds beyond is error. 0
        where neither a log nor the label tells the capacity. [Ah]
    interval_s : float
        Between the samples at load steps; infinite where there are none. [s]
    """

    shunt_gain_percent: float
    missed_percent: float
    deepest_Ah: float
    interval_s: float = np.inf

    @property
    def gain(self) -> float:
        """Standard error of the current's scale. [1]"""
        return float(self.shunt_gain_percent / 100.0 * RECTANGULAR)

    def blurred_mohm(self, cell: Cell, cells: int, pairs: Sequence[int]) -> float:
        """Return what a load step half an interval early moves from some pairs to "at once". [mohm]

        Parameters
        ----------
        cell : Cell
        cells : int
            In series.
        pairs : sequence of int
            From 0.

        Source
        ------
        docs/theory.md, eq. 25.9.
        """
        moved = [
            cell.relaxation[j].resistance_ohm
            * -float(np.expm1(-0.5 * self.interval_s / cell.relaxation[j].time_constant_s))
            for j in pairs
        ]
        return 1e3 * cells * sum(moved)

    def variance(self, value: float, unit: str) -> float:
        """Return what these errors add to the variance of a value.

        `value` in its unit; the variance in that squared. [any unit]
        """
        gain = self.gain * value
        if unit == "Ah":
            return float(gain**2 + (0.5 * max(value - self.deepest_Ah, 0.0)) ** 2)
        if unit in WELL_UNITS:
            return (WELLS_PERCENT / 100.0 * value) ** 2
        missed = self.missed_percent / 100.0 * value
        return float(gain**2 + missed**2) if unit == "mohm" else 0.0


def values_of(recipe: Recipe, found: Fit, beside: Beside) -> tuple[Value, ...]:
    """Return the values with their errors."""
    wanted, slopes, now = _gradient(recipe, found)
    typical = _quantities(recipe, np.zeros(found.numbers.size), wanted)
    prior = prior_rows(found.parameters)
    before = np.linalg.pinv(prior.T @ prior, hermitian=True)
    mean = mean_cell(recipe, found.numbers)
    rows = []
    for place, one in enumerate(wanted):
        doubt = float(slopes[place] @ before @ slopes[place])
        blurred = RECTANGULAR * beside.blurred_mohm(mean, recipe.label.cells_in_series, one.blurred)
        variance = float(slopes[place] @ found.covariance @ slopes[place])
        variance += beside.variance(float(now[place]), one.unit) + blurred**2
        if one.unit == "s" and np.isinf(beside.interval_s):
            variance += doubt  # no load step shows how long anything takes
        if one.unit == "mohm":
            variance, doubt = (_of_ln(float(now[place]), v) for v in (variance, doubt))
        learned = 1.0 - min(variance / doubt, 1.0) if doubt > 0.0 else 1.0
        rows.append(
            Value(one.name, float(now[place]), float(np.sqrt(variance)),
                  float(typical[place]) + one.straps_mohm, float(np.sqrt(doubt)), one.unit, learned)
        )  # fmt: skip
    return tuple(rows)


def _of_ln(value: float, variance: float) -> float:
    """Return the square of one standard error upwards from a value whose logarithm is normal.

    `variance` is that of the logarithm times value^2. Small ones stay as they are; a resistance
    that is hardly told may be twice the value, but not below nothing. [of the value, squared]

    Source
    ------
    docs/theory.md, eq. 25.13.
    """
    return float((value * np.expm1(np.sqrt(variance) / value)) ** 2)


def straps_value(recipe: Recipe, straps: Straps | None, beside: Beside) -> tuple[Value, ...]:
    """Return what lies between cells and terminals; nothing where no log tells it."""
    if straps is None:
        return ()
    mohm, typical = 1e3 * straps.ohm, usual_straps_mohm(recipe)
    variance = (1e3 * straps.sd_ohm) ** 2 + (beside.gain * mohm) ** 2
    learned = 1.0 - min(variance / typical**2, 1.0) if typical > 0.0 else 1.0
    return (Value(BETWEEN, mohm, float(np.sqrt(variance)), typical, typical, "mohm", learned),)


def pairs_of(recipe: Recipe, found: Fit) -> tuple[Pair, ...]:
    """Return the pairs of values that the logs hardly separate, most entangled first."""
    wanted, (slopes, _) = _wanted(recipe), _gradient(recipe, found)[1:]
    slopes = slopes[: len(wanted)]
    covariance = slopes @ found.covariance @ slopes.T
    sd = np.sqrt(np.maximum(np.diag(covariance), 1e-300))
    correlation = covariance / np.outer(sd, sd)
    pairs = [
        Pair(wanted[i].name, wanted[j].name, float(np.clip(correlation[i, j], -1.0, 1.0)))
        for i in range(len(wanted))
        for j in range(i + 1, len(wanted))
        if abs(correlation[i, j]) >= ENTANGLED
    ]
    return tuple(sorted(pairs, key=lambda one: -abs(one.correlation))[:MOST_PAIRS])


def _quantities(recipe: Recipe, numbers: Floats, wanted: Sequence[_Wanted]) -> Floats:
    cell = mean_cell(recipe, numbers)
    return np.array([one.of(cell) for one in wanted])


@lru_cache(maxsize=1)
def _gradient(recipe: Recipe, found: Fit) -> tuple[list[_Wanted], Floats, Floats]:
    """Return all quantities, d quantity / d number, and the values. Kept: it is asked for twice."""
    wanted = [*_wanted(recipe), *_in_usual_time(recipe)]
    now = _quantities(recipe, found.numbers, wanted)
    slopes = np.zeros((len(wanted), found.numbers.size))
    for place, one in enumerate(found.parameters):
        moved = found.numbers.copy()
        moved[place] += STEP_OF_SD * one.sd
        changed = _quantities(recipe, moved, wanted)
        slopes[:, place] = (changed - now) / (STEP_OF_SD * one.sd)
    return wanted, slopes, now


def cell_values(recipe: Recipe, found: Fit) -> tuple[CellValue, ...]:
    """Return how each cell differs from the mean; empty where cells were not logged."""
    if not recipe.each_cell:
        return ()
    place_of = {one.name: place for place, one in enumerate(found.parameters)}
    cells = told_cells(recipe, found.numbers, recipe.full_log or 0)
    charge_Ah = float(np.mean([cell.charge_C for cell in cells])) / 3600.0
    held = [cell.state_of_charge * cell.charge_C / 3600.0 for cell in cells]
    emptiest = int(np.argmin(held))
    rows = []
    for number in range(recipe.cells):
        places = [place_of[f"cell {number + 1}, {what}"]
                  for what in ("capacity", "charge", "resistance")]  # fmt: skip
        numbers, sd = found.numbers[places], found.sd[places]
        rows.append(
            CellValue(
                number + 1,
                *_three(100.0 * (numbers - _mean(found, recipe.cells))),
                *_three(100.0 * sd),
                held[number] - held[emptiest],
                _left_sd(found, place_of, number, emptiest, charge_Ah),
            )
        )
    return tuple(rows)


def _three(values: Floats) -> tuple[float, float, float]:
    return float(values[0]), float(values[1]), float(values[2])


def _mean(found: Fit, cells: int) -> Floats:
    """Return the means over cells of the three numbers; cells follow each other, three by three."""
    first = place_of_first_cell(found)
    return np.asarray(found.numbers[first : first + 3 * cells].reshape(cells, 3).mean(axis=0))


def place_of_first_cell(found: Fit) -> int:
    """Return where the numbers of the first cell begin."""
    return next(place for place, one in enumerate(found.parameters) if one.cell is not None)


def _left_sd(
    found: Fit, place_of: dict[str, int], cell: int, emptiest: int, charge_Ah: float
) -> float:
    """Error of the difference in charge held at the start, from capacity and charge together."""
    slopes = np.zeros(found.numbers.size)
    for number, sign in ((cell, 1.0), (emptiest, -1.0)):
        for what in ("capacity", "charge"):
            slopes[place_of[f"cell {number + 1}, {what}"]] += sign * charge_Ah
    return float(np.sqrt(max(float(slopes @ found.covariance @ slopes), 0.0)))
