"""Which groups move the answer at all, from a few walks: elementary effects."""

from dataclasses import dataclass

import numpy as np

from bankSim.kernels.arrays import Floats
from bankSim.study.designs import STEP, Trajectories

MOST_KEPT = 12
KEPT_EFFECT = 0.99  # of the sum of squared effects, which goes with the variance


@dataclass(frozen=True, eq=False)
class Effects:
    """What moving one group does to the answer, over all walks.

    Parameters
    ----------
    mu_star : array (groups,)
        Mean size of the elementary effect: change of the answer over `STEP`, the step in chances.
        [unit of the answer]
    square : array (groups,)
        Mean square of it. [unit of the answer, squared]
    """

    mu_star: Floats
    square: Floats

    def kept(self, most: int = MOST_KEPT, effect: float = KEPT_EFFECT) -> list[int]:
        """Return the groups that together make nearly all of the effect, largest first.

        Parameters
        ----------
        most : int
            Groups at most.
        effect : float
            Part of the sum of squares that is enough. [1]
        """
        order = [int(place) for place in np.argsort(-self.square, kind="stable")]
        total, so_far, found = float(self.square.sum()), 0.0, []
        for place in order[:most]:
            if so_far >= effect * total:
                break
            found.append(place)
            so_far += float(self.square[place])
        return found


def elementary_effects(design: Trajectories, answers: Floats) -> Effects:
    """Return the effects of all groups.

    Parameters
    ----------
    design : Trajectories
    answers : array (walks, design.rows)
        Of the first walks of the design. In the unit of the answer.

    Returns
    -------
    effects : Effects
        Unknowns of a group move in different directions, so only the size of an effect counts.

    Source
    ------
    mu*: Campolongo, Cariboni and Saltelli, Environ. Model. Softw. 22 (2007) 1509 (from memory).
    Equations: docs/theory.md, eq. 23.5.
    """
    steps = np.diff(answers, axis=1) / STEP
    size = np.empty_like(steps)
    np.put_along_axis(size, design.order(len(answers)), np.abs(steps), axis=1)
    return Effects(size.mean(axis=0), (size**2).mean(axis=0))
