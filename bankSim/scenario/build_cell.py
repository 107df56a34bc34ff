"""Cells in SI: what the file says of each cell, else of all cells, else the chemistry."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any, TypeVar

from bankSim.model.cell import Cell, RelaxationPair
from bankSim.model.chemistry import chemistry_of
from bankSim.model.curve import Curve
from bankSim.scenario.faults import Faults
from bankSim.scenario.keys_battery import BatteryKeys, CellKeys
from bankSim.scenario.lines import Path
from bankSim.scenario.tables import OcvTable, TableFiles

Given = TypeVar("Given")
FULL = 1.0  # state of charge


@dataclass(frozen=True, slots=True)
class Level:
    """What one table of cell keys says, with its curve already read.

    Parameters
    ----------
    keys : CellKeys
    table : OcvTable or None
    """

    keys: CellKeys
    table: OcvTable | None

    def ohmic_ohm(self, shape: Curve) -> Curve | None:
        """Return R0(z) if this level gives one; the key goes before the table's third column."""
        if self.keys.ohmic_mohm is not None:
            return shape.scaled(self.keys.ohmic_mohm * 1e-3)
        return self.table.ohmic_ohm if self.table else None


@dataclass(frozen=True, slots=True)
class CellLevels:
    """All levels of one battery: each cell's own keys, and those common to all cells."""

    own: tuple[Level, ...]
    common: Level

    def settles(self, name: str) -> bool:
        """Tell whether every cell has this key, from its own level or the common one."""
        return getattr(self.common.keys, name) is not None or self.all_own(name)

    def all_own(self, name: str) -> bool:
        """Tell whether every cell has this key at its own level."""
        return all(getattr(level.keys, name) is not None for level in self.own)

    def settles_ohmic(self) -> bool:
        """Tell whether every cell has an ohmic resistance from a key or a third column."""
        one = Curve.constant(1.0)
        if self.common.ohmic_ohm(one) is not None:
            return True
        return all(level.ohmic_ohm(one) is not None for level in self.own)

    def capacities(self, implied_Ah: float | None) -> list[float]:
        """Return each cell's capacity now; without an implied one every cell has its own. [Ah]"""
        implied = [] if implied_Ah is None else [implied_Ah]
        common = self.common.keys.capacity_Ah
        fallback = implied if common is None else [common]
        own = [level.keys.capacity_Ah for level in self.own]
        return [fallback[0] if capacity is None else capacity for capacity in own]


def read_levels(
    keys: BatteryKeys, path: Path, tables: TableFiles, faults: Faults, highest_V: float
) -> CellLevels:
    """Read the voltage curves that the cells name; what is wrong with them is noted."""

    def level(cell: CellKeys, where: Path) -> Level:
        if cell.ocv_table is None:
            return Level(cell, None)
        here = (*where, "ocv_table")
        table = tables.ocv(cell.ocv_table, here)
        if table is not None and table.highest_voltage > highest_V:
            text = f": {table.highest_voltage:g} V is too much for one cell of several in series; "
            faults.add(here, f"{text}expected up to {highest_V:g} V (the table is for one cell)")
        return Level(cell, table)

    common = level(keys.cell, (*path, "cell"))
    cells: Sequence[CellKeys] = keys.cells or [CellKeys()] * (keys.cells_in_series or 1)
    own = tuple(level(cell, (*path, "cells", number)) for number, cell in enumerate(cells))
    return CellLevels(own, common)


def build_cells(keys: BatteryKeys, levels: CellLevels, rated_Ah: float) -> tuple[Cell, ...]:
    """Return the cells of one battery in SI; its keys have passed all checks."""
    capacities = levels.capacities(implied_capacity(keys, rated_Ah))
    return tuple(
        _build_cell(keys, own, levels.common, rated_Ah, capacity_Ah * 3600.0)
        for own, capacity_Ah in zip(levels.own, capacities, strict=True)
    )


def implied_capacity(keys: BatteryKeys, rated_Ah: float) -> float:
    """Return the charge between state of charge 0 and 1 where no capacity_Ah is given. [Ah]"""
    chemistry = chemistry_of(keys.chemistry)
    per_rated = chemistry.capacity_per_rated if chemistry else 1.0
    return rated_Ah * (keys.capacity_fraction or 1.0) * per_rated


def _build_cell(
    battery: BatteryKeys, own: Level, common: Level, rated_Ah: float, charge_C: float
) -> Cell:
    table = own.table or common.table
    chemistry = chemistry_of(battery.chemistry)
    if chemistry is not None:
        shape = chemistry.ohmic_factor()
        cell = chemistry.typical_cell(rated_Ah, charge_C, battery.resistance_factor or 1.0)
    else:
        assert table is not None
        shape = Curve.constant(1.0)
        cell = Cell(table.ocv_V, Curve.constant(0.0), charge_C)
    written: dict[str, Any] = {
        "ocv_V": _curve(cell, table),
        "ohmic_ohm": _given(own.ohmic_ohm(shape), common.ohmic_ohm(shape)),
        "relaxation": _given(_pairs(own.keys), _pairs(common.keys)),
        "hysteresis_V": _given(_volts(own.keys), _volts(common.keys)),
        "state_of_charge": _given(
            own.keys.state_of_charge, common.keys.state_of_charge, battery.state_of_charge
        ),
        "available_fraction": _given(own.keys.available_fraction, common.keys.available_fraction),
        "well_rate_per_s": _given(_per_s(own.keys), _per_s(common.keys)),
    }
    return replace(cell, **{name: value for name, value in written.items() if value is not None})


def _curve(cell: Cell, table: OcvTable | None) -> Curve | None:
    """Return the curve of a table; one that ends at full goes on as a typical one that gasses."""
    if table is None:
        return None
    gasses = cell.gassing_A > 0.0 and table.ocv_V.knots[-1] <= FULL
    return table.ocv_V.continued(cell.ocv_V, FULL) if gasses else table.ocv_V


def _pairs(keys: CellKeys) -> tuple[RelaxationPair, ...] | None:
    if keys.relaxation is None:
        return None
    return tuple(RelaxationPair(pair.mohm * 1e-3, pair.time_constant_s) for pair in keys.relaxation)


def _volts(keys: CellKeys) -> float | None:
    return None if keys.hysteresis_mV is None else keys.hysteresis_mV * 1e-3


def _per_s(keys: CellKeys) -> float | None:
    return None if keys.well_rate_per_h is None else keys.well_rate_per_h / 3600.0


def _given(*values: Given | None) -> Given | None:
    """Return the first value that was given, or None."""
    return next((value for value in values if value is not None), None)
