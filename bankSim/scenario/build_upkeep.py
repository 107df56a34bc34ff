"""Balancer and heater in SI, from their keys."""

import math

from bankSim.model.cell import ZERO_C_K
from bankSim.model.upkeep import Balancer, Balancing, Heater
from bankSim.scenario.keys_battery import BalancerKeys, HeaterKeys
from bankSim.scenario.notes import Notes

USUAL_WITHIN_MV = 10.0


def build_balancer(
    keys: BalancerKeys | None, cells_in_series: int, key: str, notes: Notes
) -> Balancer | None:
    """Return a balancer; its keys have passed all checks.

    Parameters
    ----------
    keys : BalancerKeys or None
    cells_in_series : int
        Of its battery.
    key : str
        Key path of the battery.
    notes : Notes
        Gets what was assumed or has no effect.
    """
    if keys is None:
        return None
    where = f"{key}.balancer"
    if cells_in_series == 1:
        notes.no_effect(where, "a single cell has no other to be evened out with")
    if keys.starts_above_V is None and keys.always is None:
        notes.assume(f"{where}.always", "true", "", "no starting voltage is given")
    within_mV = notes.given_or(
        keys.within_mV, f"{where}.within_mV", USUAL_WITHIN_MV, "mV", "not given: common practice"
    )
    starts_above_V = -math.inf if keys.starts_above_V is None else keys.starts_above_V
    return Balancer(Balancing(keys.kind), keys.current_A, starts_above_V, within_mV * 1e-3)


def build_heater(keys: HeaterKeys | None, chargers: int, key: str, notes: Notes) -> Heater | None:
    """Return a heater; its keys have passed all checks.

    Parameters
    ----------
    keys : HeaterKeys or None
    chargers : int
        How many the bank has.
    key : str
        Key path of the battery.
    notes : Notes
        Gets what was assumed or has no effect.
    """
    if keys is None:
        return None
    where = f"{key}.heater"
    if keys.needs is None:
        source = "not given: heats only while a charger is switched on"
        notes.assume(f"{where}.needs", "charger", "", source)
    needs_charger = keys.needs != "nothing"
    if needs_charger and chargers == 0:
        notes.no_effect(where, "it needs a charger and the bank has none")
    on_below_K, off_above_K = keys.on_below_C + ZERO_C_K, keys.off_above_C + ZERO_C_K
    return Heater(keys.power_W, on_below_K, off_above_K, needs_charger)
