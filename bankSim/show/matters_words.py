"""What stories and figures of `study matters` say alike: parts, reaches, chances to be right."""

import math

from bankSim.show.study_words import bare_of_100
from bankSim.sim.numbers import clean
from bankSim.study.group_words import group_words
from bankSim.study.groups import Group
from bankSim.study.matters import Matter, MattersResult
from bankSim.study.statistics import Estimate

NINE_OF_TEN = 1.645  # standard deviations to either side, of a normal distribution
SOLVER = 3e-4  # of the mean: a spread below it is no larger than the solver's own error
NEXT_TO_NOTHING = 0.02  # of the present spread
TOGETHER = 0.05  # of the variance: less is not worth a word
MOST_DECIMALS = 4


def the(group: Group) -> str:
    """Say a group in a sentence."""
    return f"the {clean(group_words(group))}"


def within(part: Estimate) -> Estimate:
    """Return a part of the variance between 0 and 1; an estimate may lie a little beyond."""
    value, low, high = (min(max(one, 0.0), 1.0) for one in (part.value, part.low, part.high))
    return Estimate(value, low, high)


def percent_of(part: Estimate) -> str:
    """Say a part with its interval: "94 % (86 to 100)"; without one where both read the same."""
    value, low, high = (f"{100.0 * one:.0f}" for one in _of(within(part)))
    return f"{value} %" if low == high else f"{value} % ({low} to {high})"


def _of(estimate: Estimate) -> tuple[float, float, float]:
    return estimate.value, estimate.low, estimate.high


def is_chance(result: MattersResult) -> bool:
    """Tell whether the answer is yes or no."""
    return result.answer.equals is not None


def doubt(result: MattersResult) -> str:
    """Return what is shared out between the groups."""
    return "doubt" if is_chance(result) else "spread"


def is_rounding(result: MattersResult) -> bool:
    """Tell whether the answer spreads no further than the solver errs."""
    return not is_chance(result) and result.sd.value < SOLVER * abs(result.mean.value)


def overlap(one: Matter, other: Matter) -> bool:
    """Tell whether it is open which of two groups matters more."""
    return one.total.low <= other.total.high and other.total.low <= one.total.high


def is_together(one: Matter) -> bool:
    """Tell whether a group surely does more together with others than alone."""
    apart = one.total.low > one.first.high
    return apart and one.total.value - max(one.first.value, 0.0) > TOGETHER


def reach(result: MattersResult, sd: float) -> str:
    """Half the width of the range of 9 of 10 cases, if they are normal, with its unit.

    Parameters
    ----------
    result : MattersResult
    sd : float
        Standard deviation, now or of what stays. [unit of the answer]
    """
    return with_unit(result, NINE_OF_TEN * sd)


def with_unit(result: MattersResult, value: float) -> str:
    """Round like every number of this answer."""
    return f"{value:.{_decimals(result)}f} {result.answer.unit}".rstrip()


def _decimals(result: MattersResult) -> int:
    """Two digits of what is spread now, and one at least of what would remain."""
    now = NINE_OF_TEN * result.sd.value
    if now <= 0.0:
        return 0
    decimals = max(0, 1 - math.floor(math.log10(now)))
    measure = result.to_measure
    left = NINE_OF_TEN * measure.remaining_sd.value if measure is not None else now
    if NEXT_TO_NOTHING * now < left < 9.5 * 10.0**-decimals:
        decimals += 1
    return min(decimals, MOST_DECIMALS)


def best_guess(result: MattersResult) -> str:
    """In how many of 100 cases it is right to say what is more probable."""
    value = max(result.mean.value, 1.0 - result.mean.value)
    return bare_of_100(Estimate(value, value, value))


def settled(result: MattersResult, sd: float) -> str:
    """In how many of 100 cases the answer can be told at least, when so much of the doubt stays.

    Two banks that are alike in all that is known give the same answer with the chance 1 - 2 sd^2,
    and the better guess is right at least as often: max(p, 1 - p) >= p^2 + (1 - p)^2
    = 1 - 2 p (1 - p), where p is the chance of yes when so much is known.

    Parameters
    ----------
    result : MattersResult
    sd : float
        Standard deviation of yes (1) and no (0) that stays.
    """
    mean = result.mean.value
    value = min(max(1.0 - 2.0 * sd**2, mean, 1.0 - mean), 1.0)
    return bare_of_100(Estimate(value, value, value))
