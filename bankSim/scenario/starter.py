"""The commented file that `banksim new` writes."""

import os
from importlib.resources import files
from pathlib import Path

from bankSim.errors import ScenarioError
from bankSim.scenario.syntax import plain_reason
from bankSim.whole import as_bytes, sweep, write_whole


def starter_text() -> str:
    """Return a commented scenario that runs as it is."""
    return (files("bankSim.scenario") / "starter.toml").read_text(encoding="utf-8")


def write_starter(path: str | os.PathLike[str]) -> None:
    """Write the starter to a new file, whole or not at all.

    Parameters
    ----------
    path : str or path
        A file that does not exist yet, in a folder that does.

    Raises
    ------
    ScenarioError
        One line, if the file exists or cannot be written.
    """
    target = Path(path)
    if os.path.lexists(target):
        raise ScenarioError([f"{target}: already exists; expected the name of a new file"])
    if not target.parent.is_dir():
        raise ScenarioError([f"{target}: no such folder; expected one that exists"])
    try:
        sweep(target.parent)
        write_whole(target, as_bytes(starter_text()))
    except (OSError, ValueError) as error:
        raise ScenarioError([f"{target}: cannot be written ({plain_reason(error)})"]) from error
