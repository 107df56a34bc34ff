"""``study versus``: two scenarios on the same draws, so that only their difference is left."""

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from bankSim.kernels.arrays import Floats
from bankSim.scenario.record import Scenario
from bankSim.study.answers import BANK, RUNTIME, Answer
from bankSim.study.blocks import Draws, Workers, run_draws
from bankSim.study.find_unknowns import find_unknowns
from bankSim.study.outcomes import FIRST
from bankSim.study.plan import DEFAULT_SEED, make_plan
from bankSim.study.spread import LEAST_DRAWS, Band, Precision, band, central_outcome
from bankSim.study.statistics import Estimate, chance, mean, percentile
from bankSim.study.sweep import StoreOf
from bankSim.study.uniforms import Sampling

MOST_DRAWS = 5000
GROWTH = 1.5
SAME = 1e-6  # of the larger of two numbers: closer ones count as the same


@dataclass(frozen=True, slots=True)
class Difference:
    """One answer of both scenarios, draw by draw.

    Parameters
    ----------
    answer : Answer
    one, other : Band
    difference : Band
        Other less one, of the same draw.
    mean : Estimate
        Of that difference.
    larger, smaller : Estimate
        Chance that the other one gives more, and less.
    """

    answer: Answer
    one: Band
    other: Band
    difference: Band
    mean: Estimate
    larger: Estimate
    smaller: Estimate


@dataclass(frozen=True, eq=False)
class VersusResult:
    """All that `study versus` finds.

    Parameters
    ----------
    one, other : Draws
    differences : tuple of Difference
        Ah of the bank, runtime.
    first : tuple of (str, Estimate or None, Estimate or None)
        Chance of every battery to cut out first, in one and in the other; None where it is not.
    shared : int
        Unknowns that both have in common; they have the same values in both.
    alone : tuple of int
        Unknowns that only one has, and only the other.
    seed : int
    reached : bool
    """

    one: Draws
    other: Draws
    differences: tuple[Difference, ...]
    first: tuple[tuple[str, Estimate | None, Estimate | None], ...]
    shared: int
    alone: tuple[int, int]
    seed: int
    reached: bool


def study_versus(
    one: Scenario,
    other: Scenario,
    workers: Workers,
    *,
    store_of: StoreOf | None = None,
    most: int = MOST_DRAWS,
    precision: Precision = Precision(),  # noqa: B008 - frozen
    seed: int = DEFAULT_SEED,
    sampling: Sampling = Sampling.RANDOM,
    progress: Callable[[str, int, int], None] | None = None,
) -> VersusResult:
    """March the same draws through two scenarios until their difference is known well enough.

    What both have in common (the same battery name, the same unknown) has the same value in both.

    Parameters
    ----------
    one, other : Scenario
    workers : Workers
    store_of : callable, optional
        Gives the store of either, from a name and the description of its draws.
    most : int
        Draws at most.
    precision : Precision
        `Ah` is asked of the points of the difference, as a part of the bank's median.
    seed, sampling
        As in `make_plan`.
    progress : callable, optional
        Told what is being done, how many draws are finished, and how many there are at most.
    """
    labels = [{unknown.label for unknown in find_unknowns(scenario)} for scenario in (one, other)]
    plans = [
        make_plan(scenario, seed=seed, sampling=sampling, beside=tuple(sorted(beside)))
        for scenario, beside in zip((one, other), reversed(labels), strict=True)
    ]
    block = min(plan.block for plan in plans)
    plans = [replace(plan, block=block) for plan in plans]
    names = ("one", "other")
    stores = [
        store_of(name, plan.description) if store_of else None
        for name, plan in zip(names, plans, strict=True)
    ]
    wanted, reached = min(LEAST_DRAWS, most), False
    kept = stores
    while True:
        both = []
        for plan, store in zip(plans, kept, strict=True):
            both.append(run_draws(plan, wanted, workers, store))
        kept = [draws.store for draws in both]
        if progress is not None:
            progress("pairs of draws", wanted, most)
        reached = _is_precise(both, precision)
        if reached or wanted >= most:
            break
        wanted = min(math.ceil(wanted * GROWTH), most)
    shared = len(labels[0] & labels[1])
    alone = (len(labels[0]) - shared, len(labels[1]) - shared)
    return _result(both[0], both[1], shared, alone, seed, reached)


def _is_precise(both: list[Draws], precision: Precision) -> bool:
    one, other = (BANK.of(draws) for draws in both)
    gap = other - one
    points = [percentile(gap, percent) for percent in (5.0, 50.0, 95.0)]
    allowed = precision.Ah * abs(float(np.median(one)))
    larger = chance(int(_larger(one, other).sum()), gap.size)
    return max(p.half_width for p in points) <= allowed and larger.half_width <= precision.chance


def _larger(one: Floats, other: Floats) -> Floats:
    """Tell where the second number is larger by more than a trace."""
    return np.asarray(other - one > SAME * np.maximum(np.abs(one), np.abs(other)))


def _result(
    one: Draws, other: Draws, shared: int, alone: tuple[int, int], seed: int, reached: bool
) -> VersusResult:
    central = central_outcome(one.plan), central_outcome(other.plan)
    return VersusResult(
        one=one,
        other=other,
        differences=tuple(_difference(answer, one, other, central) for answer in (BANK, RUNTIME)),
        first=_first(one, other),
        shared=shared,
        alone=alone,
        seed=seed,
        reached=reached,
    )


def _difference(
    answer: Answer, one: Draws, other: Draws, central: tuple[dict[str, float], dict[str, float]]
) -> Difference:
    a, b = answer.of(one), answer.of(other)
    middle = [row[answer.column] for row in central]
    return Difference(
        answer=answer,
        one=band(answer.text, answer.unit, a, middle[0]),
        other=band(answer.text, answer.unit, b, middle[1]),
        difference=band(answer.text, answer.unit, b - a, middle[1] - middle[0]),
        mean=mean(b - a),
        larger=chance(int(_larger(a, b).sum()), a.size),
        smaller=chance(int(_larger(b, a).sum()), a.size),
    )


def _first(one: Draws, other: Draws) -> tuple[tuple[str, Estimate | None, Estimate | None], ...]:
    chances = [_chances(draws) for draws in (one, other)]
    names = dict.fromkeys([*chances[0], *chances[1]])
    return tuple((name, chances[0].get(name), chances[1].get(name)) for name in names)


def _chances(draws: Draws) -> dict[str, Estimate]:
    first = draws.column(FIRST)
    return {
        battery.name: chance(int((first == number).sum()), draws.count)
        for number, battery in enumerate(draws.plan.scenario.bank.batteries, 1)
    }
