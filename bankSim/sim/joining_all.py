"""All batteries of a bank joined at once: how far apart their rest voltages may be."""

import math
from dataclasses import dataclass

import numpy as np

from bankSim.model.bank import Bank, Layout
from bankSim.model.battery import Battery
from bankSim.model.curve import Floats
from bankSim.sim.at_rest import charge_limit_A, least_ohm
from bankSim.sim.numbers import quoted

LEAST_OHM = 1e-12


@dataclass(frozen=True, slots=True)
class SafeSpread:
    """How far the rest voltage of a battery may be from those of the others it is joined with.

    Parameters
    ----------
    battery : str
        Its name.
    spread_V : float
        From any other one, so that its first current stays within its limit. [V]
    limit_A : float
        The smallest of its label limits and its fuse. [A]
    limited_by : str
        Which that is, in words.
    through_ohm : float
        Its own resistance and that of all the others beside each other. [ohm]
    """

    battery: str
    spread_V: float
    limit_A: float
    limited_by: str
    through_ohm: float


def safe_spreads(bank: Bank) -> tuple[SafeSpread, ...]:
    """Return for each battery how far its rest voltage may be from the others, all joined at once.

    The current of battery k is the sum of what every other one drives through it, so it is
    largest when all the others are on the same side: dE_k = limit_k (R_k + R_o) with R_o of the
    others beside each other, every R being the lowest at any state of charge.

    Parameters
    ----------
    bank : Bank
        Of two batteries or more.

    Source
    ------
    docs/theory.md, eq. 17.2.
    """
    kelvin = bank.ambient_K(0.0)
    ohms = np.array([max(least_ohm(one, kelvin), LEAST_OHM) for one in bank.batteries])
    through_ohm = 1.0 / _siemens(ohms, _link_ohm(bank))
    found = []
    for one, ohm in zip(bank.batteries, through_ohm.tolist(), strict=True):
        limit_A, limited_by = smallest_limit([one])
        found.append(SafeSpread(one.name, limit_A * ohm, limit_A, limited_by, ohm))
    return tuple(found)


def least_spread_V(spreads: tuple[SafeSpread, ...]) -> float:  # noqa: N802 - the unit as printed
    """Return how far apart any two may be, so that none is above its limit. [V]

    Parameters
    ----------
    spreads : tuple of SafeSpread
        Of all batteries of a bank.
    """
    return min(one.spread_V for one in spreads)


def smallest_limit(batteries: list[Battery]) -> tuple[float, str]:
    """Return the least that any of these may carry, either way, and its name. [A]

    Parameters
    ----------
    batteries : list of Battery
        One or more.
    """
    limits: list[tuple[float, str]] = []
    for one in batteries:
        known = "" if one.continuous_charge_A is not None else " (no label: half its Ah per hour)"
        guess = " (assumed)" if "continuous_charge_A" in one.limits_assumed else known
        limits.append((charge_limit_A(one), f"the charge limit of {quoted(one.name)}{guess}"))
        if one.continuous_discharge_A is not None:
            guess = " (assumed)" if "continuous_discharge_A" in one.limits_assumed else ""
            name = f"the discharge limit of {quoted(one.name)}{guess}"
            limits.append((one.continuous_discharge_A, name))
        if one.fuse_A is not None:
            limits.append((one.fuse_A, f"the fuse of {quoted(one.name)}"))
    return min(limits)


def _link_ohm(bank: Bank) -> float:
    """One rail between neighbours of a row. [ohm]"""
    return 0.0 if bank.wiring.layout is Layout.EQUAL_LEADS else bank.wiring.link_ohm


def _siemens(ohms: Floats, link_ohm: float) -> Floats:
    """Current of each battery for a volt of its own, no load, from loops of neighbours. [S]"""
    step = np.diff(np.eye(ohms.size), axis=0)
    loops = (step * ohms) @ step.T + 2.0 * link_ohm * np.eye(ohms.size - 1)
    siemens: Floats = np.einsum("ak,ak->k", step, np.linalg.solve(loops, step))
    return siemens


def rounded_down_V(value_V: float) -> str:  # noqa: N802 - the unit as printed
    """Return a limit in a sentence, never above itself: to 10 mV, or to 1 mV below 0.1 V."""
    digits = 2 if value_V >= 0.1 else 3
    return f"{math.floor(value_V * 10**digits + 1e-9) / 10**digits:.{digits}f}"
