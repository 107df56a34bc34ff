"""How much of the variance of an answer each group makes: Sobol' indices, with intervals."""

from dataclasses import dataclass

import numpy as np

from bankSim.kernels.arrays import Floats
from bankSim.study.statistics import CONFIDENCE, Estimate

RESAMPLES = 1000


@dataclass(frozen=True, slots=True)
class Indices:
    """Of one group; parts of the variance.

    Parameters
    ----------
    first : Estimate
        What would go, on average, if the group alone were known exactly. An estimate near 0 may
        lie a little below.
    total : Estimate
        What would stay, on average, if all but the group were known exactly.
    """

    first: Estimate
    total: Estimate


def consistent(one: Indices) -> Indices:
    """Return indices whose first-order one is not above the total one, which it cannot be.

    Where noise says so, both are the surer of the two: the one with the narrower interval.
    """
    if one.first.value <= one.total.value:
        return one
    surer = min(one.total, one.first, key=lambda part: part.high - part.low)
    return Indices(surer, surer)


@dataclass(frozen=True, eq=False)
class Swapped:
    """The answer of the two sets of points, and of A with the columns of each group from B.

    Parameters
    ----------
    a, b : array (points,)
        In the unit of the answer.
    ab : array (points, groups)
        In the unit of the answer.
    weights : array (1 + resamples, points)
        See `weights_of`.
    """

    a: Floats
    b: Floats
    ab: Floats
    weights: Floats

    def indices(self) -> tuple[Indices, ...]:
        """Return the indices of every group.

        First-order indices come from the sharper of two estimators, as the resamples judge: (b) is
        sharp for small ones, (c) for large ones.

        Source
        ------
        Saltelli and others, Comput. Phys. Commun. 181 (2010) 259, table 2: (b), (c) and (f); the
        last two are Jansen's, Comput. Phys. Commun. 117 (1999) 35 (from memory). (b) and (f) are
        checked against SciPy in the tests. Answers are taken from their mean: less noise.
        Equations: docs/theory.md, eq. 23.1, 23.2, 23.3.
        """
        variance = self._variance()[:, None]
        firsts = _sharper(_part(self._swapped_out(), variance), 1.0 - self._left(self.b, variance))
        totals = self._left(self.a, variance)
        columns = range(self.ab.shape[1])
        return tuple(Indices(_estimate(firsts[:, g]), _estimate(totals[:, g])) for g in columns)

    def _swapped_out(self) -> Floats:
        """Estimator (b) of the variance that a group makes alone; (1 + resamples, groups)."""
        a, b, ab = self._centred()
        change = ab - a[:, None]
        shift = (self.weights @ (0.5 * (a + b)))[:, None]
        return self.weights @ (b[:, None] * change) - shift * (self.weights @ change)

    def _left(self, one: Floats, variance: Floats) -> Floats:
        """Half the mean square difference from `ab`, as part of the variance."""
        return _part(0.5 * (self.weights @ (one[:, None] - self.ab) ** 2), variance)

    def sd(self) -> Estimate:
        """Return the standard deviation of the answer."""
        return _estimate(np.sqrt(self._variance()))

    def remaining(self, one: Floats, other: Floats) -> tuple[Estimate, Estimate]:
        """Return the standard deviation that stays when a set of groups is known exactly.

        It is sqrt(E[Var(Y | set)]), and half the mean square of the difference of two draws that
        share the set alone is its square (Jansen's total index of all the others).

        Parameters
        ----------
        one, other : array (points,)
            Answers of draws that share just the columns of the set: of B, and of A with these
            columns from B. In the unit of the answer.

        Returns
        -------
        sd : Estimate
        part : Estimate
            Of the standard deviation that there is.

        Source
        ------
        docs/theory.md, eq. 23.4.
        """
        left = np.sqrt(0.5 * (self.weights @ (one - other) ** 2))
        return _estimate(left), _estimate(_part(left, np.sqrt(self._variance())))

    def _centred(self) -> tuple[Floats, Floats, Floats]:
        middle = 0.5 * (self.a.mean() + self.b.mean())
        return self.a - middle, self.b - middle, self.ab - middle

    def _variance(self) -> Floats:
        """Of A and B together; (1 + resamples,)."""
        a, b, _ = self._centred()
        square = self.weights @ (0.5 * (a * a + b * b))
        return np.maximum(square - (self.weights @ (0.5 * (a + b))) ** 2, 0.0)


def weights_of(points: int, seed: int, resamples: int = RESAMPLES) -> Floats:
    """Return the weights of points in the estimate (first row), and in its resamples.

    Parameters
    ----------
    points : int
    seed : int
    resamples : int

    Returns
    -------
    weights : array (1 + resamples, points)
        Each row sums to 1. Rows of a point are resampled together (bootstrap). Even points are
        more accurate than independent ones, so intervals from it are rather too wide. [1]
    """
    source = np.random.default_rng(seed)
    even = np.full(points, 1.0 / points)
    counts = source.multinomial(points, even, size=resamples)
    return np.vstack([even, counts / points])


def _sharper(one: Floats, other: Floats) -> Floats:
    """Return, for each group, the estimates whose resamples scatter less."""
    return np.where(np.nanstd(one[1:], axis=0) <= np.nanstd(other[1:], axis=0), one, other)


def _part(amount: Floats, whole: Floats) -> Floats:
    """Divide; NaN where a resample has no variance at all."""
    return amount / np.where(whole > 0.0, whole, np.nan)


def _estimate(values: Floats) -> Estimate:
    """Return the first value, with percentiles of the others around it."""
    tail = 50.0 * (1.0 - CONFIDENCE)
    low, high = np.nanpercentile(values[1:], (tail, 100.0 - tail))
    value = float(values[0])
    return Estimate(value, min(float(low), value), max(float(high), value))
