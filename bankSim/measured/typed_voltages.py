"""Cell voltages as people type them: points or commas, volts or millivolts, repeats with slashes.

A comma is a decimal comma where it stands between one digit and one to three others ("2,31"), and
between voltages otherwise ("2.31,2.52"). Numbers from 500 to 6000 are millivolts. What had to be
guessed is told.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass

from bankSim.measured.log import LogError
from bankSim.sim.numbers import clean, listing, number

MOST_CELLS = 16
MOST_REPEATS = 50
LOWEST_V, HIGHEST_V = 0.2, 5.0
LOWEST_MV, HIGHEST_MV = 500.0, 6000.0
COMMAS, MILLIVOLTS = "Read with decimal commas", "Read as millivolts"
MOST_TOLD = 8
Told = dict[str, list[str]]
MINUS = "\N{MINUS SIGN}"
NOT_CHARGED = "do not charge such a cell, nor the battery around it, without its maker's word"
_NUMBER = re.compile(r"[+-]?(\d+(?:\.\d*)?|\.\d+)")
_DECIMAL_COMMA = re.compile(r"\d,\d{1,3}")
_ALL_DECIMAL_COMMAS = re.compile(r"\d,\d{2,3}(,\d,\d{2,3})+")
_SPACED_UNIT = re.compile(r"(?<=\d)\s+(?=(?:mv|v|volts?)(?![a-z]))", re.IGNORECASE)
_UNIT = re.compile(r"(mv|v|volts?)\.?$", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Typed:
    """Voltages of the cells of one snapshot.

    Parameters
    ----------
    voltages_V : tuple of float
        Cell 1 first. [V]
    step_V : float
        What the last typed digit is worth. [V]
    """

    voltages_V: tuple[float, ...]
    step_V: float


def typed_groups(
    words: Sequence[str], what: str = "cell voltages"
) -> tuple[list[Typed], list[str]]:
    """Read what was typed.

    Parameters
    ----------
    words : sequence of str
        Of the command line; groups (repeats) have slashes between them.
    what : str
        For messages.

    Returns
    -------
    groups : list of Typed
        In the order typed.
    told : list of str
        How commas and millivolts were read, one sentence each.

    Raises
    ------
    LogError
        One line with the word that is wrong and what is allowed.
    """
    told: Told = {}
    parts = " ".join(words).split("/")
    if len(parts) > MOST_REPEATS:
        raise LogError(f"{what}: {len(parts)} groups; expected at most {MOST_REPEATS}")
    groups = [_group(part, what, told) for part in parts]
    return groups, [f"{how}: {listing(which, MOST_TOLD)}." for how, which in told.items()]


def _group(text: str, what: str, told: Told) -> Typed:
    """Read one group."""
    words = re.split(r"[\s;|]+", _SPACED_UNIT.sub("", text))
    numbers = [piece for word in words for piece in _pieces(word, told)]
    if not 1 <= len(numbers) <= MOST_CELLS:
        raise LogError(
            f"{what}: {len(numbers)} in {clean(text.strip(), 60)!r}; expected 1 to {MOST_CELLS}"
        )
    read = [_volts(piece, what, told) for piece in numbers]
    return Typed(tuple(value for value, _ in read), max(step for _, step in read))


def _pieces(word: str, told: Told) -> list[str]:
    """Split a word at commas, except at decimal commas."""
    bare = word.strip(",")
    body = _UNIT.sub("", bare)
    unit = bare[len(body) :]
    if _DECIMAL_COMMA.fullmatch(body):
        told.setdefault(COMMAS, []).append(body)
        return [body.replace(",", ".") + unit]
    if _ALL_DECIMAL_COMMAS.fullmatch(body):
        halves = body.split(",")
        pairs = [".".join(halves[place : place + 2]) for place in range(0, len(halves), 2)]
        told.setdefault(COMMAS, []).append(f"{clean(body, 40)} as {' '.join(pairs)}")
        return [pair + unit for pair in pairs]
    return [piece for piece in bare.split(",") if piece]


def _volts(piece: str, what: str, told: Told) -> tuple[float, float]:
    """Return a voltage and what its last digit is worth."""
    piece = piece.replace(MINUS, "-")
    body = _UNIT.sub("", piece)
    unit = piece[len(body) :].lower().rstrip(".")
    if _NUMBER.fullmatch(body) is None:
        raise LogError(f"{what}: {clean(piece, 40)!r} is no number; expected volts like 2.31")
    value, step = float(body), 10.0 ** -len(body.partition(".")[2])
    if unit == "mv" or (not unit and LOWEST_MV <= value <= HIGHEST_MV):
        told.setdefault(MILLIVOLTS, []).append(clean(body, 20))
        value, step = value / 1000.0, step / 1000.0
    if not LOWEST_V <= value <= HIGHEST_V:
        raise LogError(f"{what}: {clean(piece, 40)} {_why_not(value)}")
    return value, step


def _why_not(value: float) -> str:
    """Say what is allowed, and what such a number may be instead."""
    allowed = f"expected {number(LOWEST_V)} to {number(HIGHEST_V)} V (or 500 to 5000 for mV)"
    if 8.0 <= value <= 60.0:
        return (
            f"looks like the voltage of a whole battery; {allowed} for each cell. Where cells "
            "cannot be reached (most lead-acid batteries) there is no snapshot to take"
        )
    if value < LOWEST_V:
        where = "below 0" if value < 0.0 else "next to nothing"
        return (
            f"is no cell voltage but {where}; {allowed}. Swapped leads, a slip, or a ruined cell: "
            f"{NOT_CHARGED}"
        )
    if 1000.0 * LOWEST_V <= value < LOWEST_MV:
        return (
            f"may be {value / 100.0:g} V or {value:g} mV; {allowed}, or {value:g}mV with its unit"
        )
    return f"is no cell voltage; {allowed}"


def typed_numbers(
    text: str | None, option: str, low: float, high: float, most: int = MOST_REPEATS
) -> list[float]:
    """Read numbers with slashes or spaces between them, "148 / 149,5". In the unit of the option.

    Parameters
    ----------
    text : str or None
        None gives an empty list.
    option : str
        For messages.
    low, high : float
        Allowed range. In the unit of the option.
    most : int
        How many.
    """
    pieces = [] if text is None else [one.strip(",") for one in re.split(r"[\s/;]+", text.strip())]
    values = [_one_number(one, option, low, high) for one in pieces if one]
    if text is not None and not 1 <= len(values) <= most:
        raise LogError(f"{option} = {clean(text, 40)!r}; expected 1 to {most} numbers")
    return values


def _one_number(piece: str, option: str, low: float, high: float) -> float:
    body = piece.replace(",", ".") if piece.count(",") == 1 and "." not in piece else piece
    value = float(body) if _NUMBER.fullmatch(body) is not None else float("nan")
    if not low <= value <= high:
        raise LogError(f"{option} = {clean(piece, 40)}; expected a number from {low:g} to {high:g}")
    return value
