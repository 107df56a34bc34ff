"""Reads the rows of a log, a portion at a time; odd rows one by one."""

import io
import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from bankSim.measured.clock import NONE, read_stamp
from bankSim.measured.direction_words import state_of
from bankSim.measured.layout import Layout, is_comment, split_line
from bankSim.measured.log import NOTE, WARNING, Finding, Rows
from bankSim.measured.new_headers import Mapping, header_lines, is_usual, with_marks
from bankSim.measured.noted import Noted
from bankSim.measured.numerals import COMMA, MISSING, is_missing, read_number
from bankSim.measured.source import LONGEST_LINE, portions
from bankSim.model.curve import Floats
from bankSim.sim.numbers import quoted

# A row that starts with a letter may be the headers once more.
ODD_STARTS = np.frombuffer(b"#/%!" + bytes(range(65, 91)) + bytes(range(97, 123)), np.uint8)
ISO_START = re.compile(r"\d{4}-\d\d-\d\d[ T]\d\d:\d\d:\d\d")
DATE_START = re.compile(r"\d{1,2}([./-])\d{1,2}\1\d{4} \d{1,2}:\d\d(:\d\d)?")
NA_WORDS = sorted({*MISSING, "NaN", "NAN", "NA", "N/A", "NULL", "None", "null"} - {"x", ".", "*"})


@dataclass
class Table:
    """Columns of a log as they stand in the file.

    Parameters
    ----------
    rows : array (n,)
    numbers : dict
        From column number to values, NaN where missing. In the units of the file.
    stamps : array (n, 2) or None
        Times with the day first and with the month first, in microseconds.
    dated : bool
    zone_us : int
        Of the first stamp.
    findings : list of Finding
    ways : array (n,) or None
        What the words beside the current say: 1 discharge, -1 charge, 0 nothing. [1]
    two_fields : bool
        All stamps are like 1:05, without seconds or without hours.
    """

    rows: Rows
    numbers: dict[int, Floats]
    stamps: NDArray[np.int64] | None
    dated: bool
    zone_us: int
    findings: list[Finding]
    ways: Floats | None = None
    two_fields: bool = False


class Reader:
    """Reads portion after portion."""

    def __init__(
        self, layout: Layout, numbers: Sequence[int], clock: tuple[int, ...],
        units: dict[int, str], words: int = 0,
    ) -> None:  # fmt: skip
        self.layout, self.wanted, self.clock, self.units = layout, list(numbers), clock, units
        self.words = words
        self.ways: list[Floats] = []
        self.mapping: Mapping | None = None  # below headers in another order
        self.rows: list[Rows] = []
        self.values: dict[int, list[Floats]] = {number: [] for number in numbers}
        self.stamps: list[NDArray[np.int64]] = []
        self.dated, self.zone_us, self.zoned = False, 0, False
        self.two_fields = True
        self.noted: dict[str, Noted] = {}
        self.seen: dict[tuple[int, str], float] = {}
        self.bad_texts: dict[int, str] = {}
        self.headers = [one.strip().lower() for one in layout.headers]

    def note(self, text: str, rows: Sequence[int] | Rows, severity: str = NOTE) -> None:
        """Keep rows with one kind of oddity."""
        if len(rows):
            self.noted.setdefault(text, Noted(text, severity)).add(rows)

    def take(self, first_row: int, block: bytes) -> None:
        """Read one portion."""
        if b"\0" in block:
            odd = [row for row, line in enumerate(block.split(b"\n"), first_row) if b"\0" in line]
            self.note("bytes of value 0 in it, as after a loss of power; ignored.", odd, WARNING)
            block = block.replace(b"\0", b"")
        start = self.layout.first_row - first_row
        if start > 0:
            lines = block.split(b"\n")
            if start >= len(lines) - 1:
                return
            block, first_row = b"\n".join(lines[start:]), self.layout.first_row
        for part, row in self._parts(block, first_row):
            sound, rows = self._sound(part, row)
            if rows.size:
                self._parse(sound, rows)

    def _parts(self, block: bytes, first_row: int) -> Iterator[tuple[bytes, int]]:
        """Yield stretches under one row of headers each, all as under the first."""
        heads = header_lines(block, self.layout)
        if self.mapping is None and all(is_usual(one, self.layout) for _, one in heads):
            yield block, first_row
            return
        lines = block.split(b"\n")[:-1]
        places = [place for place, _ in heads]
        for begin, end in pairwise([-1, *places, len(lines)]):
            if begin >= 0:
                self._turn_to(heads[places.index(begin)][1], first_row + begin)
            if end > begin + 1:
                yield self._mapped(lines[begin + 1 : end]), first_row + begin + 1

    def _turn_to(self, mapping: Mapping, row: int) -> None:
        if is_usual(mapping, self.layout):
            self.mapping = None
            self.note("the headers once more, left out.", [row])
            return
        self.mapping = mapping
        other = mapping.separator != self.layout.separator
        what = "with another separator" if other else "in another order or unit"
        self.note(f"the headers once more, {what}; the rows below were read by these.", [row],
                  WARNING)  # fmt: skip

    def _mapped(self, raw: list[bytes]) -> bytes:
        if self.mapping is None:
            return b"\n".join(raw) + b"\n"
        lines = [line.decode("utf-8", "replace") for line in raw]
        if self.mapping.marks is None:
            self.mapping = with_marks(self.mapping, lines)
        return ("\n".join(self.mapping.row(line, self.layout) for line in lines) + "\n").encode()

    def _sound(self, block: bytes, first_row: int) -> tuple[bytes, Rows]:
        """Return the lines that are rows of the table, with their numbers."""
        separator = self.layout.separator.encode()
        data = np.frombuffer(block, np.uint8)
        ends = np.flatnonzero(data == 10)
        rows = np.arange(first_row, first_row + ends.size)
        if separator != b" " and b'"' not in block:
            marks = np.flatnonzero(data == separator[0])
            counts = np.diff(np.searchsorted(marks, ends), prepend=0)
            starts = np.concatenate([[0], ends[:-1] + 1])
            lengths = ends - starts
            odd = (counts != self.layout.width - 1) | (lengths > LONGEST_LINE)
            odd |= np.isin(data[np.minimum(starts, data.size - 1)], ODD_STARTS)
            if not odd.any():
                return block, rows
        else:
            odd = np.ones(ends.size, bool)
        return self._mended(block, rows, odd)

    def _mended(self, block: bytes, rows: Rows, odd: NDArray[np.bool_]) -> tuple[bytes, Rows]:
        lines = block.split(b"\n")[: rows.size]
        keep = np.ones(rows.size, bool)
        for place in np.flatnonzero(odd):
            mended = self._mend(lines[place], int(rows[place]))
            keep[place] = mended is not None
            lines[place] = mended or b""
        kept = [line for line, good in zip(lines, keep, strict=True) if good]
        return b"\n".join(kept) + b"\n", rows[keep]

    def _mend(self, raw: bytes, row: int) -> bytes | None:
        """Return an odd line with the right number of fields; None where it is no sample."""
        width, separator = self.layout.width, self.layout.separator
        if not raw.strip(b" \t,;|\x1a"):
            self.note("empty, left out.", [row])
            return None
        if len(raw) > LONGEST_LINE:
            self.note("far too long for a row of a table, left out.", [row], WARNING)
            return None
        line = raw.decode("utf-8", "replace")
        if is_comment(line, separator):
            self.note("a comment, left out.", [row])
            return None
        fields = split_line(line, separator)
        while len(fields) > width and not fields[-1].strip():
            fields.pop()
        if self._is_header(fields):
            self.note("the headers once more, left out.", [row])
            return None
        if len(fields) > width:
            self.note(f"more than the {width} fields of the table, left out.", [row], WARNING)
            return None
        fields += [""] * (width - len(fields))
        mark = "\t" if separator == " " else separator
        return mark.join(_requoted(one, mark) for one in fields).encode()

    def _is_header(self, fields: Sequence[str]) -> bool:
        plain = [one.strip().strip('"').lower() for one in fields[: len(self.headers)]]
        named = [(a, b) for a, b in zip(plain, self.headers, strict=False) if b]
        return bool(named) and sum(a == b for a, b in named) * 2 > len(named)

    def _parse(self, block: bytes, rows: Rows) -> None:
        import pandas as pd

        texts = [*self.clock, *([self.words] if self.words else [])]
        places = {n - 1: (str if n in texts else float) for n in (*texts, *self.wanted)}
        options: dict[str, Any] = {
            "sep": "\t" if self.layout.separator == " " else self.layout.separator,
            "header": None, "names": list(range(self.layout.width)), "usecols": sorted(places),
            "index_col": False, "skip_blank_lines": False, "keep_default_na": False,
            "decimal": self.layout.marks.decimal, "encoding": "utf-8", "engine": "c",
            "low_memory": False,
        }  # fmt: skip
        try:
            frame = pd.read_csv(
                io.BytesIO(block), dtype=places, na_values=NA_WORDS, **_exact(pd), **options,
            )  # fmt: skip
            slow = len(frame) != rows.size
        except (ValueError, OverflowError):
            slow = True
        if slow:
            frame = pd.read_csv(io.BytesIO(block), dtype=dict.fromkeys(places, object),
                                na_filter=False, **options)  # fmt: skip
        if len(frame) != rows.size:  # quotes that run over line ends
            rows = rows[: len(frame)]
            frame = frame.iloc[: rows.size]
        columns = {n: self._numbers(frame[n - 1], n, rows, slow=slow) for n in self.wanted}
        if self.words:
            codes, different = pd.factorize(frame[self.words - 1].fillna("").astype(object))
            self.ways.append(np.array([state_of(str(one)) for one in different])[codes])
        self._keep(rows, columns, self._stamps(frame, rows) if self.clock else None)

    def _numbers(self, column: Any, number: int, rows: Rows, *, slow: bool) -> Floats:
        if not slow:
            return np.asarray(column, dtype=float)
        import pandas as pd

        plain = column.str.strip()
        if self.layout.marks.decimal == COMMA:
            plain = plain.where(~plain.str.contains(".", regex=False), "?")
            plain = plain.str.replace(",", ".", regex=False)
        elif plain.str.contains("_", regex=False).any():
            plain = plain.str.replace("_", "?", regex=False)
        values = np.array(pd.to_numeric(plain, errors="coerce"), dtype=float)
        values[np.isinf(values)] = np.nan
        left = np.flatnonzero(np.isnan(values))
        texts = column.to_numpy()
        bad = []
        for place in left:
            text = texts[place]
            values[place] = self._one(number, text)
            if np.isnan(values[place]) and not is_missing(text):
                bad.append(int(place))
        self._note_bad(rows, texts, bad, number)
        return values

    def _one(self, number: int, text: str) -> float:
        key = (number, text)
        if key not in self.seen:
            if len(self.seen) > 200_000:
                self.seen.clear()
            self.seen[key] = read_number(text, self.layout.marks, self.units.get(number, ""))
        return self.seen[key]

    def _note_bad(self, rows: Rows, texts: Any, bad: list[int], number: int) -> None:
        if not bad:
            return
        name = self.layout.headers[number - 1].strip() or str(number)
        text = f"no number in column {quoted(name)} (such as {quoted(str(texts[bad[0]])[:20])})."
        self.bad_texts.setdefault(number, text)
        self.note(self.bad_texts[number], rows[bad], WARNING)

    def _stamps(self, frame: Any, rows: Rows) -> NDArray[np.int64]:
        texts = frame[self.clock[0] - 1]
        if len(self.clock) > 1:
            texts = (
                texts.fillna("").str.strip() + " " + frame[self.clock[1] - 1].fillna("").str.strip()
            )
        import pandas as pd

        fast = self._usual_stamps(texts) if len(texts) else None
        if fast is not None:
            return fast
        if len(texts) and ISO_START.match(str(texts.iloc[0])):
            return self._iso_stamps(texts.fillna(""))
        codes, different = pd.factorize(texts.fillna("").to_numpy(dtype=object))
        pairs = np.array([self._stamp(str(text)) for text in different], np.int64).reshape(-1, 2)
        return pairs[codes]

    def _usual_stamps(self, texts: Any) -> NDArray[np.int64] | None:
        """Read many stamps such as 14.03.2024 15:09:26 at once; None where one is different."""
        import pandas as pd

        found = DATE_START.fullmatch(str(texts.iloc[0]))
        if found is None or self._stamp(str(texts.iloc[0])) == (NONE, NONE):
            return None
        mark, seconds = found[1], ":%S" if found[2] else ""
        pairs = []
        for order in (f"%d{mark}%m", f"%m{mark}%d"):
            form = f"{order}{mark}%Y %H:%M{seconds}"
            times = pd.to_datetime(texts, format=form, errors="coerce")
            us = times.to_numpy(dtype="datetime64[us]").astype(np.int64)
            us[times.isna().to_numpy()] = NONE
            pairs.append(us)
        both = np.column_stack(pairs)
        return None if np.any(np.all(both == NONE, axis=1)) else both

    def _iso_stamps(self, texts: Any) -> NDArray[np.int64]:
        """Read many stamps of the one usual form at once, and the others one by one."""
        import pandas as pd

        self._stamp(str(texts.iloc[0]))
        times = pd.to_datetime(texts, format="ISO8601", errors="coerce", utc=True)
        lost = np.flatnonzero(times.isna().to_numpy())
        us = times.dt.tz_localize(None).to_numpy(dtype="datetime64[us]").astype(np.int64)
        pairs = np.column_stack([us, us])
        for place in lost.tolist():
            pairs[place] = self._stamp(str(texts.iloc[place]))
        return pairs

    def _stamp(self, text: str) -> tuple[int, int]:
        stamp = read_stamp(text)
        if stamp is None:
            return (NONE, NONE)
        self.dated = self.dated or stamp.dated
        self.two_fields = self.two_fields and text.count(":") == 1
        if not self.zoned:
            self.zone_us, self.zoned = stamp.zone_us, True
        return stamp.day_first, stamp.month_first

    def _keep(
        self, rows: Rows, columns: dict[int, Floats], stamps: NDArray[np.int64] | None
    ) -> None:
        self.rows.append(rows)
        for number, values in columns.items():
            self.values[number].append(values)
        if stamps is not None:
            self.stamps.append(stamps)

    def table(self) -> Table:
        """Return everything that was read."""
        join: Callable[[list[Any], Any], Any] = lambda parts, kind: (  # noqa: E731
            np.concatenate(parts) if parts else np.empty(0, kind)
        )
        return Table(
            join(self.rows, np.int64),
            {number: join(self.values.pop(number), float) for number in self.wanted},
            join(self.stamps, np.int64).reshape(-1, 2) if self.clock else None,
            self.dated,
            self.zone_us,
            [noted.finding() for noted in self.noted.values()],
            join(self.ways, float) if self.words else None,
            bool(self.clock) and self.two_fields and not self.dated,
        )


def _exact(pandas: Any) -> dict[str, Any]:
    """Ask for numbers to the last bit where that is not what pandas does anyway."""
    return {"float_precision": "round_trip"} if pandas.__version__ < "3" else {}


def _requoted(text: str, mark: str) -> str:
    if mark in text or '"' in text:
        plain = text.replace('"', "")
        return f'"{plain}"'
    return text.strip()


def read_table(
    file: Path,
    layout: Layout,
    numbers: Sequence[int],
    clock: tuple[int, ...],
    units: dict[int, str],
    words: int = 0,
) -> Table:
    """Read the wanted columns of all rows.

    Parameters
    ----------
    file : Path
    layout : Layout
    numbers : sequence of int
        Columns of numbers, counted from 1.
    clock : tuple of int
        One column of clock times, or those of the date and of the time.
    units : dict
        From column number to the unit of its numbers.
    words : int
        Column of words that tells the direction of current, 0 without one.
    """
    reader = Reader(layout, numbers, clock, units, words)
    for first_row, block in portions(file):
        reader.take(first_row, block)
    return reader.table()
