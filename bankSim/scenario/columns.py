"""Columns of numbers from a CSV file, with the row named when something is wrong."""

import io
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from bankSim.errors import ScenarioError
from bankSim.model.curve import Floats
from bankSim.scenario.faults import counted, show
from bankSim.scenario.syntax import decode, plain_reason

_NUMBER = re.compile(r"[-+]?(\d+(\.\d*)?|\.\d+)([eE][-+]?\d+)?", re.ASCII)
LONGEST_NUMBER = 400  # characters
LONGEST_HEADING = 40


class TableError(Exception):
    """What is wrong with a table file, in words that follow the file's name."""


@dataclass(frozen=True, eq=False)
class Columns:
    """The numbers of a CSV file.

    Parameters
    ----------
    header : tuple of str
        Words of the first line.
    values : array (rows, columns)
        Finite numbers. In the units of the file.
    text : str
        The file, to find the line of a row.
    """

    header: tuple[str, ...]
    values: Floats
    text: str

    def refuse_row(self, index: int, column: int, allowed: str) -> TableError:
        """Make the fault of one number, from its row and column counted from 0."""
        line = [number for number, _ in _lines(self.text)][index + 1]
        value = f"{self.values[index, column]:.12g}"
        return TableError(f" row {line}: {self.header[column]} = {value}; expected {allowed}")


def read_columns(
    path: Path, headers: Sequence[tuple[str, ...]], most_rows: int, largest_bytes: int
) -> Columns:
    """Read a CSV file with one of the given headers.

    Commas between columns, decimal points; what follows # is a comment; blank lines are skipped.

    Parameters
    ----------
    path : Path
    headers : sequence of tuple of str
        The headers that are allowed, word by word.
    most_rows, largest_bytes : int
        More than this is refused.

    Returns
    -------
    columns : Columns
        At least one row.

    Raises
    ------
    TableError
        If the file cannot be used.
    """
    text = _read(path, largest_bytes)
    lines = _lines(text)
    number, first = next(lines, (1, ""))
    header = tuple(word.strip() for word in first.split(","))
    if header not in headers:
        raise _wrong_header(number, first, headers)
    if next(lines, None) is None:
        raise TableError(" has no rows below its header")
    values = _parse(text, number, header)
    if len(values) > most_rows:
        raise TableError(f" has {len(values)} rows; expected at most {most_rows}")
    return Columns(header, values, text)


def _read(path: Path, largest_bytes: int) -> str:
    try:
        if not path.exists():
            raise TableError(": no such file")
        if not path.is_file():
            raise TableError(": not a file")
        with path.open("rb") as stream:
            data = stream.read(largest_bytes + 1)
    except OSError as error:
        raise TableError(f": cannot be read ({plain_reason(error)})") from error
    if len(data) > largest_bytes:
        raise TableError(f": larger than {largest_bytes // 1_000_000} MB")
    try:
        return decode(data, "")
    except ScenarioError as error:
        raise TableError(re.sub(r"^:(\d+):", r" row \1:", str(error))) from error


def _lines(text: str) -> Iterator[tuple[int, str]]:
    """Give the lines that hold something, with their numbers counted from 1, no comments."""
    for number, line in enumerate(io.StringIO(text), 1):
        bare = line.partition("#")[0].strip()
        if bare:
            yield number, bare


def _wrong_header(number: int, first: str, headers: Sequence[tuple[str, ...]]) -> TableError:
    allowed = " or ".join(",".join(words) for words in headers)
    if not first:
        return TableError(f" is empty; expected the header {allowed}")
    if not is_like_a_header(first, headers):
        return TableError(f" row {number}: not the header of such a table; expected {allowed}")
    hint = " (columns are separated by commas, numbers have a decimal point)" * (";" in first)
    return TableError(f" row {number}: header {show(first)}; expected {allowed}{hint}")


def is_like_a_header(line: str, headers: Sequence[tuple[str, ...]]) -> bool:
    """Tell whether a line is a mistaken header, or numbers without one: only then it is quoted.

    A file named by mistake may hold what is nobody's business.

    Parameters
    ----------
    line : str
        The first one of a file.
    headers : sequence of tuple of str
        What would have been allowed.
    """
    fields = [word.strip() for word in re.split(r"[,;\t]", line)]
    if len(fields) < 2 or max(map(len, fields)) > LONGEST_HEADING:
        return False
    known = {part for header in headers for word in header for part in _words(word)}
    seen = {part for word in fields for part in _words(word)}
    alike = any(one.startswith(other) or other.startswith(one) for one in seen for other in known)
    return alike or all(map(_is_number, fields))


def _words(heading: str) -> list[str]:
    """Return the words in a heading of 4 letters or more: state, charge, voltage, power."""
    return re.findall(r"[a-z]{4,}", heading.lower())


def _parse(text: str, header_line: int, header: tuple[str, ...]) -> Floats:
    """Return the numbers; the fast reader first, the slow one to name what it stumbles over."""
    try:
        values = np.loadtxt(io.StringIO(text), delimiter=",", skiprows=header_line, ndmin=2)
    except ValueError:
        return _parse_slowly(text, header)
    if values.shape[1] != len(header) or not np.isfinite(values).all():
        return _parse_slowly(text, header)
    return np.asarray(values, dtype=np.float64)


def _parse_slowly(text: str, header: tuple[str, ...]) -> Floats:
    lines = _lines(text)
    next(lines)
    return np.array([_row(number, line, header) for number, line in lines])


def _row(number: int, line: str, header: tuple[str, ...]) -> list[float]:
    words = [word.strip() for word in line.split(",")]
    if ";" in line:
        raise TableError(f" row {number}: {show(line)}; expected commas between columns, not ;")
    if len(words) != len(header):
        hint = " (numbers have a decimal point)" if len(words) > len(header) else ""
        wanted = f"expected {len(header)} columns{hint}"
        found = counted(len(words), "column", "columns")
        raise TableError(f" row {number}: {show(line)} has {found}; {wanted}")
    for word, name in zip(words, header, strict=True):
        if not _is_number(word):
            raise TableError(f" row {number}: {name} = {show(word)}; expected a number")
    return [float(word) for word in words]


def _is_number(word: str) -> bool:
    """Tell whether a word is a finite number, without reading one that never ends."""
    short = len(word) <= LONGEST_NUMBER
    return short and bool(_NUMBER.fullmatch(word)) and bool(np.isfinite(float(word)))
