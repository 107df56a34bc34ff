"""The bytes of a log file: what they are, and lines in portions, in UTF-8 with plain line ends."""

import codecs
import os
import re
import stat
from collections.abc import Iterator
from pathlib import Path
from typing import BinaryIO

from bankSim.measured.log import LogError

PORTION = 8_000_000  # bytes read at a time
HEAD = 400_000  # bytes looked at to find out what the file is
LONGEST_LINE = 100_000  # bytes; longer ones are no rows of a table
CONTROL = bytes(sorted({*range(0x20), 0x7F} - {0x09, 0x0A, 0x0B, 0x0C, 0x0D, 0x1A, 0x1B}))
MOST_CONTROL = 0.02  # of all bytes: more is no text
MOST_QUOTED = 0.8  # of the lines: from here on all are taken to stand in quotes as a whole
_QUOTED = re.compile(rb'[ \t]*"((?:[^"]|"")*[,;\t| ](?:[^"]|"")*)"[ ,;\t|]*')
PACKED = (b"PK\x03\x04", b"\x1f\x8b")  # how ZIP files (workbooks too) and gzip files begin
BOMS = (
    (codecs.BOM_UTF8, "utf-8"),
    (codecs.BOM_UTF32_LE, "utf-32-le"),
    (codecs.BOM_UTF32_BE, "utf-32-be"),
    (codecs.BOM_UTF16_LE, "utf-16-le"),
    (codecs.BOM_UTF16_BE, "utf-16-be"),
)


def check_log(file: Path, holds: str = "a table with time, voltage and current") -> int:
    """Return the size [bytes] of an ordinary file with something in it.

    Parameters
    ----------
    file : path
    holds : str
        What is expected of an empty one.

    Raises
    ------
    LogError
        When it is none.
    """
    try:
        kind = file.stat()
    except (OSError, ValueError) as error:
        raise LogError(f"{file}: cannot be read ({_reason(error)})") from error
    if stat.S_ISDIR(kind.st_mode):
        raise LogError(f"{file}: is a folder; expected a log file (CSV)")
    if not stat.S_ISREG(kind.st_mode):
        raise LogError(f"{file}: is no ordinary file; expected a log file (CSV)")
    if kind.st_size == 0:
        raise LogError(f"{file}: is empty; expected {holds}")
    return kind.st_size


def encoding_of(file: Path) -> tuple[str, int]:
    """Return how the letters are written and how many bytes of mark stand before them.

    Raises
    ------
    LogError
        When the file cannot be read or holds no text.
    """
    head = read_head(file)
    if head.startswith(PACKED):
        raise LogError(f"{file}: is a packed file or a workbook; expected a table as text (CSV)")
    for mark, name in BOMS:
        if head.startswith(mark):
            return name, len(mark)
    wide = _wide(head)
    if wide:
        return wide, 0
    strange = len(head) - len(head.translate(None, CONTROL))
    if strange - head.count(0) > MOST_CONTROL * len(head) or head.count(0) > 0.5 * len(head):
        raise LogError(f"{file}: is no text file; expected a table as text (CSV)")
    return "utf-8", 0


def read_head(file: Path) -> bytes:
    """Return the first bytes of a file."""
    try:
        with file.open("rb") as page:
            return page.read(HEAD)
    except OSError as error:
        raise LogError(f"{file}: cannot be read ({_reason(error)})") from error


def portions(file: Path) -> Iterator[tuple[int, bytes]]:
    """Yield the file in portions of whole lines.

    Yields
    ------
    first_row : int
        Row number of the first line, counted from 1.
    lines : bytes
        UTF-8, each line ended by a line feed.
    """
    encoding, skip = encoding_of(file)
    quoted = whole_lines_quoted(file)
    end = b"\n" if _has_line_feed(file, encoding) else b"\r"
    row, rest = 1, b""
    try:
        with file.open("rb") as page:
            page.seek(skip)
            for piece in _decoded(page, encoding):
                text, found, tail = (rest + piece).rpartition(end)
                rest = tail
                if found:
                    lines = _plain(text + found)
                    yield row, _unquoted(lines) if quoted else lines
                    row += lines.count(b"\n")
            if rest.strip(b"\r\n\x00\x1a"):
                lines = _plain(rest + end)
                yield row, _unquoted(lines) if quoted else lines
    except OSError as error:
        raise LogError(f"{file}: cannot be read ({_reason(error)})") from error


def whole_lines_quoted(file: Path) -> bool:
    """Tell whether most lines stand in quotes as a whole, as `"0;12.8;5"`."""
    encoding, skip = encoding_of(file)
    text = read_head(file)[skip:]
    if encoding != "utf-8":
        text = text.decode(encoding, "replace").encode()
    lines = [line for line in _plain(text).split(b"\n")[:500] if line.strip()]
    lines = lines[: -1 if len(lines) > 2 else None]  # the last one may be cut off
    whole = sum(_QUOTED.fullmatch(line) is not None for line in lines)
    return whole > MOST_QUOTED * len(lines) > 0


def _unquoted(lines: bytes) -> bytes:
    """Take quotes around whole lines off; doubled quotes inside become single ones."""
    plain = []
    for line in lines.split(b"\n"):
        found = _QUOTED.fullmatch(line)
        plain.append(found[1].replace(b'""', b'"') if found else line)
    return b"\n".join(plain)


def _decoded(page: BinaryIO, encoding: str) -> Iterator[bytes]:
    """Yield UTF-8 bytes (or single-byte letters, mended later) of an open file."""
    read = page.read
    if encoding == "utf-8":
        while piece := read(PORTION):
            yield piece
        return
    decoder = codecs.getincrementaldecoder(encoding)(errors="replace")
    while piece := read(PORTION):
        yield decoder.decode(piece).encode("utf-8", "replace")
    yield decoder.decode(b"", final=True).encode("utf-8", "replace")


def _plain(lines: bytes) -> bytes:
    """Return lines in UTF-8, without carriage returns."""
    if b"\r" in lines:
        lines = lines.replace(b"\r\r\n", b"\n").replace(b"\r\n", b"\n").replace(b"\r", b"\n")
    if not lines.isascii():
        lines = _utf8(lines)
    return lines


def _utf8(lines: bytes) -> bytes:
    try:
        text = lines.decode("utf-8")
    except UnicodeDecodeError:
        text = lines.decode("cp1252", "replace")
    return text.replace("\u2028", " ").replace("\x85", " ").encode("utf-8")


def _has_line_feed(file: Path, encoding: str) -> bool:
    head = read_head(file)
    if encoding == "utf-8":
        return b"\n" in head or b"\r" not in head
    text = head.decode(encoding, "replace")
    return "\n" in text or "\r" not in text


def _wide(head: bytes) -> str:
    """Recognise two-byte letters without a mark: every other byte is 0."""
    even, odd = head[0:4000:2], head[1:4000:2]
    if not odd:
        return ""
    if odd.count(0) > 0.8 * len(odd) and even.count(0) < 0.1 * len(even):
        return "utf-16-le"
    if even.count(0) > 0.8 * len(even) and odd.count(0) < 0.1 * len(odd):
        return "utf-16-be"
    return ""


def _reason(error: Exception) -> str:
    if isinstance(error, FileNotFoundError):
        return "no such file"
    if isinstance(error, OSError):
        return os.strerror(error.errno) if error.errno else str(error)
    return str(error)
