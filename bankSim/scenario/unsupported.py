"""Keys that are checked like all others but that the solver cannot follow yet."""

from bankSim.scenario.faults import Faults
from bankSim.scenario.keys import ScenarioKeys, SwingKeys
from bankSim.scenario.keys_battery import LATER_CHEMISTRIES, BatteryKeys, CellKeys, Table
from bankSim.scenario.lines import Path

_BATTERY_KEYS = ("diode_drop_V", "balancer")
_RULE_KEYS = ("releases_above", "releases_below", "release_after_s", "release_needs")
_LOAD_KEYS = ("cut_off_V", "cut_off_after_s", "restart_V")
UNSUPPORTED_KEYS = {*_BATTERY_KEYS, *_RULE_KEYS, *_LOAD_KEYS, "charger", "available_fraction"} | {
    "well_rate_per_h"
}
UNSUPPORTED_TABLES = {"charger", "balancer", "temperature_C"}
_NOT_YET = " is not supported yet; leave it out"


def refuse_unsupported(keys: ScenarioKeys, faults: Faults) -> None:
    """Note one fault for every key that is known but not supported yet."""
    for number in range(len(keys.charger)):
        faults.add(("charger", number), ": chargers are not supported yet; leave it out")
    if isinstance(keys.surroundings.temperature_C, SwingKeys):
        faults.add(
            ("surroundings", "temperature_C"),
            ": a daily swing is not supported yet; give one number in degC",
        )
    for number, battery in enumerate(keys.battery):
        _refuse_in_battery(battery, ("battery", number), faults)
    for number, load in enumerate(keys.load):
        _refuse_given(load, _LOAD_KEYS, ("load", number), faults)


def _refuse_in_battery(battery: BatteryKeys, path: Path, faults: Faults) -> None:
    if battery.chemistry in LATER_CHEMISTRIES:
        faults.add(
            (*path, "chemistry"),
            f' = "{battery.chemistry}" is not supported yet; use "LFP", or leave it out and give '
            "[battery.cell] with an ocv_table",
        )
    _refuse_given(battery, _BATTERY_KEYS, path, faults)
    for number, rule in enumerate(battery.protection or ()):
        _refuse_given(rule, _RULE_KEYS, (*path, "protection", number), faults)
    _refuse_wells(battery.cell, (*path, "cell"), faults)
    for number, cell in enumerate(battery.cells or ()):
        _refuse_wells(cell, (*path, "cells", number), faults)


def _refuse_wells(cell: CellKeys, path: Path, faults: Faults) -> None:
    """Only plain coulomb counting is supported: all charge available, no rate between wells."""
    for key, neutral in (("available_fraction", 1.0), ("well_rate_per_h", 0.0)):
        value = getattr(cell, key)
        if value is not None and value != neutral:
            faults.add((*path, key), f" = {value:g} is not supported yet; only {neutral:g} is")


def _refuse_given(table: Table, names: tuple[str, ...], path: Path, faults: Faults) -> None:
    for name in names:
        if getattr(table, name) is not None:
            faults.add((*path, name), _NOT_YET)
