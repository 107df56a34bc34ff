"""Oddities of many rows kept as one finding each."""

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from bankSim.measured.log import NOTE, WARNING, Finding, Rows
from bankSim.model.curve import Floats

FEW = 8  # row numbers kept of many
MANY_ABOVE = 15  # rows above a table: more may be a part of it


@dataclass
class Noted:
    """Rows with one kind of oddity: how many, and the first few."""

    text: str
    severity: str = NOTE
    count: int = 0
    rows: list[int] = field(default_factory=list)

    def add(self, rows: Sequence[int] | Rows) -> None:
        """Count more rows."""
        self.count += len(rows)
        self.rows.extend(int(row) for row in rows[: FEW - len(self.rows)])

    def finding(self) -> Finding:
        """Return it as one sentence."""
        return Finding(
            f"{rows_told(self.rows, self.count)}: {self.text}", tuple(self.rows), self.count,
            self.severity,
        )  # fmt: skip


def rows_told(rows: Sequence[int], count: int) -> str:
    """Say which rows: "Row 5" or "12 rows (3, 4, 5, ...)"."""
    if count == 1:
        return f"Row {rows[0]}"
    more = ", ..." if count > len(rows) else ""
    return f"{count:,} rows ({', '.join(map(str, rows))}{more})"


def by_rows(found: Sequence[Finding]) -> tuple[Finding, ...]:
    """Return what was found in the order of the rows of the file."""
    return tuple(sorted(found, key=lambda one: one.rows[0] if one.rows else 0))


def above_table(first_row: int, lines: Sequence[str]) -> list[Finding]:
    """Tell of rows above the table; many of them may be a part of it."""
    rows = tuple(row for row in range(1, first_row) if lines[row - 1].strip())
    if not rows:
        return []
    severity = WARNING if len(rows) > MANY_ABOVE else NOTE
    text = f"{rows_told(rows[:FEW], len(rows))}: above the table, left out."
    return [Finding(text, rows[:FEW], len(rows), severity)]


def left_out(rows: Rows, time: Floats, voltage: Floats, current: Floats) -> list[Finding]:
    """Tell of rows that lack a readable time, voltage or current.

    Parameters
    ----------
    rows : array (n,)
        Rows of the file.
    time, voltage, current : array (n,)
        NaN where they are not readable. [s], [V], [A]
    """
    found = []
    for word, values in (("time", time), ("voltage", voltage), ("current", current)):
        bad = np.flatnonzero(~np.isfinite(values))
        if bad.size:
            few = tuple(rows[bad[:FEW]].tolist())
            text = f"{rows_told(few, int(bad.size))}: no readable {word}; left out."
            found.append(Finding(text, few, int(bad.size), WARNING))
    return found
