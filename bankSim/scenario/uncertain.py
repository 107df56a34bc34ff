"""A number of the file that is given with a spread: { value = 84.0, sd = 2.0 } and the like."""

import math
import re
from collections.abc import Callable
from typing import Any

from bankSim.model.spread import Shape, Spread
from bankSim.scenario.refusal import refuse

VALUE_AND_SD, VALUE_AND_PERCENT = {"value", "sd"}, {"value", "sd_percent"}
LOW_AND_HIGH = {"low", "high"}
SPREAD_FORMS = "{ value, sd } or { value, sd_percent } or { low, high } or { value, low, high }"
WIDEST_OF_RANGE = 12.0**-0.5  # of its width: the sd of a number that may lie anywhere in the range
WIDEST_OF_VALUE = 1.0  # of a value whose range begins at 0
CELLS, SHARED, INDEPENDENT = "cells", "shared", "independent"
SPREAD_KEYS = ("value", "sd", "sd_percent", "low", "high", CELLS)


class Uncertain(float):
    """A number of the file that was given with a spread; works as its central value.

    Parameters
    ----------
    spread : Spread
        In the unit of the key.
    independent : bool
        Every cell of the battery differs for itself.
    """

    spread: Spread
    independent: bool

    def __new__(cls, spread: Spread, independent: bool = False) -> "Uncertain":
        """Make it from its spread."""
        number = super().__new__(cls, spread.value)
        number.spread, number.independent = spread, independent
        return number

    def __getnewargs__(self) -> tuple[Spread, bool]:  # type: ignore[override]
        return self.spread, self.independent


def read_uncertain(
    table: dict[str, Any],
    holds: Callable[[float], bool],
    allowed: str,
    limits: tuple[float, float],
) -> Uncertain:
    """Return a number with its spread, or refuse it.

    Parameters
    ----------
    table : dict
        As in the file.
    holds : callable
        Tells whether a number is in the range of the key.
    allowed : str
        That range in words.
    limits : (float, float)
        Where a normal spread is cut. In the unit of the key.
    """
    unknown = [key for key in table if key not in SPREAD_KEYS]
    if unknown:
        plain = re.fullmatch(r"\w{1,30}", unknown[0], re.ASCII)
        which = f"; there is no {unknown[0]} in it" if plain else ""
        raise refuse(f"{allowed}, or {SPREAD_FORMS}{which}")
    if table.get(CELLS, SHARED) not in (SHARED, INDEPENDENT):
        raise refuse(f'{CELLS} = "{SHARED}" or "{INDEPENDENT}" in its table')
    numbers = {key: table[key] for key in table if key != CELLS}
    if any(isinstance(one, bool) or not isinstance(one, int | float) for one in numbers.values()):
        raise refuse(f"{SPREAD_FORMS}, each a plain number")
    for key in ("value", "low", "high"):
        if key in numbers and not holds(numbers[key]):
            raise refuse(f"{allowed} for {key} in its table")
    independent = table.get(CELLS, SHARED) == INDEPENDENT
    return Uncertain(
        _spread({key: _float(one) for key, one in numbers.items()}, limits), independent
    )


def _float(number: float) -> float:
    """Return a number as float; whole numbers beyond its range become endless."""
    try:
        return float(number)
    except OverflowError:
        return math.inf if number > 0 else -math.inf


def _spread(numbers: dict[str, float], limits: tuple[float, float]) -> Spread:
    given = set(numbers)
    if given in (LOW_AND_HIGH, LOW_AND_HIGH | {"value"}):
        low, high = numbers["low"], numbers["high"]
        if not low < high:
            raise refuse("low less than high in its table")
        middle = numbers.get("value", 0.5 * (low + high))
        if not low <= middle <= high:
            raise refuse("a value between low and high in its table")
        shape = Shape.TRIANGULAR if "value" in numbers else Shape.UNIFORM
        return Spread(shape, middle, 0.0, low, high)
    if given not in (VALUE_AND_SD, VALUE_AND_PERCENT):
        raise refuse(SPREAD_FORMS)
    value = numbers["value"]
    if value == 0.0 and "sd_percent" in numbers:
        raise refuse("sd in place of sd_percent: a percentage of 0 is nothing")
    sd = numbers["sd"] if "sd" in numbers else abs(value) * numbers["sd_percent"] / 100.0
    if not 0.0 <= sd < math.inf:
        raise refuse("an sd of 0 or more in its table")
    narrower = narrower_words(value, sd, limits, by_percent="sd_percent" in numbers)
    if narrower:
        raise refuse(narrower)
    return Spread(Shape.NORMAL, value, sd, *limits)


def narrower_words(
    value: float, sd: float, limits: tuple[float, float], *, by_percent: bool = False
) -> str | None:
    """Say what is allowed in place of a spread that is absurdly wide; None for any other.

    A normal spread is cut where the allowed range ends. One wider than a number that may lie
    anywhere in that range (its sd is width / sqrt(12)) says less than the range itself; and where
    the range begins at 0, one wider than the value itself has most of its draws far above it.

    Parameters
    ----------
    value, sd : float
        In the unit of the key.
    limits : (float, float)
        The range. In the unit of the key.
    by_percent : bool
        The file gives the sd in percent of the value.
    """
    low, high = limits
    widest, why = WIDEST_OF_RANGE * (high - low), f"the whole range is {low:g} to {high:g}"
    if low >= 0.0 and 0.0 < WIDEST_OF_VALUE * value < widest:
        widest, why = WIDEST_OF_VALUE * value, "as much as the value itself"
    if sd <= widest:
        return None
    percent = 0.01 * abs(value)
    own, unit = ("sd_percent", percent) if by_percent else ("sd", 1.0)
    other, another = ("sd", 1.0) if by_percent else ("sd_percent", percent)
    meant = sd / unit * another  # the same figure at the other key
    hint = f"; did you mean {other} = {sd / unit:g}?" if low >= 0.0 < meant <= widest else ""
    most = rounded_down(widest / unit)
    return f"an {own} of {most} or less in its table ({why}), or {{ low, high }}{hint}"


def rounded_down(value: float) -> str:
    """Write a number above 0 with three digits, none of them rounded up. [any unit]"""
    place = 10.0 ** (math.floor(math.log10(value)) - 2)
    return f"{math.floor(value / place * (1.0 + 1e-12)) * place:.3g}"


def spread_schema(limits: dict[str, Any]) -> dict[str, Any]:
    """Return the JSON Schema of a number with a spread, from that of the number."""
    sd = {"type": "number", "minimum": 0}
    return {
        "type": "object",
        "properties": {
            "value": limits,
            "low": limits,
            "high": limits,
            "sd": sd,
            "sd_percent": sd,
            CELLS: {"enum": [SHARED, INDEPENDENT]},
        },
        "additionalProperties": False,
        "oneOf": [
            {"required": ["value", "sd"], "properties": _none_of("sd_percent", "low", "high")},
            {"required": ["value", "sd_percent"], "properties": _none_of("sd", "low", "high")},
            {"required": ["low", "high"], "properties": _none_of("sd", "sd_percent")},
        ],
    }


def _none_of(*keys: str) -> dict[str, bool]:
    return dict.fromkeys(keys, False)
