"""Marches draws of one scenario: the same march as a single run, without the packing of each."""

import hashlib
import threading
from collections.abc import Sequence
from dataclasses import replace
from queue import Empty, SimpleQueue

import numpy as np
from numpy.typing import NDArray

from bankSim.errors import SimulationError
from bankSim.kernels import arrays as k
from bankSim.kernels.arrays import Floats
from bankSim.kernels.draws import CUT_COLUMNS, march_draws
from bankSim.model.bank import Bank
from bankSim.scenario.record import Scenario
from bankSim.scenario.variant import Variants
from bankSim.sim.engine import Engine
from bankSim.sim.result import Result
from bankSim.sim.run import result_of
from bankSim.study.drawn_bank import drawn_bank
from bankSim.study.draws import columns_of
from bankSim.study.fields import Columns
from bankSim.study.outcomes import stacked, tabulate, watch
from bankSim.study.pokes import pokes
from bankSim.study.pool import Pool, pool_of
from bankSim.study.unknown import Unknown

STUDY_TOLERANCE = 1e-2  # measured errors: Ah within 0.07 % (benchmarks)
BUDGET = 1_000_000_000  # trial steps of one call: a draw runs to its end
STEPS_A_SLICE = 40_000  # of one call into compiled code, which cannot be broken off: some 0.1 s


class Ensemble:
    """A scenario ready to be marched with other values of its unknowns; safe for threads.

    Parameters
    ----------
    scenario : Scenario
    unknowns : sequence of Unknown
        Of that scenario.
    tolerance : float
        As `relative_tolerance` of a single run.
    variants : Variants, optional
        With tables already read, for a machine that does not have them.
    """

    def __init__(
        self,
        scenario: Scenario,
        unknowns: Sequence[Unknown],
        tolerance: float = STUDY_TOLERANCE,
        variants: Variants | None = None,
    ) -> None:
        self.scenario, self.tolerance = scenario, tolerance
        self.unknowns = tuple(unknowns)
        self._rewritten = [n for n, one in enumerate(self.unknowns) if not one.effects]
        self._variants = (variants or Variants(scenario)) if self._rewritten else None
        self._fresh = _packed(scenario.bank, tolerance)
        self._watched = watch(self._fresh)
        self._idle: SimpleQueue[Pool] = SimpleQueue()
        self.steps = self._steps_of_central_run()

    @property
    def digest(self) -> str:
        """Changes with any number of the packed bank."""
        return hashlib.sha256(self._fresh.numbers[: self._fresh.fresh].tobytes()).hexdigest()

    def evaluate(
        self, values: Floats, first_draw: int = 0, stop: threading.Event | None = None
    ) -> dict[str, NDArray[np.generic]]:
        """March draws with the given values of the unknowns.

        Parameters
        ----------
        values : array (draws, unknowns)
            In the unit of each unknown.
        first_draw : int
            Number of the first row.
        stop : threading.Event, optional
            Ends the work early; the table then has fewer rows.

        Returns
        -------
        table : dict of columns
            See `bankSim.study.outcomes`.

        Raises
        ------
        SimulationError
            When a draw cannot be solved (a bug), or its values make no sound scenario.
        """
        if self._rewritten:
            return self._one_by_one(values, first_draw, stop)
        columns = columns_of(self.scenario.bank, self.unknowns, values)
        return self._march(self.scenario.bank, columns, len(values), first_draw, stop)

    def story_of(self, values: Floats, draw: int) -> Result:
        """March one draw again, alone and with its timeline, to the same numbers.

        Parameters
        ----------
        values : array (1, unknowns)
            In the unit of each unknown.
        draw : int
            Its number, for messages.
        """
        bank, engine = self.engine_of(values, draw)
        return result_of(replace(self.scenario, bank=bank), engine.finish())

    def engine_of(self, values: Floats, draw: int) -> tuple[Bank, Engine]:
        """Return the bank of one draw and an engine that marches it with its timeline.

        Parameters
        ----------
        values : array (1, unknowns)
            In the unit of each unknown.
        draw : int
            Its number, for messages.
        """
        base, columns = self.bank_of(values[0], draw)
        bank = drawn_bank(base, columns, 0)
        traced = Engine(base, self.tolerance)
        pool = pool_of(traced.packed, traced.run)
        spots, numbers = pokes(base, pool, columns)
        if spots.size:
            pool.numbers[spots] = numbers[0]
        return bank, Engine(bank, self.tolerance, prepared=(pool.bank, pool.run))

    def bank_of(self, values: Floats, draw: int) -> tuple[Bank, Columns]:
        """Return the bank of a draw that its keys make, and what differs besides.

        Parameters
        ----------
        values : array (unknowns,)
            In the unit of each unknown.
        draw : int
            Its number, for messages.
        """
        if self._variants is None:
            bank, unknowns = self.scenario.bank, self.unknowns
            return bank, columns_of(bank, unknowns, values[None, :])
        paths = {self.unknowns[n].path: float(values[n]) for n in self._rewritten}
        try:
            bank = self._variants.with_values({p: v for p, v in paths.items() if p}).bank
        except SimulationError as error:
            told = "; ".join(str(error).splitlines())
            raise SimulationError(f"draw {draw}: {told}; narrow the spread") from error
        rest = [n for n in range(len(self.unknowns)) if n not in self._rewritten]
        unknowns = tuple(self.unknowns[n] for n in rest)
        return bank, columns_of(bank, unknowns, values[None, rest])

    def _one_by_one(
        self, values: Floats, first_draw: int, stop: threading.Event | None
    ) -> dict[str, NDArray[np.generic]]:
        tables = []
        for row, own in enumerate(values):
            if stop is not None and stop.is_set():
                break
            bank, columns = self.bank_of(own, first_draw + row)
            tables.append(self._march(bank, columns, 1, first_draw + row, None))
        return stacked(tables or [self._march(self.scenario.bank, {}, 0, first_draw, None)])

    def _march(
        self,
        bank: Bank,
        columns: Columns,
        draws: int,
        first_draw: int,
        stop: threading.Event | None,
    ) -> dict[str, NDArray[np.generic]]:
        own = bank is self.scenario.bank
        pool = self._borrow() if own else _packed(bank, self.tolerance)
        fresh = (
            self._fresh.numbers[: self._fresh.fresh] if own else pool.numbers[: pool.fresh].copy()
        )
        watched = self._watched if own else watch(pool)
        spots, numbers = pokes(bank, pool, columns)
        found = np.empty((draws, 1 + watched.places.size))
        cuts = np.empty((draws, len(bank.batteries), CUT_COLUMNS))
        done = 0
        while done < draws and not (stop is not None and stop.is_set()):
            end = min(draws, done + max(1, STEPS_A_SLICE // self.steps))
            status = march_draws(
                pool.bank, pool.run, BUDGET, pool.numbers, fresh, spots, numbers,
                watched.places, found, cuts, done, end,
            )  # fmt: skip
            if status == k.FAILED:
                raise SimulationError(
                    f"draws {first_draw + done} to {first_draw + end - 1}: the network could not "
                    "be solved; please report this scenario"
                )
            done = end
        if own:
            self._idle.put(pool)
        return tabulate(bank, first_draw, found[:done], cuts[:done], watched)

    def _borrow(self) -> Pool:
        """Return a pool that no other thread uses."""
        try:
            return self._idle.get_nowait()
        except Empty:
            return _packed(self.scenario.bank, self.tolerance)

    def _steps_of_central_run(self) -> int:
        engine = Engine(self.scenario.bank, self.tolerance, keep_trace=False).finish()
        return max(int(engine.run.clock["steps"][0]), 1)


def _packed(bank: Bank, tolerance: float) -> Pool:
    engine = Engine(bank, tolerance, keep_trace=False)
    return pool_of(engine.packed, engine.run)
