"""A scenario that is being worked on: its text, comments kept, and the tables it names."""

import copy
import hashlib
import tomllib
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

from bankSim.errors import ScenarioError
from bankSim.scenario import draft_edit as edit
from bankSim.scenario.draft_shape import literal, table_text
from bankSim.scenario.draft_tables import (
    MOST_TABLE_BYTES,
    MOST_TABLES,
    check_table,
    named_tables,
)
from bankSim.scenario.lines import Path
from bankSim.scenario.syntax import LARGEST_BYTES, decode, parse_toml
from bankSim.scenario.variant import put

BYTE_ORDER_MARK = b"\xef\xbb\xbf"
_Data = dict[str, Any]


@dataclass(frozen=True)
class Draft:
    """The text of a scenario and the tables that belong to it.

    Parameters
    ----------
    text : str
        TOML that the parser accepts, with the line ends of its file; what it says may be wrong.
    tables : tuple of (str, bytes)
        Name as the scenario writes it, and content, in order of the names.
    name : str
        File name to hand it out under.
    marked : bool
        Its file begins with a byte order mark.
    """

    text: str
    tables: tuple[tuple[str, bytes], ...] = ()
    name: str = "bank.toml"
    marked: bool = False

    @cached_property
    def digest(self) -> str:
        """Changes with the name, with every letter of the text and every byte of the tables."""
        found = hashlib.sha256(self.name.encode() + b"\0" + self.text.encode())
        for name, content in self.tables:
            found.update(b"\0" + name.encode() + b"\0" + hashlib.sha256(content).digest())
        return found.hexdigest()

    @cached_property
    def data(self) -> _Data:
        """What the text says; do not change it."""
        return parse_toml(self.text, self.name) if holds_anything(self.text) else {}

    @property
    def plain_text(self) -> str:
        """The text with plain line ends."""
        return self.text.replace("\r\n", "\n")

    @property
    def content(self) -> bytes:
        """The file, byte for byte as it came as long as nothing was changed."""
        return (BYTE_ORDER_MARK if self.marked else b"") + self.text.encode()

    def at(self, path: Path) -> Any:
        """Return what stands at a path (places count from 0); None when nothing does."""
        return edit.value_at(self.data, path)

    def count(self, array: Path) -> int:
        """Return how many items an array has; 0 when there is none."""
        items = self.at(array)
        return len(items) if isinstance(items, list) else 0

    def with_text(self, text: str) -> "Draft":
        """Return the draft with another text, in the line ends that it has.

        Raises
        ------
        ScenarioError
            When it is no TOML.
        """
        parse_toml(text, self.name)
        plain = text.replace("\r\n", "\n")
        return self if plain == self.plain_text else self._in_own_line_ends(plain)

    def with_values(self, values: Mapping[Path, object]) -> "Draft":
        """Return the draft with other values at some paths; None takes a key away.

        Tables and arrays on the way are made; a table that loses its last key goes too.
        """
        draft = self
        for path, value in values.items():
            draft = draft._with_value(path, value)
        return draft

    def with_item(self, array: Path, place: int, item: Mapping[str, object]) -> "Draft":
        """Return the draft with one more item in an array of tables, before the item at `place`."""
        wanted = self._changed_data(lambda data: _insert(data, array, place, dict(item)))
        if self.at(array) is None and edit.is_inline(self.plain_text, array[:-1]):
            return self._with(lambda text: edit.set_text(text, array, wanted), wanted)
        written = literal(dict(item))
        if self.at(array) is None or not edit.is_inline(self.plain_text, array):
            names = [part for part in array if isinstance(part, str)]
            written = table_text(names, dict(item), many=True)
        return self._with(lambda text: edit.insert_item(text, array, place, written), wanted)

    def without_item(self, array: Path, place: int) -> "Draft":
        """Return the draft without one item of an array of tables."""
        wanted = self._changed_data(lambda data: _remove(data, array, place))
        return self._with(lambda text: edit.remove_item(text, array, place, wanted), wanted)

    def with_item_moved(self, array: Path, place: int, to: int) -> "Draft":
        """Return the draft with one item of an array of tables at another place."""
        if place == to:
            return self
        item = copy.deepcopy(self.at((*array, place)))
        written = self.item_text(array, place)
        if written is None or self.count(array) < 2:
            return self.without_item(array, place).with_item(array, to, item)
        return self.without_item(array, place).with_item_text(array, to, written, item)

    def item_text(self, array: Path, place: int) -> str | None:
        """Return an item as it is written, with its comments; None when that cannot be told."""
        return edit.item_text(self.plain_text, array, place)

    def with_item_text(
        self, array: Path, place: int, written: str | None, item: Mapping[str, object]
    ) -> "Draft":
        """Return the draft with an item that was taken out before, its comments too.

        Parameters
        ----------
        array : path
        place : int
        written : str or None
            From `item_text`.
        item : mapping
            What it says; stands in for `written` where that does not fit.
        """
        wanted = self._changed_data(lambda data: _insert(data, array, place, dict(item)))
        if written is not None:
            text = edit.insert_item(self.plain_text, array, place, written)
            if text is not None and _says(text, wanted):
                return self._in_own_line_ends(text)
        return self.with_item(array, place, item)

    def with_item_copied(self, array: Path, place: int, name: str) -> "Draft":
        """Return the draft with a copy of an item behind it, under another name."""
        item = copy.deepcopy(self.at((*array, place)))
        draft = self.with_item_text(array, place + 1, self.item_text(array, place), item)
        return draft.with_values({(*array, place + 1, "name"): name})

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
        if sum(map(len, tables.values())) > MOST_TABLE_BYTES:
            most = f"{MOST_TABLE_BYTES // 1_000_000} MB"
            raise ScenarioError([f"{name}: all tables together are larger than {most}"])
        return replace(self, tables=tuple(sorted(tables.items())))

    def missing_tables(self) -> list[tuple[Path, str]]:
        """Return where the text names a table that the draft does not have, and its name."""
        own = {name for name, _ in self.tables}
        return [(path, name) for path, name in named_tables(self.data) if name not in own]

    def _with_value(self, path: Path, value: object) -> "Draft":
        if value is None:
            if self.at(path) is None:
                return self
            wanted = self._changed_data(lambda data: _drop(data, path))
            return self._with(lambda text: edit.drop_text(text, path, wanted), wanted)
        if self.at(path) == value and type(self.at(path)) is type(value):
            return self
        wanted = self._changed_data(lambda data: put(data, path, copy.deepcopy(value)))
        return self._with(lambda text: edit.set_text(text, path, wanted), wanted)

    def _changed_data(self, change: Callable[[_Data], None]) -> _Data:
        wanted = copy.deepcopy(self.data)
        change(wanted)
        return wanted

    def _with(self, change: Callable[[str], str | None], wanted: _Data) -> "Draft":
        """Change the text in place where it then says what is wanted; else write it anew.

        Written anew it loses its comments, never a value.
        """
        try:
            text = change(self.plain_text)
        except (AssertionError, IndexError, RecursionError, TypeError, ValueError):
            text = None
        if text is None or not _says(text, wanted):
            text = table_text((), wanted)
        return self._in_own_line_ends(text)

    def _in_own_line_ends(self, text: str) -> "Draft":
        if self.text.count("\r\n") * 2 > self.text.count("\n"):
            text = text.replace("\n", "\r\n")
        return replace(self, text=text)


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
    parse_toml(decode(content, name), name)
    text = content.removeprefix(BYTE_ORDER_MARK).decode()
    return Draft(text, name=name, marked=content.startswith(BYTE_ORDER_MARK))


def holds_anything(text: str) -> bool:
    """Tell whether a text is more than comments and blanks; `parse_toml` refuses less."""
    return any(line.strip() and not line.lstrip().startswith("#") for line in text.split("\n"))


def _says(text: str, wanted: _Data) -> bool:
    """Tell whether a text says exactly this, whole numbers and others apart."""
    try:
        return repr(_sorted(tomllib.loads(text))) == repr(_sorted(wanted))
    except (ValueError, RecursionError):
        return False


def _sorted(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: _sorted(value[key]) for key in sorted(value)}
    return [_sorted(one) for one in value] if isinstance(value, list) else value


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


def _insert(document: _Data, array: Path, place: int, item: Mapping[str, object]) -> None:
    here: Any = edit.value_at(document, array[:-1])
    here[array[-1]] = [*(here.get(array[-1]) or ())]
    here[array[-1]].insert(place, copy.deepcopy(dict(item)))


def _remove(document: _Data, array: Path, place: int) -> None:
    here: Any = edit.value_at(document, array[:-1])
    del here[array[-1]][place]
    if not here[array[-1]]:
        del here[array[-1]]
