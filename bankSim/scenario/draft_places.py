"""Where everything stands in a TOML text: blocks under headers, and the span of each value."""

import re
from dataclasses import dataclass

from bankSim.scenario.lines import Path, Scan

Span = tuple[int, int]


@dataclass(frozen=True)
class Block:
    """A header, the comment lines right above it, and what follows up to the next block.

    Parameters
    ----------
    path : tuple of str and int
        Of its table; empty for what stands before the first header.
    start, end : int
        Places in the text.
    inside : int
        Where the line after its header begins.
    last : int
        Where the line after its last key begins, comment lines right below it included.
    """

    path: Path
    start: int
    end: int
    inside: int
    last: int


class Places(Scan):
    """One pass over a text that the parser has accepted.

    Parameters
    ----------
    text : str
        With plain line ends.

    Attributes
    ----------
    spans : dict
        Of each value: from its first to behind its last letter.
    pairs : dict
        The same of each `key = value` that is a line of its own (not inside braces), key included.
    blocks : list of Block
        In order; together they are the whole text.
    """

    def __init__(self, text: str) -> None:
        super().__init__(text)
        self.spans: dict[Path, Span] = {}
        self.pairs: dict[Path, Span] = {}
        self.blocks: list[Block] = []
        self._marks: list[tuple[Path, int, int]] = [((), 0, 0)]
        self._ends: list[int] = [0]  # behind the last statement of each block
        self.document()
        self._make_blocks()

    def document(self) -> None:
        """Go through all statements."""
        table: Path = ()
        while self.next_statement():
            start = self.place
            if self.text.startswith("[", start):
                table = self.header()
                self._marks.append((table, start, self.line_end(self.place)))
                self._ends.append(self._marks[-1][2])
            else:
                before = set(self.spans)
                self.pair(table)
                path = next(path for path in self.spans if path not in before)
                self.pairs[path] = (start, self.spans[path][1])
                self._ends[-1] = self.line_end(self.spans[path][1])

    def value(self, path: Path) -> None:
        """Note where a value stands; tables come before what is in them."""
        start = self.place
        self.spans[path] = (start, start)
        super().value(path)
        width = len(self.text[start : self.place].rstrip())
        self.spans[path] = (start, start + width)

    def line_start(self, place: int) -> int:
        """Return where the line of a place begins."""
        return self.text.rfind("\n", 0, place) + 1

    def line_end(self, place: int) -> int:
        """Return where the line after that of a place begins."""
        found = self.text.find("\n", place)
        return len(self.text) if found < 0 else found + 1

    def under(self, path: Path) -> list[Block]:
        """Return the blocks of a table and of everything below it, in order."""
        return [block for block in self.blocks if path and block.path[: len(path)] == path]

    def headed(self, path: Path) -> Block | None:
        """Return the block of exactly this table."""
        return next((block for block in self.blocks if block.path == path), None)

    def with_comments_above(self, place: int, lowest: int) -> int:
        """Return where the comment lines right above a line begin, not before `lowest`."""
        while place > lowest:
            above = self.line_start(place - 1)
            if above < lowest or not self.text[above:place].lstrip(" \t").startswith("#"):
                break
            place = above
        return place

    def _make_blocks(self) -> None:
        starts = [0] + [
            self.with_comments_above(self.line_start(mark), self._ends[number])
            for number, (_, mark, _) in enumerate(self._marks[1:])
        ]
        for number, (path, _, inside) in enumerate(self._marks):
            end = starts[number + 1] if number + 1 < len(starts) else len(self.text)
            last = min(self._with_comments_below(self._ends[number]), end)
            self.blocks.append(Block(path, starts[number], end, inside, last))

    def _with_comments_below(self, place: int) -> int:
        found = re.compile(r"(?:[ \t]*#[^\n]*(?:\n|$))*").match(self.text, place)
        return found.end() if found and place else place
