"""What matters most, told for somebody who wants to know what to measure next."""

from bankSim.show.blocks import Grid, Section, Story
from bankSim.show.study_words import SAFETY_OF_CHANCES
from bankSim.sim.numbers import clean, listing, number
from bankSim.sim.summary import SAFETY_TEXT
from bankSim.study.advice import advice
from bankSim.study.matters import MattersResult
from bankSim.study.statistics import Estimate

MOST_DROPPED = 8
WORTH = 0.05  # of the variance: less is not worth a sentence
NINE_OF_TEN = 1.645  # standard deviations to either side, of a normal distribution
MUCH_TOGETHER = 0.15  # of the variance: what comes from unknowns acting together


def tell_matters(result: MattersResult) -> Story:
    """Turn the result of `study matters` into a headline and sections."""
    title = f"{clean(result.plan.scenario.title)}: what matters"
    sections = [
        _to_measure(result),
        _ranking(result),
        _dropped(result),
        _how_sure(result),
        Section("Safety", (SAFETY_OF_CHANCES, SAFETY_TEXT)),
    ]
    told = tuple(section for section in sections if section is not None)
    return Story(title, tuple(matters_headline(result)), told)


def matters_headline(result: MattersResult) -> list[str]:
    """Say how far the answer spreads, what moves it most, and what to measure to halve that."""
    if result.nothing_moves:
        article = "" if result.answer.equals is not None else "the "
        return [f"Nothing that was drawn changes {article}{clean(result.answer.text)}."]
    return [_spread(result), _most(result), *_halving(result)]


def _unit(result: MattersResult) -> str:
    return f" {result.answer.unit}" if result.answer.unit else ""


def _spread(result: MattersResult) -> str:
    if result.answer.equals is not None:
        return (
            f"The question is {clean(result.answer.text)}: it does in "
            f"{100.0 * result.mean.value:.0f} of 100 cases."
        )
    return (
        f"The {clean(result.answer.text)}: {number(result.mean.value)}{_unit(result)} on average; "
        f"9 of 10 cases lie within about {_reach(result, result.sd.value)} of it."
    )


def _reach(result: MattersResult, sd: float) -> str:
    """Half the width of the range that holds 9 of 10 cases, if they are spread normally."""
    return f"{number(NINE_OF_TEN * sd, 2)}{_unit(result)}"


def _most(result: MattersResult) -> str:
    """Name what makes most of the variance."""
    told = [one for one in result.matters if one.total.value >= WORTH][:3]
    told = told or list(result.matters[:1])
    first, *others = [(_percent(one.total), f"the {clean(one.group.name)}") for one in told]
    parts = [f"{first[0]} of the variance comes from {first[1]}"]
    parts += [f"{part} from {name}" for part, name in others]
    together = max(one.total.value - max(one.first.value, 0.0) for one in told)
    how = ": much of it only by several of them together" if together > MUCH_TOGETHER else ""
    return f"{listing(parts)}{how}."


def _percent(part: Estimate) -> str:
    return f"{100.0 * min(max(part.value, 0.0), 1.0):.0f} %"


def _halving(result: MattersResult) -> list[str]:
    """Say what to measure, and what remains of the spread then."""
    measure = result.to_measure
    if measure is None:
        return []
    names = listing([f"the {clean(group.name)}" for group in measure.groups], 4)
    if result.answer.equals is not None:
        left = f"{_percent(measure.part)} of the doubt (as standard deviation) remains"
    else:
        left = f"9 of 10 cases lie within about {_reach(result, measure.remaining_sd.value)}"
    if not measure.halves:
        return [
            f"Even with {names} known exactly {left}: many small things add up, and no single "
            "measurement helps much."
        ]
    only = "Only together do they settle it: know" if len(measure.groups) > 3 else "Know"
    return [f"{only} {names} exactly, and {left}."]


def _to_measure(result: MattersResult) -> Section | None:
    """How to measure each of them, the most promising first."""
    measure = result.to_measure
    if measure is None:
        return None
    groups = measure.groups if measure.halves else measure.groups[:4]
    lines = [
        f"{place}. The {clean(group.name)}: {clean(advice(group))}."
        for place, group in enumerate(groups, 1)
    ]
    return Section("What to measure next, and how", tuple(lines))


def _ranking(result: MattersResult) -> Section | None:
    if result.nothing_moves:
        return None
    rows = [
        (clean(one.group.name), *_interval(one.first), *_interval(one.total))
        for one in result.matters
    ]
    if result.rest is not None:
        rows.append(("all the rest", *_interval(result.rest.first), *_interval(result.rest.total)))
    columns = ("What", "alone %", "from to", "in all %", "from to")
    lines = (
        "Alone: the part of the variance that goes when this is known exactly and nothing else. In "
        "all: with what it does together with others. From to: 95 of 100 studies.",
    )
    return Section("What moves the answer", lines, Grid(columns, tuple(rows), words=1))


def _interval(one: Estimate) -> tuple[str, str]:
    parts = (one.value, one.low, one.high)
    value, low, high = (100.0 * min(max(part, 0.0), 1.0) for part in parts)
    return f"{value:.0f}", f"{low:.0f}-{high:.0f}"


def _dropped(result: MattersResult) -> Section | None:
    if not result.dropped:
        return None
    names = [clean(one.group.name) for one in result.dropped[:MOST_DROPPED]]
    more = len(result.dropped) - len(names)
    tail = f" and {more} more" if more > 0 else ""
    line = f"These moved the answer little and were drawn together: {', '.join(names)}{tail}."
    return Section("What matters little here", (line,))


def _how_sure(result: MattersResult) -> Section:
    lines = [
        f"{result.draws:,} draws, seed {result.seed}: {result.walks} walks through all unknowns to "
        f"find what moves the answer at all, then {result.base} points of each set for the indices "
        "(variance-based, first-order and total; intervals by resampling).",
        "What goes along with something else (resistance with capacity) counts for that. The parts "
        "need not add up to 100 %: what two do together counts for both.",
    ]
    if result.to_measure is not None and not result.to_measure.is_verified:
        lines.append(
            "What remains was estimated from draws that share these values; its interval reaches "
            f"from {_percent(_low(result.to_measure.part))} to "
            f"{_percent(_high(result.to_measure.part))} of the present standard deviation."
        )
    return Section("How sure this is", tuple(lines))


def _low(one: Estimate) -> Estimate:
    return Estimate(one.low, one.low, one.low)


def _high(one: Estimate) -> Estimate:
    return Estimate(one.high, one.high, one.high)
