"""What matters most, told for somebody who wants to know what to measure next."""

from collections.abc import Sequence
from itertools import pairwise

from bankSim.show.blocks import Grid, Section, Story
from bankSim.show.matters_headline import matters_headline
from bankSim.show.matters_words import (
    WORTH,
    as_wide,
    at_least,
    doubt,
    helps_alone,
    is_chance,
    is_much,
    is_range,
    is_rounding,
    overlap,
    part_alone,
    percent,
    percent_of,
    settled,
    the,
    within,
)
from bankSim.show.study_words import SAFETY_OF_CHANCES, error_of
from bankSim.show.unknowns_table import drawn_section
from bankSim.sim.numbers import clean, listing, sentence
from bankSim.sim.summary import SAFETY_TEXT
from bankSim.study.advice import advice
from bankSim.study.group_words import group_words
from bankSim.study.matters import Matter, MattersResult
from bankSim.study.statistics import Estimate
from bankSim.study.to_measure import ToMeasure

MOST_DROPPED = 8
MOST_STEPS = 4  # where all that is known does not halve the spread


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


def _to_measure(result: MattersResult) -> Section | None:
    """How to measure each of them, the most promising first."""
    measure = result.to_measure
    if measure is None or is_rounding(result):
        return None
    of_name = {one.group.name: one for one in result.matters}
    steps = [of_name[group.name] for group in measure.groups]
    helping = [one for one in steps if helps_alone(result, one)]
    if not measure.halves:
        steps = helping[:MOST_STEPS]
    lines = [*_only_together(measure, steps, helping)]
    for place, one in enumerate(steps, 1):
        alone = f" ({_alone(result, one)})" if helping and len(measure.groups) > 1 else ""
        lines.append(f"{place}. {sentence(the(one.group))}{alone}: {clean(advice(one.group))}.")
    if any(overlap(one, other) for one, other in pairwise(steps)):
        lines.append("In no order where the ranges below overlap.")
    return Section("What to measure next, and how", tuple(lines))


def _only_together(
    measure: ToMeasure, steps: Sequence[Matter], helping: Sequence[Matter]
) -> list[str]:
    """Say so where no single measurement helps."""
    if not steps:
        return [
            "No short list: none of what is named above helps alone, and much stays open even with "
            "all of it known."
        ]
    return (
        ["None of these helps alone, only all together."] if len(steps) > 1 > len(helping) else []
    )


def _alone(result: MattersResult, one: Matter) -> str:
    """Say what a single measurement comes to."""
    if not helps_alone(result, one):
        return "helps only together with the others"
    part = part_alone(one)
    if is_chance(result):
        return f"this alone settles {at_least(settled(result, part * result.sd.value))}"
    if not is_range(result):
        return f"this alone leaves about {percent(part)} % of the spread"
    return f"this alone: {as_wide(result, part)}"


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
        "each of them. Alone cannot be more than in all: where draws say so, both show the surer "
        "of the two. From to: 95 of 100 studies; rows whose ranges overlap may stand in either "
        "order.",
    )
    return Section("What moves the answer", lines, Grid(columns, tuple(rows), words=1))


def _interval(one: Estimate) -> tuple[str, str]:
    part = within(one)
    return f"{100.0 * part.value:.0f}", f"{100.0 * part.low:.0f}-{100.0 * part.high:.0f}"


def _dropped(result: MattersResult) -> Section | None:
    if not result.dropped:
        return None
    names = [clean(group_words(one.group)) for one in result.dropped]
    named = f"{listing(names, MOST_DROPPED)}."
    if result.nothing_moves:
        return Section("What was tried", (f"Drawn, and without any effect on it: {named}",))
    part = f": {percent_of(result.rest.total)}" if result.rest is not None else ""
    small = "each little" if result.rest and result.rest.total.value > WORTH else "little"
    line = f"These moved the answer {small} and were drawn together{part}. They are {named}"
    title = "Many small things together" if is_much(result) else "What matters little here"
    return Section(title, (line,))


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
        *_of_range(result),
    ]
    if result.to_measure is not None and not result.to_measure.is_verified:
        part = result.to_measure.part
        lines.append(
            "What remains was estimated from draws that share these values; its interval reaches "
            f"from {_whole(part.low)} to {_whole(part.high)} of the present {doubt(result)}."
        )
    return Section("How sure this is", tuple(lines))


def _of_range(result: MattersResult) -> list[str]:
    if not is_chance(result):
        return [
            f"9 of 10: from the 5 % to the 95 % point of the {result.seen.count:,} cases of both "
            f"sets; its ends are known to about {error_of(result.seen)}. How wide that stays: as "
            "the standard deviation."
        ]
    if result.to_measure is None:
        return []
    return [
        "Settled in so many of 100: two banks that are alike in what is measured then agree so "
        "often; who tells the answer from it is right at least as often."
    ]


def _whole(part: float) -> str:
    return f"{100.0 * min(max(part, 0.0), 1.0):.0f} %"
