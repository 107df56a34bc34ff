"""Puts a story on a terminal, or into plain text of a chosen width."""

import io
import sys
from typing import IO, TYPE_CHECKING

from bankSim.show.blocks import Grid, Section, Story

if TYPE_CHECKING:
    from rich.console import Console
    from rich.table import Table

PLAIN_WIDTH = 100
WIDEST = 110
UNBROKEN = 10
FAR = 10_000
SEVERE = {"DANGER": "bold red", "WARNING": "bold"}


def story_text(story: Story, width: int = PLAIN_WIDTH) -> str:
    """Return the story as plain text without colours, at most `width` characters a line."""
    page = io.StringIO()
    _write(story, _console(page, width))
    lines = page.getvalue().splitlines()
    return "\n".join(line.rstrip() for line in lines) + "\n"


def print_story(story: Story, stream: IO[str] | None = None) -> None:
    """Print in the terminal's width with a little weight, or plainly when it is no terminal."""
    out = sys.stdout if stream is None else stream
    if not out.isatty():
        out.write(story_text(story))
        return
    probe = _console(out, None)
    _write(story, _console(out, min(probe.width, WIDEST)))


def _console(stream: IO[str], width: int | None) -> "Console":
    from rich.console import Console

    return Console(file=stream, width=width, markup=False, emoji=False, highlight=False)


def _write(story: Story, console: "Console") -> None:
    console.print(story.title, style="bold")
    console.print()
    console.print(" ".join(story.headline))
    for section in story.sections:
        _write_section(section, console)


def _write_section(section: Section, console: "Console") -> None:
    from rich.padding import Padding
    from rich.text import Text

    console.print()
    console.print(section.title, style="bold underline" if console.is_terminal else "bold")
    if not console.is_terminal:
        console.print("-" * min(len(section.title), console.width))
    if section.grid is not None:
        table = _table(section.grid, UNBROKEN)
        unbounded = console.options.update(max_width=FAR)
        if console.measure(table, options=unbounded).minimum > console.width:  # cut at the edge
            table = _table(section.grid, 1)
        console.print(table)
    for line in section.lines:
        text = Text(line, style=SEVERE.get(line.split(":")[0], ""))
        console.print(Padding(text, (0, 0, 0, 2)))


def _table(grid: Grid, unbroken: int) -> "Table":
    """A table whose columns of words break no word of up to `unbroken` letters."""
    from rich.box import Box
    from rich.table import Table
    from rich.text import Text

    ruled = Box("    \n    \n -- \n    \n    \n    \n    \n    \n", ascii=True)
    table = Table(box=ruled, show_edge=False, pad_edge=False, header_style="bold")
    for place, title in enumerate(grid.columns):
        if place < grid.words:
            words = " ".join([title, *(row[place] for row in grid.rows)]).split()
            least = min(max(len(word) for word in words), unbroken)
            table.add_column(Text(title), overflow="fold", min_width=least)
        else:
            table.add_column(Text(title.replace(" ", "\n")), justify="right", no_wrap=True)
    for row in grid.rows:
        table.add_row(*(Text(cell) for cell in row))
    return table
