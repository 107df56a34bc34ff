"""Checks of one [[battery.protection]]; every fault is noted, none is raised."""

from bankSim.model.rule import Watch
from bankSim.scenario.faults import Faults, show
from bankSim.scenario.keys_battery import RuleKeys
from bankSim.scenario.lines import Path
from bankSim.scenario.plausible import LEAST_V, highest_limit

_CURRENTS = (Watch.DISCHARGE_CURRENT, Watch.CHARGE_CURRENT)
_TRIPS = ("trips_below", "trips_above")
_RELEASES = ("releases_above", "releases_below")  # the one that goes with each of the above


def check_rule(rule: RuleKeys, path: Path, cells_in_series: int, faults: Faults) -> None:
    """Check one rule.

    Parameters
    ----------
    rule : RuleKeys
        Sound keys.
    path : tuple
        Where it stands in the file.
    cells_in_series : int
        Of its battery.
    faults : Faults
        Gets what is wrong.
    """
    given = [key for key in _TRIPS if getattr(rule, key) is not None]
    if len(given) != 1:
        both = "are both given" if given else "are both missing"
        faults.add(path, f": trips_below and trips_above {both}; expected one of them")
        return
    watch, key = Watch(rule.watches), given[0]
    if watch in _CURRENTS and key == "trips_below":
        faults.add((*path, key), f" is of no use for {watch.value}; expected trips_above")
    sound = _is_plausible(rule, key, path, cells_in_series, faults)
    _check_release(rule, key, path, cells_in_series, sound, faults)


def _check_release(
    rule: RuleKeys, trips: str, path: Path, cells_in_series: int, sound: bool, faults: Faults
) -> None:
    """Check the release; `sound` tells whether there is a limit to compare it with."""
    right, wrong = _RELEASES if trips == "trips_below" else _RELEASES[::-1]
    value, limit = getattr(rule, right), getattr(rule, trips)
    if getattr(rule, wrong) is not None:
        if value is not None:
            faults.add(path, f": {right} and {wrong} are both given; expected {right} alone")
        else:
            faults.add((*path, wrong), f" does not go with {trips}; expected {right}")
        return
    if value is None or not _is_plausible(rule, right, path, cells_in_series, faults):
        return
    safe = value >= limit if trips == "trips_below" else value <= limit
    if sound and not safe:
        side = "more" if trips == "trips_below" else "less"
        allowed = f"{limit:g} {Watch(rule.watches).unit} ({trips}) or {side}"
        faults.refuse((*path, right), value, allowed)


def _is_plausible(
    rule: RuleKeys, key: str, path: Path, cells_in_series: int, faults: Faults
) -> bool:
    """Note a limit that its quantity cannot sensibly have."""
    watch, value = Watch(rule.watches), getattr(rule, key)
    low, high, per = plausible_limit(watch, cells_in_series)
    if low <= value <= high:
        return True
    allowed = f"{low:g} to {high:g} {watch.unit} for {watch.value}{per}"
    faults.add((*path, key), f" = {show(value)}; expected {allowed}")
    return False


def plausible_limit(watch: Watch, cells_in_series: int) -> tuple[float, float, str]:
    """Return the range that a limit can sensibly have, and a word on what it is per.

    Unit: [V, A or degC]
    """
    cell_V = highest_limit(cells_in_series)
    if watch in (Watch.LOWEST_CELL, Watch.HIGHEST_CELL):
        return 0.0, cell_V, " (one cell, not the whole battery)" if cells_in_series > 1 else ""
    if watch is Watch.BATTERY_VOLTAGE:
        return LEAST_V * cells_in_series, cell_V * cells_in_series, " (the whole battery)"
    if watch is Watch.TEMPERATURE:
        return -60.0, 150.0, ""
    return 0.0, 100_000.0, ""
