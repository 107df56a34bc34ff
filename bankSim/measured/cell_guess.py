"""A first guess of what each cell holds, from its own voltage: a knee is found only from near."""

from collections.abc import Sequence

import numpy as np

from bankSim.measured.fit_samples import Samples
from bankSim.measured.parameters import Recipe
from bankSim.measured.replay import replay
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
        tried = found[capacity] + steps[:, None]
        far = np.array([_far(recipe, found, capacity, row, samples) for row in tried])
        found[capacity] = tried[far.argmin(axis=0), np.arange(recipe.cells)]
    return found


def _far(
    recipe: Recipe,
    numbers: Floats,
    places: Sequence[int],
    values: Floats,
    samples: Sequence[Samples],
) -> Floats:
    """Return how far each cell is from its voltages, (cells,); large misses count once. [1]"""
    tried = numbers.copy()
    tried[places] = values
    far = np.zeros(recipe.cells)
    for cells, one in zip(recipe.cells_of_logs(tried), samples, strict=True):
        if one.voltage_V.shape[1] == recipe.cells:
            cells_V = replay(cells, one.course, one.time_s)
            left = (cells_V - one.voltage_V) / one.sd_V
            far += np.abs(left).sum(axis=0)
    return far
