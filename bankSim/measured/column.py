"""One column of a log, and which is read as what."""

from dataclasses import dataclass, field

import numpy as np

from bankSim.measured.header_words import Header
from bankSim.measured.log import Finding
from bankSim.model.curve import Floats


@dataclass(frozen=True, slots=True)
class Column:
    """One column and what its first rows hold.

    Parameters
    ----------
    number : int
        Counted from 1.
    header : Header
    values : array
        NaN where they are no numbers, in the unit of the file.
    clock : bool
        Most texts are clock times.
    filled : int
        Texts that are no gaps.
    decimals : int or None
        Of its numbers, where all are written with as many.
    """

    number: int
    header: Header
    values: Floats
    clock: bool
    filled: int
    decimals: int | None = None

    @property
    def name(self) -> str:
        """Header, or number where there is none."""
        return self.header.text.strip() or str(self.number)

    @property
    def numeric(self) -> bool:
        """Most texts are numbers."""
        return not self.clock and self.good * 2 > self.filled > 0

    @property
    def good(self) -> int:
        """How many texts are numbers."""
        return int(np.isfinite(self.values).sum())

    @property
    def middle(self) -> float:
        """Median of the values. In the unit of the column."""
        return float(np.nanmedian(self.values)) if self.good else float("nan")

    def score(self, meaning: str) -> float:
        """How surely its header means this, -1 where it is empty. [1]"""
        return self.header.scores.get(meaning, 0.0) if self.filled else -1.0


@dataclass
class Choice:
    """What every column is read as; numbers are counted from 1, 0 means none."""

    time: int = 0
    date: int = 0
    voltage: int = 0
    current: int = 0
    temperature: int = 0
    cells: tuple[int, ...] = ()
    charge: int = 0  # a second column of current, for charging only
    words: int = 0  # a column of words that tells the direction of current
    asked: set[int] = field(default_factory=set)
    findings: list[Finding] = field(default_factory=list)


def volts_in(column: Column) -> float:
    """Return how many volts one of the column's numbers is. [V]"""
    unit = column.header.unit
    if unit in ("mV", "uV", "kV"):
        return {"mV": 1e-3, "uV": 1e-6, "kV": 1e3}[unit]
    return 1e-3 if unit == "" and column.middle > 1000.0 else 1.0


def rises(column: Column) -> bool:
    """Tell whether the numbers of a column never fall, but for a few."""
    steps = np.diff(column.values[np.isfinite(column.values)])
    return bool(steps.size and column.numeric and np.mean(steps >= 0) > 0.95 and steps.sum() > 0)
