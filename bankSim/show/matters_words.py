"""What stories and figures of `study matters` say alike: parts, reaches, chances to be right."""

import math

from bankSim.show.study_words import HIGH, LOW, SOLVER, bare, of_100
from bankSim.sim.numbers import clean
from bankSim.study.group_words import group_words
from bankSim.study.groups import Group
from bankSim.study.matters import Matter, MattersResult
from bankSim.study.statistics import Estimate, chance

NEXT_TO_NOTHING = 0.02  # of the present spread
TOGETHER = 0.05  # of the variance: less is not worth a word
MOST_DECIMALS = 4
WORTH = 0.05  # of the variance: less is not worth a sentence
MUCH = 0.1  # of the variance: many small things that make more of it together are not little
FEW_CASES = 20  # of the rarer answer: fewer tell nothing of what they hang on
GAIN = 0.01  # of the cases: a measurement that settles no more of them is of no use alone
NO_HELP = 0.95  # of the spread: a measurement that leaves more of it is of no use alone


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


def is_much(result: MattersResult) -> bool:
    """Tell whether all that was dropped is no little together."""
    return result.rest is not None and result.rest.total.value > MUCH


def rare_cases(result: MattersResult) -> float:
    """In how many cases the answer is not the usual one; without end where it is a number.

    Unit: [cases]
    """
    points = 2 * result.base
    return round((1.0 - result.guess.value) * points) if is_chance(result) else math.inf


def overlap(one: Matter, other: Matter) -> bool:
    """Tell whether it is open which of two groups matters more."""
    return one.total.low <= other.total.high and other.total.low <= one.total.high


def is_together(one: Matter) -> bool:
    """Tell whether a group surely does more together with others than alone."""
    apart = one.total.low > one.first.high
    return apart and one.total.value - max(one.first.value, 0.0) > TOGETHER


def nine_of_ten(result: MattersResult) -> str:
    """Say between which answers 9 of 10 of the cases seen lie."""
    low, high = ends(result)
    unit = result.answer.unit
    if low == high:
        return f"at {low} {unit}".rstrip()
    return f"between {low} and {high} {unit}".rstrip()


def ends(result: MattersResult) -> tuple[str, str]:
    """Return the 5 and 95 % points of the cases seen, with the same decimals."""
    return bare(result.seen, LOW), bare(result.seen, HIGH)


def is_range(result: MattersResult) -> bool:
    """Tell whether 9 of 10 cases differ at all: their two ends read differently."""
    low, high = ends(result)
    return low != high


def as_wide(result: MattersResult, part: float) -> str:
    """Say how wide the range of 9 of 10 cases stays: "about 40 % as wide, some 7 Ah".

    Parameters
    ----------
    result : MattersResult
    part : float
        Of the standard deviation that stays.
    """
    points = result.seen.percentiles
    width = part * (points[HIGH].value - points[LOW].value)
    decimals = len(ends(result)[1].partition(".")[2])
    while decimals < MOST_DECIMALS and width < 0.95 * 10.0**-decimals:
        decimals += 1
    some = f"{width:.{decimals}f} {result.answer.unit}".rstrip()
    return f"about {percent(part)} % as wide, some {some}"


def percent(part: float) -> str:
    """Say a part of 1 in whole percent; "<1" for less than half of one."""
    return "<1" if 0.0 < part < 0.005 else f"{100.0 * max(part, 0.0):.0f}"


def settled(result: MattersResult, sd: float) -> Estimate:
    """In how many cases the answer can be told at least, when so much of the doubt stays.

    Two banks that are alike in all that is known give the same answer with the chance 1 - 2 sd^2,
    and the better guess is right at least as often: max(p, 1 - p) >= p^2 + (1 - p)^2
    = 1 - 2 p (1 - p), where p is the chance of yes when so much is known. It is counted in as many
    pairs of banks as a set has points: Wilson's interval; and never less than the best guess.

    Parameters
    ----------
    result : MattersResult
    sd : float
        Standard deviation of yes (1) and no (0) that stays. [1]
    """
    alike = min(max(round((1.0 - 2.0 * sd**2) * result.base), 0), result.base)
    counted, guess = chance(alike, result.base), result.guess
    return Estimate(
        max(counted.value, guess.value), max(counted.low, guess.low), max(counted.high, guess.high)
    )


def at_least(part: Estimate) -> str:
    """Say a lower bound: "at least 95 of 100 cases (92 to 97)"."""
    return of_100(part) if part.value == 1.0 else f"at least {of_100(part)}"


def part_alone(one: Matter) -> float:
    """Return what part of the standard deviation stays when one group alone is known. [1]"""
    return math.sqrt(1.0 - within(one.first).value)


def helps_alone(result: MattersResult, one: Matter) -> bool:
    """Tell whether measuring one group alone is of any use."""
    part = part_alone(one)
    if is_chance(result):
        return settled(result, part * result.sd.value).value - result.guess.value >= GAIN
    return part <= NO_HELP


def too_rare(result: MattersResult) -> bool:
    """Tell whether the rarer answer was seen too seldom to rank what it hangs on."""
    return rare_cases(result) < FEW_CASES
