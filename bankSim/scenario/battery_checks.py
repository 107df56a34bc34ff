"""Checks inside one [[battery]]; every fault is noted, none is raised."""

from bankSim.model.rule import Watch
from bankSim.scenario.faults import Faults, counted, show
from bankSim.scenario.keys_battery import BatteryKeys, RuleKeys
from bankSim.scenario.lines import Path

HIGHEST_CELL_V = 10.0  # of one cell in a string; a single element may stand for a whole battery
HIGHEST_ELEMENT_V = 60.0
HIGHEST_LIMIT_V = 6.0  # of a rule, per cell; above it the voltage of the whole battery was meant
_CURRENTS = (Watch.DISCHARGE_CURRENT, Watch.CHARGE_CURRENT)


def check_battery(keys: BatteryKeys, path: Path, faults: Faults) -> None:
    """Check one battery.

    Parameters
    ----------
    keys : BatteryKeys
        Sound keys.
    path : tuple
        Where it stands in the file.
    faults : Faults
        Gets what is wrong; keys that are already in doubt are not told again.
    """
    if keys.cells_in_series is None and not faults.touches((*path, "cells_in_series")):
        faults.add((*path, "cells_in_series"), " is missing")
    _check_cell_count(keys, path, faults)
    if keys.lead is not None and keys.lead_mohm is not None:
        faults.add((*path, "lead"), " and lead_mohm are both given; expected one of them")
    _check_given(keys, path, faults, "rated_capacity_Ah", "capacity_Ah")
    _check_given(keys, path, faults, "chemistry", "ocv_table")
    for number, rule in enumerate(keys.protection or ()):
        _check_rule(rule, (*path, "protection", number), keys.cells_in_series or 1, faults)


def highest_cell_voltage(cells_in_series: int) -> float:
    """Return the highest voltage that one cell can plausibly have. [V]"""
    return HIGHEST_CELL_V if cells_in_series > 1 else HIGHEST_ELEMENT_V


def _check_cell_count(keys: BatteryKeys, path: Path, faults: Faults) -> None:
    doubtful = faults.touches((*path, "cells_in_series"))
    if keys.cells is None or keys.cells_in_series is None or doubtful:
        return
    if len(keys.cells) != keys.cells_in_series:
        found = counted(len(keys.cells), "entry", "entries")
        text = f" has {found}; expected {keys.cells_in_series}, one for each cell"
        faults.add((*path, "cells"), text)


def _check_given(
    keys: BatteryKeys, path: Path, faults: Faults, of_battery: str, of_cell: str
) -> None:
    """A battery needs one of its keys, or the cells' key that says the same."""
    here = (*path, of_battery)
    doubtful = faults.touches(here, (*path, "cell", of_cell), (*path, "cells"))
    given = getattr(keys, of_battery) or getattr(keys.cell, of_cell)
    if not (doubtful or given or _every_cell(keys, of_cell)):
        faults.add(here, f" is missing; expected it, or {of_cell} in [battery.cell]")


def _every_cell(keys: BatteryKeys, name: str) -> bool:
    return bool(keys.cells) and all(getattr(cell, name) is not None for cell in keys.cells or ())


def _check_rule(rule: RuleKeys, path: Path, cells_in_series: int, faults: Faults) -> None:
    given = [key for key in ("trips_below", "trips_above") if getattr(rule, key) is not None]
    if len(given) != 1:
        both = "are both given" if given else "are both missing"
        faults.add(path, f": trips_below and trips_above {both}; expected one of them")
        return
    watch, key = Watch(rule.watches), given[0]
    if watch in _CURRENTS and key == "trips_below":
        faults.add((*path, key), f" is of no use for {watch.value}; expected trips_above")
    value = getattr(rule, key)
    low, high, per = _plausible(watch, cells_in_series)
    if not low <= value <= high:
        allowed = f"{low:g} to {high:g} {watch.unit} for {watch.value}{per}"
        faults.add((*path, key), f" = {show(value)}; expected {allowed}")


def _plausible(watch: Watch, cells_in_series: int) -> tuple[float, float, str]:
    """Return the range that a limit can sensibly have, and a word on what it is per."""
    cell_V = HIGHEST_LIMIT_V if cells_in_series > 1 else HIGHEST_ELEMENT_V
    if watch in (Watch.LOWEST_CELL, Watch.HIGHEST_CELL):
        return 0.0, cell_V, " (one cell, not the whole battery)" if cells_in_series > 1 else ""
    if watch is Watch.BATTERY_VOLTAGE:
        return 0.0, cell_V * cells_in_series, ""
    if watch is Watch.TEMPERATURE:
        return -60.0, 150.0, ""
    return 0.0, 100_000.0, ""
