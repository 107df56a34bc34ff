"""Headers that return halfway down a file in another order or with another separator."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from bankSim.measured.layout import SEPARATORS, Layout, marks_of, split_line
from bankSim.measured.numerals import COMMA, POINT, Marks, tidy

STARTS = np.frombuffer(
    b'"#/ [' + bytes(range(65, 91)) + bytes(range(97, 123)) + bytes(range(0xC2, 0xF5)), np.uint8
)
LONGEST = 5_000  # bytes of a row of headers
FEW_HEADERS = 20
SAMPLE = 200  # rows looked at for the decimal mark


def _names(fields: Sequence[str]) -> list[str]:
    return [tidy(one).lower() for one in fields]


@dataclass(frozen=True, slots=True)
class Mapping:
    """How rows below new headers become rows of the table.

    Parameters
    ----------
    separator : str
    places : tuple of int
        Where each column of the table stands now, counted from 0; -1 where it is missing.
    marks : Marks or None
        None until the first rows were looked at.
    """

    separator: str
    places: tuple[int, ...]
    marks: Marks | None = None

    def row(self, line: str, layout: Layout) -> str:
        """Return a row as it would stand under the first headers."""
        fields = split_line(line, self.separator)
        if not any(one.strip() for one in fields):
            return ""
        new = [fields[p] if 0 <= p < len(fields) else "" for p in self.places]
        if self.marks is not None and self.marks.decimal != layout.marks.decimal:
            new = [_exchanged(one) for one in new]
        mark = "\t" if layout.separator == " " else layout.separator
        return mark.join(f'"{tidy(one)}"' if mark in one else tidy(one) for one in new)


def _exchanged(text: str) -> str:
    """Exchange decimal points and commas in a number; leave clock times and words."""
    plain = tidy(text)
    if not plain.strip("+-0123456789.,' eE") and plain.count(".") + plain.count(",") <= 3:
        return plain.translate(_EXCHANGED)
    return text


def new_mapping(line: str, layout: Layout) -> Mapping | None:
    """Return how the rows below a line are to be read; None where it is no row of headers."""
    heads = _names(layout.headers)
    named = [one for one in heads if one]
    if len(named) < 2:
        return None
    best: list[str] = []
    chosen = ""
    for separator in SEPARATORS:
        names = _names(split_line(line.lstrip("# "), separator))
        if len(set(names) & set(named)) > len(set(best) & set(named)):
            best, chosen = names, separator
    if len(set(best) & set(named)) * 3 < len(set(named)) * 2 or len(set(best) & set(named)) < 2:
        return None
    seen: dict[str, int] = {}
    places = []
    for head in heads:
        first = seen.get(head, 0)
        place = best.index(head, first) if head and head in best[first:] else -1
        seen[head] = place + 1
        places.append(place)
    return Mapping(chosen, tuple(places))


def is_usual(mapping: Mapping, layout: Layout) -> bool:
    """Tell whether the rows stand as under the first headers."""
    named = [place for place, head in enumerate(layout.headers) if head.strip()]
    return mapping.separator == layout.separator and all(
        mapping.places[place] == place for place in named
    )


def header_lines(block: bytes, layout: Layout) -> list[tuple[int, Mapping]]:
    """Return the lines of a portion that hold headers, with what they say, counted from 0."""
    data = np.frombuffer(block, np.uint8)
    ends = np.flatnonzero(data == 10)
    starts = np.concatenate([[0], ends[:-1] + 1]) if ends.size else np.empty(0, int)
    likely = np.isin(data[starts], STARTS) & (ends - starts < LONGEST)
    first = next((one.strip().lower() for one in layout.headers if one.strip()), "")
    found = []
    for place in np.flatnonzero(likely).tolist():
        raw = block[starts[place] : ends[place]]
        text = raw.decode("utf-8", "replace")
        if first in text.lower():
            mapping = new_mapping(text, layout)
            if mapping is not None:
                found.append((place, mapping))
    return found


def with_marks(mapping: Mapping, lines: Sequence[str]) -> Mapping:
    """Find out how numbers are written below new headers."""
    rows = [split_line(line, mapping.separator) for line in lines[:SAMPLE]]
    return Mapping(mapping.separator, mapping.places, marks_of(rows, mapping.separator))


def before_new_headers(lines: list[str]) -> list[str]:
    """Return the lines above headers that return in another form; all where they do not."""
    seen: dict[str, set[str]] = {}  # from rows without numbers to their words
    for place, line in enumerate(lines):
        if not any(mark.isalpha() for mark in line[:200]):
            continue
        words = set(_names(line.translate(_TO_TABS).split("\t"))) - {""}
        if len(words) < 3 or any(word[:1].isdigit() for word in words):
            continue
        plain = line.replace(" ", "").replace('"', "").strip().rstrip(",;\t|").lower()
        if plain not in seen and any(_alike(words, one) for one in seen.values()):
            return lines[:place]
        if len(seen) < FEW_HEADERS:
            seen[plain] = words
    return lines


def _alike(words: set[str], others: set[str]) -> bool:
    both = len(words & others)
    return both >= 3 and both * 3 >= len(others) * 2


_TO_TABS = str.maketrans(",;|", "\t\t\t")
_EXCHANGED = str.maketrans(POINT + COMMA, COMMA + POINT)
