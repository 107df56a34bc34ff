"""Tables and numbers as text."""

from dataclasses import dataclass

LEAST_WIDTH = 132


@dataclass(frozen=True)
class Table:
    """A title, the heads of the columns, and rows of text."""

    title: str
    columns: tuple[str, ...]
    rows: list


def plain(value):
    """Three digits, without an exponent where that reads better."""
    return f"{value:.0f}" if value >= 100.0 else f"{value:.3g}"


def ms(seconds):
    return f"{seconds * 1e3:.3f}" if seconds < 0.1 else f"{seconds * 1e3:.0f}"


def percent(part):
    return f"{100.0 * part:.0f} %"


def show(table, lines=()):
    """Print a table and what must be said with it; no colours where no terminal listens."""
    from rich import box
    from rich.console import Console
    from rich.table import Table as Drawn

    console = Console(highlight=False)
    if not console.is_terminal:
        console.width = max(console.width, LEAST_WIDTH)
    drawn = Drawn(box=box.ASCII2)
    for number, column in enumerate(table.columns):
        drawn.add_column(column, justify="left" if number == 0 else "right")
    for row in table.rows:
        drawn.add_row(*row)
    console.print(table.title, markup=False)
    console.print(drawn)
    for line in lines:
        console.print(line, markup=False)
    console.print()
