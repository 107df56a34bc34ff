"""Reads a measured log: any table as text, with everything odd about it told."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from types import MappingProxyType

import numpy as np

from bankSim.measured.bare_units import with_bare_units
from bankSim.measured.clock_jumps import without_summer_time
from bankSim.measured.column import Choice, Column, volts_in
from bankSim.measured.columns import MAY_BE, NOT_FOUND, choose, columns_of
from bankSim.measured.current_spikes import find_spikes, spikes_finding
from bankSim.measured.direction import (
    combined,
    find_pair,
    find_unsigned,
    find_words,
    one_signed,
    pair_findings,
    signed,
    unsigned_finding,
    unsigned_sign,
)
from bankSim.measured.flipped import find_flipped, flipped_finding
from bankSim.measured.layout import Layout, find_layout, split_line
from bankSim.measured.lifted import find_lifted, lifted_finding
from bankSim.measured.log import (
    AUTO,
    CHARGE_POSITIVE,
    DISCHARGE_POSITIVE,
    NOTE,
    WARNING,
    Asked,
    Finding,
    Log,
    LogError,
    Rows,
    Written,
)
from bankSim.measured.lost_rows import find_lost
from bankSim.measured.new_headers import before_new_headers
from bankSim.measured.noted import above_table, by_rows, left_out
from bankSim.measured.numerals import COMMA, POINT, SCALES, Marks
from bankSim.measured.order import (
    find_gaps,
    gap_findings,
    once,
    put_in_order,
)
from bankSim.measured.plausible import odd_values, without_overflows
from bankSim.measured.several import refuse_several
from bankSim.measured.sign import Sign, find_sign
from bankSim.measured.source import check_log, portions, whole_lines_quoted
from bankSim.measured.stamps import moment_of, seconds_of
from bankSim.measured.swapped import refuse_swapped
from bankSim.measured.table import Table, read_table
from bankSim.measured.time_unit import counters_of, settle_unit
from bankSim.measured.uses import uses_of
from bankSim.model.curve import Floats
from bankSim.sim.numbers import quoted

NOTHING_SAID = Asked()
SAMPLE = 2_000  # lines looked at to find out what the columns are
LARGEST, LATEST_S = 1e9, 1e20  # of V, A or degC, and of seconds: beyond it no reading
MOST_A = 1_000.0  # more is rather mA, where the voltage is in mV
BDF_TIME, BDF_VOLTAGE, BDF_CURRENT = "test time / s", "voltage / v", "current / a"
BDF = (
    {BDF_TIME, BDF_VOLTAGE, BDF_CURRENT},
    {"test_time_second", "voltage_volt", "current_ampere"},
)
THOUSANDS = "Marks such as that in 12.800 mV were taken to stand between thousands."


def read_log(file: Path, asked: Asked = NOTHING_SAID) -> Log:
    """Read a log file.

    Parameters
    ----------
    file : Path
        A table as text; see the README for what is understood.
    asked : Asked
        What the person said about its columns.

    Raises
    ------
    LogError
        When it cannot be used; one line says why and what helps.
    """
    file = Path(file)
    check_log(file)
    lines = before_new_headers(_first_lines(file))
    layout = find_layout(str(file), lines)
    columns = _looked_at(layout, lines)
    named = any(one.strip() for one in layout.headers)
    choice = choose(str(file), columns, asked, named=named)
    if _thousands_taken_for_decimals(choice, columns):
        other = COMMA if layout.marks.decimal == POINT else POINT
        layout = replace(layout, marks=Marks(other, groups=True))
        columns = _looked_at(layout, lines)
        choice = choose(str(file), columns, asked, named=named)
        choice.findings.append(Finding(THOUSANDS, severity=WARNING))
    in_rows = _rows_in(layout, lines)
    refuse_several(str(file), columns, in_rows, choice)
    _find_direction(choice, columns, in_rows, asked)
    choice.findings += above_table(layout.header_row or layout.first_row, lines)
    if whole_lines_quoted(file):
        choice.findings.append(Finding("Lines stand in quotes as a whole; these were taken off."))
    bdf = any(wanted <= {c.header.text.strip().lower() for c in columns} for wanted in BDF)
    return _Making(file, asked, layout, columns, choice, bdf).log()


def headers_of(file: Path) -> tuple[str, ...]:
    """Return the headers of a log; empty texts where a column has none.

    Raises
    ------
    LogError
        When there is no table.
    """
    check_log(file)
    return find_layout(str(file), before_new_headers(_first_lines(file))).headers


def _looked_at(layout: Layout, lines: list[str]) -> Sequence[Column]:
    """Return what the columns hold in the first rows."""
    return with_bare_units(columns_of(layout, _rows_in(layout, lines)))


def _rows_in(layout: Layout, lines: list[str]) -> list[list[str]]:
    rows = [split_line(line, layout.separator) for line in lines[layout.first_row - 1 :]]
    return [row for row in rows if len(row) >= 2]


def _find_direction(
    choice: Choice, columns: Sequence[Column], rows: list[list[str]], asked: Asked
) -> None:
    """Look for a second column of current, or for words that tell its direction."""
    if asked.sign != AUTO:
        return
    pair = find_pair(columns, choice)
    if pair is None:
        choice.words = find_words(columns, rows, choice)
        return
    choice.current, choice.charge = pair.discharge, pair.charge
    choice.findings = [f for f in choice.findings if not f.text.startswith((MAY_BE, NOT_FOUND))]
    choice.findings += pair_findings(columns, pair)


def _thousands_taken_for_decimals(choice: Choice, columns: Sequence[Column]) -> bool:
    """12.800 mV can only be 12,800 mV."""
    if not choice.voltage:
        return False
    column = columns[choice.voltage - 1]
    return column.header.unit == "mV" and 0.3 < column.middle < 100.0


def _readable(values: Floats, most: float = LARGEST) -> Floats:
    """Return NaN where a number is too large for any reading; sums of the others are finite."""
    with np.errstate(invalid="ignore"):
        return np.where(np.abs(values) <= most, values, np.nan)


def _first_lines(file: Path) -> list[str]:
    for _, block in portions(file):
        text = block[:2_000_000].decode("utf-8", "replace").replace("\0", "")
        return text.split("\n")[:SAMPLE] if text.count("\n") > SAMPLE else text.splitlines()
    raise LogError(f"{file}: is empty; expected a table with time, voltage and current")


@dataclass
class _Making:
    """The steps from a table to a log."""

    file: Path
    asked: Asked
    layout: Layout
    columns: Sequence[Column]
    choice: Choice
    bdf: bool

    @property
    def _of_air(self) -> bool:
        number = self.choice.temperature
        return bool(number) and self.columns[number - 1].header.of_air

    def log(self) -> Log:
        """Read all rows and put them together."""
        choice = self.choice
        clock = self._clock()
        numbers = [n for n in (choice.voltage, choice.current, choice.temperature) if n]
        numbers += [n for n in (choice.charge, *choice.cells) if n and n not in numbers]
        numbers += [] if clock else [choice.time]
        others = self._others({*numbers, *clock})
        counters = [c.number for c in self._counters()]
        wanted = list(dict.fromkeys([*numbers, *others, *counters]))
        units = {c.number: c.header.unit for c in self.columns}
        table = read_table(self.file, self.layout, wanted, clock, units, choice.words)
        return self._put_together(table, others)

    def _clock(self) -> tuple[int, ...]:
        if not self.columns[self.choice.time - 1].clock:
            return ()
        return tuple(n for n in (self.choice.date, self.choice.time) if n)

    def _counters(self) -> list[Column]:
        """Return columns of charge or energy where they are needed to settle the unit of time."""
        column = self.columns[self.choice.time - 1]
        return [] if column.clock or column.header.unit else counters_of(self.columns)

    def _others(self, taken: set[int]) -> list[int]:
        if not self.asked.keep_others:
            return []
        return [c.number for c in self.columns if c.numeric and c.number not in taken]

    def _put_together(self, table: Table, others: Sequence[int]) -> Log:
        found = [*self.choice.findings]
        cells = self._cells(table)
        voltage = self._voltage(table, cells, found)
        current, told = self._current(table, found)
        counters = {self._own_name(c.number): (c.header.unit, table.numbers[c.number])
                    for c in self._counters()}  # fmt: skip
        time = seconds_of(
            table, self.columns[self.choice.time - 1], found,
            lambda values: settle_unit(values, voltage, current, counters),
        )  # fmt: skip
        cells, voltage, current = (_readable(one) for one in (cells, voltage, current))
        time = replace(time, values_s=_readable(time.values_s, LATEST_S))
        good = np.isfinite(time.values_s) & np.isfinite(voltage) & np.isfinite(current)
        found += table.findings + left_out(table.rows, time.values_s, voltage, current)
        if np.count_nonzero(good) < 2:
            raise LogError(
                f"{self.file}: {np.count_nonzero(good)} rows with time, voltage and current; "
                "expected at least 2"
            )
        if not time.of_day:
            good, doubles = once(time.values_s, voltage, current, good, table.rows)
            found += doubles
        rows = table.rows[good]
        order = put_in_order(time.values_s[good], rows, of_day=time.of_day)
        turn = order.turn
        voltage, current, cells = voltage[good], current[good], cells[good]
        lost = find_lost(order.time_s, voltage[turn], current[turn], cells[turn])
        found += lost.finding(rows[turn])
        turn, time_s = turn[lost.keep], order.time_s[lost.keep]
        rows, cells, voltage, current = rows[turn], cells[turn], voltage[turn], current[turn]
        refuse_swapped(str(self.file), self.choice, self.columns, voltage, current, cells)
        voltage, marks = without_overflows(voltage, time_s, rows)
        start = time.starts_us[good][turn][0] if time.starts_us is not None else None
        starts_at = moment_of(start)
        local = starts_at if time.unit == "clock time" and not table.zone_us else None
        time_s, jumps = without_summer_time(time_s, local, voltage, current, rows)
        spikes = find_spikes(time_s, voltage, current)
        found += marks + jumps + spikes_finding(spikes, current, rows)
        sign, doubts = self._direction(time_s, voltage, spikes.calm_A, told, rows)
        found += doubts
        gaps = find_gaps(time_s)
        unseen = tuple(gap for gap in gaps if gap.before not in lost.after)
        found += order.findings + gap_findings(unseen, rows)
        gaps = lost.gaps(time_s, gaps)
        found += odd_values(voltage, current, cells, rows)
        return Log(
            str(self.file), time_s, voltage,
            -current + 0.0 if sign.sign == CHARGE_POSITIVE else current, cells,
            temperature_C=self._temperature(table, good, turn), of_air=self._of_air,
            others=MappingProxyType(
                {self._own_name(n): table.numbers[n][good][turn] for n in others}),
            rows=rows, starts_at=starts_at, uses=uses_of(
                self.columns, self.choice, self._unit_of_current, time.unit, of_air=self._of_air),
            sign=sign.sign,
            written=self._written(), sign_reason=sign.reason, findings=by_rows(found), gaps=gaps,
        )  # fmt: skip

    def _cells(self, table: Table) -> Floats:
        """Return the voltages of cells, (rows, cells). [V]"""
        if not self.choice.cells:
            return np.empty((table.rows.size, 0))
        return np.column_stack([self._scaled(table, n) for n in self.choice.cells])

    def _direction(
        self, time_s: Floats, voltage: Floats, current: Floats, told: str, rows: Rows
    ) -> tuple[Sign, list[Finding]]:
        """Return what the log writes as positive, and what is doubtful of it."""
        sign = self._sign(time_s, voltage, current, told)
        doubts: list[Finding] = []
        if sign.severity == WARNING:
            doubts.append(Finding(f"Direction of current: {sign.reason}.", severity=WARNING))
        unsigned = find_unsigned(self.asked.sign, time_s, voltage, current)
        if unsigned is not None and not told:
            doubts.append(unsigned_finding(unsigned, rows))
            sign = unsigned_sign(unsigned, current)
        given = -current if sign.sign == CHARGE_POSITIVE else current
        lifted = find_lifted(time_s, voltage, given) if unsigned is None else None
        if lifted is not None:
            doubts.append(lifted_finding(lifted, rows))
        flipped = find_flipped(time_s, voltage, current)
        if flipped is not None:
            doubts.append(flipped_finding(flipped, rows))
        return sign, doubts

    def _scaled(self, table: Table, number: int) -> Floats:
        scale = volts_in(self.columns[number - 1])
        values = table.numbers[number]
        return values if scale == 1.0 else values / round(1.0 / scale)

    def _voltage(self, table: Table, cells: Floats, found: list[Finding]) -> Floats:
        number = self.choice.voltage
        if not number:
            text = f"No voltage of the battery; it was taken as the sum of {cells.shape[1]} cells."
            found.append(Finding(text, severity=NOTE))
            return np.asarray(cells.sum(axis=1))
        column = self.columns[number - 1]
        if column.header.unit == "" and volts_in(column) != 1.0:
            text = f"Column {quoted(column.name)} names no unit; it was taken as mV."
            found.append(Finding(text, severity=WARNING))
        return self._scaled(table, number)

    def _current(self, table: Table, found: list[Finding]) -> tuple[Floats, str]:
        """Return the current and, where something beside it tells its direction, what does."""
        choice = self.choice
        current = self._amperes(table, choice.current)
        column = self.columns[choice.current - 1]
        if not column.header.unit and self._unit_of_current(choice.current):
            text = f"Column {quoted(column.name)} names no unit; beside mV it was taken as mA."
            found.append(Finding(text, severity=WARNING))
        if choice.charge:
            return combined(current, self._amperes(table, choice.charge)), "two columns of current"
        if table.ways is None or not one_signed(current):
            return current, ""
        name = self.columns[choice.words - 1].name
        return signed(current, table.ways, name, table.rows, found), f"column {quoted(name)}"

    def _sign(self, time_s: Floats, voltage_V: Floats, current_A: Floats, told: str) -> Sign:
        """Return the direction: as told beside the current, or from how the voltage answers."""
        header = "" if told else self.columns[self.choice.current - 1].header.text
        by_voltage = find_sign(
            self.asked.sign, header, bdf=self.bdf and not told,
            time_s=time_s, voltage_V=voltage_V, current_A=current_A,
        )  # fmt: skip
        if not told:
            return by_voltage
        reason = f"{told} {'tell' if told.startswith('two') else 'tells'} it"
        if by_voltage.sign == DISCHARGE_POSITIVE or by_voltage.severity == WARNING:
            return Sign(DISCHARGE_POSITIVE, reason)
        text = f"{reason}, although {by_voltage.reason}; check it and use --sign if it is wrong"
        return Sign(DISCHARGE_POSITIVE, text, WARNING)

    def _written(self) -> Written | None:
        """Return the last decimal of the current as it is written, where that is clear."""
        number = self.choice.current
        decimals = self.columns[number - 1].decimals
        scale = SCALES.get(self._unit_of_current(number), 1.0)
        return None if decimals is None else Written(scale * 10.0**-decimals, decimals == 0)

    def _amperes(self, table: Table, number: int) -> Floats:
        unit = self._unit_of_current(number)
        values = table.numbers[number]
        scale = SCALES.get(unit, 1.0) if unit.endswith("A") else 1.0
        return (
            values if scale == 1.0 else values / round(1.0 / scale) if scale < 1 else values * scale
        )

    def _unit_of_current(self, number: int) -> str:
        """Return the unit; without one mA, where the voltage is in mV and A could not be."""
        column = self.columns[number - 1]
        if column.header.unit or not self.choice.voltage:
            return column.header.unit
        voltage = self.columns[self.choice.voltage - 1]
        large = float(np.nanmax(np.abs(column.values), initial=0.0)) > MOST_A
        return "mA" if large and volts_in(voltage) == 1e-3 else ""

    def _temperature(self, table: Table, good: np.ndarray, turn: Rows) -> Floats | None:
        number = self.choice.temperature
        if not number:
            return None
        values = _readable(table.numbers[number][good][turn])
        unit = self.columns[number - 1].header.unit
        if unit == "degF":
            return np.asarray((values - 32.0) / 1.8)
        return np.asarray(values - 273.15) if unit == "K" else values

    def _own_name(self, number: int) -> str:
        name = self.columns[number - 1].name
        same = [c.number for c in self.columns if c.name == name]
        return name if same.index(number) == 0 else f"{name} ({same.index(number) + 1})"
