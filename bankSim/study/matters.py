"""``study matters``: which unknown moves the answer most, and what to measure next.

Three passes over draws of one bank: walks find the groups of unknowns that move the answer at all;
two swapped sets of points give first-order and total indices of those, with all the rest in one
group; and more swaps tell what would remain of the spread if some were known exactly.

An unknown stands for its own independent part. What follows another one (resistance follows
capacity, say) takes its correlated part from the chance of that one, so this part counts for the
one that leads.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from bankSim.errors import ParameterError
from bankSim.kernels.arrays import Floats
from bankSim.sim.demand import cutting_loads
from bankSim.study.answers import Answer
from bankSim.study.blocks import Workers
from bankSim.study.designs import Swaps, Trajectories, saltelli
from bankSim.study.groups import Group, groups_of
from bankSim.study.happenings import Happenings
from bankSim.study.indices import Indices, Swapped, consistent, weights_of
from bankSim.study.passes import Passes, Progress
from bankSim.study.plan import DEFAULT_SEED, Plan
from bankSim.study.screening import Effects, elementary_effects
from bankSim.study.spread import Band, band
from bankSim.study.statistics import Estimate, chance, mean
from bankSim.study.store import StudyError
from bankSim.study.sweep import StoreOf
from bankSim.study.to_measure import ToMeasure, by_promise, choose, is_worth_it
from bankSim.study.traced import trace_draws

BASE_DRAWS, TRAJECTORIES = 512, 10
LEAST_BASE, LEAST_TRAJECTORIES = 8, 2
CHANCE_TIMES = 4  # so many times the walks where the answer is 0 or 1: most steps change nothing
SURE = 0.95  # a best guess that is right so often needs no measuring
MOSTLY, TRACED_DRAWS = 0.5, 20  # draws that are run in full where most end with the loads fed
STILL = 1e-9  # a spread below this part of the largest answer is rounding


@dataclass(frozen=True, slots=True)
class Matter:
    """How much one group matters.

    Parameters
    ----------
    group : Group
    first, total : Estimate
        Indices; parts of the variance, see `Indices`.
    mu_star : float
        From the screening: mean change of the answer over the step in chances. [unit of the answer]
    """

    group: Group
    first: Estimate
    total: Estimate
    mu_star: float


@dataclass(frozen=True, slots=True)
class Dropped:
    """A group that the screening found to matter little; `mu_star` as in `Matter`.

    In the unit of the answer.
    """

    group: Group
    mu_star: float


@dataclass(frozen=True, eq=False)
class MattersResult:
    """All that `study matters` finds; in the answer's unit unless told otherwise.

    Parameters
    ----------
    plan : Plan
        As it was given.
    answer : Answer
    draws : int
        Of all passes.
    seed, base, walks : int
        Of the designs; points of each set; trajectories of the screening.
    central : float or None
        Of the run with all values in the middle; None when it has none. In the unit of the answer.
    mean, sd : Estimate
        Mean of an answer of 0 and 1: with Wilson's interval, as of independent draws.
    seen : Band
        Where the answers of both sets lie, which are draws like any others.
    matters : tuple of Matter
        Largest total index first. Empty: nothing moves the answer.
    rest : Indices or None
        All dropped groups together; None when none was.
    dropped : tuple of Dropped
        Largest effect first.
    to_measure : ToMeasure or None
        None when nothing surely moves the answer, or the best guess is `SURE` enough.
    fed : float
        Part of all draws in which the loads are fed to the end of the run. [1]
    happenings : Happenings
        Of some draws run in full, where loads that can cut themselves off count as fed mostly.
    """

    plan: Plan
    answer: Answer
    draws: int
    seed: int
    base: int
    walks: int
    central: float | None
    mean: Estimate
    sd: Estimate
    seen: Band
    matters: tuple[Matter, ...]
    rest: Indices | None
    dropped: tuple[Dropped, ...]
    to_measure: ToMeasure | None
    fed: float = 0.0
    happenings: Happenings = field(default_factory=Happenings)

    @property
    def nothing_moves(self) -> bool:
        """Tell whether the answer was the same in all draws."""
        return not self.matters

    @property
    def guess(self) -> Estimate:
        """How often it is right to say what is more probable; of an answer of 0 and 1 only."""
        one = self.mean
        return one if one.value >= 0.5 else Estimate(1.0 - one.value, 1.0 - one.high, 1.0 - one.low)

    @property
    def is_sure(self) -> bool:
        """Tell whether the best guess is right so often that nothing needs measuring."""
        return self.answer.equals is not None and self.guess.value >= SURE


def study_matters(
    plan: Plan,
    workers: Workers,
    answer: Answer,
    *,
    store_of: StoreOf | None = None,
    base: int = BASE_DRAWS,
    trajectories: int = TRAJECTORIES,
    seed: int | None = None,
    progress: Progress | None = None,
) -> MattersResult:
    """Rank what is not known by how much it moves an answer, and choose what to measure.

    Parameters
    ----------
    plan : Plan
        Its design is replaced.
    workers : Workers
    answer : Answer
    store_of : callable, optional
        Gives the store of a pass from its name and the description of its draws: "screening", and
        "indices-..." and "check-..." with a mark of the groups in it, so that other answers and
        more points of the same bank can share a folder.
    base : int
        Points of each of the two sets; best a power of two.
    trajectories : int
        Of the screening; `CHANCE_TIMES` as many where the answer is 0 or 1.
    seed : int, optional
        That of the plan's own draws unless given.
    progress : callable, optional
        Told what is being done, how many draws are finished, and of how many.

    Raises
    ------
    StudyError
        When nothing is unknown, or a draw has no such answer.
    """
    if base < LEAST_BASE:
        raise ParameterError("base", base, f"{LEAST_BASE} or more")
    if trajectories < LEAST_TRAJECTORIES:
        raise ParameterError("trajectories", trajectories, f"{LEAST_TRAJECTORIES} or more")
    if not plan.unknowns:
        raise StudyError("matters: nothing is unknown; expected a key that is given with a spread")
    own: int = getattr(plan.design, "seed", DEFAULT_SEED)
    walks = trajectories * (1 if answer.equals is None else CHANCE_TIMES)
    passes = Passes(plan, workers, answer, store_of, progress)
    return _Study(passes, own if seed is None else seed, base, walks).result()


class _Study:
    """The passes, one after the other."""

    def __init__(self, passes: Passes, seed: int, base: int, walks: int) -> None:
        self.passes, self.seed, self.base, self.walks = passes, seed, base, walks
        self.labels = tuple(unknown.label for unknown in passes.plan.unknowns)
        self.groups = groups_of(passes.plan.unknowns)

    def result(self) -> MattersResult:
        effects, seen = self.screened()
        if _is_still(seen):
            return self.still(effects, seen)
        kept = effects.kept()
        swapped = self.swapped(kept)
        seen = np.concatenate([swapped.a, swapped.b])
        if _is_still(seen):
            return self.still(effects, seen)
        return self.found(effects, kept, swapped)

    def screened(self) -> tuple[Effects, Floats]:
        """Return the effects of all groups, and all answers seen."""
        columns = tuple(group.columns for group in self.groups)
        design = Trajectories(self.labels, self.seed, columns)
        answers = self.passes.answers("screening", design, self.walks)
        return elementary_effects(design, answers), answers.ravel()

    def swapped(self, kept: Sequence[int]) -> Swapped:
        """Return the answers of both sets, with each kept group and all the rest swapped."""
        sets = [self.groups[place].columns for place in kept]
        others = set(range(len(self.labels))).difference(*sets)
        if others:
            sets.append(tuple(sorted(others)))
        design = saltelli(self.labels, self.seed, tuple(sets))
        answers = self.passes.answers("indices", design, self.base, mark=f"-{design.mark}")
        weights = weights_of(self.base, self.seed)
        return Swapped(answers[:, 0], answers[:, 1], answers[:, 2:], weights)

    def found(self, effects: Effects, kept: Sequence[int], swapped: Swapped) -> MattersResult:
        """Return the indices of the kept groups, ranked, and what to measure."""
        every = [consistent(one) for one in swapped.indices()]
        indices, rest = every[: len(kept)], every[len(kept) :]
        matters = [
            Matter(self.groups[place], one.first, one.total, float(effects.mu_star[place]))
            for place, one in zip(kept, indices, strict=True)
        ]
        result = self.record(
            np.concatenate([swapped.a, swapped.b]),
            swapped.sd(),
            matters=tuple(sorted(matters, key=lambda one: -one.total.value)),
            rest=rest[0] if rest else None,
            dropped=self.dropped(effects, kept),
        )
        if result.is_sure:
            return result
        to_measure = self.to_measure(kept, swapped, every)
        return replace(result, draws=self.passes.draws, to_measure=to_measure)

    def to_measure(
        self, kept: Sequence[int], swapped: Swapped, every: Sequence[Indices]
    ) -> ToMeasure | None:
        """Choose what to measure among all that surely moves the answer; None where nothing is."""
        indices = every[: len(kept)]
        order = [place for place in by_promise(indices) if is_worth_it(indices[place])]
        if not order:
            return None
        groups = [self.groups[kept[place]] for place in order]
        others = [one for place, one in enumerate(every) if place not in order]
        known = _Known(self, swapped, groups, order, len(kept))
        return choose(groups, [indices[place] for place in order], others, known.remaining)

    def dropped(self, effects: Effects, kept: Sequence[int]) -> tuple[Dropped, ...]:
        """Return the groups that were not kept, largest effect first."""
        others = [
            Dropped(group, float(effects.mu_star[place]))
            for place, group in enumerate(self.groups)
            if place not in kept
        ]
        return tuple(sorted(others, key=lambda one: -one.mu_star))

    def still(self, effects: Effects, seen: Floats) -> MattersResult:
        """Return what there is to say when nothing moves the answer."""
        same = np.full_like(seen, seen[0])
        return self.record(same, Estimate(0.0, 0.0, 0.0), dropped=self.dropped(effects, ()))

    def record(
        self,
        seen: Floats,
        sd: Estimate,
        *,
        matters: tuple[Matter, ...] = (),
        rest: Indices | None = None,
        dropped: tuple[Dropped, ...] = (),
    ) -> MattersResult:
        passes, answer, central = self.passes, self.passes.answer, self.passes.central()
        middle = mean(seen) if answer.equals is None else chance(int(seen.sum()), seen.size)
        return MattersResult(
            passes.plan, answer, passes.draws, self.seed, self.base, self.walks, central,
            middle, sd, band(answer.text, answer.unit, seen, central), matters, rest, dropped, None,
            passes.fed / passes.draws, self.happenings(),
        )  # fmt: skip

    def happenings(self) -> Happenings:
        """Run some draws in full where loads cut themselves off, which counts as fed."""
        passes = self.passes
        loads = cutting_loads(passes.plan.scenario.bank)
        if not loads or passes.fed < MOSTLY * passes.draws:
            return Happenings()
        return trace_draws(passes.plan, TRACED_DRAWS, passes.workers).happenings


class _Known:
    """What remains when so many groups are known: from the swaps made, or from one more."""

    def __init__(
        self,
        study: _Study,
        swapped: Swapped,
        groups: Sequence[Group],
        order: Sequence[int],
        kept: int,
    ) -> None:
        self.study, self.swapped, self.groups = study, swapped, groups
        self.pairs = {1: (swapped.b, swapped.ab[:, order[0]])}
        if len(groups) == kept:
            all_else = swapped.ab[:, kept] if swapped.ab.shape[1] > kept else swapped.a
            self.pairs = {kept: (swapped.a, all_else), **self.pairs}

    def remaining(self, length: int) -> tuple[Estimate, Estimate]:
        """Return the standard deviation that remains, and its part of the present one."""
        if length not in self.pairs:
            self.pairs[length] = (self.swapped.b, self._swap(length))
        return self.swapped.remaining(*self.pairs[length])

    def _swap(self, length: int) -> Floats:
        study = self.study
        columns = sorted(column for group in self.groups[:length] for column in group.columns)
        design = Swaps(study.labels, study.seed, (tuple(columns),))
        return study.passes.answers("check", design, study.base, mark=f"-{design.mark}")[:, 0]


def _is_still(values: Floats) -> bool:
    """Tell whether all values are the same, but for rounding."""
    return float(np.ptp(values)) <= STILL * float(np.abs(values).max())
