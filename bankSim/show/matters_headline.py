"""The first lines of what matters: how far the answer spreads, what measuring leaves of that."""

import math
from itertools import pairwise

from bankSim.show.fed_words import MOST, off_for_good, too_short
from bankSim.show.matters_words import (
    NEXT_TO_NOTHING,
    WORTH,
    as_wide,
    at_least,
    doubt,
    is_chance,
    is_much,
    is_range,
    is_rounding,
    is_together,
    nine_of_ten,
    overlap,
    percent,
    percent_of,
    rare_cases,
    settled,
    the,
    too_rare,
)
from bankSim.show.study_words import HIGH, LOW, of_100, per_100
from bankSim.show.words import counted
from bankSim.sim.demand import cutting_loads
from bankSim.sim.numbers import clean, listing, number, sentence
from bankSim.study.answers import CHARGED, RUNTIME
from bankSim.study.matters import BASE_DRAWS, Matter, MattersResult
from bankSim.study.to_measure import ToMeasure

FEW_POINTS = 128  # of each set
WIDE = 0.1  # of the variance: half an interval
MORE = 4  # times the points, where intervals are wide


def matters_headline(result: MattersResult) -> list[str]:
    """Say how far the answer spreads and what measuring leaves of that, then what moves it."""
    if result.nothing_moves:
        return [_nothing(result), *_fed(result)]
    if is_rounding(result):
        return [_rounding(result), *_fed(result)]
    found = [_now_and_then(result), *_most(result), *_rest(result)]
    return [*found, *_fed(result), *_too_few(result)]


def _fed(result: MattersResult) -> list[str]:
    """Say that the run mostly ends before the bank is empty, which hides what matters then."""
    bank = result.plan.scenario.bank
    if not bank.loads or result.answer == CHARGED or result.fed < MOST:
        return []
    off = off_for_good(result.happenings)
    if off:
        told = f"{sentence(listing(off))}: that counts as fed"
        return [
            f"{told}, and a longer run would show no more." if _is_hours(result) else f"{told}."
        ]
    counts = " (one that cuts itself off counts as fed)" if cutting_loads(bank) else ""
    return [
        f"In {per_100(result.fed)} of 100 draws the loads are still fed{counts} when the run ends: "
        f"{too_short()}."
    ]


def _is_hours(result: MattersResult) -> bool:
    return result.answer == RUNTIME


def _nothing(result: MattersResult) -> str:
    text = clean(result.answer.text)
    if is_chance(result):
        seen = "always" if result.mean.value > 0.5 else "never"
        return f"Nothing that was drawn changes {text}: it {seen} does."
    value = f"{number(result.mean.value)} {result.answer.unit}".rstrip()
    return f"Nothing that was drawn changes the {text}: {value} in all cases."


def _rounding(result: MattersResult) -> str:
    """Say that there is no spread to speak of."""
    value = f"{number(result.mean.value)} {result.answer.unit}".rstrip()
    return (
        f"The {clean(result.answer.text)}: {value} in all cases, but for less than "
        f"{_less_than(result)} %. That is next to nothing, no more than the solver's own error: "
        "there is nothing to measure, and the ranking may be rounding of the solver."
    )


def _less_than(result: MattersResult) -> str:
    """Nine of ten cases lie within so many percent of the mean, rounded up to one digit."""
    middle, points = result.mean.value, result.seen.percentiles
    part = 100.0 * max(abs(points[end].value - middle) for end in (LOW, HIGH)) / abs(middle)
    decimals = max(2, -math.floor(math.log10(max(part, 1e-4))))
    return f"{math.ceil(part * 10.0**decimals + 1e-9) / 10.0**decimals:.{decimals}f}"


def _now_and_then(result: MattersResult) -> str:
    """Say how far cases lie apart, and what remains of that after measuring."""
    if is_chance(result):
        now = (
            f"{sentence(clean(result.answer.text))}: it does in {of_100(result.mean)}, "
            f"so the best guess is right in {of_100(result.guess)}"
        )
    else:
        others = "" if is_range(result) else ", and the others further off"
        now = f"The {clean(result.answer.text)}: 9 of 10 cases lie {nine_of_ten(result)}{others}"
    return f"{now}{_then(result)}."


def _then(result: MattersResult) -> str:
    measure = result.to_measure
    if result.is_sure:
        return ": nothing needs measuring for this question"
    if measure is None:
        return "; so few draws do not tell what to measure: nothing surely moves it"
    names = listing([the(group) for group in measure.groups], 4)
    if not measure.halves:
        stays = _stays(result, measure)
        return f"; even with {names} known exactly, {stays}: {_why(result, measure)}"
    if not is_chance(result) and measure.part.value < NEXT_TO_NOTHING:
        return f"; measure {names}, and next to nothing of that is left"
    left = _left(result, measure)
    if len(measure.groups) > 3:
        what = "the doubt" if is_chance(result) else "that"
        return f"; to halve {what} it takes all of these: {names}; then {left}"
    return f"; measure {names}, and {left}"


def _why(result: MattersResult, measure: ToMeasure) -> str:
    """Say what makes so much of what stays."""
    named = {group.name for group in measure.groups}
    unsure = [one for one in result.matters if one.group.name not in named]
    if any(one.total.value > WORTH for one in unsure):
        return "much comes from what so few draws cannot tell surely"
    return "much comes from many small things"


def _left(result: MattersResult, measure: ToMeasure) -> str:
    """Say what it comes to when all of these are measured."""
    if is_chance(result):
        return f"it is settled in {at_least(settled(result, measure.remaining_sd.value))}"
    if not is_range(result):
        return f"about {percent(measure.part.value)} % of the spread is left"
    return f"that range becomes {as_wide(result, measure.part.value)}"


def _stays(result: MattersResult, measure: ToMeasure) -> str:
    """Say that much of it stays."""
    if is_chance(result):
        most = of_100(settled(result, measure.remaining_sd.value))
        return f"it is settled in hardly more than {most}"
    if not is_range(result):
        return f"about {percent(measure.part.value)} % of the spread stays"
    return f"that range stays {as_wide(result, measure.part.value)}"


def _told(result: MattersResult) -> list[Matter]:
    """Return the groups that are worth a sentence; the first in any case."""
    told = [one for one in result.matters if one.total.value >= WORTH][:3]
    return told or list(result.matters[:1])


def _most(result: MattersResult) -> list[str]:
    """Name what makes most of the spread, and how surely in this order."""
    if too_rare(result):
        return [
            f"Only {rare_cases(result)} of {2 * result.base:,} cases are otherwise: too few "
            "to tell what they hang on."
        ]
    told = _told(result)
    together = any(is_together(one) for one in told)
    verb, by = ("hangs", "on") if together else ("comes", "from")
    first, *others = [(percent_of(one.total), the(one.group)) for one in told]
    parts = [f"{first[0]} of the {doubt(result)} {verb} {by} {first[1]}"]
    parts += [f"{part} {by} {name}" for part, name in others]
    how = ": they act together with others, so these parts count more than once"
    lines = [f"{listing(parts)}{how if together else ''}."]
    if any(overlap(one, other) for one, other in pairwise(told)):
        lines.append("Where these ranges overlap it is open which weighs more.")
    return lines


def _rest(result: MattersResult) -> list[str]:
    """Say so when what was dropped as small adds up."""
    if result.rest is None or result.rest.total.value <= WORTH or too_rare(result):
        return []
    part, count = percent_of(result.rest.total), counted(len(result.dropped), "group")
    what = "many small things together" if is_much(result) else "all the rest"
    return [f"Another {part} comes from {what} ({count}), where none stood out."]


def _too_few(result: MattersResult) -> list[str]:
    """Ask for more draws where the ranking is open."""
    if result.is_sure:
        return []
    told = _told(result)
    first_is_open = len(told) > 1 and overlap(told[0], told[1])
    if result.base < FEW_POINTS or (result.base < BASE_DRAWS and first_is_open):
        return [f"Too few draws to rank surely: give --draws {BASE_DRAWS}."]
    if result.to_measure is None:
        return [f"Too few draws to rank surely: give --draws {MORE * result.base}."]
    if first_is_open and max(told[0].total.half_width, told[1].total.half_width) > WIDE:
        return [f"Too few draws to rank surely: give --draws {MORE * result.base}."]
    return []
