"""What matters most, told for somebody who wants to know what to measure next."""

import math
from itertools import pairwise

from bankSim.show.blocks import Grid, Section, Story
from bankSim.show.fed_words import MOST, too_short
from bankSim.show.matters_words import (
    NEXT_TO_NOTHING,
    best_guess,
    doubt,
    is_chance,
    is_rounding,
    is_together,
    overlap,
    percent_of,
    reach,
    settled,
    the,
    with_unit,
    within,
)
from bankSim.show.study_words import SAFETY_OF_CHANCES, bare_of_100, per_100
from bankSim.show.unknowns_table import drawn_section
from bankSim.show.words import counted
from bankSim.sim.demand import cutting_loads
from bankSim.sim.numbers import clean, listing, number, sentence
from bankSim.sim.summary import SAFETY_TEXT
from bankSim.study.advice import advice
from bankSim.study.answers import CHARGED
from bankSim.study.group_words import group_words
from bankSim.study.matters import BASE_DRAWS, Matter, MattersResult
from bankSim.study.statistics import Estimate

MOST_DROPPED = 8
WORTH = 0.05  # of the variance: less is not worth a sentence
FEW_POINTS = 128  # of each set
WIDE = 0.1  # of the variance: half an interval
MORE = 4  # times the points, where intervals are wide


def tell_matters(result: MattersResult, *, briefly: bool = False) -> Story:
    """Turn the result of `study matters` into a headline and sections; briefly for a terminal."""
    title = f"{clean(result.plan.scenario.title)}: what matters"
    sections = [
        _to_measure(result),
        _ranking(result),
        _dropped(result),
        _how_sure(result),
        drawn_section(result.plan.unknowns, briefly=briefly),
        Section("Safety", (SAFETY_OF_CHANCES, SAFETY_TEXT)),
    ]
    told = tuple(section for section in sections if section is not None)
    return Story(title, tuple(matters_headline(result)), told)


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
    counts = " (one that cuts itself off counts as fed)" if cutting_loads(bank) else ""
    return [
        f"In {per_100(result.fed)} of 100 draws the loads are still fed{counts} when the run ends: "
        f"{too_short()}."
    ]


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
    """Nine of ten cases lie within so many percent, rounded up to one digit."""
    part = 164.5 * result.sd.value / abs(result.mean.value)
    decimals = max(2, -math.floor(math.log10(max(part, 1e-4))))
    return f"{math.ceil(part * 10.0**decimals + 1e-9) / 10.0**decimals:.{decimals}f}"


def _now_and_then(result: MattersResult) -> str:
    """Say how far cases lie apart, and what remains of that after measuring."""
    if is_chance(result):
        now = (
            f"{sentence(clean(result.answer.text))}: it does in {bare_of_100(result.mean)} of 100 "
            f"cases, so the best guess is right in {best_guess(result)}"
        )
    else:
        middle, wide = with_unit(result, result.mean.value), reach(result, result.sd.value)
        now = f"The {clean(result.answer.text)}: 9 of 10 cases lie within about {wide} of {middle}"
    return f"{now}{_then(result)}."


def _then(result: MattersResult) -> str:
    measure = result.to_measure
    if measure is None:
        return ""
    names = listing([the(group) for group in measure.groups], 4)
    if not measure.halves:
        stays = _stays(result, measure.remaining_sd.value)
        return f"; even with {names} known exactly, {stays}: much comes from many small things"
    left = _left(result, measure.remaining_sd.value)
    if measure.remaining_sd.value < NEXT_TO_NOTHING * result.sd.value:
        return f"; measure {names}, and next to nothing of that is left"
    if len(measure.groups) > 3:
        what = "the doubt" if is_chance(result) else "that"
        return f"; to halve {what} it takes all of these: {names}; then {left}"
    return f"; measure {names}, and {left}"


def _left(result: MattersResult, sd: float) -> str:
    """Say what it comes to when such a standard deviation stays."""
    if is_chance(result):
        return f"it is settled in {settled(result, sd)} of 100 or more"
    return f"that becomes about {reach(result, sd)}"


def _stays(result: MattersResult, sd: float) -> str:
    """Say that much of it stays."""
    if is_chance(result):
        return f"it is settled in hardly more than {settled(result, sd)} of 100"
    return f"about {reach(result, sd)} stays"


def _told(result: MattersResult) -> list[Matter]:
    """Return the groups that are worth a sentence; the first in any case."""
    told = [one for one in result.matters if one.total.value >= WORTH][:3]
    return told or list(result.matters[:1])


def _most(result: MattersResult) -> list[str]:
    """Name what makes most of the spread, and how surely in this order."""
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
    if result.rest is None or result.rest.total.value <= WORTH:
        return []
    part, count = percent_of(result.rest.total), counted(len(result.dropped), "group")
    return [f"Another {part} comes from all the rest ({count}), where none stood out."]


def _too_few(result: MattersResult) -> list[str]:
    """Ask for more draws where the ranking is open."""
    told = _told(result)
    first_is_open = len(told) > 1 and overlap(told[0], told[1])
    if result.base < FEW_POINTS or (result.base < BASE_DRAWS and first_is_open):
        return [f"Too few draws to rank surely: give --draws {BASE_DRAWS}."]
    if first_is_open and max(told[0].total.half_width, told[1].total.half_width) > WIDE:
        return [f"Too few draws to rank surely: give --draws {MORE * result.base}."]
    return []


def _to_measure(result: MattersResult) -> Section | None:
    """How to measure each of them, the most promising first."""
    measure = result.to_measure
    if measure is None or is_rounding(result):
        return None
    groups = measure.groups if measure.halves else measure.groups[:4]
    firsts = {
        one.group.name: min(within(one.first).value, within(one.total).value)
        for one in result.matters
    }
    lines = []
    for place, group in enumerate(groups, 1):
        sd = result.sd.value * math.sqrt(1.0 - firsts.get(group.name, 0.0))
        only = f" ({_alone(result, sd)})" if len(groups) > 1 else ""
        lines.append(f"{place}. {sentence(the(group))}{only}: {clean(advice(group))}.")
    if _is_open(result, [group.name for group in groups]):
        lines.append("In no order where the ranges below overlap.")
    return Section("What to measure next, and how", tuple(lines))


def _alone(result: MattersResult, sd: float) -> str:
    """Say what a single measurement comes to."""
    if is_chance(result):
        return f"this alone settles {settled(result, sd)} of 100 or more"
    return f"this alone leaves about {reach(result, sd)}"


def _is_open(result: MattersResult, names: list[str]) -> bool:
    """Tell whether the order of some neighbours among these groups is open."""
    told = [one for one in result.matters if one.group.name in names]
    return any(overlap(one, other) for one, other in pairwise(told))


def _ranking(result: MattersResult) -> Section | None:
    if result.nothing_moves:
        return None
    rows = [
        (clean(group_words(one.group)), *_interval(one.first), *_interval(one.total))
        for one in result.matters
    ]
    if result.rest is not None:
        rows.append(("all the rest", *_interval(result.rest.first), *_interval(result.rest.total)))
    columns = ("What", "alone %", "from to", "in all %", "from to")
    of_what = "of yes and no" if is_chance(result) else "of the answer"
    lines = (
        f"Parts of the {doubt(result)}, as variance {of_what} (squares add up: what makes 75 % "
        f"of it halves the {doubt(result)} when it is known). Alone: what goes when this is known "
        "exactly and nothing else. In all: with what it does together with others; that counts for "
        "each of them. From to: 95 of 100 studies; rows whose ranges overlap may stand in either "
        "order.",
    )
    return Section("What moves the answer", lines, Grid(columns, tuple(rows), words=1))


def _interval(one: Estimate) -> tuple[str, str]:
    part = within(one)
    return f"{100.0 * part.value:.0f}", f"{100.0 * part.low:.0f}-{100.0 * part.high:.0f}"


def _dropped(result: MattersResult) -> Section | None:
    if not result.dropped:
        return None
    names = [clean(group_words(one.group)) for one in result.dropped[:MOST_DROPPED]]
    more = len(result.dropped) - len(names)
    named = f"{', '.join(names)}{f' and {more} more' if more > 0 else ''}."
    if result.nothing_moves:
        return Section("What was tried", (f"Drawn, and without any effect on it: {named}",))
    part = f": {percent_of(result.rest.total)}" if result.rest is not None else ""
    small = "each little" if result.rest and result.rest.total.value > WORTH else "little"
    line = f"These moved the answer {small} and were drawn together{part}. They are {named}"
    return Section("What matters little here", (line,))


def _how_sure(result: MattersResult) -> Section:
    start = f"{result.draws:,} draws, seed {result.seed}, in all: {result.walks} walks through all "
    if result.nothing_moves:
        line = (
            f"{start}unknowns, and no step changed the answer. What happens in rare cases only may "
            "have been missed; a study of the spread counts those."
        )
        return Section("How sure this is", (line,))
    lines = [
        f"{start}unknowns to find what moves the answer at all, then {result.base} points of each "
        "of two sets (--draws) for the parts, in which one group after the other is swapped "
        "(first-order and total indices; intervals by resampling).",
        "What goes along with something else (resistance with capacity) counts for that.",
        *_of_settled(result),
    ]
    if result.to_measure is not None and not result.to_measure.is_verified:
        part = result.to_measure.part
        lines.append(
            "What remains was estimated from draws that share these values; its interval reaches "
            f"from {_whole(part.low)} to {_whole(part.high)} of the present {doubt(result)}."
        )
    return Section("How sure this is", tuple(lines))


def _of_settled(result: MattersResult) -> list[str]:
    if not is_chance(result):
        return ["9 of 10: 1.645 standard deviations to either side, as if cases were normal."]
    return [
        "Settled in so many of 100: two banks that are alike in what is measured then agree so "
        "often; who tells the answer from it is right at least as often."
    ]


def _whole(part: float) -> str:
    return f"{100.0 * min(max(part, 0.0), 1.0):.0f} %"
