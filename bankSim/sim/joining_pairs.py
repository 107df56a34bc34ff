"""Two batteries of a bank, joined alone: how far apart their rest voltages may be."""

from dataclasses import replace
from itertools import combinations

import numpy as np

from bankSim.model.bank import Bank, Layout
from bankSim.model.battery import Battery
from bankSim.model.curve import Floats
from bankSim.sim.at_rest import instant_ohm, least_ohm, rest_voltage, rest_voltages_after
from bankSim.sim.joining_all import least_spread_V, rounded_down_V, safe_spreads, smallest_limit
from bankSim.sim.joining_result import JoinedPair
from bankSim.sim.numbers import number, quoted

TWO = 2
MOST_FOR_ALL_PAIRS = 6
STEPS = 400  # of the charge that passes over, when looking for equal voltages
GRID = 101  # states of charge of each, when looking for charge that voltages hide


def join_pairs(bank: Bank) -> tuple[JoinedPair, ...]:
    """Return all pairs of a small bank, or the two of a large one that are furthest apart."""
    numbers, all_V = range(len(bank.batteries)), least_spread_V(safe_spreads(bank))
    if len(bank.batteries) <= MOST_FOR_ALL_PAIRS:
        return tuple(join_pair(bank, a, b, all_V) for a, b in combinations(numbers, 2))
    volts = [rest_voltage(battery) for battery in bank.batteries]
    return (join_pair(bank, int(np.argmin(volts)), int(np.argmax(volts)), all_V),)


def join_pair(bank: Bank, first: int, second: int, all_V: float | None = None) -> JoinedPair:
    """Tell what flows between two batteries and which difference of rest voltage is the limit.

    I = dE / R with R = all resistances around the loop that do not need time to build up. The
    limit is the smallest label limit or fuse times the lowest R at any state of charge: who
    charges an empty battery up to a difference has lowered its resistance by then.

    Parameters
    ----------
    bank : Bank
    first, second : int
        Places in the bank, from 0.
    all_V : float, optional
        How far apart any two of the bank may be, where it is known already. [V]

    Source
    ------
    docs/theory.md, eq. 17.1, 17.2.
    """
    kelvin = bank.ambient_K(0.0)
    pair = sorted(
        (bank.batteries[first], bank.batteries[second]),
        key=rest_voltage,
        reverse=True,
    )
    gap_V = rest_voltage(pair[0]) - rest_voltage(pair[1])
    links_ohm = _links_ohm(bank, second - first)
    ohm = instant_ohm(pair[0], kelvin) + instant_ohm(pair[1], kelvin, into=True) + links_ohm
    limit_A, limited_by = smallest_limit(pair)
    safe_V = limit_A * (sum(least_ohm(one, kelvin) for one in pair) + links_ohm)
    joined = JoinedPair(
        fuller=pair[0].name,
        emptier=pair[1].name,
        difference_V=gap_V,
        first_A=gap_V / ohm if ohm > 0.0 else float("inf"),
        moved_Ah=_moved_C(pair) / 3600.0,
        limit_A=limit_A,
        limited_by=limited_by,
        safe_difference_V=safe_V,
        hidden_Ah=_hidden_C(pair, safe_V) / 3600.0,
        text="",
    )
    all_V = least_spread_V(safe_spreads(bank)) if all_V is None else all_V
    return replace(joined, text=_text(joined, len(bank.batteries), all_V))


def _links_ohm(bank: Bank, steps: int) -> float:
    """Both rails between two batteries of a row. [ohm]"""
    row = bank.wiring.layout is not Layout.EQUAL_LEADS
    return 2.0 * abs(steps) * bank.wiring.link_ohm if row else 0.0


def _moved_C(pair: list[Battery]) -> float:  # noqa: N802
    """Charge that the fuller one gives until both rest at the same voltage. [C]

    Source: docs/theory.md, eq. 17.3.
    """
    most = min(cell.charge_C * cell.state_of_charge for cell in pair[0].cells)
    moved: Floats = np.linspace(0.0, most, STEPS + 1)
    gap = rest_voltages_after(pair[0], moved) - rest_voltages_after(pair[1], -moved)
    beyond = np.flatnonzero(gap <= 0.0)
    if beyond.size == 0:
        return most
    at = int(beyond[0])
    if at == 0:
        return 0.0
    part = gap[at - 1] / (gap[at - 1] - gap[at])
    return float(moved[at - 1] + part * (moved[at] - moved[at - 1]))


def _hidden_C(pair: list[Battery], gap_V: float) -> float:  # noqa: N802
    """Most charge that can pass over at any states of charge with voltages this close. [C]

    Taken as dz Q1 Q2 / (Q1 + Q2): what makes two states of charge equal.

    Source: docs/theory.md, eq. 17.4.
    """
    level = np.linspace(0.0, 1.0, GRID)
    volts, charges = [], []
    for one in pair:
        charge_C = min(cell.charge_C for cell in one.cells)
        start_C = np.array([cell.state_of_charge for cell in one.cells]).mean() * charge_C
        volts.append(rest_voltages_after(one, start_C - level * charge_C))
        charges.append(charge_C)
    close = np.abs(volts[0][:, None] - volts[1][None, :]) <= gap_V
    apart = np.abs(level[:, None] - level[None, :])[close].max(initial=0.0)
    return float(apart) * charges[0] * charges[1] / sum(charges)


def _text(pair: JoinedPair, count: int, all_V: float) -> str:
    """Say what the limit is, and what it is not."""
    names = f"{quoted(pair.fuller)} and {quoted(pair.emptier)}"
    alone = together = ""
    if count > TWO:
        alone = " alone"
        together = (
            f"If all {count} are joined at once it is {rounded_down_V(all_V)} V between any two. "
        )
    safe_V, limit_A = rounded_down_V(pair.safe_difference_V), number(pair.limit_A)
    return (
        f"Safe to join {names}{alone}, by current alone, while their rest voltages differ by less "
        f"than {safe_V} V: the first peak then stays within {limit_A} A, {pair.limited_by}, at any "
        f"state of charge. {together}Measure at rest, hours after any load or charge. Voltages "
        f"that close can still let up to {number(pair.hidden_Ah, 2)} Ah pass over, because rest "
        "voltage says little about charge where the curve is flat. What the makers allow comes "
        "first, and is often less."
    )
