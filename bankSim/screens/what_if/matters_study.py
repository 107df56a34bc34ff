"""The work of what matters most: the ranking of the study room, and how far each one reaches."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from bankSim.kernels.arrays import Floats
from bankSim.scenario.record import Scenario
from bankSim.study.answers import main_answer
from bankSim.study.blocks import threads
from bankSim.study.draws import drawn_values
from bankSim.study.group_words import group_words
from bankSim.study.matters import MattersResult, study_matters
from bankSim.study.plan import Plan, make_plan, ready

BASE, WALKS = 128, 6
MOST = 8  # groups with a bar
ENDS = (0.05, 0.95)
ALONE_DRAWS = 60
SEED = 20260


@dataclass(frozen=True, eq=False)
class Reaches:
    """What matters, and the answer at both ends of each.

    Parameters
    ----------
    result : MattersResult
    labels : tuple of str
    low, high : array (groups,)
        The answer with one unknown at its 5 % and its 95 % point and all others in the middle; of
        several cells together 5 and 95 % of draws in which only they vary. [unit of the answer]
    middle : float
        With all in the middle. In the unit of the answer.
    """

    result: MattersResult
    labels: tuple[str, ...]
    low: Floats
    high: Floats
    middle: float


def find_matters(scenario: Scenario, progress: Callable[[str, int, int], None]) -> Reaches:
    """Rank what is not known, and march the ends of the first ones."""
    plan = make_plan(scenario)
    answer = main_answer(scenario.bank)
    with threads() as workers:
        result = study_matters(
            plan, workers, answer, base=BASE, trajectories=WALKS, progress=progress
        )
    groups = [one.group for one in result.matters[:MOST]]
    ends = [_ends(plan, result, group.columns) for group in groups]
    middle = float(_answers(plan, result, np.full((1, len(plan.unknowns)), 0.5))[0])
    return Reaches(
        result,
        tuple(group_words(group) for group in groups),
        np.array([one[0] for one in ends]),
        np.array([one[1] for one in ends]),
        middle,
    )


def _ends(plan: Plan, result: MattersResult, columns: tuple[int, ...]) -> tuple[float, float]:
    """Return the answer at both ends of a group."""
    if len(columns) == 1:
        chances = np.full((2, len(plan.unknowns)), 0.5)
        chances[:, columns[0]] = ENDS
        low, high = _answers(plan, result, chances)
        return float(low), float(high)
    chances = np.full((ALONE_DRAWS, len(plan.unknowns)), 0.5)
    drawn = np.random.default_rng(SEED).random((ALONE_DRAWS, len(columns)))
    chances[:, list(columns)] = np.clip(drawn, 1e-9, 1.0 - 1e-9)
    low, high = np.percentile(_answers(plan, result, chances), [100.0 * end for end in ENDS])
    return float(low), float(high)


def _answers(plan: Plan, result: MattersResult, chances: Floats) -> Floats:
    table = ready(plan).evaluate(drawn_values(plan.unknowns, chances), 0)
    return np.asarray(result.answer.of_table(table), dtype=float)
