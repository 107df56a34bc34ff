"""Kinds of value in a scenario file; each checks itself and says what it would have accepted."""

import difflib
import math
import re
from abc import ABC, abstractmethod
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from pydantic_core import core_schema

from bankSim.scenario.refusal import refuse
from bankSim.scenario.uncertain import (
    SPREAD_FORMS,
    SPREAD_KEYS,
    read_uncertain,
    spread_schema,
)

SMALLEST = 1e-9  # of what must be more than 0: what divides by less runs out of all bounds
LARGEST_SHARE = 2.0  # what has no unit and may be no larger is a share, as 0.8 is of 80 %
LEAST_PERCENT = 5.0  # a smaller number is rather a slip than a percentage


class Kind(ABC):
    """Something a field is annotated with: `check` a value, describe it as JSON Schema."""

    @abstractmethod
    def check(self, value: object) -> object:
        """Return the checked value or raise `refuse(...)`."""

    @abstractmethod
    def schema(self) -> dict[str, Any]:
        """Return the JSON Schema of the value."""

    def __get_pydantic_core_schema__(
        self, source: object, handler: object
    ) -> core_schema.CoreSchema:
        return core_schema.no_info_plain_validator_function(self.check)

    def __get_pydantic_json_schema__(self, schema: object, handler: object) -> dict[str, Any]:
        return self.schema()


@dataclass(frozen=True, slots=True)
class Quantity(Kind):
    """A number with a unit and a range.

    Parameters
    ----------
    unit : str
        As printed; empty for a plain ratio or count.
    lowest, highest : float
        Both allowed, unless `above` is set. In `unit`.
    meaning : str
        One line for people.
    above : bool
        The lowest value itself is not allowed.
    whole : bool
        Only whole numbers.
    exact : bool
        May not be given with a spread; whole numbers never may.
    """

    unit: str
    lowest: float
    highest: float
    meaning: str
    above: bool = False
    whole: bool = False
    exact: bool = False

    @property
    def allowed(self) -> str:
        """Return the range in words, with the unit."""
        unit = f" {self.unit}" if self.unit else ""
        whole = "a whole number, " if self.whole else ""
        if self.above:
            return f"{whole}more than {_plain(self.lowest)} and up to {_plain(self.highest)}{unit}"
        return f"{whole}{_plain(self.lowest)} to {_plain(self.highest)}{unit}"

    def check(self, value: object) -> float | int:
        """Return the number, whole ones as int, or refuse it; a spread gives an `Uncertain`.

        In the unit of the key.
        """
        if isinstance(value, dict) and self._may_spread:
            return read_uncertain(value, self._holds, self.allowed, (self.lowest, self.highest))
        if isinstance(value, bool) or not isinstance(value, int | float):
            raise refuse(self.allowed + self._forms(value))
        if self.whole and not isinstance(value, int):
            raise refuse(self.allowed)
        if not self._holds(value):
            raise refuse(self.allowed + self._aside(value))
        return value if self.whole else float(value)

    def schema(self) -> dict[str, Any]:
        """Return the JSON Schema of the number."""
        unit = f" [{self.unit}]" if self.unit else ""
        limits = {
            "type": "integer" if self.whole else "number",
            "exclusiveMinimum" if self.above else "minimum": self.lowest,
            "maximum": self.highest,
        }
        words = {"description": f"{self.meaning}{unit}"}
        if not self._may_spread:
            return {**limits, **words}
        return {"oneOf": [limits, spread_schema(limits)], **words}

    def _holds(self, value: float) -> bool:
        """Tell whether a number is in range."""
        lowest = self.lowest + SMALLEST if self.above else self.lowest
        return lowest <= value <= self.highest

    @property
    def _may_spread(self) -> bool:
        return not (self.whole or self.exact)

    def _aside(self, value: float) -> str:
        """Say in brackets what a number out of range may have been meant as."""
        if 0.0 < value < SMALLEST:
            return f" ({SMALLEST:g} or more)"
        is_share = not self.unit and self.highest <= LARGEST_SHARE
        if is_share and LEAST_PERCENT <= value <= 100.0 * self.highest:
            return f" (write {value / 100.0:g} for {value:g} %)"
        return ""

    def _forms(self, value: object) -> str:
        """Say how a number is written, after something that is none."""
        if is_spread(value):
            return "; this key takes a number without a spread"
        if not isinstance(value, str | list):
            return ""
        forms = f", or {SPREAD_FORMS}" if self._may_spread else ""
        return f" (write {self._plainly(value)}){forms}"

    def _plainly(self, value: str | list[object]) -> str:
        if isinstance(value, str) and re.fullmatch(r"\s*[-+]?\d+,\d+\s*", value):
            return "a decimal point and no quotes"
        unit = f"; the unit is {self.unit}" if self.unit else ""
        marks = "quotes" if isinstance(value, str) else "brackets"
        return f"the number alone, without {marks}{unit}"


def is_spread(value: object) -> bool:
    """Tell whether somebody wrote a table with a spread."""
    return isinstance(value, dict) and not value.keys().isdisjoint(SPREAD_KEYS)


def _no_spread(value: object) -> str:
    """Say where a spread may stand, when one stands where no number does."""
    return "; only numbers may have a spread" if is_spread(value) else ""


@dataclass(frozen=True, slots=True)
class Choice(Kind):
    """One of a few words.

    Parameters
    ----------
    words : tuple of str
    meaning : str
        One line for people.
    """

    words: tuple[str, ...]
    meaning: str

    def check(self, value: object) -> str:
        """Return the word, or refuse it and name the nearest one."""
        if value in self.words and isinstance(value, str):
            return value
        near = nearest(value, self.words) if isinstance(value, str) else None
        hint = f'; did you mean "{near}"?' if near else _no_spread(value)
        raise refuse(_listed(self.words) + hint)

    def schema(self) -> dict[str, Any]:
        """Return the JSON Schema of the word."""
        return {"enum": list(self.words), "description": self.meaning}


@dataclass(frozen=True, slots=True)
class Text(Kind):
    """Printable text.

    Parameters
    ----------
    longest : int
        Most characters.
    meaning : str
    lines : bool
        Line breaks and tabs are allowed, and so is an empty text.
    """

    longest: int
    meaning: str
    lines: bool = False

    def check(self, value: object) -> str:
        """Return the text, or refuse it."""
        allowed = f"text in quotes, at most {self.longest} characters"
        if not self.lines:
            allowed = f"printable text in quotes on one line, 1 to {self.longest} characters, "
            allowed += "no blank at either end"
        if not isinstance(value, str) or len(value) > self.longest:
            raise refuse(allowed + _no_spread(value))
        visible = re.sub(r"[\n\r\t]", "", value) if self.lines else value
        empty = not self.lines and (not value or value != value.strip())
        if empty or not visible.isprintable():
            raise refuse(allowed)
        return value

    def schema(self) -> dict[str, Any]:
        """Return the JSON Schema of the text."""
        least = 0 if self.lines else 1
        return {
            "type": "string",
            "minLength": least,
            "maxLength": self.longest,
            "description": self.meaning,
        }


def time_of_day(seconds: float) -> str:
    """Write seconds after midnight as people write them in the file: "06:30"."""
    return f"{int(seconds) // 3600:02d}:{int(seconds) // 60 % 60:02d}"


@dataclass(frozen=True, slots=True)
class Clock(Kind):
    """A time of day, "HH:MM"; `midnight` also allows "24:00", the end of the day."""

    meaning: str
    midnight: bool = False

    def check(self, value: object) -> float:
        """Return the seconds after midnight, or refuse it. [s]"""
        latest = "24:00" if self.midnight else "23:59"
        text = value if isinstance(value, str) else ""
        found = re.fullmatch(r"([01]\d|2[0-3]):([0-5]\d)", text, re.ASCII)
        if found:
            return int(found[1]) * 3600.0 + int(found[2]) * 60.0
        if self.midnight and text == "24:00":
            return 86_400.0
        raise refuse(f'a time of day in quotes, "00:00" to "{latest}"' + _no_spread(value))

    def schema(self) -> dict[str, Any]:
        """Return the JSON Schema of the time."""
        late = "|24:00" if self.midnight else ""
        return {
            "type": "string",
            "pattern": f"^(([01][0-9]|2[0-3]):[0-5][0-9]{late})$",
            "description": self.meaning,
        }


@dataclass(frozen=True, slots=True)
class Flag(Kind):
    """True or false."""

    meaning: str

    def check(self, value: object) -> bool:
        """Return the flag, or refuse it."""
        if not isinstance(value, bool):
            raise refuse("true or false, without quotes" + _no_spread(value))
        return value

    def schema(self) -> dict[str, Any]:
        """Return the JSON Schema of the flag."""
        return {"type": "boolean", "description": self.meaning}


def nearest(word: str, known: tuple[str, ...]) -> str | None:
    """Return the known word most like the given one, whatever the case; None if none is."""
    plain = {candidate.lower(): candidate for candidate in known}
    found = difflib.get_close_matches(word[:80].lower(), list(plain), n=1, cutoff=0.6)
    return plain[found[0]] if found else None


def _listed(words: Sequence[str]) -> str:
    """Return words in quotes, with "or" before the last."""
    *most, end = [f'"{word}"' for word in words]
    return f"{', '.join(most)} or {end}" if most else end


def _plain(value: float) -> str:
    return f"{value:.12g}" if math.isfinite(value) else str(value)
