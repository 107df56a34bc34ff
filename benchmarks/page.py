"""A page of tables in Markdown, written by the command that measured them."""

import os
from pathlib import Path

from benchmarks.machine import Watch
from benchmarks.show import show

DOCS = Path(__file__).resolve().parents[1] / "docs"


def page(title, opening, tables):
    """Return the text of a page.

    Parameters
    ----------
    title : str
    opening : list of str
        Paragraphs before the tables.
    tables : list of (Table, list of str)
        Each with what must be said with it.
    """
    parts = [f"# {title}", *opening]
    for table, lines in tables:
        parts += [f"## {table.title}", markdown(table), *lines]
    return "\n\n".join(parts) + "\n"


def run_all(made):
    """Print tables one after the other as they are made, then what they were measured on.

    Parameters
    ----------
    made : iterable of (Table, list of str)
        Measures while it is gone through.

    Returns
    -------
    tables : list of (Table, list of str)
    lines : list of str
        Date, machine, versions and how busy it was.
    """
    watch, tables = Watch(), []
    for one in made:
        show(*one)
        tables.append(one)
    lines = watch.lines()
    print("\n".join(lines))
    return tables, lines


def markdown(table):
    """Return a table as Markdown: first column left, the others right."""
    rule = [":--", *["--:"] * (len(table.columns) - 1)]
    return "\n".join(_row(cells) for cells in (table.columns, rule, *table.rows))


def write(name, text):
    """Write a page beside its place, then move it there: no half page is ever seen."""
    DOCS.mkdir(exist_ok=True)
    beside = DOCS / f".{name}.new"
    beside.write_text(text, encoding="utf-8")
    os.replace(beside, DOCS / name)
    return DOCS / name


def _row(cells):
    return "| " + " | ".join(cell.replace("|", "\\|") for cell in cells) + " |"
