"""Runs of a scenario with some of its values moved, as courses."""

from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np

from bankSim.measured.compare_course import Course, course_of_trace
from bankSim.measured.compare_drive import DRIVE, Driven, driven
from bankSim.measured.compare_suspects import given_as_exact, moved, widened
from bankSim.model.curve import Floats
from bankSim.model.load import Load
from bankSim.scenario.record import Scenario
from bankSim.sim.result import Result
from bankSim.study.blocks import Workers
from bankSim.study.draws import drawn_values
from bankSim.study.ensemble import Ensemble
from bankSim.study.fields import Field
from bankSim.study.find_unknowns import find_unknowns
from bankSim.study.uniforms import RandomDraws
from bankSim.study.unknown import Unknown
from bankSim.study.window import in_order

OF_LOADS = (Field.LOAD, Field.CHARGER, Field.HOLD, Field.TAIL)
Progress = Callable[[str, int, int], None]


class Runs:
    """A scenario ready to be run with other values.

    Parameters
    ----------
    scenario : Scenario
    drive : Load or None
        The measured current, in place of loads and chargers.
    seed : int
        Of the draws; the same as for a study of the scenario.
    """

    def __init__(self, scenario: Scenario, drive: Load | None, seed: int) -> None:
        found = find_unknowns(scenario)
        if drive is not None:
            found = tuple(one for one in found if not _is_of_loads(one))
        bank = scenario.bank if drive is None else driven(scenario.bank, drive)
        self.drawn = found
        self.unknowns = (*(widened(one) for one in found), *given_as_exact(bank, found))
        self.ensemble: Ensemble = (
            Ensemble(scenario, self.unknowns)
            if drive is None
            else Driven(scenario, self.unknowns, drive)
        )
        self.scenario = replace(scenario, bank=bank)
        self.middle = np.array([one.spread.value for one in self.unknowns])
        self._design = RandomDraws(tuple(one.label for one in found), seed)

    @property
    def meter(self) -> int | None:
        """Place of the unknown that stands for the current meter, when its reading drives."""
        places = (n for n, one in enumerate(self.unknowns) if one.subject == DRIVE)
        return next(places, None)

    def result(self, values: Floats) -> Result:
        """Run with these values of all unknowns. In the units of the unknowns."""
        return self.ensemble.story_of(values[None, :], 0)

    def course(self, values: Floats) -> Course:
        """Run with these values of all unknowns. In the units of the unknowns."""
        bank, engine = self.ensemble.engine_of(values[None, :], 0)
        return course_of_trace(engine.finish().trace(), len(bank.batteries))

    def values(self, moves: dict[int, float]) -> Floats:
        """Return the values with some unknowns moved by so many standard deviations.

        In the units of the unknowns; `moves` [1].
        """
        values = self.middle.copy()
        for place, sds in moves.items():
            values[place] = moved(self.unknowns[place].spread, sds)
        return values

    def draws(
        self, count: int, workers: Workers, progress: Callable[[int], None] | None = None
    ) -> list[Course]:
        """Run draws of what is not known; what the file gives as exact stays."""
        values = np.tile(self.middle, (count, 1))
        values[:, : len(self.drawn)] = drawn_values(self.drawn, self._design.chances(0, count))
        return self.courses(list(values), workers, progress)

    def courses(
        self,
        values: Sequence[Floats],
        workers: Workers,
        progress: Callable[[int], None] | None = None,
    ) -> list[Course]:
        """Run each of several sets of values. In the units of the unknowns."""
        return list(in_order(workers, self.course, values, progress))


def _is_of_loads(one: Unknown) -> bool:
    return one.key.startswith(("load[", "charger[")) or any(
        effect.field in OF_LOADS for effect in one.effects
    )
