"""How a log file is laid out: separator, decimal mark, headers, where the rows begin."""

import csv
import itertools
import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from bankSim.measured.clock import is_clock
from bankSim.measured.log import LogError
from bankSim.measured.numerals import (
    COMMA,
    PLAIN,
    POINT,
    Marks,
    is_missing,
    read_number,
    tidy,
    unit_of,
)

SEPARATORS = ("\t", ";", "|", ",", " ")
COMMENTS = ("#", "//", "%", "!", "'")
ANY = Marks()
_DIGITS = re.compile(r"[+\-]?(\d[\d.,]*)")
_IN_GROUPS = re.compile(r"[1-9]\d{0,2}(?:(?:\.\d{3})+|(?:,\d{3})+)")


@dataclass(frozen=True, slots=True)
class Layout:
    """How the rows are written.

    Parameters
    ----------
    separator : str
        One letter; a space stands for any run of spaces and tabs.
    marks : Marks
    headers : tuple of str
        One a column; empty texts where the file has none.
    units : tuple of str
        Of the row below the headers; empty texts without one.
    first_row : int
        Row number of the first sample.
    header_row : int
        0 where there is none.
    commented : bool
        The headers stand in a comment.
    """

    separator: str
    marks: Marks
    headers: tuple[str, ...]
    units: tuple[str, ...]
    first_row: int
    header_row: int
    notes: tuple[str, ...] = ()

    @property
    def width(self) -> int:
        """Number of columns."""
        return len(self.headers)


def split_line(line: str, separator: str) -> list[str]:
    """Return the fields of one line."""
    if separator == " ":
        return line.split()
    if '"' in line:
        try:
            return next(csv.reader([line], delimiter=separator, skipinitialspace=True), [])
        except csv.Error:
            pass
    return line.split(separator)


def is_comment(line: str, separator: str = ",") -> bool:
    """Tell whether a line is a remark."""
    start = line.lstrip(' "')
    return start.startswith(COMMENTS) or (start.startswith(";") and separator != ";")


def find_layout(name: str, lines: Sequence[str]) -> Layout:
    """Find out how a table is written from its first lines.

    Raises
    ------
    LogError
        When no rows of numbers are found, or decimal commas cannot be told from separators.
    """
    worth = {one: _worth(lines, one) for one in SEPARATORS}
    best = max(SEPARATORS, key=lambda one: (worth[one], -SEPARATORS.index(one)))
    if worth[best] <= 0.0:
        raise LogError(f"{name}: no rows with two or more numbers; expected a table as text (CSV)")
    fields = [[] if is_comment(line, best) else split_line(line, best) for line in lines]
    places = [place for place, row in enumerate(fields) if _is_data(row)]
    width = Counter(len(_trimmed(fields[place])) for place in places).most_common(1)[0][0]
    first = next(place for place in places if len(_trimmed(fields[place])) == width)
    while first and _is_mostly_missing(fields[first - 1], width):
        first -= 1
    above, units, header_at = _above(lines, fields, first, best, width)
    usual = Counter(len(fields[place]) for place in places).most_common(1)[0][0]
    width = _width(name, fields, places, above, best, width)
    width = max(width, usual) if best != " " else width
    head = _fitted(above, width, fields[first])
    data = [fields[place] for place in places]
    return Layout(
        best, marks_of(data, best), head, _padded(units, width), first + 1, header_at,
    )  # fmt: skip


def marks_of(rows: Sequence[Sequence[str]], separator: str) -> Marks:
    """Find out which mark stands before decimals, from all fields together."""
    points = commas = both_comma = both_point = in_groups = 0
    for text in (tidy(field) for row in rows for field in row):
        if not text or is_clock(text) or not re.match(r"[+\-]?[\d.,]", text):
            continue
        digits = re.match(r"[+\-]?([\d.,]*)", text)[1]  # type: ignore[index]
        if "." in digits and "," in digits:
            both_comma += digits.rfind(",") > digits.rfind(".")
            both_point += digits.rfind(".") > digits.rfind(",")
        elif _IN_GROUPS.fullmatch(digits):
            in_groups += 1
        else:
            points += "." in digits
            commas += "," in digits
    if both_comma or both_point:
        return Marks(COMMA if both_comma > both_point else POINT, groups=True)
    passed = _past_a_thousand(rows) if in_groups else ""
    if passed == POINT and not points:
        return Marks(COMMA, groups=True)
    if passed == COMMA and not commas:
        return Marks(POINT, groups=True)
    if commas > points:
        return Marks(COMMA, groups=not points and passed is not None)
    if points:
        return Marks(POINT, groups=True)
    any_comma = any("," in field for row in rows for field in row)
    return Marks(COMMA, groups=in_groups > 0 and passed == "") if any_comma else Marks(POINT)


def _past_a_thousand(rows: Sequence[Sequence[str]]) -> str | None:
    """Return the mark in a column that goes from 980 on to 1.020: it stands between thousands.

    "" where no column shows it; None where a column holds nothing but numbers like 3.312, whose
    points may stand before decimals.
    """
    passed: str | None = ""
    for column in itertools.zip_longest(*rows, fillvalue=""):
        texts = [_DIGITS.match(tidy(one)) for one in column if not is_clock(one)]
        numbers = [found[1] for found in texts if found]
        marked = {one[-4] for one in numbers if _IN_GROUPS.fullmatch(one)}
        plain = [one for one in numbers if one.isdigit()]
        if len(marked) != 1 or any(len(one) > 3 for one in plain):
            continue
        if not plain:
            passed = passed or (None if POINT in marked else passed)
        elif all(one.isdigit() or _IN_GROUPS.fullmatch(one) for one in numbers):
            passed = marked.pop() if any(len(one) == 3 for one in plain) else passed
    return passed


def _worth(lines: Sequence[str], separator: str) -> float:
    """How well a separator explains the lines: readable fields in rows of one width."""
    rows = [
        split_line(line, separator)
        for line in lines
        if line.strip() and not is_comment(line, separator)
    ]
    good = [row for row in rows if _is_data(row)]
    if not good:
        return 0.0
    width, times = Counter(len(_trimmed(row)) for row in good).most_common(1)[0]
    readable = sum(_readable(field) for row in good for field in row if field.strip())
    written = sum(1 for row in good for field in row if field.strip())
    steady = times / len(good)
    worth = (readable / max(written, 1)) ** 4 * steady * len(good) / len(rows) * min(width, 4)
    return worth * (0.5 if separator == " " else 1.0)


def _readable(field: str) -> bool:
    if PLAIN.fullmatch(field.strip()):
        return True
    text = tidy(field)
    return is_missing(text) or is_clock(text) or read_number(text, ANY) == read_number(text, ANY)


def _is_data(row: Sequence[str]) -> bool:
    """Tell whether most of a row is numbers or clock times, two at least."""
    if len(row) < 2:
        return False
    filled = [field for field in row if not is_missing(field)]
    good = sum(_readable(field) for field in filled)
    return good >= 2 and good * 2 > len(filled) and bool(_readable(filled[0]) or good > 2)


def _is_mostly_missing(row: Sequence[str], width: int) -> bool:
    """Tell whether a row is a sample with a single number and gaps."""
    filled = [field for field in row if not is_missing(field)]
    return len(row) == width and len(filled) == 1 and _readable(filled[0]) and row[0] == filled[0]


def _trimmed(row: Sequence[str]) -> Sequence[str]:
    """Return a row without the empty fields at its end."""
    end = len(row)
    while end and not row[end - 1].strip():
        end -= 1
    return row[:end]


def _above(
    lines: Sequence[str], fields: Sequence[Sequence[str]], first: int, separator: str, width: int
) -> tuple[list[str], list[str], int]:
    """Return headers, units and the row of the headers, from what stands above the first sample."""
    units: list[str] = []
    comment: tuple[list[str], int] | None = None
    for place in range(first - 1, max(first - 12, -1), -1):
        line = lines[place]
        if not line.strip():
            continue
        if is_comment(line, separator):
            row = split_line(line.lstrip(" \"#/%!;'").rstrip(), separator)
            if comment is None and len(_trimmed(row)) >= max(2, width - 2):
                comment = (list(row), place + 1)
            continue
        row = list(fields[place])
        filled = [field for field in row if field.strip()]
        if not units and filled and _all_units(filled) and _names_above(fields, place, width):
            units = row
        elif len(filled) >= 2 and len(_trimmed(row)) >= min(width, 2):
            return row, units, place + 1
        else:
            break
    return (comment[0], units, comment[1]) if comment else ([], units, 0)


def _all_units(fields: Sequence[str]) -> bool:
    words = [field.strip().strip("[](){}-") for field in fields]
    clocks = ("hh:mm:ss", "h:m:s", "time", "date")
    return all(not word or unit_of(word) or word.lower() in clocks for word in words)


def _names_above(fields: Sequence[Sequence[str]], place: int, width: int) -> bool:
    """Tell whether a row of names stands above a row of units."""
    for row in fields[max(place - 2, 0) : place]:
        if len(_trimmed(row)) >= max(2, width - 2) and not _is_data(row):
            return True
    return False


def _width(
    name: str,
    fields: Sequence[Sequence[str]],
    places: Sequence[int],
    head: Sequence[str],
    separator: str,
    width: int,
) -> int:
    """Settle the number of columns; refuse decimal commas between commas."""
    named = len(_trimmed(head))
    widest = max(len(_trimmed(fields[place])) for place in places)
    if separator == "," and named and widest > named:
        extra = sum(len(_trimmed(fields[place])) > named for place in places)
        if extra > 0.5 * len(places):
            raise LogError(
                f"{name}: row {places[0] + 1} holds {len(_trimmed(fields[places[0]]))} fields, but "
                f"there are {named} headers; decimal commas between commas cannot be told apart: "
                "expected semicolons or tabs between columns, or decimal points"
            )
    return max(width, named)


def _fitted(head: Sequence[str], width: int, row: Sequence[str]) -> tuple[str, ...]:
    """Fit headers to the columns; a date and a time under one header are two columns."""
    names = [tidy(one) for one in _trimmed(head)]
    if names and len(names) == width - 1 and is_clock(f"{row[0]} {row[1]}"):
        names = ["Date", *names]
    return _padded(names, width)


def _padded(names: Sequence[str], width: int) -> tuple[str, ...]:
    return tuple([*names, *[""] * width][:width])
