"""Clock times with and without dates, and elapsed times, as microseconds."""

import re
from dataclasses import dataclass
from datetime import date

from bankSim.measured.numerals import spaced

DAY_US = 86_400_000_000
COMPACT_LETTERS = 14  # of 20240304120000
NONE = -(2**63)  # where a text is no time
_TIME = (
    r"(?P<h>\d{1,5})[:hH](?P<m>\d{1,2})(?:[:m](?P<s>\d{1,2})(?:[.,:](?P<f>\d{1,9}))?s?)?"
    r"\s*(?P<half>[aApP]\.?\s?[mM]\.?)?\s*(?P<zone>Z|z|UTC|GMT|[+\-]\d{2}:?\d{2})?"
)
_DATE = (
    r"(?:(?P<y>\d{4})(?P<d1>[-/.])(?P<mo>\d{1,2})(?P=d1)(?P<d>\d{1,2})"
    r"|(?P<a>\d{1,2})(?P<d2>[-/.])(?P<b>\d{1,2})(?P=d2)(?P<y2>\d{4}|\d{2})"
    r"|(?P<d3>\d{1,2})[- .]{1,2}(?P<name>[A-Za-zäéû]{3,9})\.?[- ,]{1,2}(?P<y3>\d{4}|\d{2})"
    r"|(?P<name4>[A-Za-z]{3,9})\.? (?P<d4>\d{1,2}),? (?P<y4>\d{4})"
    r"|(?P<c>(?:19|20)\d{6}))"
)
_STAMP = re.compile(rf"(?:{_DATE})(?:(?:\s*[T_,;]\s*|\s+|-)(?:{_TIME}))?")
_ONLY_TIME = re.compile(rf"(?:(?P<days>\d{{1,4}})\s*(?:d|days?|[.])\s*,?\s*)?{_TIME}")
_COMPACT = re.compile(r"((?:19|20)\d{6})[T_ ]?(\d{2})(\d{2})(\d{2})Z?")
_SPOKEN = re.compile(r"(?:(\d+)\s*h)?\s*(?:(\d+)\s*min|(\d+)\s*m)?\s*(?:(\d+(?:\.\d+)?)\s*s)?")
_MONTHS = {
    name: number
    for number, names in enumerate(
        spaced(
            "jan ene gen|feb fév fev|mar mär mrz mrt|apr abr avr|may mai mag maj mei|jun giu jui|"
            "jul lug|aug ago aoû|sep set|oct okt ott out|nov|dec dez dic déc",
            "|",
        ), 1,
    )
    for name in names.split()
} | {"juil": 7}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Stamp:
    """A time in microseconds, read with the day first and with the month first.

    Parameters
    ----------
    day_first, month_first : int
        Since 1970 with a date, since midnight without; `NONE` where it cannot be.
    dated : bool
    zone_us : int
        What was subtracted for the zone.
    """

    day_first: int
    month_first: int
    dated: bool
    zone_us: int = 0


def is_clock(text: str) -> bool:
    """Tell whether a text is a clock time, a date or an elapsed time with colons."""
    if not (":" in text or text.count("-") >= 2 or text.count("/") == 2 or text.count(".") >= 2
            or "T" in text or (text[:1].isdigit() and "h" in text[1:].lower())
            or len(text.strip()) == COMPACT_LETTERS):  # fmt: skip
        return False
    return read_stamp(text) is not None


def read_stamp(text: str) -> Stamp | None:
    """Read a clock time; None where the text is none."""
    text = text.strip().strip("\"'").strip()
    compact = _COMPACT.fullmatch(text)
    if compact:
        text = f"{compact[1]} {compact[2]}:{compact[3]}:{compact[4]}"
    found = _STAMP.fullmatch(text)
    if found:
        return _dated(found)
    found = _ONLY_TIME.fullmatch(text)
    if found:
        part = _time_us(found)
        if part == NONE:
            return None
        whole = part + int(found["days"] or 0) * DAY_US
        return Stamp(whole, whole, dated=False)
    return _spoken(text)


def _spoken(text: str) -> Stamp | None:
    found = _SPOKEN.fullmatch(text)
    if not found or "h" not in text or not text:
        return None
    hours, minutes, other, seconds = found.groups()
    whole = int(hours or 0) * 3600 + int(minutes or other or 0) * 60 + float(seconds or 0)
    us = round(whole * 1e6)
    return Stamp(us, us, dated=False)


def _time_us(found: re.Match[str]) -> int:
    if found["h"] is None:
        return 0
    hours, minutes, seconds = int(found["h"]), int(found["m"]), int(found["s"] or 0)
    if minutes > 59 or seconds > 60:
        return NONE
    if found["half"]:
        if not 1 <= hours <= 12:
            return NONE
        hours = hours % 12 + (12 if found["half"][0] in "pP" else 0)
    part = int((found["f"] or "0").ljust(9, "0")[:9]) // 1000
    return ((hours * 60 + minutes) * 60 + seconds) * 1_000_000 + part


def _zone_us(found: re.Match[str]) -> int:
    zone = found["zone"]
    if not zone or zone[0] not in "+-":
        return 0
    digits = zone[1:].replace(":", "")
    size = (int(digits[:2]) * 60 + int(digits[2:])) * 60_000_000
    return size if zone[0] == "+" else -size


def _dated(found: re.Match[str]) -> Stamp | None:
    part = _time_us(found)
    if part == NONE:
        return None
    zone = _zone_us(found)
    if found["a"]:
        year = _year(found["y2"])
        first, second = int(found["a"]), int(found["b"])
        one, other = _days(year, second, first), _days(year, first, second)
    else:
        one = other = _days(*_plain_date(found))
    if one is None and other is None:
        return None
    us = [NONE if day is None else day * DAY_US + part - zone for day in (one, other)]
    return Stamp(us[0], us[1], dated=True, zone_us=zone)


def _plain_date(found: re.Match[str]) -> tuple[int, int, int]:
    if found["y"]:
        return int(found["y"]), int(found["mo"]), int(found["d"])
    if found["c"]:
        return int(found["c"][:4]), int(found["c"][4:6]), int(found["c"][6:])
    name = found["name"] or found["name4"]
    month = _MONTHS.get(name.lower()[:4]) or _MONTHS.get(name.lower()[:3], 0)  # "juin", "juil"
    if found["name"]:
        return _year(found["y3"]), month, int(found["d3"])
    return int(found["y4"]), month, int(found["d4"])


def _year(text: str) -> int:
    return int(text) + (2000 if len(text) == 2 else 0)


def _days(year: int, month: int, day: int) -> int | None:
    try:
        return date(year, month, day).toordinal() - 719_163
    except ValueError:
        return None
