"""Reads a scenario file: all of it is checked before anything is refused."""

import os
from pathlib import Path

from bankSim.errors import ScenarioError
from bankSim.model.bank import Bank
from bankSim.model.battery import Battery
from bankSim.model.load import Load
from bankSim.scenario.bank_checks import check_bank, check_meeting, name_of
from bankSim.scenario.battery_checks import check_battery, highest_cell_voltage
from bankSim.scenario.build_battery import ZERO_C_K, build_battery
from bankSim.scenario.build_cell import read_levels
from bankSim.scenario.build_load import build_load
from bankSim.scenario.build_wiring import build_wiring
from bankSim.scenario.checked import check_keys
from bankSim.scenario.faults import Faults, key_path
from bankSim.scenario.keys import LoadKeys, ScenarioKeys, SwingKeys
from bankSim.scenario.keys_battery import BatteryKeys
from bankSim.scenario.load_checks import check_load
from bankSim.scenario.notes import Notes
from bankSim.scenario.record import Scenario
from bankSim.scenario.syntax import parse_toml, printable, read_text
from bankSim.scenario.tables import TableFiles
from bankSim.scenario.unsupported import refuse_unsupported


def read_scenario(path: str | os.PathLike[str]) -> Scenario:
    """Read and check a scenario file and the tables it names.

    Parameters
    ----------
    path : str or path
        A TOML file; names of tables inside are relative to its folder.

    Returns
    -------
    scenario : Scenario
        The bank in SI, what was assumed, and which keys have no effect.

    Raises
    ------
    ScenarioError
        With one line for each fault, all at once: file, line, key path, value, what is allowed.
    """
    place, file = Path(path), printable(os.fspath(path))
    return parse_scenario(read_text(place, file), place.parent, file)


def parse_scenario(text: str, folder: Path, file: str = "scenario") -> Scenario:
    """Check the text of a scenario; as `read_scenario`, with the folder of its tables given.

    Parameters
    ----------
    text : str
        TOML.
    folder : Path
        Where relative names of tables start.
    file : str
        Name for messages.
    """
    document = parse_toml(text, file)
    faults, notes = Faults(), Notes()
    keys = check_keys(document, faults)
    refuse_unsupported(keys, faults)
    check_bank(keys, faults)
    bank = _build_bank(keys, TableFiles(folder, faults), faults, notes)
    if faults or bank is None:
        raise ScenarioError(faults.lines(file, text, document))
    return Scenario(
        title=keys.title or Path(file).stem,
        bank=bank,
        notes=keys.notes,
        assumed=tuple(notes.assumed),
        remarks=tuple(notes.remarks),
        file=file,
        text=text,
    )


def _build_bank(
    keys: ScenarioKeys, tables: TableFiles, faults: Faults, notes: Notes
) -> Bank | None:
    """Return the bank, or None if anything is wrong; faults are noted on the way."""
    temperature_K = _temperature(keys, notes)
    batteries = [
        _battery(battery, number, temperature_K, tables, faults, notes)
        for number, battery in enumerate(keys.battery)
    ]
    loads = [
        _load(load, number, keys, tables, faults, notes) for number, load in enumerate(keys.load)
    ]
    wiring = build_wiring(keys.wiring, temperature_K, len(batteries), notes)
    if not faults.touches(("wiring",)):
        check_meeting(batteries, wiring, faults)
    if faults:
        return None
    times = keys.simulation
    if times.starts_at is None and any(load.daily for load in keys.load):
        notes.assume("simulation.starts_at", "00:00", "", "not given: the run starts at midnight")
    return Bank(
        batteries=tuple(battery for battery in batteries if battery is not None),
        wiring=wiring,
        loads=tuple(load for load in loads if load is not None),
        temperature_K=temperature_K,
        duration_s=times.duration_h * 3600.0,
        stop_when_empty=times.stop == "bank empty",
        starts_at_s=times.starts_at or 0.0,
        output_every_s=times.output_every_s,
    )


def _temperature(keys: ScenarioKeys, notes: Notes) -> float:
    surroundings = keys.surroundings
    if "temperature_C" not in surroundings.model_fields_set:
        notes.assume("surroundings.temperature_C", 25.0, "degC", "not given: where data are given")
    given = surroundings.temperature_C
    return (given.mean_C if isinstance(given, SwingKeys) else given) + ZERO_C_K


def _battery(
    keys: BatteryKeys,
    number: int,
    temperature_K: float,
    tables: TableFiles,
    faults: Faults,
    notes: Notes,
) -> Battery | None:
    path = ("battery", number)
    check_battery(keys, path, faults)
    levels = read_levels(
        keys, path, tables, faults, highest_cell_voltage(keys.cells_in_series or 1)
    )
    if faults.touches(path):
        return None
    name = name_of("battery", number, keys.name)
    return build_battery(keys, levels, name, key_path(path), temperature_K, notes)


def _load(
    keys: LoadKeys,
    number: int,
    scenario: ScenarioKeys,
    tables: TableFiles,
    faults: Faults,
    notes: Notes,
) -> Load | None:
    path = ("load", number)
    check_load(keys, path, scenario.simulation.duration_h, faults)
    profile = None
    if keys.profile is not None:
        profile = tables.profile(keys.profile, (*path, "profile"))
        for key in ("reference_voltage_V", "voltage_exponent"):
            if profile and profile.is_current and getattr(keys, key) is not None:
                faults.add((*path, key), " does not go with a current_A profile; leave it out")
    if faults.touches(path):
        return None
    return build_load(keys, name_of("load", number, keys.name), key_path(path), profile, notes)
