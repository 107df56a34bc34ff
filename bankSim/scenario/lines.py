"""Finds the line of every key in a TOML text, for messages."""

import re
import tomllib
from bisect import bisect_right
from contextlib import suppress
from typing import TypeAlias

Path: TypeAlias = tuple[str | int, ...]

_KEY_PART = re.compile(r'[ \t]*("(?:\\.|[^"\\])*"|\'[^\']*\'|[A-Za-z0-9_-]+)[ \t]*(\.?)')
BLANK = re.compile(r"(?:[\s,]|#[^\n]*)*")
_SPACE = re.compile(r"[ \t=]*")
_STRING = re.compile(
    r'"""(?:\\.|[^\\])*?"{3,5}|\'\'\'.*?\'{3,5}|"(?:\\.|[^"\\])*"|\'[^\']*\'', re.DOTALL
)
_SCALAR = re.compile(r"[^,\]}\n#]*")


def line_numbers(text: str) -> dict[Path, int]:
    """Return the line, counted from 1, where each key and each array item is written.

    Parameters
    ----------
    text : str
        TOML that the parser has already accepted.

    Returns
    -------
    lines : dict
        From path (keys and places counted from 0) to line; what the scan does not understand is
        left out.
    """
    scan = Scan(text)
    with suppress(AssertionError, IndexError, RecursionError, ValueError):
        scan.document()  # a line number is a service; without it the fault is told all the same
    return scan.lines


class Scan:
    """One pass over the text, from statement to statement."""

    def __init__(self, text: str) -> None:
        self.text = text
        self.place = 0
        self.lines: dict[Path, int] = {}
        self.counts: dict[Path, int] = {}  # items so far of each array of tables
        self.breaks = [found.start() for found in re.finditer("\n", text)]

    def document(self) -> None:
        """Go through all statements."""
        table: Path = ()
        while self.next_statement():
            if self.text.startswith("[", self.place):
                table = self.header()
            else:
                self.pair(table)

    def next_statement(self) -> bool:
        """Go to the next statement; tell whether there is one."""
        self.skip(BLANK)
        return self.place < len(self.text)

    def header(self) -> Path:
        """Read a header; return the path of its table."""
        start = self.place
        many = self.text.startswith("[[", start)
        self.place += 2 if many else 1
        parts = self.key()
        self.place += 2 if many else 1
        path: Path = ()
        for part in parts[: len(parts) - many]:
            path = (*self.current(path), part)
        path = self.current(path)
        if many:
            path += (parts[-1],)
            self.note(path, start)
            self.counts[path] = self.counts.get(path, 0) + 1
            path = self.current(path)
        self.note(path, start)
        return path

    def current(self, path: Path) -> Path:
        """Go on into the newest item where the path is an array of tables."""
        return (*path, self.counts[path] - 1) if path in self.counts else path

    def pair(self, table: Path) -> None:
        """Read `key = value` of a table."""
        start = self.place
        path = table
        for part in self.key():
            path = (*path, part)
            self.note(path, start)
        self.skip(_SPACE)
        self.value(path)

    def value(self, path: Path) -> None:
        """Read the value of a path."""
        self.note(path, self.place)
        opening = self.text[self.place]
        if opening == "[":
            self.array(path)
        elif opening == "{":
            self.inline_table(path)
        elif opening in "\"'":
            self.skip(_STRING)
        else:
            self.skip(_SCALAR)

    def array(self, path: Path) -> None:
        """Read values in brackets."""
        self.place += 1
        number = 0
        self.skip(BLANK)
        while self.text[self.place] != "]":
            self.value((*path, number))
            number += 1
            self.skip(BLANK)
        self.place += 1

    def inline_table(self, path: Path) -> None:
        """Read pairs in braces."""
        self.place += 1
        self.skip(BLANK)
        while self.text[self.place] != "}":
            self.pair(path)
            self.skip(BLANK)
        self.place += 1

    def key(self) -> list[str]:
        """Read a key and its dots."""
        parts: list[str] = []
        more = "."
        while more:
            found = _KEY_PART.match(self.text, self.place)
            assert found is not None
            word, more = found.groups()
            parts.append(tomllib.loads(f"k = {word}")["k"] if word[0] in "\"'" else word)
            self.place = found.end()
        return parts

    def skip(self, pattern: re.Pattern[str]) -> None:
        """Go behind what a pattern matches here."""
        found = pattern.match(self.text, self.place)
        assert found is not None
        self.place = found.end()

    def note(self, path: Path, place: int) -> None:
        """Keep the line of a path, the first one."""
        self.lines.setdefault(path, bisect_right(self.breaks, place - 1) + 1)
