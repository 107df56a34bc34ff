"""Least squares on the solver itself: the numbers of a recipe that make it follow the logs."""

from collections.abc import Callable, Sequence
from contextlib import suppress
from dataclasses import dataclass, field, replace
from itertools import cycle
from typing import Literal

import numpy as np
from scipy.optimize import least_squares

from bankSim.measured.fit_samples import Samples
from bankSim.measured.parameters import SHAPE_AT, Parameter, Recipe
from bankSim.measured.replay import Instants, follow, follow_each
from bankSim.measured.slopes import as_logged, robust, slopes_of
from bankSim.model.curve import Floats

SHORT_OF = 0.05  # autocorrelation below it counts as none
MOST_TURNS = 80
CLOSE = 1e-5  # part of the sum that a turn must still win
STILL_TURNS = 3  # over so many turns a search that is at rest
STILL_SD = 0.05  # moves each number by less than this part of its standard error
STILL_COST = 2e-3  # and lowers the sum by less than this part
NEAR = 1e-2  # the same for a fit that only leads near
GOES_ON_BELOW = 0.08  # below, the resistance goes on as it rose before, unless the logs say else


@dataclass(frozen=True, eq=False)
class Fit:
    """The numbers found, how sure they are, and what is left over.

    Parameters
    ----------
    parameters : tuple of Parameter
    numbers : array (p,)
        See `Parameter`. [1]
    covariance : array (p, p)
        Of the numbers: residuals counted by how many of them are independent. [1]
    samples : tuple of Samples
    residual_V : tuple of array (m, cells)
        Model less measured, of every log. [V]
    independent : float
        How many of the residuals are independent of each other. [1]
    scale : float
        Standard deviation of the weighted residuals; 1 would be as expected. [1]
    turns : int
        Evaluations of the Jacobian.
    settled : bool
        Nothing moved any more, measured in standard errors, or it is as near the logs as can be
        expected.
    cost : float
        The sum that was made least: of two rests of one search the lower is the better. [1]
    """

    parameters: tuple[Parameter, ...]
    numbers: Floats
    covariance: Floats
    samples: tuple[Samples, ...]
    residual_V: tuple[Floats, ...]
    independent: float
    scale: float
    turns: int
    settled: bool
    cost: float

    @property
    def sd(self) -> Floats:
        """Standard errors of the numbers. In the units of the numbers."""
        return np.asarray(np.sqrt(np.diag(self.covariance)))

    @property
    def learned(self) -> Floats:
        """1 - (sd after / sd before)^2: 0 where the logs say nothing, 1 where they say all. [1]

        Source: docs/theory.md, eq. 25.7.
        """
        before = np.array([one.sd for one in self.parameters])
        return np.asarray(np.clip(1.0 - (self.sd / before) ** 2, 0.0, 1.0))


def fit(
    recipe: Recipe,
    samples: Sequence[Samples],
    progress: Callable[[int, int], None] | None = None,
    start: Floats | None = None,
    wins: float = CLOSE,
) -> Fit:
    """Fit a recipe to the samples of some logs.

    Minimises sum rho(r^2) + sum (p / sd)^2 with r the residuals over what they are held against,
    rho soft l1 from three standard deviations on, and p the numbers themselves, 0 being typical
    (neighbours along the resistance are held against each other).

    Parameters
    ----------
    recipe : Recipe
    samples : sequence of Samples
        One of each log.
    progress : callable, optional
        Told how many turns are done, and of how many at most.
    start : array (p,), optional
        Numbers to begin with, 0 being typical. [1]
    wins : float
        It ends where a turn wins less than this part of the sum. [1]

    Source
    ------
    docs/theory.md, eq. 25.1.
    """
    parameters = recipe.parameters()
    prior = prior_rows(parameters)
    shown = Shown(recipe, samples)
    path: list[Fit] = []

    def residuals(numbers: Floats) -> Floats:
        return np.concatenate([*_rows(shown, numbers), prior @ numbers])

    def jacobian(numbers: Floats) -> Floats:
        if progress is not None:
            progress(len(path) + 1, MOST_TURNS)
        slopes = slopes_of(recipe, numbers, samples, shown.at(numbers))
        path.append(_judged(shown, numbers, slopes, prior, len(path) + 1))
        if is_still(path):
            raise _AtRest
        return np.vstack([slopes, prior])

    low = np.array([one.low for one in parameters])
    high = np.array([one.high for one in parameters])
    first = np.zeros(len(parameters)) if start is None else start
    first = np.clip(first, low + 1e-9, high - 1e-10)
    # Near empty two wells are so steep that slopes where they set out tell nothing of steps.
    two_wells = recipe.typical.available_fraction < 1.0
    scale: list[float] | Literal["jac"] = [one.sd for one in parameters] if two_wells else "jac"
    at_rest = True
    with suppress(_AtRest):
        found = least_squares(
            residuals, first, jac=jacobian, bounds=(low, high), x_scale=scale,
            xtol=1e-5, ftol=wins, max_nfev=MOST_TURNS,
        )  # fmt: skip
        at_rest = found.status > 0
    return replace(path[-1], settled=at_rest or path[-1].scale < 1.0)


class _AtRest(Exception):  # noqa: N818 - no error
    """Ends a search in which nothing moves any more."""


def is_still(path: Sequence[Fit]) -> bool:
    """Tell whether a search moves no number any more by a part of its error that matters.

    Parameters
    ----------
    path : sequence of Fit
        Its turns so far.
    """
    if len(path) <= STILL_TURNS:
        return False
    now, before = path[-1], path[-1 - STILL_TURNS]
    moved = np.abs(now.numbers - before.numbers) / now.sd
    return bool(moved.max() < STILL_SD) and before.cost - now.cost < STILL_COST * now.cost


def costs_of(recipe: Recipe, tried: Sequence[Floats], samples: Sequence[Samples]) -> list[float]:
    """Return the sum that `fit` makes least, at several sets of numbers. [1]"""
    prior = prior_rows(recipe.parameters())
    costs = [float(((prior @ numbers) ** 2).sum()) for numbers in tried]
    batteries = [recipe.cells_of_logs(numbers) for numbers in tried]
    for log, one in enumerate(samples):
        shown = follow_each([cells[log] for cells in batteries], one.course, one.time_s)
        for place, seen in enumerate(shown):
            left = as_logged(seen.cells_V, one) - one.voltage_V
            costs[place] += float((_weighted(left, one) ** 2).sum())
    return costs


@dataclass(frozen=True, eq=False)
class Shown:
    """What batteries show under all logs; of the two sets of numbers asked for last it is kept.

    Parameters
    ----------
    recipe : Recipe
    samples : sequence of Samples
    """

    recipe: Recipe
    samples: Sequence[Samples]
    _kept: dict[bytes, list[Instants]] = field(default_factory=dict)

    def at(self, numbers: Floats) -> list[Instants]:
        """Return the replay of every log at some numbers of the fit [1]."""
        key = numbers.tobytes()
        if key not in self._kept:
            cells = self.recipe.cells_of_logs(numbers)
            if len(self._kept) > 1:
                del self._kept[next(iter(self._kept))]
            self._kept[key] = [
                follow(own, one.course, one.time_s)
                for own, one in zip(cells, self.samples, strict=True)
            ]
        return self._kept[key]


def _left_over(shown: Shown, numbers: Floats) -> tuple[Floats, ...]:
    """Return model less measured of every log: of every cell, or the mean of all. [V]"""
    return tuple(
        as_logged(seen.cells_V, one) - one.voltage_V
        for seen, one in zip(shown.at(numbers), shown.samples, strict=True)
    )


def _all_weighted(shown: Shown, numbers: Floats) -> list[Floats]:
    """Return the weighted residuals of every log, (m, cells). [1]"""
    left = _left_over(shown, numbers)
    return [_weighted(r, one) for r, one in zip(left, shown.samples, strict=True)]


def _drops(shown: Shown, numbers: Floats) -> list[Floats]:
    """Return the weighted residual of every log's first step; (cells,), empty without one. [1]"""
    return [
        robust(one.first_step.drop(left)) if one.first_step else np.empty(0)
        for left, one in zip(_left_over(shown, numbers), shown.samples, strict=True)
    ]


def _rows(shown: Shown, numbers: Floats) -> list[Floats]:
    """Return all weighted residuals in the order of `slopes_of`. [1]"""
    pairs = zip(_all_weighted(shown, numbers), _drops(shown, numbers), strict=True)
    return [row for samples, drop in pairs for row in (samples.ravel(), drop)]


def _weighted(left: Floats, samples: Samples) -> Floats:
    """Return fitted residuals over what they are held against, large ones tamed; (m, cells)."""
    return robust((left / samples.sd_V)[samples.fitted])


def prior_rows(parameters: Sequence[Parameter]) -> Floats:
    """Return rows that hold the numbers near 0, (rows, p); along R0(z) near their neighbours.

    A pure number. [1]
    """
    rows = []
    place_of = {one.name: place for place, one in enumerate(parameters)}
    names = [f"resistance at {100 * z:g} %" for z in SHAPE_AT]
    sd = next((one.sd for one in parameters if one.name in names), 1.0)
    for place in range(len(names) - 1):
        row = np.zeros(len(parameters))
        for other, weight in _held_against(place):
            if names[other] in place_of:
                row[place_of[names[other]]] = weight / sd
        rows.append(row)
    shape = {name for name in names if name in place_of}
    for place, parameter in enumerate(parameters):
        if parameter.name not in shape:
            row = np.zeros(len(parameters))
            row[place] = 1.0 / parameter.sd
            rows.append(row)
    return np.array(rows)


def _held_against(place: int) -> list[tuple[int, float]]:
    """Return what a value along R0(z) is held against: near empty the line through the next two."""
    if SHAPE_AT[place] >= GOES_ON_BELOW:
        return [(place, -1.0), (place + 1, 1.0)]
    here, near, far = SHAPE_AT[place : place + 3]
    part = float((near - here) / (far - near))
    return [(place, 1.0), (place + 1, -1.0 - part), (place + 2, part)]


def _judged(shown: Shown, numbers: Floats, slopes: Floats, prior: Floats, turns: int) -> Fit:
    """Count how many residuals are independent, and scale the errors by that and by their size.

    A first step is one measurement, and counts as it is.

    Source: docs/theory.md, eq. 25.6.
    """
    weighted, rows = _all_weighted(shown, numbers), _rows(shown, numbers)
    count = sum(one.size for one in weighted)
    independent = sum(independent_of(w[:, cell]) for w in weighted for cell in range(w.shape[1]))
    square = sum(float((w**2).sum()) for w in weighted) / max(count, 1)
    part = independent / max(count, 1) / max(square, 1e-12)
    counts = np.concatenate([np.full(one.size, w) for one, w in zip(rows, cycle([part, 1.0]))])
    covariance = np.linalg.pinv((slopes.T * counts) @ slopes + prior.T @ prior, hermitian=True)
    return Fit(
        shown.recipe.parameters(),
        numbers.copy(),
        np.asarray(covariance),
        tuple(shown.samples),
        _left_over(shown, numbers),
        independent,
        float(np.sqrt(square)),
        turns,
        settled=False,
        cost=sum(float((one**2).sum()) for one in (*rows, prior @ numbers)),
    )


def independent_of(residual: Floats) -> float:
    """Return how many samples of a series are independent: n / (1 + 2 sum of autocorrelations).

    The count need not be whole. [1]

    The sum runs until the autocorrelation falls below 0.05.

    Parameters
    ----------
    residual : array (n,)
        [any unit]

    Source
    ------
    docs/theory.md, eq. 25.5.
    """
    count = residual.size
    centred = residual - residual.mean()
    power = float(centred @ centred)
    if count < 4 or power <= 0.0:
        return float(count)
    padded = np.fft.rfft(centred, 2 * count)
    correlation = np.fft.irfft(np.abs(padded) ** 2)[:count] / power
    below = np.flatnonzero(correlation < SHORT_OF)
    end = int(below[0]) if below.size else count
    return float(max(1.0, count / (1.0 + 2.0 * correlation[1:end].sum())))
