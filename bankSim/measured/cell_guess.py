"""A first guess of what each cell holds, from its own voltage: a knee is found only from near."""

from collections.abc import Sequence

import numpy as np

from bankSim.measured.fit_samples import Samples
from bankSim.measured.parameters import Recipe
from bankSim.measured.replay import follow_each
from bankSim.model.curve import Floats

COARSE = np.linspace(-0.3, 0.45, 51)  # ln of a cell's capacity over the mean
FINE = np.linspace(-0.012, 0.012, 9)  # around the best of these
FREE = 8e-3  # of a state of charge: a number that starts at its limit hardly gets away from it


def guess_cells(recipe: Recipe, numbers: Floats, samples: Sequence[Samples]) -> Floats:
    """Return numbers with a capacity of each cell that follows its own voltage best.

    All cells are tried with the same capacity at once, and each keeps the one that it likes best.

    Parameters
    ----------
    recipe : Recipe
        Of cells that differ.
    numbers : array (p,)
        Of the fit. [1]
    samples : sequence of Samples
        Of every log; those without cells say nothing here.
    """
    found = numbers.copy()
    of_cells = {one.name: place for place, one in enumerate(recipe.parameters())}
    capacity = [of_cells[f"cell {cell + 1}, capacity"] for cell in range(recipe.cells)]
    charge = [of_cells[f"cell {cell + 1}, charge"] for cell in range(recipe.cells)]
    found[charge] = -FREE
    for steps in (COARSE, FINE):
        tried = np.tile(found, (steps.size, 1))
        tried[:, capacity] += steps[:, None]
        best = _far(recipe, tried, samples).argmin(axis=0)
        found[capacity] = tried[best, capacity]
    return found


def _far(recipe: Recipe, tried: Floats, samples: Sequence[Samples]) -> Floats:
    """Return how far each cell is from its voltages, (tried, cells); large misses count once. [1]

    `tried` (tried, p) are numbers of the fit. [1]
    """
    far = np.zeros((len(tried), recipe.cells))
    batteries = [recipe.cells_of_logs(numbers) for numbers in tried]
    for log, one in enumerate(samples):
        if one.voltage_V.shape[1] == recipe.cells:
            shown = follow_each([cells[log] for cells in batteries], one.course, one.time_s)
            far += [np.abs((seen.cells_V - one.voltage_V) / one.sd_V).sum(axis=0) for seen in shown]
    return far
