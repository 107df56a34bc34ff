"""Headers that are nothing but a unit: "min", "H", "d"."""

from dataclasses import replace

from bankSim.measured.column import Column, rises
from bankSim.measured.header_words import TEMPERATURE, TIME, Header, bare_unit

KELVIN = (220.0, 350.0)  # near room warmth
SURE = 3.0  # score of a header
_LIMITS = frozenset(("max", "maximum", "avg", "mean", "average", "mittel"))


def with_bare_units(columns: list[Column]) -> list[Column]:
    """Take a header that is but a unit at its word, where it is the only one and nothing else fits.

    "min" may be the lowest of something, "H" or "S" anything: so only where no other column is of
    that meaning.
    """
    bare = [bare_unit(c.header.text) if _unread(c) else None for c in columns]
    told = {meaning for c in columns for meaning, score in c.header.scores.items() if score > SURE}
    if any(c.clock for c in columns):
        told.add(TIME)
    if any(_LIMITS & set(c.header.words) for c in columns):
        told.add(TIME)  # a "min" beside a "max"
    of = [next(iter(one.scores)) if one else "" for one in bare]
    return [
        replace(c, header=one)
        if one and meaning not in told and of.count(meaning) == 1 and _can_be(c, one, meaning)
        else c
        for c, one, meaning in zip(columns, bare, of, strict=True)
    ]


def _can_be(column: Column, header: Header, meaning: str) -> bool:
    """Tell whether the numbers fit the unit: times rise, kelvins are near room warmth."""
    if meaning == TIME:
        return rises(column)
    if meaning == TEMPERATURE and len(header.text.strip()) == 1:
        return header.unit == "K" and KELVIN[0] < column.middle < KELVIN[1]
    return True


def _unread(column: Column) -> bool:
    """Tell whether a header that may be a unit was not understood as one."""
    scores = column.header.scores
    return column.numeric and max(scores.values(), default=0.0) <= SURE
