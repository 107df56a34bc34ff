"""A battery in SI, from its keys and its chemistry."""

from bankSim.model import cables, lfp
from bankSim.model.battery import Battery
from bankSim.model.cell import Cell
from bankSim.model.rule import Blocks, Rule, Watch
from bankSim.scenario.assumptions import (
    note_cells,
    note_delays,
    note_hysteresis,
    note_no_effect,
    note_rules,
)
from bankSim.scenario.build_cell import CellLevels, build_cells
from bankSim.scenario.build_wiring import cable_ohm
from bankSim.scenario.keys_battery import BatteryKeys, RuleKeys
from bankSim.scenario.notes import Notes

USUAL_LEAD_M, USUAL_LEAD_MM2, USUAL_LEAD_JOINTS = 0.5, 35.0, 2
ZERO_C_K = 273.15
SHORT_TABLE = 0.02  # of the charge: a table that leaves out more is worth a remark
LEAST_SERIES_OHM = 1e-9  # below it a chain counts as having no resistance

_TABLE_ONLY = "not given: a battery without chemistry is exactly what is written"
_LABEL = "not given: assumed from the rated capacity, common practice"


def build_battery(
    keys: BatteryKeys, levels: CellLevels, name: str, key: str, temperature_K: float, notes: Notes
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
    notes : Notes
        Gets every assumed value and every key without effect.
    """
    rated_Ah = _rated_capacity(keys, levels, key, notes)
    cells = build_cells(keys, levels, rated_Ah)
    note_cells(keys, levels, key, rated_Ah, notes)
    note_hysteresis(cells, key, notes)
    note_no_effect(keys, levels, key, notes)
    _note_short_tables(cells, levels, key, notes)
    discharge_A = _label_limit(
        keys, "continuous_discharge_A", lfp.DISCHARGE_PER_H, rated_Ah, key, notes
    )
    return Battery(
        name=name,
        cells=cells,
        internal_ohm=_internal_ohm(keys, rated_Ah, key, notes),
        lead_ohm=_lead_ohm(keys, key, temperature_K, notes),
        rules=_rules(keys, discharge_A, key, notes),
        rated_C=rated_Ah * 3600.0,
        continuous_discharge_A=discharge_A,
        continuous_charge_A=_label_limit(
            keys, "continuous_charge_A", lfp.CHARGE_PER_H, rated_Ah, key, notes
        ),
        limits_assumed=_limits_assumed(keys),
        fuse_A=keys.lead.fuse_A if keys.lead else None,
        chemistry=keys.chemistry,
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


def _rated_capacity(keys: BatteryKeys, levels: CellLevels, key: str, notes: Notes) -> float:
    if keys.rated_capacity_Ah is not None:
        return keys.rated_capacity_Ah
    smallest = min(levels.capacities(None, 1.0))
    source = "not given: smallest capacity of its cells"
    notes.assume(f"{key}.rated_capacity_Ah", smallest, "Ah", source)
    return smallest


def _label_limit(
    keys: BatteryKeys, name: str, per_h: float, rated_Ah: float, key: str, notes: Notes
) -> float | None:
    given: float | None = getattr(keys, name)
    if given is not None or keys.chemistry is None:
        return given
    return notes.given_or(None, f"{key}.{name}", per_h * rated_Ah, "A", _LABEL)


def _limits_assumed(keys: BatteryKeys) -> tuple[str, ...]:
    """Name the label limits that `_label_limit` fills in."""
    names = ("continuous_discharge_A", "continuous_charge_A")
    return tuple(name for name in names if keys.chemistry and getattr(keys, name) is None)


def _internal_ohm(keys: BatteryKeys, rated_Ah: float, key: str, notes: Notes) -> float:
    typical, source = 0.0, _TABLE_ONLY
    if keys.chemistry is not None:
        typical = lfp.INTERNAL_OHM_AH / rated_Ah * 1e3
        source = "1.5 mohm at 100 Ah for switches and straps, scaled by Ah; from memory"
    given = notes.given_or(keys.internal_mohm, f"{key}.internal_mohm", typical, "mohm", source)
    return given * 1e-3


def _lead_ohm(keys: BatteryKeys, key: str, temperature_K: float, notes: Notes) -> float:
    if keys.lead is not None:
        return cable_ohm(keys.lead, f"{key}.lead", 2, temperature_K, notes)
    typical, source = 0.0, _TABLE_ONLY
    if keys.chemistry is not None:
        ohm = cables.cable_ohm(USUAL_LEAD_M, USUAL_LEAD_MM2, temperature_K, 2)
        typical = 1e3 * (ohm + cables.joints_ohm(2 * USUAL_LEAD_JOINTS))
        source = "0.5 m of 35 mm2 (IEC 60228 class 5) and 2 joints on each pole (assumption)"
    return notes.given_or(keys.lead_mohm, f"{key}.lead_mohm", typical, "mohm", source) * 1e-3


def _rules(
    keys: BatteryKeys, discharge_A: float | None, key: str, notes: Notes
) -> tuple[Rule, ...]:
    if keys.protection is not None:
        note_delays(keys.protection, key, notes)
        return tuple(_rule(rule) for rule in keys.protection)
    if keys.chemistry is None or discharge_A is None:
        return ()
    rules = lfp.usual_rules(discharge_A)
    note_rules(rules, key, notes)
    return rules


def _rule(keys: RuleKeys) -> Rule:
    below = keys.trips_below is not None
    limit = keys.trips_below if keys.trips_below is not None else keys.trips_above
    assert limit is not None
    watch = Watch(keys.watches)
    kelvin = ZERO_C_K if watch is Watch.TEMPERATURE else 0.0
    return Rule(watch, below, limit + kelvin, keys.after_s, Blocks[keys.blocks.upper()])
