"""Checks of what a battery says of its cells; every fault is noted, none is raised."""

from bankSim.model.chemistry import BY_TABLE_ONLY, chemistry_of
from bankSim.scenario.faults import Faults
from bankSim.scenario.keys_battery import BatteryKeys, CellKeys
from bankSim.scenario.lines import Path
from bankSim.scenario.uncertain import Uncertain


def check_cells(keys: BatteryKeys, path: Path, faults: Faults) -> None:
    """Check the voltage tables and the wells of one battery's cells.

    Parameters
    ----------
    keys : BatteryKeys
        Sound keys.
    path : tuple
        Where the battery stands in the file.
    faults : Faults
        Gets what is wrong; keys that are already in doubt are not told again.
    """
    _check_tables(keys, path, faults)
    chemistry = chemistry_of(keys.chemistry)
    if chemistry is None or chemistry.available_fraction == 1.0:
        _check_wells(keys, path, faults)


def _check_tables(keys: BatteryKeys, path: Path, faults: Faults) -> None:
    """Refuse a chemistry that has no typical curve where a cell has no table."""
    doubtful = faults.touches((*path, "cell", "ocv_table"), (*path, "cells"), (*path, "chemistry"))
    every_own = keys.cells and all(cell.ocv_table for cell in keys.cells)
    if keys.chemistry not in BY_TABLE_ONLY or doubtful or keys.cell.ocv_table or every_own:
        return
    faults.add(
        (*path, "chemistry"),
        f' = "{keys.chemistry}" has no typical voltage curve here; expected an ocv_table of your '
        "own in [battery.cell] or for every cell",
    )


def _check_wells(keys: BatteryKeys, path: Path, faults: Faults) -> None:
    """Refuse two wells without a rate between them."""
    common, lacking = keys.cell, {}
    for number, own in enumerate(keys.cells or [CellKeys()]):
        rates = (own.well_rate_per_h, common.well_rate_per_h)
        fraction = own.available_fraction or common.available_fraction or 1.0
        if _least(fraction) < 1.0 and rates == (None, None):
            inherited = own.available_fraction is None
            where = (*path, "cell") if inherited else (*path, "cells", number)
            lacking[(*where, "well_rate_per_h")] = fraction
    for here, fraction in lacking.items():
        if not faults.touches(here, (*path, "cell", "well_rate_per_h")):
            faults.add(
                here,
                f" is missing; available_fraction = {_least(fraction):g} makes two wells, which "
                "need a rate between them (0 or more)",
            )


def _least(value: float) -> float:
    """Return the least that a number may be, which may come with a spread."""
    spread = value.spread if isinstance(value, Uncertain) else None
    return value if spread is None or spread.is_sure else spread.low
