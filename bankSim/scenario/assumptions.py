"""Lists what a battery takes from its chemistry, with the source of every value."""

from collections.abc import Sequence

from bankSim.model import lfp
from bankSim.model.cell import Cell
from bankSim.model.rule import Rule, Watch
from bankSim.scenario.build_cell import CellLevels
from bankSim.scenario.keys_battery import BatteryKeys, RuleKeys
from bankSim.scenario.notes import Notes

_FIT = (
    "own fit to open measured data of a 2 Ah cell (About:Energy, BPX open data set), scaled by Ah"
)
_CURVE = (
    "half-cell fits of Safari and Delacourt (2011), windows of Schimpe et al. (2018), "
    "0 put where a cell rests at 2.5 V"
)
_TABLE_ONLY = "not given: a battery without chemistry is exactly what is written"
_COMMON = "common practice, no single source"


def note_cells(
    keys: BatteryKeys, levels: CellLevels, key: str, rated_Ah: float, notes: Notes
) -> None:
    """Note every property of the cells that the file left open."""
    if keys.state_of_charge is None and not levels.settles("state_of_charge"):
        notes.assume(f"{key}.state_of_charge", 1.0, "", "not given: taken as full")
    if keys.capacity_fraction is None and not levels.settles("capacity_Ah"):
        notes.assume(f"{key}.capacity_fraction", 1.0, "", "not given: taken as new")
    if keys.chemistry is None:
        if not levels.settles_ohmic():
            notes.assume(f"{key}.cell.ohmic_mohm", 0.0, "mohm", _TABLE_ONLY)
        return
    _note_resistances(keys, levels, key, rated_Ah, notes)
    cell = f"{key}.cell"
    if not levels.settles("ocv_table"):
        notes.assume(f"{cell}.ocv_table", "LFP curve", "", _CURVE)
    if not levels.settles("hysteresis_mV"):
        gap = "half of a published gap of 5 to 25 mV after long rest"
        notes.assume(f"{cell}.hysteresis_mV", lfp.HYSTERESIS_V * 1e3, "mV", gap)
    if not levels.settles_ohmic() or levels.settles("ohmic_mohm"):
        rise = f"1 + {lfp.RISE:g} exp(-z / {lfp.RISE_WIDTH:g})"
        source = f"{_FIT}: C/20 against 1C discharge"
        notes.assume(f"{cell} (ohmic rise near empty)", rise, "", source)
    _note_fixed(cell, notes)


def note_hysteresis(cells: Sequence[Cell], key: str, notes: Notes) -> None:
    """Note what the file cannot say of a hysteresis: how fast it turns, and where it starts."""
    rates = [cell.hysteresis_rate for cell in cells if cell.hysteresis_V > 0.0]
    if not rates:
        return
    where = f"{key}.cell"
    notes.assume(f"{where} (hysteresis rate)", rates[0], "", "typical fits 20 to 200, from memory")
    source = "between its charge and discharge voltage: what came before the start is not known"
    notes.assume(f"{where} (hysteresis at the start)", "midway", "", source)


def note_no_effect(keys: BatteryKeys, levels: CellLevels, key: str, notes: Notes) -> None:
    """Note the keys of a battery that do nothing here."""
    if keys.mass_kg is not None:
        notes.no_effect(f"{key}.mass_kg", "the temperature is fixed in this version")
    if keys.state_of_charge is not None and levels.settles("state_of_charge"):
        notes.no_effect(f"{key}.state_of_charge", "the cells have their own")
    if keys.capacity_fraction is not None and levels.settles("capacity_Ah"):
        notes.no_effect(f"{key}.capacity_fraction", "the cells have a capacity_Ah")
    if keys.resistance_factor is not None and not _uses_factor(keys, levels):
        notes.no_effect(f"{key}.resistance_factor", "the resistances of the cells are as written")
    for name in type(keys.cell).model_fields:
        if getattr(keys.cell, name) is not None and levels.all_own(name):
            notes.no_effect(f"{key}.cell.{name}", "every cell has its own")
    numbered = [(f"{key}.cells[{n + 1}]", level) for n, level in enumerate(levels.own)]
    for where, level in [(f"{key}.cell", levels.common), *numbered]:
        column = level.table is not None and level.table.ohmic_ohm is not None
        if column and level.keys.ohmic_mohm is not None:
            notes.no_effect(f"third column of {where}.ocv_table", "ohmic_mohm is given beside it")


def note_rules(rules: tuple[Rule, ...], key: str, notes: Notes) -> None:
    """Note every usual rule, one entry each."""
    for number, rule in enumerate(rules):
        limit = rule.threshold - 273.15 * (rule.watches is Watch.TEMPERATURE)
        side = "below" if rule.below else "above"
        words = f"{rule.watches.value} {side} {limit:g} {rule.watches.unit} for {rule.delay_s:g} s"
        text = f"{words} blocks {rule.blocks.name.lower()}"
        notes.assume(f"{key}.protection[{number + 1}]", text, "", f"usual rule, {_COMMON}")


def note_delays(rules: Sequence[RuleKeys], key: str, notes: Notes) -> None:
    """Note every written rule that says nothing about its delay."""
    for number, rule in enumerate(rules, 1):
        if "after_s" not in rule.model_fields_set:
            where = f"{key}.protection[{number}].after_s"
            notes.assume(where, 0.0, "s", "not given: trips at once")


def _uses_factor(keys: BatteryKeys, levels: CellLevels) -> bool:
    """Tell whether the resistance factor changes anything."""
    settled = levels.settles_ohmic() and levels.settles("relaxation")
    return keys.chemistry is not None and not settled


def _note_resistances(
    keys: BatteryKeys, levels: CellLevels, key: str, rated_Ah: float, notes: Notes
) -> None:
    cell = f"{key}.cell"
    mohm_per_ohm_Ah = 1e3 * (keys.resistance_factor or 1.0) / rated_Ah
    if keys.resistance_factor is None and _uses_factor(keys, levels):
        notes.assume(f"{key}.resistance_factor", 1.0, "", "not given: taken as new")
    if not levels.settles_ohmic():
        ohmic = lfp.OHMIC_OHM_AH * mohm_per_ohm_Ah
        notes.assume(f"{cell}.ohmic_mohm", ohmic, "mohm", f"{_FIT}; value in the middle")
    if not levels.settles("relaxation"):
        for number, (ohm_Ah, time_s) in enumerate(lfp.RELAXATION_OHM_AH, 1):
            pair = f"{cell}.relaxation[{number}]"
            notes.assume(f"{pair}.mohm", ohm_Ah * mohm_per_ohm_Ah, "mohm", _FIT)
            notes.assume(f"{pair}.time_constant_s", time_s, "s", _FIT)


def _note_fixed(cell: str, notes: Notes) -> None:
    """Note what the chemistry brings along and the file cannot change."""
    fixed = (
        ("coulombic efficiency", lfp.COULOMBIC_EFFICIENCY, "", "above 0.995, from memory"),
        ("self-discharge per month", lfp.SELF_DISCHARGE_PER_MONTH, "", "1 to 3 %, trade sources"),
        ("activation energy", lfp.ACTIVATION_J_MOL / 1e3, "kJ/mol", "15 to 25, from memory"),
    )
    for name, value, unit, source in fixed:
        notes.assume(f"{cell} ({name})", value, unit, source)
