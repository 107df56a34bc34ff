"""From a file on disk to a TOML document; what can go wrong here ends the reading at once."""

import re
import tomllib
from pathlib import Path
from typing import Any

from bankSim.errors import ScenarioError

LARGEST_BYTES = 1_000_000  # more than ten times a bank of 64; read within seconds
DEEPEST = 20

_PLACE = re.compile(r"^(.*?) \((?:at line (\d+), column (\d+)|at end of document)\)$", re.DOTALL)

_CURLY = "\u2018-\u201f\u00ab\u00bb"
_STRAIGHT = "use straight quotes, \" or ', not curly ones"

# (pattern of the offending line, what to say); the first that matches is used
_HINTS = (
    (rf"^[^#\"']*[{_CURLY}]|=\s*([\"'])(?:(?!\1).)*[{_CURLY}]\s*$", _STRAIGHT),
    (r"=\s*[-+]?[\d.]+\s*[A-Za-z%Ωµ°]", "write the number alone, its unit is the end of the key"),
    (r"=\s*[-+]?\d+,\d", "write a decimal point, not a comma"),
    (r"=\s*\d{1,2}:\d\d\b", 'write times of day in quotes: "18:00"'),
    (r"=\s*\.\d|=\s*\d+\.\s*$", "write a digit on both sides of the decimal point"),
    (r"=\s*(True|False)\b", "write true and false in small letters"),
    (r"=\s*[-+]?0\d", "write numbers without leading zeros"),
    (r"=\s*\".*\\", "write folders with / instead of \\"),
    (r"=\s*[A-Za-z]", "write words in quotes"),
    (r"=\s*$|=\s*#", "a value is missing after ="),
    (r"^[^=]*$", "expected key = value, [table] or [[table]]"),
)
_TOO_MUCH = "a value is nested too deep or a number is too long"
_ARRAYS = re.compile(
    r"\s*\[\[?\s*(battery|load|charger|battery\.(?:cells|protection)|charger\.stages)\s*\]"
)
# How the parser begins where a text in quotes runs to the end of its line, or of the file.
_UNCLOSED = ("Illegal character '\\n'", "Found invalid character '\\n'", "Unterminated string",
             'Expected "\'')  # fmt: skip
LOG_LIKE = "this looks like a measured log, not a scenario"
_LOOKED_AT, _MOSTLY = 60, 0.7
_TWICE = ("Cannot overwrite", "Cannot declare", "Duplicate", "Cannot mutate")


def read_text(path: Path, file: str) -> str:
    """Return the text of a scenario file.

    Raises
    ------
    ScenarioError
        One line, if the file is missing, not a regular file, too large, or not UTF-8 text.
    """
    return decode(read_content(path, file), file)


def read_content(path: Path, file: str, largest: int = LARGEST_BYTES) -> bytes:
    """Return what a file holds, byte for byte; `read_text` tells what is refused."""
    try:
        if not path.exists():
            raise ScenarioError([f"{file}: no such file"])
        if not path.is_file():
            raise ScenarioError([f"{file}: not a file; expected a scenario file (TOML text)"])
        if path.stat().st_size > largest:
            raise ScenarioError([f"{file}: larger than {largest // 1_000_000} MB"])
        return path.read_bytes()
    except (OSError, ValueError) as error:
        if isinstance(error, ScenarioError):
            raise
        raise ScenarioError([f"{file}: cannot be read ({plain_reason(error)})"]) from error


def decode(data: bytes, file: str) -> str:
    """Return UTF-8 text without a byte order mark, or raise a ScenarioError."""
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        raise ScenarioError([f"{file}: saved as UTF-16; expected UTF-8 text: save it as UTF-8"])
    if b"\0" in data:
        raise ScenarioError([f"{file}: not a text file; expected UTF-8 text"])
    try:
        return data.decode("utf-8-sig").replace("\r\n", "\n")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        save = "expected UTF-8 text: save it as UTF-8 in the editor"
        raise ScenarioError([f"{file}:{line}: a letter is not UTF-8; {save}"]) from error


def parse_toml(text: str, file: str) -> dict[str, Any]:
    """Return the document.

    Raises
    ------
    ScenarioError
        One line with file, line and column, if the text is empty or not TOML.
    """
    if not re.sub(r"#[^\n]*|\s", "", text):
        raise ScenarioError([f"{file}: empty; expected at least one [[battery]]"])
    try:
        document = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise ScenarioError([_told(str(error), text, file)]) from error
    except (RecursionError, ValueError) as error:
        raise ScenarioError([f"{file}: {_TOO_MUCH}"]) from error
    if _is_deep(document):
        raise ScenarioError([f"{file}: {_TOO_MUCH}"])
    return document


def _is_deep(document: dict[str, Any]) -> bool:
    """Tell whether tables and arrays are nested deeper than any scenario needs."""
    level: list[object] = [document]
    for _ in range(DEEPEST):
        level = [child for item in level for child in _children(item)]
    return bool(level)


def _children(item: object) -> list[object]:
    if isinstance(item, dict):
        return list(item.values())
    return item if isinstance(item, list) else []


def printable(text: str) -> str:
    """Return text with ? for line breaks and other characters that do not print."""
    return "".join(letter if letter.isprintable() else "?" for letter in text)


def plain_reason(error: Exception) -> str:
    """Return the system's own reason for a file that cannot be used, on one line."""
    return printable(getattr(error, "strerror", None) or str(error)).lower()


def _told(message: str, text: str, file: str) -> str:
    found = _PLACE.match(message)
    rows = text.split("\n")
    last = max(number for number, row in enumerate(rows, 1) if row.strip())
    line = int(found[2]) if found and found[2] else last
    column = f":{found[3]}" if found and found[3] else ""
    reason = printable(found[1] if found else message)[:120]
    reason = reason[:1].lower() + reason[1:]
    if message.startswith(_TWICE):
        array = _ARRAYS.match(rows[line - 1])
        if array:
            reason = f"write [[{array[1]}]], with double brackets, each time"
        return f"{file}:{line}{column}: given twice or already closed; {reason}"
    if looks_like_log(text):
        return f"{file}:{line}{column}: not valid TOML; {LOG_LIKE}"
    if message.startswith(_UNCLOSED) and not re.search(_HINTS[0][0], rows[line - 1]):
        open_ = (n for n, row in enumerate(rows, 1) if re.search(r"[=\[,]\s*'[^']*$", row))
        line = line if column else next(open_, line)  # the parser looks on to the end of the file
        return f"{file}:{line}{column}: not valid TOML: a closing quote is missing"
    hint = next((say for pattern, say in _HINTS if re.search(pattern, rows[line - 1])), None)
    return f"{file}:{line}{column}: not valid TOML: {reason}" + (f"; {hint}" if hint else "")


def looks_like_log(text: str) -> bool:
    """Tell whether most of the first lines are rows of numbers with separators between them."""
    rows = [row for row in text.split("\n", _LOOKED_AT)[:_LOOKED_AT] if row.strip(" \r")]
    rows = [row for row in rows if not row.lstrip().startswith("#")]
    found = sum(_is_row(row) for row in rows)
    return found > 1 and found > _MOSTLY * len(rows)


def _is_row(row: str) -> bool:
    """Tell whether a line holds two numbers or clock times, or more of them, and no key."""
    mark = next((one for one in ";\t" if one in row), ",")
    fields = [one.strip(" \"'") for one in row.split(mark)]
    return "=" not in row and sum(bool(re.match(r"[-+]?[.,]?\d", one)) for one in fields) > 1
