"""The time column in seconds: numbers in any unit, clock times, day or month first."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta

import numpy as np
from numpy.typing import NDArray

from bankSim.measured.clock import NONE
from bankSim.measured.column import Column
from bankSim.measured.header_words import words_of
from bankSim.measured.log import NOTE, WARNING, Finding
from bankSim.measured.numerals import SCALES
from bankSim.measured.table import Table
from bankSim.model.curve import Floats

HOURS, MINUTES = {"h", "hh", "hour", "hours"}, {"m", "mm", "min", "minutes"}
SECONDS = {"s", "ss", "sec", "sek", "seconds"}
FROM_ZERO_US = 120_000_000  # a clock of two fields that begins there counts from the start
AS_HOURS = (
    "Times such as 0:01 were read as hours and minutes; if they are minutes and seconds, Ah are 60 "
    "times too many: name the column so (mm:ss)."
)
UNIX = ((1e8, 5e9, 1.0, "unix s"), (1e11, 5e12, 1e-3, "unix ms"), (1e14, 5e15, 1e-6, "unix us"))


@dataclass(frozen=True, slots=True)
class Times:
    """Times of all rows.

    Parameters
    ----------
    values_s : array (n,)
        NaN where they cannot be read. [s]
    unit : str
        Of the file, in words.
    of_day : bool
        Clock times without a date.
    starts_us : array (n,) or None
        Wall clock in microseconds since 1970.
    """

    values_s: Floats
    unit: str
    of_day: bool = False
    starts_us: NDArray[np.int64] | None = None


def seconds_of(
    table: Table,
    column: Column,
    found: list[Finding],
    settle: Callable[[Floats], tuple[str, Finding]],
) -> Times:
    """Return the times of a table in seconds; `settle` tells the unit of numbers without one."""
    if table.stamps is not None:
        return _from_stamps(table, column, found)
    values, unit = table.numbers[column.number], column.header.unit
    middle = float(np.nanmedian(values)) if np.isfinite(values).any() else 0.0
    for low, high, scale, name in UNIX:
        if low < middle < high and unit in ("", name.split()[1]):
            us = np.rint(np.where(np.isfinite(values), values, 0.0) * (scale * 1e6))
            start = values[np.isfinite(values)][0]
            return Times((values - start) / round(1.0 / scale), name, starts_us=us.astype(np.int64))
    if unit == "" and 20_000.0 < middle < 80_000.0 and _days(values):
        found.append(Finding("The times look like days of a spreadsheet and were read as such.",
                             severity=WARNING))  # fmt: skip
        us = np.rint((np.nan_to_num(values) - 25_569.0) * 86_400e6)  # an odd bit is no second less
        return Times(values * 86_400.0, "days", starts_us=us.astype(np.int64))
    if unit not in ("s", "ms", "us", "min", "h", "d"):
        unit, finding = settle(values) if unit == "" else ("s", None)
        found += [finding] if finding else []
    scale = SCALES[unit]
    return Times(values * scale if scale >= 1.0 else values / round(1.0 / scale), unit)


def _days(values: Floats) -> bool:
    good = values[np.isfinite(values)]
    return bool(np.ptp(good) < 400.0 and np.any(good != np.round(good)))


def _from_stamps(table: Table, column: Column, found: list[Finding]) -> Times:
    assert table.stamps is not None
    us = table.stamps[:, 0]
    other = table.stamps[:, 1]
    if table.dated and np.any(us != other):
        us = _day_or_month(us, other, found)
    good = us != NONE
    start = int(us[good][0]) if good.any() else 0
    values = np.where(good, us - start, 0) / 1e6
    values[~good] = np.nan
    if table.two_fields:
        said = set(words_of(column.header.text))
        if said & MINUTES and said & SECONDS and not said & HOURS:
            return Times(values / 60.0, "minutes:seconds")
        if not said & HOURS and 0 <= start < FROM_ZERO_US:
            found.append(Finding(AS_HOURS, severity=WARNING))
    if not table.dated:
        return Times(values, "clock time", of_day=True)
    starts = np.where(good, us + table.zone_us, NONE)
    return Times(values, "clock time", starts_us=starts)


def _day_or_month(
    day: NDArray[np.int64], month: NDArray[np.int64], found: list[Finding]
) -> NDArray[np.int64]:
    """Choose by which reading gives a rising, even clock."""
    bad_day, bad_month = int(np.sum(day == NONE)), int(np.sum(month == NONE))
    if bad_day != bad_month:
        chosen, word = (day, "day") if bad_day < bad_month else (month, "month")
        why = "since the other order gives dates that do not exist"
        found.append(Finding(f"Dates were read with the {word} first, {why}.", severity=NOTE))
        return chosen
    uneven_day, uneven_month = _unevenness(day), _unevenness(month)
    if uneven_day == uneven_month:
        text = (
            "Dates were read with the day first; the month could stand first as well, which would "
            "change no length of time here."
        )
        found.append(Finding(text, severity=NOTE))
        return day
    chosen, word = (day, "day") if uneven_day < uneven_month else (month, "month")
    text = f"Dates were read with the {word} first, since the clock then rises more evenly."
    found.append(Finding(text, severity=NOTE))
    return chosen


def _unevenness(us: NDArray[np.int64]) -> tuple[int, int]:
    steps = np.diff(us[us != NONE])
    if not steps.size:
        return 0, 0
    return int(np.sum(steps < 0)), int(np.max(np.abs(steps)))


def moment_of(us: "np.int64 | None") -> datetime | None:
    """Return microseconds since 1970 as a date and time; None where there is none."""
    if us is None or us == NONE:
        return None
    try:
        return datetime(1970, 1, 1) + timedelta(microseconds=int(us))
    except OverflowError:
        return None
