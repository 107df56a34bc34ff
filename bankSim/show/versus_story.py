"""Two scenarios side by side, told for somebody who has to choose."""

from bankSim.show.blocks import Grid, Section, Story
from bankSim.show.study_words import (
    HIGH,
    LOW,
    MIDDLE,
    SAFETY_OF_CHANCES,
    bare,
    bare_of_100,
    error_of,
    of_100,
    range_of,
)
from bankSim.sim.numbers import clean, number, quoted
from bankSim.sim.summary import SAFETY_TEXT
from bankSim.study.statistics import Estimate
from bankSim.study.versus import Difference, VersusResult

TRACE = 0.001  # of the median: a difference below it is none worth naming


def tell_versus(result: VersusResult) -> Story:
    """Turn the result of `study versus` into a headline and sections."""
    sections = (
        _scenarios(result),
        _numbers(result),
        _first(result),
        _how_sure(result),
        Section("Safety", (SAFETY_OF_CHANCES, SAFETY_TEXT)),
    )
    return Story("One against the other", tuple(versus_headline(result)), sections)


def versus_headline(result: VersusResult) -> list[str]:
    """Say which gives more, by how much, how surely; for the Ah and for the hours."""
    return [_sentence(one) for one in result.differences]


def _sentence(one: Difference) -> str:
    what = {"bank": "delivers", "runtime": "feeds its loads"}[one.answer.word]
    more = {"bank": "more", "runtime": "longer"}[one.answer.word]
    less = {"bank": "less", "runtime": "shorter"}[one.answer.word]
    unit, gap = one.answer.unit, one.mean
    scale = abs(one.one.percentiles[MIDDLE].value)
    if max(abs(p.value) for p in one.difference.percentiles) <= TRACE * scale:
        noun = "Ah" if one.answer.word == "bank" else "hours"
        return (
            f"In {noun} both are the same: in 9 of 10 cases the difference is "
            f"{range_of(one.difference)}."
        )
    word = more if gap.value > 0.0 else less
    sure = one.larger if gap.value > 0.0 else one.smaller
    open_ = "" if gap.low > 0.0 or gap.high < 0.0 else " (on average the two cannot be told apart)"
    return (
        f"The other {what} {number(abs(gap.value))} {unit} {word} on average"
        f"{open_}, in 9 of 10 cases {_signed(one)}; it is {word} in {of_100(sure)}."
    )


def _signed(one: Difference) -> str:
    low, high = (one.difference.percentiles[place].value for place in (LOW, HIGH))
    return f"{_plus(low)} to {_plus(high)} {one.answer.unit}"


def _plus(value: float) -> str:
    text = number(value)
    return text if value <= 0.0 or text == "0" else f"+{text}"


def _scenarios(result: VersusResult) -> Section:
    lines = [
        f"{word}: {clean(draws.plan.scenario.title)} ({clean(draws.plan.scenario.file)})"
        for word, draws in (("One", result.one), ("The other", result.other))
    ]
    return Section("Which is which", tuple(lines))


def _numbers(result: VersusResult) -> Section:
    rows = []
    for one in result.differences:
        what = {"bank": "Ah delivered", "runtime": "hours fed"}[one.answer.word]
        for name, band in (("one", one.one), ("the other", one.other)):
            points = (bare(band, place, 4) for place in (LOW, MIDDLE, HIGH))
            rows.append((f"{what}, {name}", *points, number(band.central, 4)))
        points = (
            _plus(p.value) for p in (one.difference.percentiles[n] for n in (LOW, MIDDLE, HIGH))
        )
        central = one.difference.central
        rows.append((f"{what}, difference", *points, "-" if central is None else _plus(central)))
    columns = ("", "5 %", "middle", "95 %", "single run")
    lines = ("Differences are of the same draw: the other less one.",)
    return Section("In numbers", lines, Grid(columns, tuple(rows), words=1))


def _first(result: VersusResult) -> Section:
    rows = tuple((clean(name), _chance(one), _chance(other)) for name, one, other in result.first)
    lines = ("Of 100 cases, this battery cuts out first.",)
    return Section(
        "Who cuts out first", lines, Grid(("Battery", "one", "the other"), rows, words=1)
    )


def _chance(one: Estimate | None) -> str:
    return "-" if one is None else bare_of_100(one)


def _how_sure(result: VersusResult) -> Section:
    bank = result.differences[0]
    lines = [
        f"{result.one.count:,} pairs of draws, seed {result.seed}: {result.shared} unknowns have "
        f"the same value in both, {result.alone[0]} are in one alone and {result.alone[1]} in the "
        "other alone. What is the same is told by names: give a battery the same name in both.",
        f"The mean difference of {number(bank.mean.value)} Ah is known to lie within "
        f"{number(bank.mean.low)} to {number(bank.mean.high)} Ah (95 of 100 studies), the ends of "
        f"its range to within {error_of(bank.difference)}.",
    ]
    if not result.reached:
        lines.append("The precision asked for was not reached; ask for more with --draws.")
    if result.shared == 0:
        lines.append(
            f"Nothing is the same in both, so chance differences between {quoted('one')} and "
            f"{quoted('the other')} do not cancel."
        )
    return Section("How sure this is", tuple(lines))
