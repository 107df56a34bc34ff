"""How far a temperature that no log tells puts resistances in doubt."""

from collections.abc import Sequence

import numpy as np

from bankSim.measured.ends import flows_A
from bankSim.measured.fit import Fit
from bankSim.measured.log import Log
from bankSim.measured.parameters import Recipe
from bankSim.measured.replay import follow
from bankSim.model.cell import arrhenius_factor

DOUBTFUL = 0.5  # of the modelled warming, as its standard error; own choice


def unseen_K(logs: Sequence[Log], recipe: Recipe, found: Fit) -> float:  # noqa: N802 - as printed
    """Return the standard error of the mean temperature under load where no log tells it. [K]

    Half of what the battery is thought to have warmed up, in the log where that is most.

    Parameters
    ----------
    logs : sequence of Log
        In the order of the recipe.
    recipe : Recipe
    found : Fit
    """
    most_K = 0.0
    for number, (log, samples) in enumerate(zip(logs, found.samples, strict=True)):
        if samples.course.thermal is not None:
            seen = follow(recipe.cells_of(found.numbers, number), samples.course, log.time_s)
            under_load = seen.temperature_K[log.current_A > flows_A(log)]
            warmer_K = float(np.mean(under_load)) - samples.course.temperature_K
            most_K = max(most_K, warmer_K)
    return DOUBTFUL * most_K


def doubt_percent(recipe: Recipe, found: Fit, unseen_K: float) -> float:
    """Return the standard error of resistances from a doubt of the temperature [K]. [%]"""
    energy = recipe.typical.activation_J_mol
    here_K = float(np.mean([one.course.temperature_K for one in found.samples]))
    return 100.0 * (
        arrhenius_factor(energy, here_K) / arrhenius_factor(energy, here_K + unseen_K) - 1.0
    )
