"""Which keys are swept, and over which values: from the words of a command line."""

import itertools
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from bankSim.scenario.glossary import QUANTITIES
from bankSim.scenario.lines import Path
from bankSim.scenario.record import Scenario
from bankSim.scenario.variant import Variants
from bankSim.study.given_instead import given_instead
from bankSim.study.store import StudyError

MOST_COUNT, MOST_POINTS = 200, 2000
FORMS = "KEY=FROM:TO:COUNT with numbers, or KEY=VALUE,VALUE,..."
LIMIT_UNIT = QUANTITIES["trips_below"].unit  # says that a limit has one of three
LABELS = ("name", "title")  # words that change nothing but draws, which go by names


@dataclass(frozen=True, slots=True)
class SweptKey:
    """One key and the values it takes.

    Parameters
    ----------
    key : str
        As it was asked for.
    path : tuple of str and int
    values : tuple of float, int, str or bool
        In `unit`.
    unit : str
    """

    key: str
    path: Path
    values: tuple[float | int | str | bool, ...]
    unit: str

    @property
    def is_numbers(self) -> bool:
        """Tell whether the values can be drawn along an axis."""
        plain = (isinstance(one, int | float) and not isinstance(one, bool) for one in self.values)
        return all(plain)


def read_swept(words: Sequence[str], scenario: Scenario) -> tuple[SweptKey, ...]:
    """Read what is to be swept from the words of a command line.

    Parameters
    ----------
    words : sequence of str
        One or two of ``KEY=FROM:TO:COUNT`` or ``KEY=VALUE,VALUE,...``.
    scenario : Scenario

    Raises
    ------
    StudyError, ScenarioError
        When a word is not understood, or its key cannot be one of this file.
    """
    if len(words) not in (1, 2):
        raise StudyError(f"sweep: {len(words)} keys; expected one or two of {FORMS}")
    variants = Variants(scenario)
    keys = tuple(_swept(word, scenario, variants) for word in words)
    if len(keys) == 2 and keys[0].path == keys[1].path:
        raise StudyError(f"sweep: {keys[0].key} is given twice; expected two keys")
    if len(list(itertools.product(*(key.values for key in keys)))) > MOST_POINTS:
        raise StudyError(f"sweep: more than {MOST_POINTS} points; expected fewer values")
    return keys


def _swept(word: str, scenario: Scenario, variants: Variants) -> SweptKey:
    key, equals, text = word.partition("=")
    if not equals or not text.strip():
        raise StudyError(f"sweep {word!r}; expected {FORMS}")
    path = variants.path_of(key.strip())
    if path[-1] in LABELS:
        raise StudyError(f"sweep {word!r}: {path[-1]} only names things; expected another key")
    instead = given_instead(key.strip(), path, variants)
    if instead is not None:
        given, wanted = instead
        raise StudyError(f"sweep {word!r}: the file gives {given} there; expected {wanted}")
    quantity = QUANTITIES.get(str(path[-1]))
    unit = quantity.unit if quantity is not None else ""
    whole = quantity is not None and quantity.whole
    if quantity is not None and quantity.unit == LIMIT_UNIT:
        unit = _rule_unit(path, scenario)
    return SweptKey(key.strip(), path, _values(word, text, whole), unit)


def _rule_unit(path: Path, scenario: Scenario) -> str:
    """Return the unit of a rule's limit, which is that of what the rule watches."""
    match path:
        case ("battery", int(battery), "protection", int(rule), _):
            return scenario.bank.batteries[battery].rules[rule].watches.unit
    return ""  # no place of the file: that is refused where the key is written


def _values(word: str, text: str, whole: bool) -> tuple[float | int | str | bool, ...]:
    parts = text.split(":")
    if len(parts) == 3 and "," not in text:
        try:
            low, high, count = float(parts[0]), float(parts[1]), int(parts[2])
        except ValueError as error:
            raise StudyError(f"sweep {word!r}; expected {FORMS}") from error
        if not np.isfinite([low, high]).all():
            raise StudyError(f"sweep {word!r}; expected two finite numbers")
        if not 2 <= count <= MOST_COUNT:
            raise StudyError(f"sweep {word!r}; expected 2 to {MOST_COUNT} values")
        if low == high:
            raise StudyError(f"sweep {word!r}; expected two ends that differ")
        found = tuple(float(f"{value:.12g}") for value in np.linspace(low, high, count))
        return tuple(map(int, found)) if whole and all(map(float.is_integer, found)) else found
    values = tuple(_plain(part.strip()) for part in text.split(","))
    if len(set(values)) < 2 and ":" in text:
        raise StudyError(f"sweep {word!r}; expected {FORMS}; clock times as in 06:00,08:30")
    if len(set(values)) < 2:
        raise StudyError(f"sweep {word!r}; expected at least two values: {FORMS}")
    return values


def _plain(text: str) -> float | int | str | bool:
    """Return what TOML would make of a bare value; anything else is a word."""
    if text in ("true", "false"):
        return text == "true"
    for kind in (int, float):
        try:
            return kind(text)
        except ValueError:
            continue
    return text.strip("\"'")
