"""Uneven sharing that comes from the wiring alone."""

import math
from collections.abc import Iterator

from bankSim.model.bank import Bank, Layout
from bankSim.sim.at_rest import instant_ohm
from bankSim.sim.numbers import number
from bankSim.sim.result import Caution, Result

UNEVEN_SHARE = 0.1  # above an equal share: more than a good row of links costs; own choice


def of_sharing(result: Result) -> Iterator[Caution]:
    """Warn of a row whose first battery carries much more than an equal share."""
    bank = result.scenario.bank
    worst = excess_share(bank, bank.wiring.layout)
    if worst <= UNEVEN_SHARE:
        return
    place = "next to the take-off" if bank.wiring.layout is Layout.SAME_END else "at the ends"
    far = excess_share(bank, Layout.OPPOSITE_ENDS)
    better = "With equal leads to common bars all would carry the same."
    advice = "Run equal leads to common bars, or use shorter and thicker links."
    if far < worst:
        better = (
            f"Taken off at opposite ends the largest would be {number(100.0 * far, 2)} % above; "
            "with equal leads to common bars all would carry the same."
        )
        advice = (
            "Move one of the two take-offs to the other end, or run equal leads to common bars."
        )
    yield Caution(
        "uneven sharing by wiring",
        "warning",
        100.0 * worst,
        100.0 * UNEVEN_SHARE,
        "%",
        f"By the links alone the battery {place} carries {number(100.0 * worst, 2)} % more than an "
        f"equal share at the start, even if all were the same. {better}",
        advice,
    )


def excess_share(bank: Bank, layout: Layout) -> float:
    """Return the largest share over an equal one, less 1, if all batteries were the mean one.

    N equal sources R on two bars with links r: with x = 2 r / R and theta = 2 asinh(sqrt(x) / 2),
    taken off at the same end I_k ~ cosh((N - k + 1/2) theta), at opposite ends
    I_k ~ cosh((k - (N + 1)/2) theta), k from 1. [1]

    Parameters
    ----------
    bank : Bank
    layout : Layout
        In place of that of the bank.

    Source
    ------
    Kirchhoff's laws of a ladder of equal rungs; checked against nodal solutions.
    """
    count, kelvin = len(bank.batteries), bank.ambient_K(0.0)
    mean_ohm = sum(instant_ohm(battery, kelvin) for battery in bank.batteries) / count
    if layout is Layout.EQUAL_LEADS or mean_ohm <= 0.0:
        return 0.0
    theta = 2.0 * math.asinh(0.5 * math.sqrt(2.0 * bank.wiring.link_ohm / mean_ohm))
    same = layout is Layout.SAME_END
    arms = [count - k + 0.5 if same else k - (count + 1) / 2.0 for k in range(1, count + 1)]
    most = max(abs(arm) for arm in arms) * theta
    # cosh relative to the largest, so that it cannot overflow
    parts = [math.exp(abs(arm) * theta - most) + math.exp(-abs(arm) * theta - most) for arm in arms]
    return count * max(parts) / sum(parts) - 1.0
