"""The two kinds of CSV file that a scenario may name: voltage curves and load profiles."""

from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import TypeVar

import numpy as np

from bankSim.model.curve import Curve, Floats
from bankSim.scenario.columns import Columns, TableError, read_columns
from bankSim.scenario.faults import Faults, show
from bankSim.scenario.lines import Path as KeyPath

OCV_HEADERS = (
    ("state_of_charge", "voltage_V"),
    ("state_of_charge", "voltage_V", "ohmic_mohm"),
)
PROFILE_HEADERS = (("time_h", "power_W"), ("time_h", "current_A"))
LOWEST_SOC, HIGHEST_SOC = -0.2, 1.2
HIGHEST_V = 60.0  # a whole 12, 24 or 48 V battery may be given as one element
HIGHEST_MOHM = 100_000.0
CLOSEST_SOC = 1e-9  # of two rows: a line between closer ones has no slope
FALL_SHARE = 0.02  # of the voltage, between the two rows at an end: more is no noise
LARGEST_AMOUNT = {"power_W": 10_000_000.0, "current_A": 100_000.0}

Read = TypeVar("Read")


@dataclass(frozen=True, eq=False)
class OcvTable:
    """A voltage curve, and the resistance from the third column if there is one.

    Parameters
    ----------
    ocv_V : Curve
        Linear between rows; beyond the ends the last slope goes on. [V]
    ohmic_ohm : Curve or None
        Linear between rows; beyond the ends the last value holds. [ohm]
    """

    ocv_V: Curve
    ohmic_ohm: Curve | None

    @property
    def highest_voltage(self) -> float:
        """Highest voltage in the table. [V]"""
        return float(self.ocv_V(self.ocv_V.knots).max())


@dataclass(frozen=True, eq=False)
class Profile:
    """Amounts that hold from their time on.

    Parameters
    ----------
    time_s : array (rows,)
        Strictly rising, 0 or more. [s]
    amount : array (rows,)
        Negative values charge. [W or A]
    is_current : bool
        True: amperes; False: watts.
    """

    time_s: Floats
    amount: Floats
    is_current: bool


def read_ocv_table(path: Path) -> OcvTable:
    """Read state_of_charge,voltage_V[,ohmic_mohm]; rows may rise or fall in state of charge.

    Raises
    ------
    TableError
        If the file cannot be used.
    """
    columns = read_columns(path, OCV_HEADERS, most_rows=100_000, largest_bytes=20_000_000)
    values = columns.values
    if len(values) < 2:
        raise TableError(" has 1 row; expected at least 2")
    falling = values[1, 0] < values[0, 0]
    order = "falling" if falling else "rising"
    apart = f"strictly {order} values, {CLOSEST_SOC:g} or more apart"
    _check_order(columns, -1.0 if falling else 1.0, apart, CLOSEST_SOC)
    _check_range(columns, 0, LOWEST_SOC, HIGHEST_SOC, "")
    _check_range(columns, 1, 0.0, HIGHEST_V, " V")
    if len(columns.header) == 3:
        _check_range(columns, 2, 0.0, HIGHEST_MOHM, " mohm")
    rows = values[::-1] if falling else values
    _check_rise(rows)
    ohmic = None
    if rows.shape[1] == 3:
        ohmic = Curve.linear(rows[:, 0], rows[:, 2] * 1e-3, hold_ends=True)
    return OcvTable(Curve.linear(rows[:, 0], rows[:, 1]), ohmic)


def read_profile(path: Path) -> Profile:
    """Read time_h,power_W or time_h,current_A.

    Raises
    ------
    TableError
        If the file cannot be used.
    """
    columns = read_columns(path, PROFILE_HEADERS, most_rows=5_000_000, largest_bytes=300_000_000)
    quantity = columns.header[1]
    largest = LARGEST_AMOUNT[quantity]
    _check_order(columns, 1.0, "strictly rising times")
    _check_range(columns, 0, 0.0, 87_600.0, " h")
    _check_range(columns, 1, -largest, largest, f" {quantity.rpartition('_')[2]}")
    time_h, amount = columns.values.T
    return Profile(time_h * 3600.0, np.ascontiguousarray(amount), quantity == "current_A")


@dataclass
class TableFiles:
    """Reads each named file once; faults go to the key that named it.

    Parameters
    ----------
    folder : Path
        Relative names start here.
    faults : Faults
    """

    folder: Path
    faults: Faults
    _seen: dict[tuple[object, str], object] = field(default_factory=dict)

    def telling(self, faults: Faults) -> "TableFiles":
        """Return the same files, already read ones at hand, with another list of faults."""
        return TableFiles(self.folder, faults, self._seen)

    def names(self) -> tuple[str, ...]:
        """Return the names of all files read so far, in order of the alphabet."""
        return tuple(sorted({name for _, name in self._seen}))

    def ocv(self, name: str, path: KeyPath) -> OcvTable | None:
        """Return a voltage curve, or None after noting a fault."""
        return self._read(read_ocv_table, name, path)

    def profile(self, name: str, path: KeyPath) -> Profile | None:
        """Return a load profile, or None after noting a fault."""
        return self._read(read_profile, name, path)

    def _read(self, reader: Callable[[Path], Read], name: str, path: KeyPath) -> Read | None:
        key = (reader, name)
        if key not in self._seen:
            try:
                self._seen[key] = reader(self.folder / name)
            except TableError as error:
                self._seen[key] = error
        found = self._seen[key]
        if isinstance(found, TableError):
            self.faults.add(path, f" = {show(name)}{found}")
            return None
        return found  # type: ignore[return-value]


def _check_order(columns: Columns, sign: float, allowed: str, least: float = 0.0) -> None:
    steps = np.diff(columns.values[:, 0]) * sign
    wrong = np.flatnonzero((steps <= 0.0) | (steps < least))
    if wrong.size:
        raise columns.refuse_row(int(wrong[0]) + 1, 0, allowed)


def _check_rise(rows: Floats) -> None:
    """Refuse a curve that ends no higher than it begins, or whose end falls by more than noise.

    Beyond its ends a curve goes on with its last slope: a falling end would run away. Dips in
    between are followed as they are written.
    """
    ends = rows[[0, -1]]
    for pair in (rows[:2], rows[-2:]):
        if ends[1, 1] > ends[0, 1] and pair[1, 1] < (1.0 - FALL_SHARE) * pair[0, 1]:
            ends = pair
    (low_z, low_V), (high_z, high_V) = ends[0, :2], ends[1, :2]
    if not high_V > low_V:
        falls = f"{low_V:.12g} at state of charge {low_z:.12g} and {high_V:.12g} at {high_z:.12g}"
        raise TableError(f": voltage_V is {falls}; expected a voltage that rises with charge")


def _check_range(columns: Columns, column: int, low: float, high: float, unit: str) -> None:
    values = columns.values[:, column]
    wrong = np.flatnonzero((values < low) | (values > high))
    if wrong.size:
        raise columns.refuse_row(int(wrong[0]), column, f"{low:.12g} to {high:.12g}{unit}")
