"""A battery in SI, from its keys and its chemistry."""

from bankSim.model import cables
from bankSim.model.battery import Battery
from bankSim.model.cell import Cell
from bankSim.model.chemistry import chemistry_of, odd_cells
from bankSim.scenario.assumptions import note_cells, note_hysteresis, note_no_effect
from bankSim.scenario.build_cell import CellLevels, build_cells
from bankSim.scenario.build_rule import build_rules, diode_drop
from bankSim.scenario.build_thermal import build_thermal
from bankSim.scenario.build_upkeep import build_balancer, build_heater
from bankSim.scenario.build_wiring import cable_ohm
from bankSim.scenario.keys_battery import BatteryKeys
from bankSim.scenario.notes import Notes
from bankSim.scenario.unlikely import note_unlikely

USUAL_LEAD_M, USUAL_LEAD_MM2, USUAL_LEAD_JOINTS = 0.5, 35.0, 2
# Straps of more than this many times the cells are rare, the whole battery was meant: own choice.
MOST_STRAPS, HALF_FULL = 1.4, 0.5
SHORT_TABLE = 0.02  # of the charge: a table that leaves out more is worth a remark
LEAST_SERIES_OHM = 1e-9  # below it a chain counts as having no resistance

_TABLE_ONLY = "not given: without typical values of a chemistry it is exactly what is written"
_LABEL = "not given: assumed from the rated capacity, common practice"


def build_battery(
    keys: BatteryKeys,
    levels: CellLevels,
    name: str,
    key: str,
    temperature_K: float,
    chargers: int,
    notes: Notes,
) -> Battery:
    """Return a battery in SI; its keys have passed all checks.

    Parameters
    ----------
    keys : BatteryKeys
    levels : CellLevels
        Its cell keys with their curves.
    name : str
    key : str
        Its key path, such as ``battery[1]``.
    temperature_K : float
        Of the leads. [K]
    chargers : int
        How many the bank has.
    notes : Notes
        Gets every assumed value and every key without effect.
    """
    rated_Ah = _rated_capacity(keys, levels, key, notes)
    cells = build_cells(keys, levels, rated_Ah)
    note_cells(keys, levels, key, rated_Ah, notes)
    note_hysteresis(cells, key, notes)
    note_no_effect(keys, levels, key, notes)
    _note_short_tables(cells, levels, key, notes)
    odd = odd_cells(keys.chemistry, len(cells))
    notes.remarks += [f"{key}: {odd}"] if odd else []
    _note_whole_battery(keys, cells, key, notes)
    note_unlikely(keys, levels, key, rated_Ah, notes)
    discharge_A = _label_limit(keys, "discharge", rated_Ah, key, notes)
    rules = build_rules(keys, discharge_A, key, notes)
    return Battery(
        name=name,
        cells=cells,
        internal_ohm=_internal_ohm(keys, rated_Ah, key, notes),
        lead_ohm=_lead_ohm(keys, key, temperature_K, notes),
        rules=rules,
        rated_C=rated_Ah * 3600.0,
        continuous_discharge_A=discharge_A,
        continuous_charge_A=_label_limit(keys, "charge", rated_Ah, key, notes),
        limits_assumed=_limits_assumed(keys),
        fuse_A=keys.lead.fuse_A if keys.lead else None,
        chemistry=keys.chemistry,
        diode_drop_V=diode_drop(keys, rules, key, notes),
        balancer=build_balancer(keys.balancer, len(cells), key, notes),
        thermal=build_thermal(keys, rated_Ah, key, notes),
        heater=build_heater(keys.heater, chargers, key, notes),
        lead_area_mm2=keys.lead.area_mm2 if keys.lead else None,
    )


def has_no_resistance(battery: Battery) -> bool:
    """Tell whether the ohmic resistances from the cells to the end of the lead can all be 0."""
    cells = sum(float(cell.ohmic_ohm(cell.ohmic_ohm.knots).min()) for cell in battery.cells)
    return cells + battery.internal_ohm + battery.lead_ohm < LEAST_SERIES_OHM


def _note_short_tables(cells: tuple[Cell, ...], levels: CellLevels, key: str, notes: Notes) -> None:
    """Remark on voltage tables that leave out some of the charge, once for a battery."""
    for cell, own in zip(cells, levels.own, strict=True):
        first, last = float(cell.ocv_V.knots[0]), float(cell.ocv_V.knots[-1])
        from_table = (own.table or levels.common.table) is not None
        if from_table and (first > SHORT_TABLE or last < 1.0 - SHORT_TABLE):
            notes.remarks.append(
                f"{key}: its ocv_table covers state of charge {first:g} to {last:g} only; outside "
                "it the voltage goes on with the slope of the last rows, which is a guess."
            )
            return


def _note_whole_battery(keys: BatteryKeys, cells: tuple[Cell, ...], key: str, notes: Notes) -> None:
    """Remark on a resistance of straps that looks like that of the whole battery."""
    cells_mohm = 1e3 * sum(float(cell.ohmic_ohm(HALF_FULL)) for cell in cells)
    given = keys.internal_mohm
    if (
        given is not None
        and chemistry_of(keys.chemistry) is not None
        and given > MOST_STRAPS * cells_mohm > 0.0
    ):
        notes.remarks.append(
            f"{key}.internal_mohm = {given:g} is far more than its {len(cells)} cells have "
            f"together ({cells_mohm:.2g} mohm half full at 25 degrees C). It is switches, straps "
            "and terminals only: a milliohm meter at the terminals shows both together, here "
            f"{given + cells_mohm:.2g} mohm. Give what it showed less that of the cells."
        )


def _rated_capacity(keys: BatteryKeys, levels: CellLevels, key: str, notes: Notes) -> float:
    if keys.rated_capacity_Ah is not None:
        return keys.rated_capacity_Ah
    chemistry = chemistry_of(keys.chemistry)
    smallest = min(levels.capacities(None)) / (chemistry.capacity_per_rated if chemistry else 1.0)
    source = "not given: from the smallest capacity of its cells"
    notes.assume(f"{key}.rated_capacity_Ah", smallest, "Ah", source)
    return smallest


def _label_limit(
    keys: BatteryKeys, direction: str, rated_Ah: float, key: str, notes: Notes
) -> float | None:
    name = f"continuous_{direction}_A"
    given: float | None = getattr(keys, name)
    chemistry = chemistry_of(keys.chemistry)
    if given is not None or chemistry is None:
        return given
    typical: float = getattr(chemistry, f"{direction}_per_h") * rated_Ah
    return notes.given_or(None, f"{key}.{name}", typical, "A", _LABEL)


def _limits_assumed(keys: BatteryKeys) -> tuple[str, ...]:
    """Name the label limits that `_label_limit` fills in."""
    if chemistry_of(keys.chemistry) is None:
        return ()
    names = ("continuous_discharge_A", "continuous_charge_A")
    return tuple(name for name in names if getattr(keys, name) is None)


def _internal_ohm(keys: BatteryKeys, rated_Ah: float, key: str, notes: Notes) -> float:
    typical, source = 0.0, _TABLE_ONLY
    chemistry = chemistry_of(keys.chemistry)
    if chemistry is not None:
        typical = chemistry.internal_ohm_Ah / rated_Ah * 1e3
        source = chemistry.sources.internal
    given = notes.given_or(keys.internal_mohm, f"{key}.internal_mohm", typical, "mohm", source)
    return given * 1e-3


def _lead_ohm(keys: BatteryKeys, key: str, temperature_K: float, notes: Notes) -> float:
    if keys.lead is not None:
        return cable_ohm(keys.lead, f"{key}.lead", 2, temperature_K, notes)
    typical, source = 0.0, _TABLE_ONLY
    if chemistry_of(keys.chemistry) is not None:
        ohm = cables.cable_ohm(USUAL_LEAD_M, USUAL_LEAD_MM2, temperature_K, 2)
        typical = 1e3 * (ohm + cables.joints_ohm(2 * USUAL_LEAD_JOINTS))
        source = "0.5 m of 35 mm2 (IEC 60228 class 5) and 2 joints on each pole (assumption)"
    return notes.given_or(keys.lead_mohm, f"{key}.lead_mohm", typical, "mohm", source) * 1e-3
