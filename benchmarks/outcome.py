"""What every contender must find, and how far it is off."""

from dataclasses import dataclass

import numpy as np


@dataclass(frozen=True, eq=False)
class Outcome:
    """What a run found.

    Parameters
    ----------
    charge_Ah : array (cut-outs, n)
        Charge that every battery had delivered when each cut-out happened. [Ah]
    cut_out_s : array (cut-outs,)
        In order. [s]
    steps : int
        Accepted ones.
    """

    charge_Ah: np.ndarray
    cut_out_s: np.ndarray
    steps: int


def errors(found, reference):
    """Largest relative errors of the Ah of any battery at any cut-out, and of the times."""
    if found.charge_Ah.shape != reference.charge_Ah.shape:
        return np.inf, np.inf
    charge = np.abs(found.charge_Ah / reference.charge_Ah - 1.0)
    time = np.abs(found.cut_out_s / reference.cut_out_s - 1.0)
    return float(charge.max()), float(time.max())
