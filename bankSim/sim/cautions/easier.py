"""Advice on a current that is too large, by what drives it."""

from bankSim.sim.cautions.currents import CHARGERS, EXCHANGE, LOADS, Driver
from bankSim.sim.cautions.joined import DO_NOT, is_wrong
from bankSim.sim.cautions.surges import cure
from bankSim.sim.joining_result import Return
from bankSim.sim.numbers import quoted
from bankSim.sim.result import Result

EASIER = {LOADS: "Use less power at a time", CHARGERS: "Use a smaller charger"}
FED_BACK = "Charge with less"  # no charger does it: a load feeds back
FROM_EACH_OTHER = "This current flows from battery to battery"
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
    if back is None:
        return f"{FROM_EACH_OTHER}: connect them only when their voltages match"
    told = f"{FROM_EACH_OTHER} after {quoted(back.battery)} has come back. {cure(result, back)}"
    return told.removesuffix(".")


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
