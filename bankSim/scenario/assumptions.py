"""Lists what a battery takes from its chemistry, with the source of every value."""

from collections.abc import Sequence

from bankSim.model.cell import ZERO_C_K, Cell
from bankSim.model.chemistry import Chemistry, chemistry_of
from bankSim.model.rule import Needs, Rule, Watch
from bankSim.scenario.build_cell import CellLevels, Level, implied_capacity
from bankSim.scenario.keys_battery import BatteryKeys, RuleKeys
from bankSim.scenario.notes import Notes
from bankSim.scenario.uncertain import Uncertain

_TABLE_ONLY = "not given: without typical values of a chemistry it is exactly what is written"
_COMMON = "common practice, no single source"
_NEEDS = {
    Needs.NOTHING: "",
    Needs.CHARGING: " while charging",
    Needs.LOAD_REMOVED: " with the load removed",
    Needs.HAND: " and somebody resets it",
}


def note_cells(
    keys: BatteryKeys, levels: CellLevels, key: str, rated_Ah: float, notes: Notes
) -> None:
    """Note every property of the cells that the file left open."""
    if keys.state_of_charge is None and not levels.settles("state_of_charge"):
        notes.assume(f"{key}.state_of_charge", 1.0, "", "not given: taken as full")
    if keys.capacity_fraction is None and not levels.settles("capacity_Ah"):
        notes.assume(f"{key}.capacity_fraction", 1.0, "", "not given: taken as new")
    chemistry = chemistry_of(keys.chemistry)
    if chemistry is None:
        _note_table_only(keys, levels, key, notes)
        return
    _note_resistances(keys, levels, chemistry, key, rated_Ah, notes)
    cell, sources = f"{key}.cell", chemistry.sources
    if not levels.settles("ocv_table"):
        notes.assume(f"{cell}.ocv_table", f"{chemistry.word} curve", "", sources.curve)
    if not levels.settles("hysteresis_mV"):
        half_gap_mV = chemistry.hysteresis_V * 1e3
        notes.assume(f"{cell}.hysteresis_mV", half_gap_mV, "mV", sources.hysteresis)
    _note_wells(keys, levels, chemistry, key, rated_Ah, notes)
    fixed = chemistry.fixed
    if not levels.settles_ohmic() or levels.settles("ohmic_mohm"):
        fixed = (sources.rise, *fixed)
    for one in fixed:
        notes.assume(f"{cell} ({one.name})", one.value, one.unit, one.source)


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
    if keys.state_of_charge is not None and levels.settles("state_of_charge"):
        notes.no_effect(f"{key}.state_of_charge", "the cells have their own")
    if keys.capacity_fraction is not None and levels.settles("capacity_Ah"):
        notes.no_effect(f"{key}.capacity_fraction", "the cells have a capacity_Ah")
    if keys.resistance_factor is not None and not _uses_factor(keys, levels):
        notes.no_effect(f"{key}.resistance_factor", "the resistances of the cells are as written")
    for name in type(keys.cell).model_fields:
        common = name == "capacity_Ah" and isinstance(keys.cell.capacity_Ah, Uncertain)
        if getattr(keys.cell, name) is not None and levels.all_own(name) and not common:
            notes.no_effect(f"{key}.cell.{name}", "every cell has its own")
    numbered = [(f"{key}.cells[{n + 1}]", level) for n, level in enumerate(levels.own)]
    for where, level in [(f"{key}.cell", levels.common), *numbered]:
        column = level.table is not None and level.table.ohmic_ohm is not None
        if column and level.keys.ohmic_mohm is not None:
            notes.no_effect(f"third column of {where}.ocv_table", "ohmic_mohm is given beside it")
    _note_one_well(keys, levels, key, notes)


def note_rules(rules: tuple[Rule, ...], key: str, notes: Notes) -> None:
    """Note every usual rule, one entry each."""
    for number, rule in enumerate(rules):
        limit = rule.threshold - ZERO_C_K * (rule.watches is Watch.TEMPERATURE)
        side = "below" if rule.below else "above"
        words = f"{rule.watches.value} {side} {limit:g} {rule.watches.unit} for {rule.delay_s:g} s"
        text = f"{words} blocks {rule.blocks.name.lower()}{_released(rule)}"
        notes.assume(f"{key}.protection[{number + 1}]", text, "", f"usual rule, {_COMMON}")


def _released(rule: Rule) -> str:
    """Say when a rule lets go."""
    release = rule.release
    if release is None:
        return ", for good"
    limit = release.threshold - ZERO_C_K * (rule.watches is Watch.TEMPERATURE)
    side = "above" if rule.below else "below"
    value = f"{side} {limit:g} {rule.watches.unit} for {release.delay_s:g} s"
    return f" until {value}{_NEEDS[release.needs]}"


def note_delays(rules: Sequence[RuleKeys], key: str, notes: Notes) -> None:
    """Note every written rule that says nothing about its delay."""
    for number, rule in enumerate(rules, 1):
        if "after_s" not in rule.model_fields_set:
            where = f"{key}.protection[{number}].after_s"
            notes.assume(where, 0.0, "s", "not given: trips at once")


def _uses_factor(keys: BatteryKeys, levels: CellLevels) -> bool:
    """Tell whether the resistance factor changes anything."""
    settled = levels.settles_ohmic() and levels.settles("relaxation")
    return chemistry_of(keys.chemistry) is not None and not settled


def _note_table_only(keys: BatteryKeys, levels: CellLevels, key: str, notes: Notes) -> None:
    """Note what a battery without typical values leaves open."""
    if not levels.settles_ohmic():
        notes.assume(f"{key}.cell.ohmic_mohm", 0.0, "mohm", _TABLE_ONLY)
    if keys.chemistry is not None:
        notes.remarks.append(
            f"{key}: for {keys.chemistry} only the written ocv_table is used; there are no typical "
            "values here, so what is not written is taken as without a chemistry."
        )


def _note_resistances(
    keys: BatteryKeys,
    levels: CellLevels,
    chemistry: Chemistry,
    key: str,
    rated_Ah: float,
    notes: Notes,
) -> None:
    cell, sources = f"{key}.cell", chemistry.sources
    mohm_per_ohm_Ah = 1e3 * (keys.resistance_factor or 1.0) / rated_Ah
    if keys.resistance_factor is None and _uses_factor(keys, levels):
        notes.assume(f"{key}.resistance_factor", 1.0, "", "not given: taken as new")
    if not levels.settles_ohmic():
        ohmic_mohm = chemistry.ohmic_ohm_Ah * mohm_per_ohm_Ah
        notes.assume(f"{cell}.ohmic_mohm", ohmic_mohm, "mohm", sources.ohmic)
    if not levels.settles("relaxation"):
        for number, (ohm_Ah, time_s) in enumerate(chemistry.relaxation_ohm_Ah, 1):
            pair = f"{cell}.relaxation[{number}]"
            notes.assume(f"{pair}.mohm", ohm_Ah * mohm_per_ohm_Ah, "mohm", sources.relaxation)
            notes.assume(f"{pair}.time_constant_s", time_s, "s", sources.relaxation)


def _note_wells(
    keys: BatteryKeys,
    levels: CellLevels,
    chemistry: Chemistry,
    key: str,
    rated_Ah: float,
    notes: Notes,
) -> None:
    """Note the wells of a chemistry that has two, and the charge that both hold together."""
    if chemistry.available_fraction == 1.0:
        return
    wells = chemistry.sources.wells
    implied = (
        ("capacity_Ah", implied_capacity(keys, rated_Ah), "Ah", f"of both wells; {wells}"),
        ("available_fraction", chemistry.available_fraction, "", wells),
        ("well_rate_per_h", chemistry.well_rate_per_h, "1/h", wells),
    )
    for name, value, unit, source in implied:
        if not levels.settles(name):
            notes.assume(f"{key}.cell.{name}", value, unit, source)


def _note_one_well(keys: BatteryKeys, levels: CellLevels, key: str, notes: Notes) -> None:
    """Remark on rates between wells where all of the charge is in one."""
    chemistry = chemistry_of(keys.chemistry)
    implied = chemistry.available_fraction if chemistry else 1.0
    why = "available_fraction is 1: there is one well"

    def single(own: Level) -> bool:
        common = levels.common.keys.available_fraction
        return (own.keys.available_fraction or common or implied) == 1.0

    if levels.common.keys.well_rate_per_h and all(single(own) for own in levels.own):
        notes.no_effect(f"{key}.cell.well_rate_per_h", why)
    for number, own in enumerate(levels.own, 1):
        if own.keys.well_rate_per_h and single(own):
            notes.no_effect(f"{key}.cells[{number}].well_rate_per_h", why)
