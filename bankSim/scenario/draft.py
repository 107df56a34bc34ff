"""A scenario that is being worked on: its text, comments kept, and the tables it names."""

import copy
import hashlib
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from pathlib import PurePosixPath
from typing import Any

import tomlkit

from bankSim.errors import ScenarioError
from bankSim.scenario.draft_shape import fresh, plain_text
from bankSim.scenario.lines import Path
from bankSim.scenario.syntax import LARGEST_BYTES, decode, parse_toml
from bankSim.scenario.variant import put

LARGEST_TABLE_BYTES = 20_000_000
MOST_TABLES = 40
TABLE_KEYS = ("ocv_table", "profile")


@dataclass(frozen=True)
class Draft:
    """The text of a scenario and the tables that belong to it.

    Parameters
    ----------
    text : str
        TOML that the parser accepts; what it says may still be wrong.
    tables : tuple of (str, bytes)
        Name as the scenario writes it, and content, in order of the names.
    name : str
        File name to hand it out under.
    """

    text: str
    tables: tuple[tuple[str, bytes], ...] = ()
    name: str = "bank.toml"

    @cached_property
    def digest(self) -> str:
        """Changes with every letter of the text and every byte of the tables."""
        found = hashlib.sha256(self.text.encode())
        for name, content in self.tables:
            found.update(b"\0" + name.encode() + b"\0" + hashlib.sha256(content).digest())
        return found.hexdigest()

    @cached_property
    def data(self) -> dict[str, Any]:
        """What the text says; do not change it."""
        return parse_toml(self.text, self.name)

    def at(self, path: Path) -> Any:
        """Return what stands at a path (places count from 0); None when nothing does."""
        here: Any = self.data
        for part in path:
            try:
                here = here[part]
            except (KeyError, IndexError, TypeError):
                return None
        return here

    def count(self, array: Path) -> int:
        """Return how many items an array has; 0 when there is none."""
        items = self.at(array)
        return len(items) if isinstance(items, list) else 0

    def with_values(self, values: Mapping[Path, object]) -> "Draft":
        """Return the draft with other values at some paths; None takes a key away.

        Tables and arrays on the way are made; a table that loses its last key goes too.
        """
        return self._changed(lambda document: _set_all(document, values))

    def with_item(self, array: Path, place: int, item: Mapping[str, object]) -> "Draft":
        """Return the draft with one more item in an array of tables, before the item at `place`."""
        return self._changed(lambda document: _insert(document, array, place, item))

    def without_item(self, array: Path, place: int) -> "Draft":
        """Return the draft without one item of an array of tables."""
        return self._changed(lambda document: _remove(document, array, place))

    def with_item_moved(self, array: Path, place: int, to: int) -> "Draft":
        """Return the draft with one item of an array of tables at another place."""
        item = copy.deepcopy(self.at((*array, place)))
        return self.without_item(array, place).with_item(array, to, item)

    def with_table(self, name: str, content: bytes) -> "Draft":
        """Return the draft with one more table, or with a new content of one that it has.

        Raises
        ------
        ScenarioError
            When the name is no plain relative name, or there is too much.
        """
        check_table(name, content)
        tables = dict(self.tables) | {name: content}
        if len(tables) > MOST_TABLES:
            raise ScenarioError([f"{name}: more than {MOST_TABLES} tables"])
        return replace(self, tables=tuple(sorted(tables.items())))

    def missing_tables(self) -> list[tuple[Path, str]]:
        """Return where the text names a table that the draft does not have, and its name."""
        own = {name for name, _ in self.tables}
        return [(path, name) for path, name in named_tables(self.data) if name not in own]

    def _changed(self, change: Any) -> "Draft":
        """Change the document twice: as plain data, and in its text; both must say the same."""
        wanted = copy.deepcopy(self.data)
        change(wanted)
        try:
            document = tomlkit.parse(self.text)
            change(document)
            text = tomlkit.dumps(document)
            same = tomllib.loads(text) == wanted
        except (
            Exception
        ):  # the editor of texts has gaps of its own: then comments are lost, no data
            same = False
        return replace(self, text=text if same else plain_text(wanted))


def draft_of(content: bytes, name: str) -> Draft:
    """Read an uploaded scenario file.

    Parameters
    ----------
    content : bytes
    name : str
        For messages.

    Raises
    ------
    ScenarioError
        When it is too large, no text, or no TOML.
    """
    if len(content) > LARGEST_BYTES:
        raise ScenarioError([f"{name}: larger than {LARGEST_BYTES // 1_000_000} MB"])
    draft = Draft(decode(content, name), name=name)
    draft.data  # noqa: B018 - refuses what is no TOML
    return draft


def check_table(name: str, content: bytes) -> None:
    """Refuse a table whose name leads elsewhere or that is too large.

    Raises
    ------
    ScenarioError
    """
    if not is_plain_name(name):
        raise ScenarioError([f"{name!r}: expected a plain file name, such as curve.csv"])
    if len(content) > LARGEST_TABLE_BYTES:
        raise ScenarioError([f"{name}: larger than {LARGEST_TABLE_BYTES // 1_000_000} MB"])


def is_plain_name(name: str) -> bool:
    """Tell whether a name stays inside its folder on any system."""
    path = PurePosixPath(name)
    sound = name.isprintable() and not set(name) & set('\\:*?"<>|') and 0 < len(name) <= 200
    return (
        sound
        and path.name != ""
        and not path.is_absolute()
        and ".." not in path.parts
        and str(path) == name
    )


def named_tables(data: object, path: Path = ()) -> list[tuple[Path, str]]:
    """Return where a document names tables, and their names."""
    found: list[tuple[Path, str]] = []
    parts = (
        data.items()
        if isinstance(data, dict)
        else enumerate(data)
        if isinstance(data, list)
        else ()
    )
    for key, item in parts:
        if key in TABLE_KEYS and isinstance(item, str):
            found.append(((*path, key), item))
        else:
            found += named_tables(item, (*path, key))
    return found


def _set_all(document: Any, values: Mapping[Path, object]) -> None:
    for path, value in values.items():
        if value is None:
            _drop(document, path)
        else:
            put(document, path, fresh(document, path, value))


def _drop(document: Any, path: Path) -> None:
    """Take a key away, and tables that hold nothing any more; items of arrays stay."""
    here, above = document, []
    for part in path[:-1]:
        above.append((here, part))
        try:
            here = here[part]
        except (KeyError, IndexError, TypeError):
            return
    if path[-1] in here:
        del here[path[-1]]
    for table, part in reversed(above):
        if isinstance(part, int) or table[part]:
            return
        del table[part]


def _insert(document: Any, array: Path, place: int, item: Mapping[str, object]) -> None:
    here: Any = document
    for part in array[:-1]:
        here = here[part]
    made = fresh(document, (*array, place), dict(item))
    if not here.get(array[-1]):
        here.pop(array[-1], None)
        here[array[-1]] = fresh(document, array, [made])
    else:
        here[array[-1]].insert(place, made)


def _remove(document: Any, array: Path, place: int) -> None:
    here: Any = document
    for part in array[:-1]:
        here = here[part]
    del here[array[-1]][place]
    if not here[array[-1]]:
        del here[array[-1]]
