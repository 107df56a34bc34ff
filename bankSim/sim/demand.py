"""Loads as steps in time, ready for the kernels."""

import numpy as np

from bankSim.model.bank import Bank
from bankSim.model.curve import Floats

# columns of the demand that need no exponent
COLUMN_OF_EXPONENT = {0.0: 0, 1.0: 1, 2.0: 2}


def build_demand(bank: Bank) -> tuple[Floats, Floats, Floats]:
    """Cut the run at every instant at which a load may change and add the loads up.

    Parameters
    ----------
    bank : Bank

    Returns
    -------
    edge : array (s + 1,)
        Neighbouring segments differ; the last edge is the end of the run. [s]
    demand : array (s, 3 + g)
        P [W], I0 [A], G [1/ohm], then one amount per other exponent [A V^(1 - e)].
    exponent : array (g,)
        The other exponents. [1]
    """
    edges = _edges(bank)
    middle = 0.5 * (edges[:-1] + edges[1:])
    others = sorted({load.exponent for load in bank.loads} - set(COLUMN_OF_EXPONENT))
    level = np.zeros((middle.size, 3 + len(others)))
    for load in bank.loads:
        column = COLUMN_OF_EXPONENT.get(load.exponent)
        column = 3 + others.index(load.exponent) if column is None else column
        level[:, column] += load.amount(middle, bank.starts_at_s)
    changed = np.any(np.diff(level, axis=0) != 0.0, axis=1)
    keep = np.concatenate([[True], changed])
    edge = np.append(edges[:-1][keep], edges[-1])
    return edge, np.ascontiguousarray(level[keep]), np.array(others, dtype=float)


def _edges(bank: Bank) -> Floats:
    """Return 0, every instant at which some load may change, and the end. [s]"""
    inner = [load.edges_s(bank.duration_s, bank.starts_at_s) for load in bank.loads]
    return np.unique(np.concatenate([[0.0], *inner, [bank.duration_s]]))
