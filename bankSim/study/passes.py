"""Marches the draws of one design after the other for one answer."""

from collections.abc import Callable
from dataclasses import replace
from typing import Protocol

import numpy as np

from bankSim.kernels.arrays import Floats
from bankSim.study.answers import Answer
from bankSim.study.blocks import Workers, run_draws
from bankSim.study.plan import Design, Plan
from bankSim.study.spread import are_fed, central_outcome
from bankSim.study.store import StudyError
from bankSim.study.sweep import StoreOf

Progress = Callable[[str, int, int], None]


class RowDesign(Design, Protocol):
    """A design whose draws come in points of equally many rows."""

    @property
    def rows(self) -> int:
        """How many rows a point has."""


class Passes:
    """A plan whose design is replaced for every pass; counts the draws used, and those fed.

    Parameters
    ----------
    plan : Plan
    workers : Workers
    answer : Answer
    store_of : callable, optional
        Gives the store of a pass from its name and the description of its draws.
    progress : callable, optional
        Told the name of the pass, how many draws are finished, and of how many.
    """

    def __init__(
        self,
        plan: Plan,
        workers: Workers,
        answer: Answer,
        store_of: StoreOf | None = None,
        progress: Progress | None = None,
    ) -> None:
        self.plan, self.workers, self.answer = plan, workers, answer
        self.store_of, self.progress = store_of, progress
        self.draws = self.fed = 0

    def answers(self, name: str, design: RowDesign, points: int, *, mark: str = "") -> Floats:
        """Return the answer in all rows of the first points; (points, design.rows).

        In the unit of the answer.

        Parameters
        ----------
        name : str
            Of the pass.
        design : RowDesign
        points : int
        mark : str
            Tells stores of one pass apart where its design hangs on the answer: draws made for
            another answer stay beside.

        Raises
        ------
        StudyError
            When a draw has no such answer.
        """
        rows = points * design.rows
        plan = replace(self.plan, design=design)
        store = None if self.store_of is None else self.store_of(name + mark, plan.description)
        draws = run_draws(plan, rows, self.workers, store, progress=self._tell(name, rows))
        self.draws += rows
        self.fed += int(are_fed(draws)[:rows].sum())
        values = self.answer.of(draws)[:rows]  # blocks are whole: the last may hold more
        missing = int((~np.isfinite(values)).sum())
        if missing:
            raise StudyError(
                f"matters: {self.answer.text}: {missing} of {rows} draws have no such number; "
                "expected an answer that all draws have"
            )
        return values.reshape(points, design.rows)

    def central(self) -> float | None:
        """Return the answer of the run with all values in the middle; None when it has none.

        In the unit of the answer.
        """
        outcome = np.array([central_outcome(self.plan)[self.answer.column]])
        value = float(self.answer.of_table({self.answer.column: outcome})[0])
        return value if np.isfinite(value) else None

    def _tell(self, name: str, rows: int) -> Callable[[int], None] | None:
        tell = self.progress
        return None if tell is None else lambda done: tell(name, min(done, rows), rows)
