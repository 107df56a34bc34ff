"""Numbers as people and instruments write them: decimal commas, thousands, units glued on."""

import math
import re
from collections.abc import Iterable
from dataclasses import dataclass


def spaced(text: str, mark: str = " ") -> list[str]:
    """Return the words of a list."""
    return text.split(mark)


POINT, COMMA = ".", ","
MISSING = frozenset(
    spaced(
        "nan na n/a n.a. n.v. null none nil - -- --- ---- ? x . * #n/a #nv #value! #wert! "
        "#div/0! #ref! #num! missing leer void ol o.l. overload error err fault invalid "
        "undef undefined <na>"
    )
) | {""}
# What a unit is in the unit that logs are kept in: V, A, s.
SCALES = {
    "V": 1.0, "mV": 1e-3, "uV": 1e-6, "kV": 1e3,
    "A": 1.0, "mA": 1e-3, "uA": 1e-6, "kA": 1e3,
    "s": 1.0, "ms": 1e-3, "us": 1e-6, "min": 60.0, "h": 3600.0, "d": 86400.0,
}  # fmt: skip
_SPELLED = {
    "V": "v volt volts vdc v(dc) vcc", "mV": "mv millivolt millivolts", "uV": "uv", "kV": "kv",
    "A": "a amp amps ampere amperes adc", "mA": "ma milliamp milliamps milliampere", "uA": "ua",
    "kA": "ka", "s": "s sec secs second seconds sek sekunde sekunden secondes seg segundos secondi",
    "ms": "ms msec millisecond milliseconds millis", "us": "us usec microseconds micros",
    "min": "min mins minute minutes minuten minutos minuti",
    "h": "h hr hrs hour hours std stunde stunden heures horas ore uur",
    "d": "d day days tag tage jours dias",
    "degC": "degc °c c celsius deg_c ºc grad grad_c degree_c deg",
    "degF": "degf °f f fahrenheit deg_f ºf", "K": "k kelvin",
    "Ah": "ah a·h a.h amp-hours amphours", "mAh": "mah", "As": "as", "C": "coulomb",
    "Wh": "wh w·h w.h watthours", "kWh": "kwh", "mWh": "mwh", "J": "j", "kJ": "kj",
    "W": "w watt watts va", "kW": "kw", "mW": "mw", "%": "% percent prozent pct",
    "ohm": "ohm ohms ω", "mohm": "mohm mω milliohm milliohms", "Hz": "hz",
    "1": "1",
}  # fmt: skip
UNITS = {word: unit for unit, words in _SPELLED.items() for word in words.split()}

_NUMBER = re.compile(
    r"([+\-]?)\s*(\d[\d.,' ]*|[.,]\d+)(?:[eE]([+\-]?\d{1,3}))?\s*([^\d\s.,+\-][^\d]*)?"
)
PLAIN = re.compile(r"[+\-]?[0-9]+(?:\.[0-9]+)?")  # as most fields are: told from others at once
_GROUPS = re.compile(r"\d{1,3}(?:([.,' ])\d{3})(?:\1\d{3})*")
_SPACES = str.maketrans({"\u00a0": " ", "\u202f": " ", "\u2009": " ", "−": "-", "–": "-",
                         "’": "'", "\ufeff": " ", "µ": "u", "μ": "u"})  # fmt: skip


@dataclass(frozen=True, slots=True)
class Marks:
    """How a file writes numbers.

    Parameters
    ----------
    decimal : str
        `POINT` or `COMMA`.
    groups : bool
        The other mark stands between thousands.
    """

    decimal: str = POINT
    groups: bool = False


def tidy(text: str) -> str:
    """Return the text of a field with plain spaces and minus signs, without quotes around it."""
    return text.translate(_SPACES).strip().strip("\"'").strip()


def is_missing(text: str) -> bool:
    """Tell whether a field says that there is no value."""
    if PLAIN.fullmatch(text.strip()):
        return False
    return tidy(text).lower() in MISSING


def unit_of(word: str) -> str:
    """Return the unit that a word spells, "" where it spells none."""
    word = tidy(word).strip(".[](){}")
    exact = {"mW": "mW", "MW": "", "Mv": "", "MV": "", "MA": "", "S": "s", "mS": ""}
    if word in exact:
        return exact[word]
    return UNITS.get(word.lower(), "")


def read_number(text: str, marks: Marks, unit: str = "") -> float:
    """Return the number that a field holds, in the unit of its column; NaN where it is none.

    Parameters
    ----------
    text : str
        Of the field.
    marks : Marks
        How the file writes numbers.
    unit : str
        Of the column; a unit glued to the number is converted to it.
        So the number is in the unit of the column.
    """
    if marks.decimal == POINT and PLAIN.fullmatch(text.strip()):
        return float(text)
    found = _NUMBER.fullmatch(_minus_first(tidy(text)))
    if found is None:
        return math.nan
    sign, digits, power, glued = found.groups()
    plain = _plain_digits(digits.strip(), marks)
    if plain is None:
        return math.nan
    scale = _glued_scale((glued or "").strip(), unit)
    try:
        value = float(f"{sign}{plain}e{power or 0}")
    except (ValueError, OverflowError):
        return math.nan
    return value if scale == 1.0 else value * scale


def decimals_of(texts: Iterable[str], marks: Marks) -> int | None:
    """Return how many decimals numbers are written with; None where that differs or is not clear.

    Digits that a power of ten or a unit of its own moves are not clear; a bare 0 tells nothing.
    """
    seen: set[int] = set()
    for text in texts:
        found = _NUMBER.fullmatch(_minus_first(tidy(text)))
        if found is None or found[2].strip() == "0":
            continue
        if found[3] or found[4] or len(seen) > 1:
            return None
        seen.add(len(_split(found[2].strip(), marks)[1]))
    return seen.pop() if len(seen) == 1 else None


def _minus_first(text: str) -> str:
    """Return `5-` and `(5)`, as books of account write what is negative, as `-5`."""
    if text.endswith("-") and text[:1].isdigit():
        return f"-{text[:-1].rstrip()}"
    if text.startswith("(") and text.endswith(")") and text[1:2].isdigit():
        return f"-{text[1:-1].strip()}"
    return text


def glued_unit(text: str) -> str:
    """Return the unit glued to a number, "" where there is none."""
    found = _NUMBER.fullmatch(tidy(text))
    return unit_of(found.group(4) or "") if found is not None else ""


def _glued_scale(glued: str, unit: str) -> float:
    """How much of the column's unit one glued unit is; NaN where they do not fit."""
    if not glued:
        return 1.0
    own = unit_of(glued)
    if own == unit or (own and not unit):
        return SCALES.get(own, 1.0) if not unit else 1.0
    if own in SCALES and unit in SCALES and own[-1] == unit[-1] and own[-1] in "VA":
        return SCALES[own] / SCALES[unit]
    return math.nan


def _plain_digits(digits: str, marks: Marks) -> str | None:
    """Return digits with a decimal point only; None where marks stand in wrong places."""
    if digits.isdigit():
        return digits
    whole, part = _split(digits, marks)
    if not whole.isdigit():
        grouped = _GROUPS.fullmatch(whole)
        if grouped is None and whole:
            return None
        whole = re.sub(r"\D", "", whole)
    if part and not part.isdigit():
        return None
    return f"{whole or 0}.{part or 0}"


def _split(digits: str, marks: Marks) -> tuple[str, str]:
    """Split at the decimal mark, that of the file or, where it can be no other, its sister."""
    other = COMMA if marks.decimal == POINT else POINT
    if marks.decimal in digits:
        if digits.count(marks.decimal) > 1:
            return digits, ""
        whole, _, part = digits.partition(marks.decimal)
        return whole, part
    if digits.count(other) == 1 and not (marks.groups and _GROUPS.fullmatch(digits)):
        whole, _, part = digits.partition(other)
        return whole, part
    return digits, ""
