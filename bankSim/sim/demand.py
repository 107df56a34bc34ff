"""Loads and the hours of chargers as steps in time, ready for the kernels."""

import math
from collections.abc import Sequence

import numpy as np

from bankSim.model.bank import Bank
from bankSim.model.charger import Charger
from bankSim.model.curve import Floats
from bankSim.model.load import DAY_S, Load

# columns of the demand that need no exponent
COLUMN_OF_EXPONENT = {0.0: 0, 1.0: 1, 2.0: 2}


def build_demand(bank: Bank) -> tuple[Floats, Floats, Floats]:
    """Cut the run at every instant at which a load or charger may switch and add the loads up.

    Parameters
    ----------
    bank : Bank

    Returns
    -------
    edge : array (s + 1,)
        Neighbouring segments differ in some load or charger; the last edge is the end of the run.
        [s]
    demand : array (s, (1 + u) (3 + g) + 1 + c)
        Blocks of P [W], I0 [A], G [1/ohm] and one amount per other exponent [A V^(1 - e)]: first
        the loads without a cut-off of their own together, then each of the u loads with one; then
        1 where one of the former draws; then for every charger NaN while it is switched off, else
        the time of sunrise (0 without sun) [s].
    exponent : array (g,)
        The other exponents. [1]
    """
    edges = _edges(bank)
    middle = 0.5 * (edges[:-1] + edges[1:])
    others = sorted({load.exponent for load in bank.loads} - set(COLUMN_OF_EXPONENT))
    plain = [load for load in bank.loads if load.cut_off is None]
    groups = [plain, *([load] for load in cutting_loads(bank))]
    drawing = sum((load.amount(middle, bank.starts_at_s) > 0.0 for load in plain), start=False)
    level = np.column_stack(
        [
            *(_block(group, middle, others, bank.starts_at_s) for group in groups),
            np.broadcast_to(np.asarray(drawing, dtype=float), middle.shape),
            *(_begun(charger, middle, bank.starts_at_s) for charger in bank.chargers),
        ]
    )
    alone = [load.amount(middle, bank.starts_at_s) for load in bank.loads]
    told = np.column_stack([level, *alone])  # loads that swap are told apart, for draws of each
    before, after = told[:-1], told[1:]
    same = (before == after) | (np.isnan(before) & np.isnan(after))
    keep = np.concatenate([[True], ~same.all(axis=1)])
    edge = np.append(edges[:-1][keep], edges[-1])
    return edge, np.ascontiguousarray(level[keep]), np.array(others, dtype=float)


def cutting_loads(bank: Bank) -> list[Load]:
    """Return the loads that have a low-voltage cut-off of their own, in file order."""
    return [load for load in bank.loads if load.cut_off is not None]


def _block(loads: list[Load], times: Floats, others: list[float], starts_at_s: float) -> Floats:
    """Sum of some loads, (times, 3 + g)."""
    level = np.zeros((times.size, 3 + len(others)))
    for load in loads:
        column = COLUMN_OF_EXPONENT.get(load.exponent)
        column = 3 + others.index(load.exponent) if column is None else column
        level[:, column] += load.amount(times, starts_at_s)
    return level


def _begun(charger: Charger, times: Floats, starts_at_s: float) -> Floats:
    """Return NaN where a charger is switched off, else the time of sunrise, or 0. [s]"""
    begun = np.zeros(times.size)
    if charger.sun is not None:
        midnight = np.floor((times + starts_at_s) / DAY_S) * DAY_S - starts_at_s
        begun = midnight + charger.sun.rise_s
    return np.where(charger.is_on(times, starts_at_s), begun, math.nan)


def hours_of(charger: Charger, bank: Bank) -> tuple[Floats, Floats]:
    """Return when one charger may switch, and what `build_demand` tells of it in between.

    Parameters
    ----------
    charger : Charger
        One of that bank.
    bank : Bank

    Returns
    -------
    edge, begun : array (s + 1,), (s,)
        [s], [s]
    """
    edges = _between(bank, [charger])
    return edges, _begun(charger, 0.5 * (edges[:-1] + edges[1:]), bank.starts_at_s)


def _edges(bank: Bank) -> Floats:
    """Return 0, every instant at which something may switch, and the end. [s]"""
    return _between(bank, [*bank.loads, *bank.chargers])


def _between(bank: Bank, who: Sequence[Load | Charger]) -> Floats:
    """Return the begin of the run, when any of some loads and chargers may switch, its end. [s]"""
    inner = [one.edges_s(bank.duration_s, bank.starts_at_s) for one in who]
    return np.unique(np.concatenate([[0.0], *inner, [bank.duration_s]]))
