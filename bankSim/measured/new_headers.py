"""Headers that return halfway down a file in another order or with another separator."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from bankSim.measured.header_words import UNIT_MEANS, split_unit
from bankSim.measured.layout import SEPARATORS, Layout, marks_of, split_line
from bankSim.measured.numerals import COMMA, POINT, SCALES, Marks, read_number, tidy

STARTS = np.frombuffer(
    b'"#/ [' + bytes(range(65, 91)) + bytes(range(97, 123)) + bytes(range(0xC2, 0xF5)), np.uint8
)
LONGEST = 5_000  # bytes of a row of headers
FEW_HEADERS = 20
SAME = (1.0, 0.0)  # as under the first headers
TO_CELSIUS = {"degC": (1.0, 0.0), "degF": (1.0 / 1.8, -32.0 / 1.8), "K": (1.0, -273.15)}
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
    scales, shifts : tuple of float
        What the numbers are multiplied by, and what is added then, for headers with other units.
        [1], in the unit of the first headers.
    """

    separator: str
    places: tuple[int, ...]
    marks: Marks | None = None
    scales: tuple[float, ...] = ()
    shifts: tuple[float, ...] = ()

    def row(self, line: str, layout: Layout) -> str:
        """Return a row as it would stand under the first headers."""
        fields = split_line(line, self.separator)
        if not any(one.strip() for one in fields):
            return ""
        new = [fields[p] if 0 <= p < len(fields) else "" for p in self.places]
        new = [self._scaled(one, k, shift) if (k, shift) != SAME else one
               for one, k, shift in zip(new, self.scales, self.shifts, strict=True)]  # fmt: skip
        if self.marks is not None and self.marks.decimal != layout.marks.decimal:
            new = [_exchanged(one) for one in new]
        mark = "\t" if layout.separator == " " else layout.separator
        return mark.join(f'"{tidy(one)}"' if mark in one else tidy(one) for one in new)

    def _scaled(self, text: str, scale: float, shift: float) -> str:
        """Return a number in the unit of the first headers, written as below the new ones."""
        marks = self.marks or Marks()
        value = read_number(text, marks)
        plain = f"{value * scale + shift:.12g}".replace(POINT, marks.decimal)
        return text if math.isnan(value) else plain


def _exchanged(text: str) -> str:
    """Exchange decimal points and commas in a number; leave clock times and words."""
    plain = tidy(text)
    if not plain.strip("+-0123456789.,' eE") and plain.count(".") + plain.count(",") <= 3:
        return plain.translate(_EXCHANGED)
    return text


def new_mapping(line: str, layout: Layout) -> Mapping | None:
    """Return how the rows below a line are to be read; None where it is no row of headers."""
    units = [split_unit(tidy(one)) for one in layout.headers]
    heads = [name.strip().lower() for name, _ in units]
    named = [one for one in heads if one]
    if len(named) < 2:
        return None
    best: list[str] = []
    found: list[tuple[str, str]] = []
    chosen = ""
    for separator in SEPARATORS:
        split = [split_unit(tidy(one)) for one in split_line(line.lstrip("# "), separator)]
        names = [name.strip().lower() for name, _ in split]
        if len(set(names) & set(named)) > len(set(best) & set(named)):
            best, chosen, found = names, separator, split
    if len(set(best) & set(named)) * 3 < len(set(named)) * 2 or len(set(best) & set(named)) < 2:
        return None
    seen: dict[str, int] = {}
    places, scales = [], []
    for head, (_, unit) in zip(heads, units, strict=True):
        first = seen.get(head, 0)
        place = best.index(head, first) if head and head in best[first:] else -1
        seen[head] = place + 1
        places.append(place)
        scales.append(_scale(found[place][1] if place >= 0 else "", unit))
    factors, shifts = zip(*scales, strict=True)
    return Mapping(chosen, tuple(places), None, factors, shifts)


def _scale(new: str, old: str) -> tuple[float, float]:
    """Return what numbers in the new unit are multiplied by, and what is added, for the old one.

    1 and 0 where they do not compare.
    """
    if new in TO_CELSIUS and old in TO_CELSIUS and new != old:
        (k, shift), (old_k, old_shift) = TO_CELSIUS[new], TO_CELSIUS[old]
        return k / old_k, (shift - old_shift) / old_k
    same = UNIT_MEANS.get(new) == UNIT_MEANS.get(old)
    return (SCALES[new] / SCALES[old], 0.0) if same and new in SCALES and old in SCALES else SAME


def is_usual(mapping: Mapping, layout: Layout) -> bool:
    """Tell whether the rows stand as under the first headers."""
    named = [place for place, head in enumerate(layout.headers) if head.strip()]
    return (
        mapping.separator == layout.separator
        and set(zip(mapping.scales, mapping.shifts, strict=True)) == {SAME}
        and all(mapping.places[place] == place for place in named)
    )


def header_lines(block: bytes, layout: Layout) -> list[tuple[int, Mapping]]:
    """Return the lines of a portion that hold headers, with what they say, counted from 0."""
    data = np.frombuffer(block, np.uint8)
    ends = np.flatnonzero(data == 10)
    starts = np.concatenate([[0], ends[:-1] + 1]) if ends.size else np.empty(0, int)
    likely = np.isin(data[starts], STARTS) & (ends - starts < LONGEST)
    first = next((split_unit(tidy(one))[0].lower() for one in layout.headers if one.strip()), "")
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
    return replace(mapping, marks=marks_of(rows, mapping.separator))


def before_new_headers(lines: list[str]) -> list[str]:
    """Return the lines above headers that return in another form; all where they do not."""
    seen: dict[str, set[str]] = {}  # from rows without numbers to their words
    for place, line in enumerate(lines):
        if not any(mark.isalpha() for mark in line[:200]):
            continue
        names = (split_unit(one)[0] for one in line.translate(_TO_TABS).split("\t"))
        words = set(_names(list(names))) - {""}
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
