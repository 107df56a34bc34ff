"""Checks of [battery.balancer] and [battery.heater]; every fault is noted, none is raised."""

from bankSim.scenario.faults import Faults, show
from bankSim.scenario.keys_battery import BalancerKeys, BatteryKeys, HeaterKeys
from bankSim.scenario.lines import Path
from bankSim.scenario.plausible import highest_limit


def check_upkeep(keys: BatteryKeys, path: Path, faults: Faults) -> None:
    """Check balancer and heater of one battery.

    Parameters
    ----------
    keys : BatteryKeys
        Sound keys.
    path : tuple
        Of the battery.
    faults : Faults
        Gets what is wrong; keys that are already in doubt are not told again.
    """
    if keys.balancer is not None:
        here = (*path, "balancer")
        _check_balancer(keys.balancer, here, keys.cells_in_series or 1, faults)
    if keys.heater is not None:
        _check_heater(keys.heater, (*path, "heater"), faults)
        mass, chemistry = (*path, "mass_kg"), (*path, "chemistry")
        known = keys.mass_kg or keys.chemistry
        if not known and not faults.touches(mass, chemistry):
            faults.add(mass, " is missing; the heater needs it, or a chemistry to take it from")


def _check_balancer(keys: BalancerKeys, path: Path, cells_in_series: int, faults: Faults) -> None:
    start = (*path, "starts_above_V")
    if keys.kind == "bleed" and keys.always is not None:
        faults.add((*path, "always"), ' does not go with kind = "bleed"; expected starts_above_V')
    elif keys.starts_above_V is None and (keys.kind == "bleed" or keys.always is False):
        who = 'kind = "bleed"' if keys.kind == "bleed" else "always = false"
        faults.add(start, f" is missing; {who} needs it")
    elif keys.starts_above_V is not None and keys.always:
        faults.add(start, " and always = true are both given; expected one of them")
    highest = highest_limit(cells_in_series)
    if keys.starts_above_V is not None and keys.starts_above_V > highest:
        value = show(keys.starts_above_V)
        faults.add(start, f" = {value}; expected 0 to {highest:g} V (one cell)")


def _check_heater(keys: HeaterKeys, path: Path, faults: Faults) -> None:
    if not keys.off_above_C > keys.on_below_C:
        allowed = f"more than on_below_C = {show(keys.on_below_C)} degC"
        faults.refuse((*path, "off_above_C"), keys.off_above_C, allowed)
