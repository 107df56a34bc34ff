"""Short spellings of lists that people type: times of day, hours since the start."""

import re

_CLOCK = r"(\d{1,2})(?:[:.h](\d{2}))?\s*([ap]m)?"  # minutes, or the half of the day, or both
_CLOCKS = re.compile(rf"{_CLOCK}\s*(?:-|–|to)\s*{_CLOCK}", re.IGNORECASE)
_HOURS = re.compile(r"(\d+(?:[.,]\d+)?)\s*(?:-|–|to)\s*(\d+(?:[.,]\d+)?)")
CLOCKS_AS = "expected times of day as in 18:00-22:30, several with ; between them"
HOURS_AS = "expected hours as in 2-2.5, several with ; between them"


def read_daily(text: str) -> list[dict[str, str]]:
    """Return windows on the wall clock: "18:00-22:30" or "6 pm-9:30 pm".

    Raises
    ------
    ValueError
        With what is expected.
    """
    return [
        {"from": _clock(*found[:3]), "to": _clock(*found[3:])}
        for found in _each(text, _CLOCKS, CLOCKS_AS)
    ]


def _clock(hour: str, minute: str | None, half: str | None) -> str:
    """Return a time of day as the file writes it, of 24 hours."""
    if half is None and minute is not None:
        return f"{int(hour):02d}:{minute}"
    if half is None or not 1 <= int(hour) <= 12:  # "6-9 pm" and "18-22" could mean other things
        raise ValueError(CLOCKS_AS)
    return f"{int(hour) % 12 + 12 * (half.lower() == 'pm'):02d}:{minute or '00'}"


def write_daily(value: object) -> str:
    """Return windows on the wall clock as people type them."""
    if not isinstance(value, list):
        return ""
    windows = [one for one in value if isinstance(one, dict)]
    return "; ".join(f"{one.get('from', '')}-{one.get('to', '')}" for one in windows)


def read_hours(text: str) -> list[list[float]]:
    """Return windows in hours since the start.

    Raises
    ------
    ValueError
        With what is expected.
    """
    found = _each(text, _HOURS, HOURS_AS)
    return [[float(one.replace(",", ".")) for one in pair] for pair in found]


def write_hours(value: object) -> str:
    """Return windows in hours as people type them."""
    if not isinstance(value, list):
        return ""
    windows = [one for one in value if isinstance(one, list) and len(one) == 2]
    return "; ".join(f"{_plain(start)}-{_plain(end)}" for start, end in windows)


def _each(text: str, pattern: re.Pattern[str], expected: str) -> list[tuple[str, ...]]:
    parts = [part.strip() for part in re.split(r"[;\n]|,(?=\s)", text) if part.strip()]
    found = [pattern.fullmatch(part) for part in parts]
    if not found or not all(found):
        raise ValueError(expected)
    return [one.groups() for one in found if one]


def _plain(value: object) -> str:
    number = isinstance(value, int | float) and not isinstance(value, bool)
    return f"{value:.10g}" if number else str(value)
