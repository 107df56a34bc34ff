"""What draws say, with how sure that is: percentiles, chances, mean differences."""

import math
from dataclasses import dataclass

import numpy as np

from bankSim.kernels.arrays import Floats

CONFIDENCE = 0.95


@dataclass(frozen=True, slots=True)
class Estimate:
    """A number from draws, and the interval that holds the true one in 95 of 100 studies.

    Parameters
    ----------
    value, low, high : float
        low <= value <= high. [any unit]
    """

    value: float
    low: float
    high: float

    @property
    def half_width(self) -> float:
        """The larger distance from the value to an end of the interval.

        In the unit of the value.
        """
        return max(self.value - self.low, self.high - self.value)


def percentile(values: Floats, percent: float) -> Estimate:
    """Return a percentile with the interval that order statistics give, whatever the distribution.

    Parameters
    ----------
    values : array (n,)
        Independent draws, n >= 1. [any unit]
    percent : float
        Between 0 and 100.

    Returns
    -------
    estimate : Estimate
        The value interpolates between draws in a straight line (Hyndman and Fan's definition 7).
        With few draws the interval ends at the smallest or largest of them.

    Source
    ------
    How many of n draws lie below the true percentile is binomial; see e.g. David and Nagaraja,
    Order Statistics, 3rd ed. (2003), section 7.1 (section from memory).
    Equations: docs/theory.md, eq. 22.1.
    """
    ordered = np.sort(values)
    n, part = ordered.size, percent / 100.0
    tail = 0.5 * (1.0 - CONFIDENCE)
    below, above = (_binomial_quantile(chance, n, part) for chance in (tail, 1.0 - tail))
    low, high = ordered[max(below - 1, 0)], ordered[min(above, n - 1)]
    value = float(np.percentile(ordered, percent))
    return Estimate(value, min(float(low), value), max(float(high), value))


def _binomial_quantile(chance: float, count: int, part: float) -> int:
    """Return the least number of hits in `count` trials that is not exceeded with this chance.

    `scipy.stats` would tell it too, but takes longer to import than a short study to run.
    """
    from scipy.special import bdtr

    low, high = 0, count
    while low < high:
        middle = (low + high) // 2
        if bdtr(middle, count, part) >= chance:
            high = middle
        else:
            low = middle + 1
    return low


def chance(count: int, draws: int) -> Estimate:
    """Return how often something happens, with Wilson's interval.

    Parameters
    ----------
    count, draws : int
        In how many draws it did, of how many; draws >= 1.

    Source
    ------
    Wilson, J. Am. Stat. Assoc. 22 (1927) 209; formula checked against SciPy in the tests.
    Equations: docs/theory.md, eq. 22.2.
    """
    from scipy.special import ndtri

    z = float(ndtri(0.5 * (1.0 + CONFIDENCE)))
    part, scale = count / draws, 1.0 + z * z / draws
    middle = (part + 0.5 * z * z / draws) / scale
    half = z / scale * math.sqrt(part * (1.0 - part) / draws + 0.25 * (z / draws) ** 2)
    return Estimate(part, min(max(middle - half, 0.0), part), max(min(middle + half, 1.0), part))


def mean(values: Floats) -> Estimate:
    """Return the mean with Student's interval; an interval of no width for a single value.

    In any unit. [any unit]

    Source: docs/theory.md, eq. 22.3.
    """
    from scipy.special import stdtrit

    n = values.size
    middle = float(values.mean())
    if n < 2:
        return Estimate(middle, middle, middle)
    half = float(stdtrit(n - 1, 0.5 * (1.0 + CONFIDENCE)) * values.std(ddof=1) / math.sqrt(n))
    return Estimate(middle, middle - half, middle + half)
