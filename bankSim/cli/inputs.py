"""What a run is read from, and which name its results get."""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

from bankSim.errors import SimulationError
from bankSim.sim.numbers import clean

TABLE_KEYS = ("ocv_table", "profile")
NO_NAME = "scenario"


def inputs_of(file: Path) -> list[Path]:
    """Return the scenario file and the tables it names; only itself when it cannot be read.

    A pipe is left alone, since it can be read only once. What is wrong with the file is told by
    `read_scenario`.
    """
    from bankSim.scenario.syntax import parse_toml, read_text

    try:
        if not file.is_file():
            return [file]
    except (OSError, ValueError):  # a name that cannot be one
        return [file]
    try:
        document = parse_toml(read_text(file, str(file)), str(file))
    except SimulationError:
        return [file]
    return [file, *(file.parent / name for name in _tables(document))]


def _tables(value: Any) -> Iterator[str]:
    if isinstance(value, list):
        for item in value:
            yield from _tables(item)
    elif isinstance(value, dict):
        for key, item in value.items():
            if key in TABLE_KEYS and isinstance(item, str):
                yield item
            else:
                yield from _tables(item)


def folder_name(file: Path) -> str:
    """Return the scenario's name as that of a folder: no dots or spaces at its ends."""
    return clean(file.stem).strip(". ") or NO_NAME
