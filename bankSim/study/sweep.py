"""``study sweep``: one or two keys over a range, every point with its own draws."""

import itertools
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from bankSim.errors import ScenarioError
from bankSim.scenario.record import Scenario
from bankSim.scenario.variant import Variants
from bankSim.study.answers import RUNTIME, Answer, main_answer
from bankSim.study.blocks import Draws, Workers, run_draws
from bankSim.study.find_unknowns import find_unknowns
from bankSim.study.happenings import Happenings
from bankSim.study.outcomes import FIRST, NOBODY, TOGETHER, battery_column
from bankSim.study.plan import DEFAULT_SEED, Plan, make_plan
from bankSim.study.spread import Band, band, central_outcome, fed_to_the_end
from bankSim.study.statistics import Estimate, chance
from bankSim.study.store import Store
from bankSim.study.swept_keys import SweptKey
from bankSim.study.traced import CautionChance, Traced, trace_draws
from bankSim.study.uniforms import Sampling

POINT_DRAWS = 200
POINT_BLOCK = 50  # draws; small, so that a point is spread over all workers
TRACED_DRAWS, TRACED_IN_ALL = 20, 600  # run in full: at a point, and at all of them

StoreOf = Callable[[str, Mapping[str, object]], Store]
Values = tuple[float | int | str | bool, ...]


@dataclass(frozen=True, slots=True)
class SweptPoint:
    """What the bank does at one point.

    Parameters
    ----------
    values : tuple
        Of the keys, in their order.
    bank, runtime, hardest : Band
        What `SweepResult.answer` asks for; hours until the loads are fed no longer; the largest
        current out of any battery until the first one cuts out, of the draws run in full. [Ah, h,
        A]
    by_battery : tuple of Band
        What every battery delivers, or takes in where there is no load. [Ah]
    first : tuple of Estimate
        Chance of every battery to cut out before all others.
    nobody, together : Estimate
        Chance that none cuts out, and that several are the first, all at once.
    shares : tuple of (float or None)
        Of every battery, its part of the current at the start of the run with all values in the
        middle. [1]
    fed : Estimate
        Chance that the loads are fed to the end of the run.
    cautions : tuple of CautionChance
    happenings : Happenings
        Both of a few draws run in full.
    """

    values: Values
    bank: Band
    runtime: Band
    hardest: Band
    by_battery: tuple[Band, ...]
    first: tuple[Estimate, ...]
    nobody: Estimate
    together: Estimate
    shares: tuple[float | None, ...]
    fed: Estimate
    cautions: tuple[CautionChance, ...]
    happenings: Happenings = field(default_factory=Happenings)


@dataclass(frozen=True, eq=False)
class SweepResult:
    """All that `study sweep` finds.

    Parameters
    ----------
    scenario : Scenario
        At which the keys are changed.
    plan : Plan
        Of the first point; the others differ by their keys.
    keys : tuple of SweptKey
        One or two.
    answer : Answer
        What `SweptPoint.bank` is: Ah delivered, or taken in where there is no load.
    points : tuple of SweptPoint
        The last key changes fastest.
    draws, traced, seed : int
        Draws of every point, and those of them run in full; the same random numbers at all points.
    given : tuple
        What the file has at the keys; None for nothing.
    """

    scenario: Scenario
    plan: Plan
    keys: tuple[SweptKey, ...]
    answer: Answer
    points: tuple[SweptPoint, ...]
    draws: int
    traced: int
    seed: int
    given: tuple[object, ...]

    def grid(self, read: Callable[[SweptPoint], float]) -> np.ndarray:
        """Return one number of all points, in the shape of the keys' values.

        In the unit of that number.
        """
        shape = [len(key.values) for key in self.keys]
        return np.array([read(point) for point in self.points]).reshape(shape)


def study_sweep(
    scenario: Scenario,
    keys: tuple[SweptKey, ...],
    workers: Workers,
    *,
    store_of: StoreOf | None = None,
    draws: int = POINT_DRAWS,
    seed: int = DEFAULT_SEED,
    sampling: Sampling = Sampling.RANDOM,
    in_full: int = TRACED_DRAWS,
    progress: Callable[[str, int, int], None] | None = None,
) -> SweepResult:
    """March draws at every point of a range of one or two keys.

    Parameters
    ----------
    scenario : Scenario
    keys : tuple of SweptKey
        From `read_swept`.
    workers : Workers
    store_of : callable, optional
        Gives the store of a point, from a name and the description of its draws.
    draws : int
        Of every point; the same random numbers at all of them, so that differences between points
        are sharper than each point itself.
    seed, sampling
        As in `make_plan`.
    in_full : int
        At most so many of them, and one at least, are run in full, for cautions and largest
        currents.
    progress : callable, optional
        Told what is being done, how many points are finished, and of how many.

    Raises
    ------
    ScenarioError
        When a value makes no sound scenario.
    """
    variants = Variants(scenario)
    combinations = list(itertools.product(*(key.values for key in keys)))
    plans = _plans(variants, keys, combinations, seed, sampling)
    traced = max(1, min(draws, in_full, TRACED_IN_ALL // len(plans)))
    answer = main_answer(scenario.bank)
    points = []
    for number, (values, plan) in enumerate(zip(combinations, plans, strict=True), 1):
        store = store_of(f"point-{number:04d}", plan.description) if store_of else None
        marched = run_draws(plan, draws, workers, store)
        points.append(_point(values, marched, answer, trace_draws(plan, traced, workers)))
        if progress is not None:
            progress("points", number, len(plans))
    return SweepResult(
        scenario=scenario,
        plan=plans[0],
        keys=keys,
        answer=answer,
        points=tuple(points),
        draws=draws,
        traced=traced,
        seed=seed,
        given=tuple(variants.value_at(key.path) for key in keys),
    )


def _plans(
    variants: Variants,
    keys: Sequence[SweptKey],
    combinations: Sequence[Values],
    seed: int,
    sampling: Sampling,
) -> list[Plan]:
    """Return the plan of every point; what points have in common has the same draws in all."""
    scenarios = [_edited(variants, keys, own) for own in combinations]
    labels = [{one.label for one in find_unknowns(scenario)} for scenario in scenarios]
    every = set().union(*labels)
    plans = [
        make_plan(scenario, seed=seed, sampling=sampling, beside=tuple(sorted(every - own)))
        for scenario, own in zip(scenarios, labels, strict=True)
    ]
    return [replace(plan, block=min(plan.block, POINT_BLOCK)) for plan in plans]


def _edited(variants: Variants, keys: Sequence[SweptKey], values: Values) -> Scenario:
    pairs = list(zip(keys, values, strict=True))
    try:
        return variants.with_values({key.path: value for key, value in pairs})
    except ScenarioError as error:
        told = ", ".join(f"{key.key} = {value}" for key, value in pairs)
        raise ScenarioError([f"sweep, {told}: {line}" for line in error.faults]) from error


def _point(values: Values, draws: Draws, answer: Answer, traced: Traced) -> SweptPoint:
    names = [battery.name for battery in draws.plan.scenario.bank.batteries]
    central, first = central_outcome(draws.plan), draws.column(FIRST)
    assert traced.middle is not None

    def of(asked: Answer) -> Band:
        return band(asked.text, asked.unit, asked.of(draws), central[asked.column])

    def own(name: str) -> Band:
        column = battery_column(name, answer.column.rpartition(".")[2])
        return band(answer.column, "Ah", draws.column(column).astype(float), central[column])

    def among(number: int) -> Estimate:
        return chance(int((first == number).sum()), draws.count)

    return SweptPoint(
        values=values,
        bank=of(answer),
        runtime=of(RUNTIME),
        hardest=band("largest current until the first cut-out", "A", traced.hardest_A, None),
        by_battery=tuple(own(name) for name in names),
        first=tuple(among(number) for number in range(1, len(names) + 1)),
        nobody=among(NOBODY),
        together=among(TOGETHER),
        shares=traced.middle.shares_at_start,
        fed=fed_to_the_end(draws),
        cautions=traced.cautions,
        happenings=traced.happenings,
    )
