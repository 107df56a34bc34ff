"""How new values are written into a scenario's text: as tables, or on one line."""

import copy
from typing import Any

import tomlkit
from tomlkit.items import AoT, InlineTable, Table
from tomlkit.toml_document import TOMLDocument

from bankSim.scenario.lines import Path

TABLES = ("simulation", "surroundings", "wiring", "cell", "balancer", "heater")
ARRAYS_OF_TABLES = ("battery", "load", "charger", "cells", "protection")


def fresh(document: Any, path: Path, value: object) -> Any:
    """Return a value in the form in which it is put into `document` at `path`.

    Parameters
    ----------
    document : dict or TOMLDocument
        A plain document takes plain values, a text document takes items of its own.
    path : tuple of str and int
    value : object
        Plain.
    """
    if isinstance(value, Table | InlineTable | AoT):
        return value
    return _item(path, value) if isinstance(document, TOMLDocument) else copy.deepcopy(value)


def plain_text(data: dict[str, Any]) -> str:
    """Write a document without comments, tables in the order of the data."""
    document = tomlkit.document()
    simple = {key: one for key, one in data.items() if not isinstance(one, dict | list)}
    for key, value in [*simple.items(), *((k, v) for k, v in data.items() if k not in simple)]:
        document[key] = _item((key,), value)
    return tomlkit.dumps(document)


def _item(path: Path, value: Any) -> Any:
    """Return what the text editor writes for a plain value."""
    name = next((part for part in reversed(path) if isinstance(part, str)), "")
    is_item = bool(path) and isinstance(path[-1], int)
    if isinstance(value, dict):
        as_table = name in (ARRAYS_OF_TABLES if is_item else TABLES)
        return _table(path, value) if as_table else _inline(value)
    if isinstance(value, list) and name in ARRAYS_OF_TABLES and not is_item and value:
        array = tomlkit.aot()
        for place, one in enumerate(value):
            array.append(one if isinstance(one, Table) else _item((*path, place), one))
        return array
    if isinstance(value, list):
        array_on_a_line = tomlkit.array()
        for one in value:
            array_on_a_line.append(_inline(one) if isinstance(one, dict) else one)
        return array_on_a_line
    return value


def _table(path: Path, value: dict[str, Any]) -> Table:
    table = tomlkit.table()
    simple = [key for key, one in value.items() if not _stands_alone(key, one)]
    for key in [*simple, *(key for key in value if key not in simple)]:
        table[key] = _item((*path, key), value[key])
    return table


def _stands_alone(key: str, value: object) -> bool:
    return (key in TABLES and isinstance(value, dict)) or (
        key in ARRAYS_OF_TABLES and isinstance(value, list) and bool(value)
    )


def _inline(value: dict[str, Any]) -> InlineTable:
    table = tomlkit.inline_table()
    for key, one in value.items():
        table[key] = _item((key,), one)
    return table
