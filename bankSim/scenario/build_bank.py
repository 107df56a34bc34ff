"""The bank in SI, from all keys of a file; what is inside each table is checked on the way."""

from dataclasses import dataclass

from bankSim.model.bank import Bank
from bankSim.model.battery import Battery
from bankSim.model.charger import Charger
from bankSim.model.load import Load
from bankSim.scenario.bank_checks import check_meeting, name_of
from bankSim.scenario.battery_checks import check_battery
from bankSim.scenario.build_battery import build_battery
from bankSim.scenario.build_cell import read_levels
from bankSim.scenario.build_charger import build_charger
from bankSim.scenario.build_load import build_load
from bankSim.scenario.build_surroundings import build_surroundings
from bankSim.scenario.build_wiring import build_wiring
from bankSim.scenario.charger_checks import check_charger
from bankSim.scenario.faults import Faults, key_path
from bankSim.scenario.keys import ChargerKeys, LoadKeys, ScenarioKeys
from bankSim.scenario.keys_battery import BatteryKeys
from bankSim.scenario.load_checks import check_load
from bankSim.scenario.never_on import note_never_on, note_profile_end
from bankSim.scenario.notes import Notes
from bankSim.scenario.plausible import highest_cell_voltage, plausible_bank_voltage
from bankSim.scenario.tables import TableFiles
from bankSim.scenario.unlikely import note_tails


def build_bank(keys: ScenarioKeys, tables: TableFiles, faults: Faults, notes: Notes) -> Bank | None:
    """Return the bank, or None if anything is wrong.

    Parameters
    ----------
    keys : ScenarioKeys
        Each one sound by itself.
    tables : TableFiles
        Reads the files that the keys name.
    faults : Faults
        Gets what is wrong.
    notes : Notes
        Gets what was assumed or has no effect.
    """
    surroundings = build_surroundings(keys.surroundings, notes)
    work = _Work(keys, surroundings.mean_K, tables, faults, notes)
    batteries = [_battery(battery, number, work) for number, battery in enumerate(keys.battery)]
    loads = [_load(load, number, work) for number, load in enumerate(keys.load)]
    chargers = [_charger(charger, number, work) for number, charger in enumerate(keys.charger)]
    wiring = build_wiring(keys.wiring, surroundings.mean_K, len(batteries), notes)
    if not faults.touches(("wiring",)):
        check_meeting(batteries, wiring, faults)
    if faults:
        return None
    times = keys.simulation
    if times.starts_at is None and (surroundings.swing_K > 0.0 or _reads_clock(keys)):
        notes.assume("simulation.starts_at", "00:00", "", "not given: the run starts at midnight")
    bank = Bank(
        batteries=tuple(battery for battery in batteries if battery is not None),
        wiring=wiring,
        loads=tuple(load for load in loads if load is not None),
        temperature_K=surroundings.mean_K,
        duration_s=times.duration_h * 3600.0,
        stop_when_empty=times.stop == "bank empty",
        starts_at_s=times.starts_at or 0.0,
        output_every_s=times.output_every_s,
        chargers=tuple(charger for charger in chargers if charger is not None),
        swing_K=surroundings.swing_K,
        warmest_s=surroundings.warmest_s,
    )
    note_never_on(bank, notes)
    return bank


@dataclass(frozen=True, slots=True)
class _Work:
    """What every part of the bank is built with."""

    keys: ScenarioKeys
    temperature_K: float
    tables: TableFiles
    faults: Faults
    notes: Notes


def _reads_clock(keys: ScenarioKeys) -> bool:
    """Tell whether any load or charger depends on the time of day."""
    daily = [load.daily for load in keys.load] + [charger.daily for charger in keys.charger]
    return any(daily) or any(charger.sun for charger in keys.charger)


def _battery(keys: BatteryKeys, number: int, work: _Work) -> Battery | None:
    path = ("battery", number)
    check_battery(keys, path, work.faults)
    highest_V = highest_cell_voltage(keys.cells_in_series or 1)
    levels = read_levels(keys, path, work.tables, work.faults, highest_V)
    if work.faults.touches(path):
        return None
    name, chargers = name_of("battery", number, keys.name), len(work.keys.charger)
    return build_battery(
        keys, levels, name, key_path(path), work.temperature_K, chargers, work.notes
    )


def _load(keys: LoadKeys, number: int, work: _Work) -> Load | None:
    path = ("load", number)
    bank_V = plausible_bank_voltage(work.keys.battery)
    check_load(keys, path, work.keys.simulation.duration_h, bank_V, work.faults)
    profile = None
    if keys.profile is not None:
        profile = work.tables.profile(keys.profile, (*path, "profile"))
        for key in ("reference_voltage_V", "voltage_exponent"):
            if profile and profile.is_current and getattr(keys, key) is not None:
                text = " does not go with a current_A profile; leave it out"
                work.faults.add((*path, key), text)
    if work.faults.touches(path):
        return None
    if profile is not None:
        note_profile_end(profile, work.keys.simulation.duration_h, key_path(path), work.notes)
    return build_load(keys, name_of("load", number, keys.name), key_path(path), profile, work.notes)


def _charger(keys: ChargerKeys, number: int, work: _Work) -> Charger | None:
    path = ("charger", number)
    check_charger(keys, path, plausible_bank_voltage(work.keys.battery), work.faults)
    if work.faults.touches(path):
        return None
    note_tails(keys, key_path(path), work.notes)
    return build_charger(keys, name_of("charger", number, keys.name))
