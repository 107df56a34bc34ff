"""Reads a scenario file: all of it is checked before anything is refused."""

import os
from pathlib import Path
from typing import Any

from bankSim.errors import ScenarioError
from bankSim.scenario.bank_checks import check_bank
from bankSim.scenario.build_bank import build_bank
from bankSim.scenario.checked import check_keys
from bankSim.scenario.faults import Faults
from bankSim.scenario.given_spreads import check_spreads
from bankSim.scenario.notes import Notes
from bankSim.scenario.record import Scenario
from bankSim.scenario.syntax import LOG_LIKE, parse_toml, printable, read_text
from bankSim.scenario.tables import TableFiles


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
    try:
        return parse_scenario(read_text(place, file), place.parent, file)
    except ScenarioError as error:
        if error.faults[0].endswith(LOG_LIKE):
            raise ScenarioError([f"{error.faults[0]}: banksim log {file} reads it"]) from error
        raise


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
    tables = TableFiles(folder, Faults())
    return scenario_of(parse_toml(text, file), text, tables, file, str(folder))


def scenario_of(
    document: dict[str, Any], text: str, tables: TableFiles, file: str, folder: str
) -> Scenario:
    """Check a document and build its bank.

    Parameters
    ----------
    document : dict
        As TOML gives it.
    text : str
        Where messages find the lines of keys.
    tables : TableFiles
        Reads the files that the keys name.
    file, folder : str
        Name for messages; where relative names of tables start.
    """
    faults, notes = Faults(), Notes()
    keys = check_keys(document, faults)
    check_bank(keys, faults)
    bank = build_bank(keys, tables.telling(faults), faults, notes)
    check_spreads(keys, faults)  # last: what is wrong with a single value is told as such
    if faults or bank is None:
        raise ScenarioError(faults.lines(file, text, document), faults.places)
    return Scenario(
        title=keys.title or Path(file).stem,
        bank=bank,
        notes=keys.notes,
        assumed=tuple(notes.assumed),
        remarks=tuple(notes.remarks),
        file=file,
        text=text,
        keys=keys,
        folder=folder,
        tables=tables.names(),
    )
