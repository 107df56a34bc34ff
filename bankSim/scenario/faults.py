"""Faults of a scenario file: collected first, then told all at once, one line each."""

import json
import re
from dataclasses import dataclass

from bankSim.scenario.lines import Path, line_numbers
from bankSim.scenario.uncertain import SPREAD_KEYS

LONGEST_VALUE = 60
MOST_SHOWN = 100


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing that is wrong.

    Parameters
    ----------
    path : tuple of str and int
        Where, from the top of the file; places in arrays count from 0.
    text : str
        What follows the key path in the message.
    """

    path: Path
    text: str


class Faults:
    """Collects faults; `touches` tells which keys are in doubt, so that checks do not pile up."""

    def __init__(self) -> None:
        self._found: list[Fault] = []
        self._doubtful: set[Path] = set()

    def __bool__(self) -> bool:
        return bool(self._found)

    @property
    def paths(self) -> list[Path]:
        """Where something is wrong so far."""
        return [fault.path for fault in self._found]

    @property
    def places(self) -> list[tuple[Path, str]]:
        """Where something is wrong and what, in the words that follow the key path."""
        return [(fault.path, fault.text.removeprefix(" ")) for fault in self._found]

    def add(self, path: Path, text: str) -> None:
        """Note a fault; `text` goes on after the key path."""
        self._found.append(Fault(path, text))

    def refuse(self, path: Path, value: object, allowed: str) -> None:
        """Note a value that is not allowed."""
        self.add(path, f" = {show(value)}; expected {allowed}")

    def doubt(self, path: Path) -> None:
        """Mark a key whose absence is explained by another fault."""
        self._doubtful.add(path)

    def touches(self, *paths: Path) -> bool:
        """Tell whether any of these keys, or anything above or below it, is already in doubt."""
        known = [*self.paths, *self._doubtful]
        return any(_overlap(path, other) for path in paths for other in known)

    def lines(self, file: str, text: str, document: object) -> list[str]:
        """Return one line per fault in file order: file, line, key path, value, what is allowed."""
        numbers = line_numbers(text)
        placed = [(_line_of(fault.path, numbers), fault) for fault in self._found]
        placed.sort(key=lambda item: item[0])
        told = [
            f"{file}:{line}: {key_path(fault.path)}{fault.text}{_whose(fault.path, document)}"
            for line, fault in placed[:MOST_SHOWN]
        ]
        if len(placed) > MOST_SHOWN:
            more = len(placed) - MOST_SHOWN
            told.append(f"{file}: and {more} more fault{'s' if more > 1 else ''}")
        return list(dict.fromkeys(told))


def key_path(path: Path) -> str:
    """Return a path as people write it, counted from 1: ``battery[2].cell.capacity_Ah``."""
    words = ""
    for part in path:
        if isinstance(part, int):
            words += f"[{part + 1}]"
        else:
            plain = re.fullmatch(r"[A-Za-z0-9_-]{1,60}", part, re.A)
            words += ("." if words else "") + (part if plain else show(part))
    return words


def show(value: object) -> str:
    """Return a value as TOML would write it, on one short line."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, dict):
        return _show_table(value)
    if isinstance(value, int) and abs(value) >= 10**LONGEST_VALUE:
        return "a huge whole number"
    if isinstance(value, str):
        words = json.dumps(value[: LONGEST_VALUE + 1], ensure_ascii=not value.isprintable())
    elif isinstance(value, list):
        words = "[" + ", ".join(show(item) for item in value[:4]) + (", ...]" * (len(value) > 4))
        words += "]" * (len(value) <= 4)
    else:
        words = str(value)
    return words if len(words) <= LONGEST_VALUE + 2 else words[:LONGEST_VALUE] + "..."


def _show_table(table: dict[str, object]) -> str:
    """Return a number with its spread as TOML would write it."""
    plain = all(isinstance(item, int | float | str) for item in table.values())
    words = ", ".join(f"{key} = {show(item)}" for key, item in list(table.items())[:5])
    named = all(re.fullmatch(r"[A-Za-z0-9_-]{1,20}", key, re.A) for key in table)
    short = (
        plain and named and len(words) <= LONGEST_VALUE and not table.keys().isdisjoint(SPREAD_KEYS)
    )
    return f"{{ {words} }}" if short else "a table"


def counted(number: int, one: str, many: str) -> str:
    """Return a number with its noun: ``1 row``, ``2 rows``."""
    return f"{number} {one if number == 1 else many}"


def _overlap(one: Path, other: Path) -> bool:
    shorter = min(len(one), len(other))
    return one[:shorter] == other[:shorter]


def _line_of(path: Path, numbers: dict[Path, int]) -> int:
    for length in range(len(path), 0, -1):
        if path[:length] in numbers:
            return numbers[path[:length]]
    return 1


def _whose(path: Path, document: object) -> str:
    """Return the name of the battery, load or charger that a path is about, in brackets."""
    if len(path) < 2 or path[0] not in ("battery", "load", "charger"):
        return ""
    here: object = document
    for part in (*path[:2], "name"):
        if isinstance(here, dict):
            here = here.get(part)
        elif isinstance(here, list) and isinstance(part, int):
            here = here[part]
        else:
            return ""
    name = here
    known = isinstance(name, str) and path[2:] != ("name",)
    return f" ({path[0]} {show(name)})" if known else ""
