"""Checks inside one [[battery]]; every fault is noted, none is raised."""

from bankSim.scenario.cell_checks import check_cells
from bankSim.scenario.faults import Faults, counted
from bankSim.scenario.keys_battery import BatteryKeys
from bankSim.scenario.lines import Path
from bankSim.scenario.rule_checks import check_rule
from bankSim.scenario.upkeep_checks import check_upkeep


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
        check_rule(rule, (*path, "protection", number), keys.cells_in_series or 1, faults)
    check_cells(keys, path, faults)
    check_upkeep(keys, path, faults)


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
