"""What a prediction rests on: values taken for granted, remarks, and how it was solved."""

import re
from collections.abc import Callable, Iterable
from dataclasses import replace
from typing import TypeAlias

from bankSim.model.cell import Cell
from bankSim.scenario.record import Assumed
from bankSim.show.blocks import Grid, Section
from bankSim.show.key_words import key_words
from bankSim.show.words import counted, whole_or
from bankSim.sim.numbers import clean, listing, quoted, span
from bankSim.sim.result import Numerics, Result

BATTERY_KEY = re.compile(r"battery\[(\d+)\](?:\.| (?=\())(.*)")  # the latter: what is no key
Say: TypeAlias = Callable[[str], str]  # a key, in words or as it is
MOST_VALUES = 4
NAMES_TOLD = 3
LONGEST_LINE = 84
LOOKED_AT = (0.05, 0.2, 0.5, 0.8, 0.95)  # states of charge at which cells that are alike are so
SUBJECTS = {
    "State": ("state_of_charge", "capacity_fraction", "resistance_factor"),
    "Cells": ("cell",),
    "Limits": ("continuous_",),
    "Resistances": ("internal_", "lead", "wiring"),
    "Protection": ("protection",),
}
OTHERS = "Others"


def assumed(result: Result, *, in_words: bool = False) -> Section | None:
    """Gathered by source; equal values of all batteries are told once.

    Parameters
    ----------
    result : Result
    in_words : bool
        Say what the keys of the file mean, for readers who have no file before them.
    """
    names = [battery.name for battery in result.batteries]
    say = _say(result) if in_words else _as_key
    by_source: dict[str, list[Assumed]] = {}
    for item in result.scenario.assumed:
        by_source.setdefault(item.source, []).append(item)
    alike = alike_cells(result)
    if not by_source:
        return Section("What was assumed", tuple(alike)) if alike else None
    rows = tuple(
        (clean(text), clean(source) if first else "as above")
        for source, items in by_source.items()
        for first, text in _first_marked(_by_key(items, names, say))
    )
    line = "The file did not give these values; one that names no battery holds for all of them."
    lines = (line, *alike)
    return Section("What was assumed", lines, Grid(("Value", "Source"), rows, words=2))


def alike_cells(result: Result) -> list[str]:
    """Say whose cells are all alike in this run, and what that hides; empty where none are."""
    names = [
        quoted(battery.name)
        for battery in result.scenario.bank.batteries
        if len(battery.cells) > 1 and len({_holds(cell) for cell in battery.cells}) == 1
    ]
    if not names:
        return []
    return [
        f"All cells of {listing(names, NAMES_TOLD)} are taken as alike. Real ones differ: their "
        "battery mostly gives less and cuts out earlier, and its weakest cell may come to harm. A "
        "study of the spread says how far that goes."
    ]


def _holds(cell: Cell) -> tuple[float, ...]:
    curves = (curve(z) for curve in (cell.ocv_V, cell.ohmic_ohm) for z in LOOKED_AT)
    return cell.charge_C, cell.state_of_charge, *(float(value) for value in curves)


def assumed_rows(result: Result) -> list[tuple[str, str, str]]:
    """Return every assumed value as (subject, value, source), subjects in their usual order.

    Values are told in words, not by the keys of the file.
    """
    names, say = [battery.name for battery in result.batteries], _say(result)
    groups: dict[tuple[str, str], list[Assumed]] = {}
    for item in result.scenario.assumed:
        groups.setdefault((_subject(_owner(item.key, names)[1]), item.source), []).append(item)
    return [
        (subject, clean(text), clean(source))
        for subject in (*SUBJECTS, OTHERS)
        for (own, source), items in groups.items()
        if own == subject
        for text in _by_key(items, names, say)
    ]


def _subject(key: str) -> str:
    return next((word for word, starts in SUBJECTS.items() if key.startswith(starts)), OTHERS)


def assumed_briefly(result: Result) -> Section | None:
    """A line a subject, with the first values of it; all of them are in story.txt."""
    names = [battery.name for battery in result.batteries]
    subjects: dict[str, list[Assumed]] = {}
    for item in result.scenario.assumed:
        key = _owner(item.key, names)[1]
        subjects.setdefault(_subject(key), []).append(replace(item, key=key))
    alike = alike_cells(result)
    if not subjects:
        return Section("What was assumed", tuple(alike)) if alike else None
    order = [word for word in (*SUBJECTS, OTHERS) if word in subjects]
    lines = tuple(_in_a_line(word, _by_key(subjects[word], [], _as_key)) for word in order)
    all_told = "Every value with its source: story.txt."
    return Section("What was assumed", (*lines, *alike, all_told))


def _in_a_line(subject: str, texts: list[str]) -> str:
    """As many texts as fit into one line, at least one; the others are counted."""
    line = f"{subject}: {clean(texts[0], LONGEST_LINE)}"
    for place, text in enumerate(texts[1:], start=1):
        if len(line) + len(text) > LONGEST_LINE:
            return f"{line}; {len(texts) - place} more"
        line += f"; {clean(text)}"
    return line


def _first_marked(texts: list[str]) -> Iterable[tuple[bool, str]]:
    return ((place == 0, text) for place, text in enumerate(texts))


def _say(result: Result) -> Say:
    """Return what says a key in words."""
    return lambda key: key_words(key, result.scenario.bank)


def _as_key(key: str) -> str:
    """Return a key as it stands in the file; what is no key stands behind what it belongs to."""
    return f"battery {key}" if key.startswith("(") else key


def _by_key(items: list[Assumed], names: list[str], say: Say) -> list[str]:
    """Gather what several batteries have under one key into one text."""
    groups: dict[tuple[str, str], dict[str, list[str]]] = {}
    for item in items:
        owner, key = _owner(item.key, names)
        values = groups.setdefault((key, item.unit), {})
        owners = values.setdefault(_value(item), [])
        if owner and owner not in owners:
            owners.append(owner)
    return [_text(say(key), unit, values, names) for (key, unit), values in groups.items()]


def _owner(key: str, names: list[str]) -> tuple[str, str]:
    found = BATTERY_KEY.fullmatch(key)
    if found is None or not 1 <= int(found[1]) <= len(names):
        return "", key
    return names[int(found[1]) - 1], found[2]


def _value(item: Assumed) -> str:
    return item.value if isinstance(item.value, str) else whole_or(item.value, 4)


def _text(what: str, unit: str, values: dict[str, list[str]], names: list[str]) -> str:
    if len(values) > MOST_VALUES:
        owners = {owner for group in values.values() for owner in group}
        whose = counted(len(owners), "battery", "batteries")
        return f"{what}: {len(values)} different values for {whose}"
    parts = [
        f"{value} {unit}".rstrip() + _for_whom(owners, names) for value, owners in values.items()
    ]
    return f"{what} = {listing(parts)}"


def _for_whom(owners: list[str], names: list[str]) -> str:
    if not owners or len(owners) == len(names):
        return ""
    return f" ({listing([quoted(owner) for owner in owners], NAMES_TOLD)})"


def remarks(result: Result) -> Section | None:
    """Keys that had no effect, one line each."""
    lines = tuple(clean(remark) for remark in result.scenario.remarks)
    return Section("Remarks on the file", lines) if lines else None


def solved(result: Result) -> Section:
    """One line on tolerances and work, and how well the charge ledger closes."""
    work = result.numerics
    return Section(
        "How it was solved",
        (
            f"{counted(work.steps, 'step')} over {span(result.end_time_s)}{_extras(work)}, "
            f"tolerances {work.relative_tolerance:.0e} relative and "
            f"{work.absolute_tolerance_A:.0e} A; the charge ledger closes to "
            f"{abs(result.bank.ledger_residual_Ah):.0e} Ah.",
        ),
    )


def _extras(work: Numerics) -> str:
    return f" ({work.rejected_steps} repeated, {work.forced_steps} forced)"
