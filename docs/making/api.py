"""The reference of the public names, from their docstrings."""

import dataclasses
import inspect
import re
import typing

import bankSim
from making.blocks import table
from making.docstrings import read

TOP = """# From Python

<!-- This page is written whole by docs/make.py from docstrings: change those. -->

Everything here is imported from `bankSim`: `from bankSim import read_scenario, simulate`.
Discharge current is positive, names end in their unit. What a function hands out is listed
[below](#records-that-these-hand-out). A prediction is no permission: makers, local codes and
licensed practice come first.
"""


def page() -> str:
    """Return the whole page."""
    names = sorted(bankSim.__all__, key=lambda name: (name[0].isupper(), name.lower()))
    things = {name: getattr(bankSim, name) for name in names}
    handed = _handed_out(things)
    contents = ", ".join(f"[{name}](#{_anchor(name)})" for name in names)
    parts = [TOP, f"{contents}.\n"]
    parts += [_entry(name, thing) for name, thing in things.items()]
    parts.append("## Records that these hand out\n")
    parts += [_entry(one.__name__, one, level="###") for one in handed]
    return "\n".join(parts).rstrip() + "\n"


def _anchor(name: str) -> str:
    return name.lower()


def _entry(name: str, thing: typing.Any, level: str = "##") -> str:
    doc = read(thing)
    lines = [f"{level} {name}\n", f"`from {thing.__module__} import {name}`\n"]
    if inspect.isfunction(thing):
        lines.append(f"```text\n{name}{_signature(thing)}\n```\n")
    lines.append(_prose(doc.lead) + "\n")
    for section, body in doc.sections.items():
        if section in ("Parameters", "Returns", "Yields"):
            rows = [
                (f"`{one.name}`", one.kind, one.unit, one.meaning) for one in doc.items(section)
            ]
            lines.append(f"*{section}*\n\n{table(('name', 'kind', 'unit', 'meaning'), rows)}\n")
        else:
            lines.append(f"*{section}*: {_prose(body)}\n")
    if inspect.isclass(thing):
        lines += _members(thing)
    return "\n".join(lines)


def _members(kind: type) -> list[str]:
    """Return properties and methods of a class that carry a docstring."""
    rows = []
    for name, one in vars(kind).items():
        member = one.__func__ if isinstance(one, (classmethod, staticmethod)) else one
        if name.startswith("_") or not inspect.getdoc(member):
            continue
        if isinstance(member, property):
            rows.append((f"`{name}`", read(member).lead))
        elif inspect.isfunction(member):
            rows.append((f"`{name}{_signature(member, own=True)}`", read(member).lead))
    return [f"*Also*\n\n{table(('name', 'what'), rows)}\n"] if rows else []


def _signature(function: typing.Any, *, own: bool = False) -> str:
    """Return the parameters without their types, defaults as written."""
    found = inspect.signature(function)
    kept = [
        one.replace(annotation=inspect.Parameter.empty)
        for one in found.parameters.values()
        if not (own and one.name in ("self", "cls"))
    ]
    text = str(found.replace(parameters=kept, return_annotation=inspect.Signature.empty))
    return re.sub(r" at 0x[0-9a-f]+", "", text)


def _prose(text: str) -> str:
    """Return text that Markdown leaves alone: indented and quoted parts become code."""
    if ">>>" in text:
        return f"```text\n{text}\n```"
    return " ".join(text.split()) if "\n\n" not in text else text


def _handed_out(things: dict[str, typing.Any]) -> list[type]:
    """Return the records that public functions return, and the records inside those."""
    waiting = [
        typing.get_type_hints(thing).get("return")
        for thing in things.values()
        if inspect.isfunction(thing)
    ]
    waiting += [thing for thing in things.values() if dataclasses.is_dataclass(thing)]
    found: dict[tuple[str, str], type] = {}
    while waiting:
        hint = waiting.pop()
        waiting += typing.get_args(hint)
        is_own = inspect.isclass(hint) and hint.__module__.startswith("bankSim.")
        if not is_own or _place(hint) in found or not dataclasses.is_dataclass(hint):
            continue
        if hint.__module__.startswith(("bankSim.model", "bankSim.scenario", "bankSim.kernels")):
            continue
        found[_place(hint)] = hint
        waiting += _fields_of(hint)
    return [found[place] for place in sorted(found) if place[0] not in things]


def _place(kind: type) -> tuple[str, str]:
    return kind.__name__, kind.__module__


def _fields_of(kind: type) -> list[typing.Any]:
    """Return what the fields of a record hold; nothing where a name is known to checkers only."""
    try:
        hints = typing.get_type_hints(kind)
    except NameError:
        return []
    return [hints[one.name] for one in dataclasses.fields(kind) if one.name in hints]
