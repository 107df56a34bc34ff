"""What a gauge that knows only the voltage goes by: a table from volts to state of charge."""

import csv
import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path

import numpy as np

from bankSim.errors import ParameterError
from bankSim.measured.log import LogError
from bankSim.measured.source import check_log
from bankSim.model.curve import Floats
from bankSim.scenario.columns import is_like_a_header

HEADER = ("voltage_V", "state_of_charge_percent")
FULL = 100.0
MOST_ROWS = 1000
LARGEST_BYTES = 5_000_000


@dataclass(frozen=True, eq=False)
class VoltageTable:
    """Voltage of a whole battery over the state of charge, with what other tables say.

    Parameters
    ----------
    name : str
        As it stands in sentences.
    percent : array (k,)
        State of charge, rising. [%]
    voltage_V : array (k,)
        Rising. [V]
    low_V, high_V : array (k,) or None
        Lowest and highest voltage that tables give there, never falling. [V]
    sources : tuple of str
    """

    name: str
    percent: Floats
    voltage_V: Floats
    low_V: Floats | None = None
    high_V: Floats | None = None
    sources: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        for field in ("percent", "voltage_V"):
            values = getattr(self, field)
            if values.size < 2 or not np.all(np.diff(values) > 0.0):
                raise ParameterError(field, "not rising", "2 or more rising values")

    @property
    def has_spread(self) -> bool:
        """Tell whether other tables are known."""
        return self.low_V is not None and self.high_V is not None

    def reading(self, voltage_V: Floats) -> Floats:
        """Return what the gauge shows, held at the ends of the table; shape of `voltage_V`. [%]"""
        return np.asarray(np.interp(voltage_V, self.voltage_V, self.percent))

    def band(self, voltage_V: Floats) -> tuple[Floats, Floats]:
        """Return the lowest and highest reading among all tables; each (n,). [%]"""
        if self.low_V is None or self.high_V is None:
            return self.reading(voltage_V), self.reading(voltage_V)
        own = self.reading(voltage_V)
        low = np.interp(voltage_V, self.high_V, self.percent)
        high = np.interp(voltage_V, self.low_V, self.percent)
        return np.minimum(own, low), np.maximum(own, high)

    def points_per_V(self, voltage_V: float, step_V: float = 0.01) -> float:  # noqa: N802
        """Return how far the reading moves with the voltage, over `step_V` both ways. [%/V]"""
        ends = self.reading(np.array([voltage_V - step_V, voltage_V + step_V]))
        return float(ends[1] - ends[0]) / (2.0 * step_V)


def straight_line(empty_V: float, full_V: float, source: str) -> VoltageTable:
    """Return the simplest gauge of all: bars that follow the voltage in a straight line."""
    ends = np.array([empty_V, full_V])
    name = f"a straight line from {empty_V:.4g} to {full_V:.4g} V"
    return VoltageTable(name, np.array([0.0, FULL]), ends, sources=(source,))


def read_table(file: Path) -> VoltageTable:
    """Read a table of one's own: a CSV file with the columns `HEADER`, in any order of rows.

    Raises
    ------
    LogError
        One line: file, row, value, what is allowed.
    """
    rows = _rows(file)
    header = tuple(word.strip() for word in rows[0]) if rows else ()
    if sorted(header) != sorted(HEADER):
        got = ",".join(header)
        seen = f"header {got[:80]!r}" if is_like_a_header(got, [HEADER]) else "no such table"
        raise LogError(f"{file}: {seen}; expected {','.join(HEADER)}")
    places = [header.index(name) for name in HEADER]
    points = [
        _point(file, number, row, places)
        for number, row in enumerate(rows[1:], 2)
        if any(cell.strip() for cell in row)
    ]
    if not 2 <= len(points) <= MOST_ROWS:
        raise LogError(f"{file}: {len(points)} rows of numbers; expected 2 to {MOST_ROWS}")
    return _ordered(file, sorted(points))


def _rows(file: Path) -> list[list[str]]:
    if check_log(file, holds=",".join(HEADER)) > LARGEST_BYTES:
        megabytes = LARGEST_BYTES // 1_000_000
        raise LogError(f"{file}: larger than {megabytes} MB; expected a table of few rows")
    try:
        with file.open(encoding="utf-8-sig", newline="") as page:
            return list(csv.reader(page))
    except UnicodeDecodeError as error:
        raise LogError(f"{file}: is no text in UTF-8; expected a CSV table") from error
    except csv.Error as error:
        raise LogError(f"{file}: cannot be read as CSV ({error})") from error
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise LogError(f"{file}: cannot be read ({reason})") from error


def _point(file: Path, number: int, row: Sequence[str], places: Sequence[int]) -> tuple[float, ...]:
    if len(row) != len(HEADER):
        raise LogError(f"{file}, row {number}: {len(row)} values; expected {len(HEADER)}")
    limits = ((0.0, 1000.0, "a voltage above 0 and up to 1000"), (0.0, FULL, "0 to 100"))
    values = []
    for name, place, (low, high, allowed) in zip(HEADER, places, limits, strict=True):
        try:
            value = float(row[place])
        except ValueError:
            value = math.nan
        if not (low <= value <= high) or (name == HEADER[0] and value == 0.0):
            raise LogError(
                f"{file}, row {number}: {name} = {row[place][:40]!r}; expected {allowed}"
            )
        values.append(value)
    return values[1], values[0]


def _ordered(file: Path, points: Sequence[tuple[float, ...]]) -> VoltageTable:
    """Check that a higher voltage always means more charge."""
    for below, above in pairwise(points):
        if above[0] <= below[0] or above[1] <= below[1]:
            raise LogError(
                f"{file}: {below[1]:g} V at {below[0]:g} % and {above[1]:g} V at {above[0]:g} %; "
                "expected one row for each percentage, and more volts for more percent"
            )
    percent, volts = np.array(points).T
    return VoltageTable(f"your table {file.name}", percent, volts, sources=(f"your file {file}",))
