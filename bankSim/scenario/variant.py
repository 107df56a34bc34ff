"""The same scenario with other values at some keys."""

import copy
import re
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

from bankSim.errors import ScenarioError
from bankSim.scenario.faults import Faults, key_path
from bankSim.scenario.lines import Path as KeyPath
from bankSim.scenario.read import scenario_of
from bankSim.scenario.record import Scenario
from bankSim.scenario.syntax import parse_toml
from bankSim.scenario.tables import TableFiles

_INSIDE = (
    r"""\[(?:\s*"([^"]*)"\s*|\s*'([^']*)'\s*|([^\]]*))\]"""  # a name in quotes, or anything plain
)
_PART = re.compile(rf"([A-Za-z_][A-Za-z0-9_]*)((?:{_INSIDE})*)(?:\.|$)")
A_KEY = "a key as in the file, such as battery[1].lead_mohm"
QUOTES = (
    "a name with brackets or quotes in it stands in quotes of the other kind, as in "
    'battery["a]b"]; or take its number, as in battery[1]'
)
ARRAYS_OF_CELLS = "cells"
MOST_NAMES = 8  # listed where a name is not known


class Variants:
    """Makes scenarios from one file with some of its keys changed; tables are read only once.

    Parameters
    ----------
    scenario : Scenario
        As it was read; its text is the start of every variant.
    folder : Path
        Where relative names of tables start.
    """

    def __init__(self, scenario: Scenario) -> None:
        self.scenario = scenario
        self.document = parse_toml(scenario.text, scenario.file)
        for key, value in scenario.changes:
            put(self.document, self.path_of(key), value)
        self.tables = TableFiles(Path(scenario.folder), Faults())

    def with_values(self, values: Mapping[KeyPath, object]) -> Scenario:
        """Return the scenario with other values at these keys.

        Parameters
        ----------
        values : mapping
            From key path (places count from 0) to what TOML would give; keys that the file does
            not have are added.

        Raises
        ------
        ScenarioError
            When the outcome is no sound scenario.
        """
        document = copy.deepcopy(self.document)
        for path, value in values.items():
            put(document, path, value)
        base = self.scenario
        made = scenario_of(document, base.text, self.tables, base.file, base.folder)
        changes = {**dict(base.changes), **{key_path(path): one for path, one in values.items()}}
        return replace(made, changes=tuple(changes.items()))

    def read(self) -> "Variants":
        """Read all tables now, so that variants need no files any more; return self."""
        self.with_values({})
        return self

    def path_of(self, key: str) -> KeyPath:
        """Return the path of a key written as in messages: ``battery[2].cell.capacity_Ah``.

        In place of a number, counted from 1, a battery, load or charger may be given by its name:
        ``battery[old]`` or ``battery["old"]``; the latter also where the name holds brackets. A
        name in quotes is never taken for a number.

        Raises
        ------
        ScenarioError
            When it cannot be a key of this file.
        """
        path: list[str | int] = []
        place = 0
        while place < len(key):
            found = _PART.match(key, place)
            if found is None:
                hint = f"; {QUOTES}" if "[" in key else ""
                raise self._refuse(key, A_KEY + hint)
            path.append(found[1])
            for double, single, plain in re.findall(_INSIDE, found[2]):
                path.append(self._number(key, tuple(path), double or single, plain.strip()))
            place = found.end()
        if not path or not isinstance(path[-1], str) or key.endswith("."):
            raise self._refuse(key, A_KEY)
        self._check_numbers(key, tuple(path))
        return tuple(path)

    def value_at(self, path: KeyPath) -> object:
        """Return what the file has at a key; None when it has nothing there."""
        here: Any = self.document
        for part in path:
            try:
                here = here[part]
            except (KeyError, IndexError, TypeError):
                return None
        return here

    def _check_numbers(self, key: str, path: KeyPath) -> None:
        """Refuse a key that does not say which one of several."""
        for place in range(1, len(path)):
            array = path[:place]
            if isinstance(path[place], str) and isinstance(self.value_at(array), list):
                raise self._refuse(key, f"a number or a name: {key_path(array)}[1]")

    def _number(self, key: str, array: KeyPath, quoted: str, plain: str) -> int:
        found = self.value_at(array)
        items = found if isinstance(found, list) else []
        count = len(items)
        if array[-1] == ARRAYS_OF_CELLS and count == 0:
            count = int(self.value_at((*array[:-1], "cells_in_series")) or 0)  # type: ignore[call-overload]
        if re.fullmatch("[0-9]{1,9}", plain) and 1 <= int(plain) <= count:
            return int(plain) - 1
        for number, item in enumerate(items):
            if isinstance(item, dict) and item.get("name") == (quoted or plain):
                return number
        names = [str(one["name"]) for one in items if isinstance(one, dict) and "name" in one]
        some = f" ({', '.join(map(repr, names[:MOST_NAMES]))})" if names else ""
        raise self._refuse(
            key,
            f"a number from 1 to {count} or a name in {key_path(array)}[...]{some}"
            if count
            else f"another key; the file has no {key_path(array)}",
        )

    def _refuse(self, key: str, allowed: str) -> ScenarioError:
        return ScenarioError([f"{self.scenario.file}: {key!r}; expected {allowed}"])


def put(document: dict[str, Any], path: KeyPath, value: object) -> None:
    """Set a value in a document, making tables and arrays on the way where there are none."""
    here: Any = document
    for number, part in enumerate(path[:-1]):
        following = path[number + 1]
        if isinstance(part, str) and not isinstance(here.get(part), dict | list):
            empty: Any = {}
            if isinstance(following, int):
                empty = [{} for _ in range(int(here.get("cells_in_series", following + 1)))]
            here[part] = empty
        here = here[part]
    here[path[-1]] = value
