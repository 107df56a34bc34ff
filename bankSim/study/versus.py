"""``study versus``: two scenarios on the same draws, so that only their difference is left."""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from bankSim.kernels.arrays import Floats
from bankSim.scenario.record import Scenario
from bankSim.study.answers import BANK, CHARGED, RUNTIME, Answer
from bankSim.study.blocks import Draws, Workers, run_draws
from bankSim.study.find_unknowns import find_unknowns
from bankSim.study.outcomes import FIRST, battery_column
from bankSim.study.plan import DEFAULT_SEED, Plan, make_plan
from bankSim.study.spread import (
    LEAST_DRAWS,
    Band,
    Precision,
    band,
    central_outcome,
    fed_to_the_end,
)
from bankSim.study.statistics import Estimate, chance, mean, percentile
from bankSim.study.store import Store
from bankSim.study.sweep import StoreOf
from bankSim.study.traced import Traced, trace_draws
from bankSim.study.uniforms import Sampling

MOST_DRAWS = 5000
TRACED_DRAWS = 50
GROWTH = 1.5
HARDEST = Answer("hardest", "largest current of any battery until the first cut-out", "A", "")
CHARGING = Answer("charging", "hours until 95 % of the charge is in", "h", "")
UNTIL_OFF = Answer("until off", "hours until a load stays off", "h", "")
MOSTLY = 0.5  # of the draws run in full: from here on loads that stay off are what is compared
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


@dataclass(frozen=True, slots=True)
class BatteryDifference:
    """One battery in both scenarios; None where it is not.

    Parameters
    ----------
    name : str
    first : (Estimate or None, Estimate or None)
        Chance to cut out first.
    delivered, charged : (Band or None, Band or None)
        [Ah]
    peak : (Band or None, Band or None)
        The largest discharge current of the whole run. [A]
    """

    name: str
    first: tuple[Estimate | None, Estimate | None]
    delivered: tuple[Band | None, Band | None]
    charged: tuple[Band | None, Band | None]
    peak: tuple[Band | None, Band | None]


@dataclass(frozen=True, eq=False)
class VersusResult:
    """All that `study versus` finds.

    Parameters
    ----------
    one, other : Draws
    differences : tuple of Difference
        Ah the bank delivers, runtime; where neither has a load, Ah the bank takes in, and the hours
        until 95 % of them are in, of the draws run in full. Where loads mostly cut themselves off
        and stay off, the hours until then, too, of the same draws.
    batteries : tuple of BatteryDifference
        All that are in one or in the other.
    hardest : Difference
        The largest discharge current of any battery until the first one cuts out, of the draws run
        in full. [A]
    fed : (Estimate, Estimate)
        Chances that the loads are fed to the end of the run.
    traced : (Traced, Traced)
        Draws run in full, for cautions.
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
    batteries: tuple[BatteryDifference, ...]
    hardest: Difference
    fed: tuple[Estimate, Estimate]
    traced: tuple[Traced, Traced]
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
        `Ah` is asked of the points of the first difference, as a part of its median.
    seed, sampling
        As in `make_plan`.
    progress : callable, optional
        Told what is being done, how many draws are finished, and how many there are at most.

    Source
    ------
    docs/theory.md, eq. 24.2.
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
    asked = (BANK, RUNTIME) if one.bank.loads or other.bank.loads else (CHARGED,)
    both, reached = _march(plans, stores, asked[0], workers, most, precision, progress)
    traced = [trace_draws(plan, min(TRACED_DRAWS, both[0].count), workers) for plan in plans]
    shared = len(labels[0] & labels[1])
    return VersusResult(
        one=both[0],
        other=both[1],
        differences=(*(_difference(answer, both) for answer in asked), *_hours(asked, traced)),
        batteries=_batteries(*both),
        hardest=_between(HARDEST, traced[0].hardest_A, traced[1].hardest_A),
        fed=(fed_to_the_end(both[0]), fed_to_the_end(both[1])),
        traced=(traced[0], traced[1]),
        shared=shared,
        alone=(len(labels[0]) - shared, len(labels[1]) - shared),
        seed=seed,
        reached=reached,
    )


def _hours(asked: Sequence[Answer], traced: Sequence[Traced]) -> list[Difference]:
    """Return how long charging takes, where that is asked for; how long until a load stays off."""
    happenings = [told.happenings for told in traced]
    if CHARGED in asked:
        first, second = (one.charging_h for one in happenings)
        return [_between(CHARGING, first, second)]
    if any(off.chance.value >= MOSTLY for one in happenings for off in one.off_for_good):
        first, second = (one.until_off_h for one in happenings)
        return [_between(UNTIL_OFF, first, second)]
    return []


def _march(
    plans: Sequence[Plan],
    stores: Sequence[Store | None],
    answer: Answer,
    workers: Workers,
    most: int,
    precision: Precision,
    progress: Callable[[str, int, int], None] | None,
) -> tuple[list[Draws], bool]:
    """March more and more pairs of draws; tell whether they are enough."""
    wanted = min(LEAST_DRAWS, most)
    while True:
        pairs = zip(plans, stores, strict=True)
        both = [run_draws(plan, wanted, workers, store) for plan, store in pairs]
        stores = [draws.store for draws in both]
        if progress is not None:
            progress("pairs of draws", wanted, most)
        reached = _is_precise(answer, both, precision)
        if reached or wanted >= most:
            return both, reached
        wanted = min(math.ceil(wanted * GROWTH), most)


def _is_precise(answer: Answer, both: Sequence[Draws], precision: Precision) -> bool:
    one, other = (answer.of(draws) for draws in both)
    gap = other - one
    points = [percentile(gap, percent) for percent in (5.0, 50.0, 95.0)]
    allowed = precision.Ah * abs(float(np.median(one)))
    larger = chance(int(_larger(one, other).sum()), gap.size)
    return max(p.half_width for p in points) <= allowed and larger.half_width <= precision.chance


def _larger(one: Floats, other: Floats) -> Floats:
    """Tell where the second number is larger by more than a trace."""
    return np.asarray(other - one > SAME * np.maximum(np.abs(one), np.abs(other)))


def _difference(answer: Answer, both: Sequence[Draws]) -> Difference:
    central = [central_outcome(draws.plan)[answer.column] for draws in both]
    one, other = (answer.of(draws) for draws in both)
    return _between(answer, one, other, central)


def _between(
    answer: Answer, one: Floats, other: Floats, central: Sequence[float] = (math.nan, math.nan)
) -> Difference:
    """Return both, and the difference draw by draw."""
    text, unit = answer.text, answer.unit
    return Difference(
        answer=answer,
        one=band(text, unit, one, central[0]),
        other=band(text, unit, other, central[1]),
        difference=band(text, unit, other - one, central[1] - central[0]),
        mean=mean(other - one),
        larger=chance(int(_larger(one, other).sum()), one.size),
        smaller=chance(int(_larger(other, one).sum()), one.size),
    )


def _batteries(one: Draws, other: Draws) -> tuple[BatteryDifference, ...]:
    both = (one, other)
    numbers = [
        {battery.name: n for n, battery in enumerate(draws.plan.scenario.bank.batteries, 1)}
        for draws in both
    ]

    def first(side: int, name: str) -> Estimate | None:
        if name not in numbers[side]:
            return None
        found = both[side].column(FIRST) == numbers[side][name]
        return chance(int(found.sum()), both[side].count)

    def own(side: int, name: str, what: str) -> Band | None:
        if name not in numbers[side]:
            return None
        values = both[side].column(battery_column(name, what)).astype(float)
        return band(what, what.rpartition("_")[2], values, None)

    return tuple(
        BatteryDifference(
            name,
            first=(first(0, name), first(1, name)),
            delivered=(own(0, name, "delivered_Ah"), own(1, name, "delivered_Ah")),
            charged=(own(0, name, "charged_Ah"), own(1, name, "charged_Ah")),
            peak=(own(0, name, "peak_discharge_A"), own(1, name, "peak_discharge_A")),
        )
        for name in dict.fromkeys([*numbers[0], *numbers[1]])
    )
