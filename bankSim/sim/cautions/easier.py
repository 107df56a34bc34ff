"""Advice on a current that is too large, by what drives it."""

import numpy as np

from bankSim.sim.cautions.currents import CHARGERS, EXCHANGE, LOADS, OUTSIDE, Driver
from bankSim.sim.cautions.joined import DO_NOT, is_wrong
from bankSim.sim.cautions.surges import cure
from bankSim.sim.joining_result import Return
from bankSim.sim.numbers import quoted
from bankSim.sim.result import Result

EASIER = {LOADS: "Use less power at a time", CHARGERS: "Use a smaller charger"}
FED_BACK = "Charge with less"  # no charger does it: a load feeds back
FROM_EACH_OTHER = "This current flows from battery to battery"
AFTER_A_LOAD = (
    " after a load that they shared unevenly, and will after each: use less power at a time, take "
    "batteries of one kind, age and resistance, or keep them apart"
)
UNLIKE = (
    ", as unlike ones even each other out, and will again: take batteries of one kind, age and "
    "resistance, or keep them apart"
)
BEFORE_S = 600.0  # a load that ended this long ago still counts as the cause; own choice
SAME_S = 1e-6


def easier(result: Result, driver: Driver) -> str:
    """Return what makes a current smaller, without the point at its end.

    Parameters
    ----------
    result : Result
    driver : Driver
        Of the largest current.
    """
    bank = result.scenario.bank
    if driver.cause != EXCHANGE:
        fed_back = driver.cause == CHARGERS and not bank.chargers
        return FED_BACK if fed_back else EASIER[driver.cause]
    if must_not_be_joined(result, driver):
        return DO_NOT.removesuffix(".")
    back = _return_at(result, driver.peak_s)
    if back is not None:
        told = f"{FROM_EACH_OTHER} after {quoted(back.battery)} has come back. "
        return f"{told}{cure(result, back)}".removesuffix(".")
    if driver.since_start:
        return f"{FROM_EACH_OTHER}: connect them only when their voltages match"
    return f"{FROM_EACH_OTHER}{AFTER_A_LOAD if _load_ended(result, driver) else UNLIKE}"


def _load_ended(result: Result, driver: Driver) -> bool:
    """Tell whether the bank had to give much more, shortly before batteries exchange current."""
    time_s, bank_A = result.trace[:, 0], result.trace[:, 3]
    row = int(np.searchsorted(time_s, driver.peak_s, side="right")) - 1
    since = int(np.searchsorted(time_s, driver.peak_s - BEFORE_S, side="left"))
    most_A = float(bank_A[since : row + 1].max(initial=0.0))
    return most_A - float(bank_A[row]) > OUTSIDE * driver.peak_A


def must_not_be_joined(result: Result, driver: Driver) -> bool:
    """Tell whether batteries drive a current that should not be in one bank at all.

    Parameters
    ----------
    result : Result
    driver : Driver
    """
    return driver.cause == EXCHANGE and is_wrong(result.scenario.bank)


def _return_at(result: Result, time_s: float) -> Return | None:
    """Return the latest return that is still looked at then; None where there is none."""
    found = [
        back
        for back in result.returns
        if back.time_s - SAME_S <= time_s <= back.time_s + back.looked_at_s + SAME_S
    ]
    return max(found, key=lambda back: back.time_s, default=None)
