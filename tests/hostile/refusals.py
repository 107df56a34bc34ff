"""Does a refusal say where, what and what would do? The form of its lines, not their wit."""

import re

LONGEST = 1200  # characters of a line
ALLOWED = re.compile(
    r"expected|known key|is missing|not valid TOML|given twice|does not have|saved as|no such file"
    r"|not a file|larger than|write |say which|say --|use |needs|does not go with|cannot be read"
    r"|nested too deep|a number is too long|has no rows|more faults?|not UTF-8|not a text file"
)
WHOLE_FILE = re.compile(
    r"empty; expected|larger than|not a text file|saved as UTF-16|a value is nested too deep"
    r"|and \d+ more faults?|not a file|no such file|cannot be read"
)
PROGRESS = re.compile(r"ompiling|: \d+ of \d+( at most)?$")
SUBJECT = re.compile(r"\w\.(csv|toml)\b|--[a-z]|simulation\.")
PLACED = re.compile(r"\d+(:\d+)?: \S")
KEYED = re.compile(r"\d+: [\w\".\[\]-]")
TABLE_NAMED = re.compile(r"(?:ocv_table|profile) = \"[^\"]*\\.csv\" ?[^;]")
ROW = re.compile(r"row \d+|header|no such file|not a file|larger|no rows|empty|1 row|cannot be read"
                 r"|rises with charge|expected at most|text file|UTF-16")  # fmt: skip


def of_scenario(lines: list[str], file: str) -> list[str]:
    """Return what is wrong with the lines of a refused scenario; mostly nothing."""
    if not lines:
        return ["refused without a line"]
    return [wrong for line in lines for wrong in _line(line, file)]


def _line(line: str, file: str) -> list[str]:
    wrong = _any(line, file)
    rest = line.removeprefix(f"{file}: ")
    if rest != line and WHOLE_FILE.match(rest):
        return wrong
    rest = line.removeprefix(f"{file}:")
    if not PLACED.match(rest):
        wrong.append(f"no line of the file: {line[:200]!r}")
    elif "not valid TOML" not in rest and "given twice" not in rest and "UTF-8" not in rest:
        if not KEYED.match(rest):
            wrong.append(f"no key: {line[:200]!r}")
        if TABLE_NAMED.search(rest) and not ROW.search(rest + "expected"):
            wrong.append(f"a table without its row: {line[:200]!r}")
    return wrong


def of_log(text: str, file: str) -> list[str]:
    """Return what is wrong with the line of a refused log or table."""
    wrong = _any(text, file)
    if not re.match(re.escape(file) + r"[:,] ?\S", text):
        wrong.append(f"no file: {text[:200]!r}")
    return wrong


def of_curve(text: str) -> list[str]:
    """Return what is wrong with what a table of a scenario is refused with, after its name."""
    wrong = _any(text, "")
    if not re.match(r" row \d+: |: | is empty; expected| has (no|\d+) rows?", text):
        wrong.append(f"no place: {text[:200]!r}")
    return wrong


def of_command(text: str) -> list[str]:
    """Return what is wrong with what a refused command said: lines with a file, option or column.

    A line of progress may stand before them.
    """
    lines = [line for line in text.splitlines() if line.strip() and not PROGRESS.search(line)]
    if not lines:
        return ["refused without a line"]
    return [wrong for line in lines for wrong in _told(line)]


def _told(line: str) -> list[str]:
    wrong = _any(line, "")
    if not SUBJECT.search(line):
        wrong.append(f"no file and no option: {line[:200]!r}")
    return wrong


def _any(line: str, file: str) -> list[str]:
    wrong = []
    if not line.isprintable():
        wrong.append(f"not one printable line: {line[:200]!r}")
    if len(line) > LONGEST + len(file):
        wrong.append(f"{len(line)} letters long: {line[:200]!r}")
    if not ALLOWED.search(line.removeprefix(file)):
        wrong.append(f"does not say what is allowed: {line[:200]!r}")
    return wrong
