"""The smallest set of groups that, known exactly, leaves half of the spread."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from bankSim.study.groups import Group
from bankSim.study.indices import Indices
from bankSim.study.statistics import Estimate

HALF = 0.5  # of the standard deviation
NEEDED = 1.0 - HALF**2  # of the variance
SLACK = 0.05  # of the variance: noise of the bounds
WORTH = 0.03  # of the variance: what may make less is not worth a measurement

Remaining = Callable[[int], tuple[Estimate, Estimate]]


@dataclass(frozen=True, slots=True)
class ToMeasure:
    """What to measure next.

    Parameters
    ----------
    groups : tuple of Group
        What promises most first; all that were looked at when even they do not halve it.
    remaining_sd : Estimate
        Standard deviation expected to remain once they are known exactly, from draws that share
        just this set. [unit of the answer]
    part : Estimate
        The same as part of the standard deviation that there is.
    halves : bool
        The part is a half or less.
    """

    groups: tuple[Group, ...]
    remaining_sd: Estimate
    part: Estimate
    halves: bool

    @property
    def is_verified(self) -> bool:
        """Tell whether the whole interval of the part lies at a half or less."""
        return self.part.high <= HALF


def by_promise(indices: Sequence[Indices]) -> list[int]:
    """Return the places of groups, what promises most first.

    The middle of first-order and total index decides. Where nothing works together they are the
    same; where much does (who cuts out first), first-order indices alone are all near 0.
    """
    promise = [-(one.first.value + one.total.value) for one in indices]
    return [int(place) for place in np.argsort(promise, kind="stable")]


def is_worth_it(one: Indices) -> bool:
    """Tell whether a group surely moves the answer: its whole interval lies above `WORTH`."""
    return one.total.low > WORTH


def choose(
    groups: Sequence[Group],
    indices: Sequence[Indices],
    others: Sequence[Indices],
    remaining: Remaining,
) -> ToMeasure:
    """Return the smallest number of groups from the first on that halves the spread.

    Parameters
    ----------
    groups : sequence of Group
        What promises most first.
    indices : sequence of Indices
        Of these.
    others : sequence of Indices
        Of all else.
    remaining : callable
        Returns, for so many of the groups, the standard deviation that remains and what part that
        is of the present one. Asked seldom: bounds from the indices narrow the search, bisection
        ends it.
    """
    left, part = remaining(len(groups))
    if part.value > HALF:
        return ToMeasure(tuple(groups), left, part, False)
    low, high = lengths_between(indices, others)
    while low < high:
        middle = (low + high) // 2
        low, high = (low, middle) if remaining(middle)[1].value <= HALF else (middle + 1, high)
    while remaining(low)[1].value > HALF:  # a bound was too hopeful
        low += 1
    left, part = remaining(low)
    return ToMeasure(tuple(groups[:low]), left, part, True)


def lengths_between(indices: Sequence[Indices], others: Sequence[Indices] = ()) -> tuple[int, int]:
    """Return how many groups could be enough at best, and how many surely are (or all).

    The part of the variance that a set explains is at least the sum of its first-order indices,
    and 1 less the total ones of all others; at most 1 less the first-order indices of all others,
    and 1 less the largest total one of them.

    Parameters
    ----------
    indices : sequence of Indices
        In the order in which groups are taken.
    others : sequence of Indices
        Of all that is not among them.

    Source
    ------
    Both follow from the parts of the variance (Sobol', Math. Modelling Comput. Exp. 1 (1993) 407).
    Equations: docs/theory.md, eq. 23.6.
    """
    every = [*indices, *others]
    first = np.array([max(one.first.value, 0.0) for one in every])
    total = np.array([one.total.value for one in every])
    lengths = range(1, len(indices) + 1)
    most = [1.0 - max(first[n:].sum(), total[n:].max(initial=0.0)) for n in lengths]
    least = [max(first[:n].sum(), 1.0 - total[n:].sum()) for n in lengths]
    low = _reaches(most, NEEDED - SLACK)
    return low, max(low, _reaches(least, NEEDED + SLACK))


def _reaches(bounds: Sequence[float], level: float) -> int:
    """Return the first length whose bound reaches a level; all when none does."""
    return next((n for n, bound in enumerate(bounds, 1) if bound >= level), len(bounds))
