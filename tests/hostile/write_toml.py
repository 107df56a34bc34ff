"""Writes any document as TOML: tables inline, so that the order of keys never matters."""

import json
from typing import Any


def toml_text(document: dict[str, Any]) -> str:
    """Return a document as TOML, one line a key of the top; arrays of tables as such."""
    lines, arrays = [], []
    for key, value in document.items():
        if isinstance(value, list) and value and all(isinstance(item, dict) for item in value):
            arrays += [line for item in value for line in _table(key, item)]
        else:
            lines.append(f"{_key(key)} = {_value(value)}")
    return "\n".join([*lines, *arrays]) + "\n"


def _table(key: str, table: dict[str, Any]) -> list[str]:
    return [f"[[{_key(key)}]]", *(f"{_key(name)} = {_value(item)}" for name, item in table.items())]


def _key(key: str) -> str:
    return json.dumps(key)


def _value(value: Any) -> str:
    if isinstance(value, dict):
        return (
            "{" + ", ".join(f"{_key(name)} = {_value(item)}" for name, item in value.items()) + "}"
        )
    if isinstance(value, list):
        return "[" + ", ".join(map(_value, value)) + "]"
    if isinstance(value, str):
        return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")
    return str(value).lower() if isinstance(value, bool) else repr(value)
