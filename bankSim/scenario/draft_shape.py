"""How values are written into a scenario's text: on one line, or as tables of their own."""

import datetime
import json
import math
import re
from collections.abc import Sequence
from typing import Any

TABLES = ("simulation", "surroundings", "wiring", "cell", "balancer", "heater")
ARRAYS_OF_TABLES = ("battery", "load", "charger", "cells", "protection")

_BARE = re.compile(r"[A-Za-z0-9_-]+")


def literal(value: object) -> str:
    """Return a value as TOML on one line."""
    if isinstance(value, bool | int | float):
        return _number(value)
    if isinstance(value, str):
        return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")
    if isinstance(value, dict):
        inside = ", ".join(f"{key_word(key)} = {literal(one)}" for key, one in value.items())
        return f"{{ {inside} }}" if inside else "{}"
    if isinstance(value, list | tuple):
        return f"[{', '.join(literal(one) for one in value)}]"
    if isinstance(value, datetime.datetime | datetime.date | datetime.time):
        return value.isoformat()
    raise TypeError(f"TOML has no {type(value).__name__}")


def key_word(key: str) -> str:
    """Return a key as TOML writes it: in quotes where it must be."""
    return key if _BARE.fullmatch(key) else literal(key)


def dotted(keys: Sequence[str]) -> str:
    """Return keys joined by dots."""
    return ".".join(key_word(key) for key in keys)


def stands_alone(key: str, value: object) -> bool:
    """Tell whether a value is written as a table, or tables, with a header."""
    if key in TABLES:
        return isinstance(value, dict)
    return key in ARRAYS_OF_TABLES and _is_tables(value)


def table_text(names: Sequence[str], table: dict[str, Any], *, many: bool = False) -> str:
    """Return a table with its header and everything below it.

    Parameters
    ----------
    names : sequence of str
        Keys from the top; none for the whole document.
    table : dict
    many : bool
        It is one item of an array of tables.
    """
    lines = [f"[[{dotted(names)}]]" if many else f"[{dotted(names)}]"] if names else []
    alone = {key: one for key, one in table.items() if stands_alone(key, one)}
    lines += [f"{key_word(key)} = {literal(one)}" for key, one in table.items() if key not in alone]
    text = "".join(f"{line}\n" for line in lines)
    for key, one in alone.items():
        text += ("\n" if text and not names else "") + tables_text((*names, key), one)
    return text


def tables_text(names: Sequence[str], value: Any) -> str:
    """Return what stands under a header, one table or several."""
    if isinstance(value, dict):
        return table_text(names, value)
    gap = "\n" if len(names) == 1 else ""
    return gap.join(table_text(names, one, many=True) for one in value)


def _is_tables(value: object) -> bool:
    return isinstance(value, list) and bool(value) and all(isinstance(one, dict) for one in value)


def _number(value: float) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int):
        return str(value)
    if not math.isfinite(value):
        return "nan" if math.isnan(value) else "inf" if value > 0 else "-inf"
    return repr(float(value))
