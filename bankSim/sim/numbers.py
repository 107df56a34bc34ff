"""Numbers and names in sentences: few digits, never in powers of ten; nothing hidden in a name."""

import math
from collections.abc import Sequence

MOST_NAMES = 6  # in a sentence
AT_ONCE_S = 5e-4  # told as the same instant


def span(seconds: float, digits: int = 3) -> str:
    """Return a length of time in the unit that suits it: s, min from 1 min on, h from 1 h on."""
    if seconds < 60.0:
        return f"{number(seconds, digits)} s"
    if seconds < 3600.0:
        return f"{number(seconds / 60.0, digits)} min"
    return f"{number(seconds / 3600.0, digits)} h"


def after(seconds: float) -> str:
    """Say when: "at once" or "after 41.0 h"."""
    return "at once" if seconds < AT_ONCE_S else f"after {span(seconds)}"


def listing(parts: Sequence[str], most: int | None = None) -> str:
    """Join as in "a, b and c"; beyond `most` the rest is counted: "a, b and 5 others"."""
    shown = list(parts)
    if most is not None and len(shown) > most + 1:
        shown = [*shown[:most], f"{len(parts) - most} others"]
    if len(shown) < 2:
        return "".join(shown)
    return f"{', '.join(shown[:-1])} and {shown[-1]}"


def clean(text: str, longest: int | None = None) -> str:
    """One printable line: control characters become "?", what is too long ends in "..."."""
    line = "".join(mark if mark.isprintable() else "?" for mark in text)
    if longest is None or len(line) <= longest:
        return line
    return line[: longest - 3].rstrip() + "..."


def quoted(name: str) -> str:
    """The name of a battery, load or charger as it stands in sentences."""
    return f'"{clean(name, 40)}"'


def named(names: Sequence[str]) -> str:
    """Return names as they stand in sentences: "a" and "b"; of many only the first six."""
    return listing([quoted(name) for name in names], MOST_NAMES)


def sentence(text: str) -> str:
    """Return text with its first letter large."""
    return text[:1].upper() + text[1:]


def number(value: float | None, digits: int = 3) -> str:
    """Round to significant digits, never in powers of ten; below 0.0005 it reads "0". [any unit]"""
    if value is None or not math.isfinite(value):
        return "-"
    if abs(value) < 0.0005:
        return "0"
    rounded = float(f"{abs(value):.{digits}g}")  # 9.996 has its digits from 10 on
    decimals = max(0, digits - 1 - math.floor(math.log10(rounded)))
    return f"{value:.{min(decimals, 6)}f}"


def rough(value: float, unit: str) -> str:
    """Return two digits with their unit, in thousands from 1000 on: "1.3 kW".

    `value` in the unit given. [any unit]
    """
    return f"{number(value / 1e3, 2)} k{unit}" if value >= 1e3 else f"{number(value, 2)} {unit}"
