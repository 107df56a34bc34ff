"""Differences in numbers: as many decimals as they are worth, and when they matter at all."""

import math

from bankSim.show.study_words import HIGH, LOW, MIDDLE, SOLVER
from bankSim.sim.numbers import number
from bankSim.study.answers import RUNTIME
from bankSim.study.versus import Difference

PRACTICAL = 0.005  # of the median: a smaller difference changes nothing that anybody does
UNITS = ((1.0, 60.0, "s"), (60.0, 3600.0, "min"), (3600.0, math.inf, "h"))


def middle_of_both(one: Difference) -> float:
    """Return the larger of the medians of both sides. In the unit of the answer."""
    return max(abs(band.percentiles[MIDDLE].value) for band in (one.one, one.other))


def reach_of(one: Difference) -> float:
    """Return how far from 0 the difference gets in 9 of 10 cases, either way.

    In the unit of the answer.
    """
    return max(abs(one.difference.percentiles[place].value) for place in (LOW, HIGH))


def is_nothing(one: Difference) -> bool:
    """Tell whether neither side gives anything."""
    return middle_of_both(one) == reach_of(one) == 0.0


def is_slight(one: Difference) -> bool:
    """Tell whether the difference makes no practical difference in 9 of 10 cases."""
    return reach_of(one) <= PRACTICAL * middle_of_both(one)


def more_on_average(one: Difference) -> int | None:
    """Return the side that gives more on average; None where draws or solver do not tell."""
    if one.mean.low <= 0.0 <= one.mean.high or abs(one.mean.value) < SOLVER * middle_of_both(one):
        return None
    return 1 if one.mean.value > 0.0 else 0


def decimals_of(one: Difference) -> int:
    """Return the decimals for both sides and their difference: four digits of the largest."""
    return decimals_at(max(band.percentiles[HIGH].value for band in (one.one, one.other)), 4)


def decimals_at(scale: float, digits: int) -> int:
    """Return the decimals that give a number of this scale so many digits. [any unit]"""
    return max(0, digits - 1 - math.floor(math.log10(max(abs(scale), 0.1))))


def plain(value: float | None, decimals: int) -> str:
    """Write with these decimals; "-" where there is none. [any unit]"""
    if value is None or not math.isfinite(value):
        return "-"
    return f"{round(value, decimals) + 0.0:.{decimals}f}"


def signed(value: float | None, decimals: int) -> str:
    """Write with a sign, none where it rounds to 0; "-" where there is none. [any unit]"""
    text = plain(value, decimals)
    return f"+{text}" if text != "-" and float(text) > 0.0 else text


def below(value: float, one: Difference) -> str:
    """Return a round bound of a small difference, never below the solver's error: "0.2 Ah".

    In any unit. [any unit]
    """
    bound = max(value, SOLVER * middle_of_both(one))
    if one.answer.unit != RUNTIME.unit:
        return f"{_round_up(bound)} {one.answer.unit}"
    factor, _, unit = next(row for row in UNITS if 3600.0 * bound < row[1])
    return f"{_round_up(3600.0 * bound / factor)} {unit}"


def _round_up(value: float) -> str:
    """Return the next 1, 2 or 5 with zeros."""
    power = 10.0 ** math.floor(math.log10(value))
    leading = next(step for step in (1.0, 2.0, 5.0, 10.0) if step * power >= value * (1.0 - 1e-9))
    return number(leading * power, 1)
