"""The search for the numbers that follow the logs best, whatever order they are handed over in."""

import hashlib
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from itertools import product

import numpy as np

from bankSim.measured.cell_guess import guess_cells
from bankSim.measured.ends import drawn_Ah, usual_A
from bankSim.measured.fit import CLOSE, NEAR, Fit, costs_of, fit
from bankSim.measured.fit_samples import Samples, samples_of
from bankSim.measured.log import Log
from bankSim.measured.parameters import CAPACITY, RESISTANCE, Recipe
from bankSim.model.curve import Floats

FAR = 1.5  # standard deviation of weighted residuals: worse, and another start is tried, too
MORE_CHARGE = (-0.1, 0.0, 0.1, 0.2, 0.35)  # of ln Q against the first guess; own choice
MORE_OHM = (0.0, 0.5, 1.0)  # of ln R against typical; own choice
AT_LIMIT = 1e-4  # of a state of charge

Progress = Callable[[int, int], None] | None


def in_own_order(logs: Sequence[Log], starts: Sequence[float | None]) -> list[int]:
    """Return places of logs, slowest discharge first, then by what is in them, never by order.

    Parameters
    ----------
    logs : sequence of Log
    starts : sequence of float or None
        State of charge at the start of each, as told; may be empty. [1]
    """

    def rank(place: int) -> tuple[float, float, str, str]:
        log = logs[place]
        content = [log.time_s, log.voltage_V, log.current_A, log.cells_V]
        digest = hashlib.sha256(b"".join(np.ascontiguousarray(one).tobytes() for one in content))
        start = repr(starts[place]) if starts else ""
        return usual_A(log), drawn_Ah(log), digest.hexdigest(), start

    return sorted(range(len(logs)), key=rank)


@dataclass(frozen=True, eq=False)
class Search:
    """What is looked for, and in what.

    Parameters
    ----------
    logs : sequence of Log
        Cells as at the terminals.
    recipe : Recipe
    room_C : float
        Of the air where a log tells no temperature. [degC]
    hold_out : float
        Part of the time that is kept out. [1]
    progress : callable, optional
        Told how many turns of a fit are done, and of how many at most.
    """

    logs: Sequence[Log]
    recipe: Recipe
    room_C: float
    hold_out: float = 0.0
    progress: Progress = None

    def best(self) -> tuple[Recipe, Fit]:
        """Return the recipe, with the log that stands for full, and the best fit.

        Where cells differ, first all cells are alike, since that is quick and leads near.
        """
        alike = replace(self.recipe, each_cell=False)
        if not self.recipe.each_cell:
            return self._fullest(alike, CLOSE)
        leading, rough = self._fullest(alike, NEAR)
        recipe = replace(leading, each_cell=True)
        return recipe, self._by_cells(recipe, rough)

    def _by_cells(self, recipe: Recipe, rough: Fit) -> Fit:
        """Set out from a guess of every cell; where that rests far off, from equal cells too."""
        samples = self._samples(recipe)
        rest = len(recipe.parameters()) - rough.numbers.size
        first = np.concatenate([rough.numbers, np.zeros(rest)])
        found = fit(recipe, samples, self.progress, guess_cells(recipe, first, samples))
        if found.settled and found.scale < FAR:
            return found
        return min(found, fit(recipe, samples, self.progress, first), key=_worth)

    def _fullest(self, recipe: Recipe, wins: float) -> tuple[Recipe, Fit]:
        """Fit, and let the log that would be fuller than the full one be that in its place.

        Nothing is fuller than 100 %: were the wrong log that, all others would bend to it.
        """
        samples = self._samples(recipe)
        tried: dict[int | None, tuple[Recipe, Fit]] = {}
        place, start = recipe.full_log, self._set_out(recipe, samples)
        while place not in tried:
            now = recipe if place == recipe.full_log else replace(recipe, fullest=place)
            tried[place] = now, fit(now, samples, self.progress, start, wins)
            place = next((one for one in _at_limit(*tried[place]) if one not in tried), place)
        return min(tried.values(), key=lambda pair: _worth(pair[1]))

    def _set_out(self, recipe: Recipe, samples: Sequence[Samples]) -> Floats | None:
        """Return the best of some typical batteries of more or less charge and resistance.

        Near empty the resistance of two wells rises so steeply that a fit which sets out with too
        little charge lowers the resistance to nothing, and never comes back.
        """
        if recipe.typical.available_fraction == 1.0:
            return None
        parameters = recipe.parameters()
        numbers = []
        for charge, ohm in product(MORE_CHARGE, MORE_OHM):
            one = np.zeros(len(parameters))
            for place, parameter in enumerate(parameters):
                if parameter.name == CAPACITY:
                    one[place] = charge
                elif parameter.name in (RESISTANCE, "relaxation 1, resistance"):
                    one[place] = ohm
            numbers.append(one)
        return numbers[int(np.argmin(costs_of(recipe, numbers, samples)))]

    def _samples(self, recipe: Recipe) -> list[Samples]:
        curve = recipe.slow.log if recipe.slow else None
        one_well = recipe.typical.available_fraction == 1.0
        return [
            samples_of(
                log, recipe, self.room_C, hold_out=self.hold_out, is_curve=number == curve,
                start_full=recipe.starts[number][1] and one_well,
            )
            for number, log in enumerate(self.logs)
        ]  # fmt: skip


def _worth(found: Fit) -> float:
    return found.cost


def _at_limit(recipe: Recipe, found: Fit) -> list[int]:
    """Return full logs that would start fuller than the full one if they could."""
    if recipe.slow:
        return []
    return [
        one.log
        for one, number in zip(found.parameters, found.numbers, strict=True)
        if one.log is not None and recipe.starts[one.log][1] and number > one.high - AT_LIMIT
    ]
