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
from bankSim.sim.numbers import clean, listing, number, quoted
from bankSim.sim.summary import SAFETY_TEXT
from bankSim.study.statistics import Estimate
from bankSim.study.traced import SEVERITIES
from bankSim.study.versus import Difference, VersusResult

TRACE = 0.001  # of the median: a difference below it is none worth naming


def tell_versus(result: VersusResult) -> Story:
    """Turn the result of `study versus` into a headline and sections."""
    sections = [
        _scenarios(result),
        _numbers(result),
        _batteries(result),
        _cautions(result),
        _how_sure(result),
        Section("Safety", (SAFETY_OF_CHANCES, SAFETY_TEXT)),
    ]
    told = tuple(section for section in sections if section is not None)
    return Story("One against the other", tuple(versus_headline(result)), told)


def versus_headline(result: VersusResult) -> list[str]:
    """Say which gives more, by how much, how surely; for the Ah and for the hours."""
    told = [_sentence(one) for one in result.differences]
    return [*told, *_hardest(result), *_dangers(result), *_warnings(result)]


def _hardest(result: VersusResult) -> list[str]:
    """Say which works a battery harder, when it is worth a sentence."""
    one, other = (
        band.percentiles[MIDDLE].value for band in (result.hardest.one, result.hardest.other)
    )
    if abs(other - one) <= 0.03 * max(one, other):
        return []
    side, way = ("The other", "harder") if other > one else ("One", "harder")
    return [
        f"{side} works its most loaded battery {way}: {number(max(one, other))} A at most against "
        f"{number(min(one, other))} A (medians)."
    ]


def _dangers(result: VersusResult) -> list[str]:
    """Name the dangers that only one of the two has, or has more often."""
    told = []
    for topic, (severity, one, other) in _topics(result).items():
        if severity != "danger":
            continue
        apart = one is None or other is None or one.high < other.low or other.high < one.low
        who = "One" if other is None else "The other" if one is None else "Both"
        if apart:
            told.append(f"DANGER, {topic}: one {_cases(one)}, the other {_cases(other)}.")
        elif who == "Both":
            told.append(f"DANGER in both alike: {topic}.")
    return told


def _warnings(result: VersusResult) -> list[str]:
    """Name the warnings that most cases of one raise and the other hardly ever."""
    told = {True: list[str](), False: list[str]()}
    for topic, (severity, one, other) in _topics(result).items():
        parts = [chance.value if chance else 0.0 for chance in (one, other)]
        if severity == "warning" and max(parts) > 0.5 and min(parts) < 0.1:
            told[parts[0] > parts[1]].append(topic)
    sides = ((True, "one"), (False, "the other"))
    return [f"Only {word} warns of {listing(told[side])}." for side, word in sides if told[side]]


def _cases(chance: Estimate | None) -> str:
    return "in no case seen" if chance is None else f"in {of_100(chance)}"


def _topics(result: VersusResult) -> dict[str, tuple[str, Estimate | None, Estimate | None]]:
    """Return the worst severity and both chances of every caution's topic."""
    found: dict[str, tuple[str, Estimate | None, Estimate | None]] = {}
    for side, traced in enumerate(result.traced):
        for one in traced.cautions:
            severity, *chances = found.get(one.topic, (one.severity, None, None))
            chances[side] = one.chance
            worst = min(severity, one.severity, key=SEVERITIES.index)
            found[one.topic] = (worst, chances[0], chances[1])
    return dict(sorted(found.items(), key=lambda item: SEVERITIES.index(item[1][0])))


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


def _batteries(result: VersusResult) -> Section:
    rows = tuple(
        (
            clean(one.name),
            *(bare(band, MIDDLE) for band in one.delivered),
            *(bare(band, MIDDLE) for band in one.peak),
            *(_chance(chance) for chance in one.first),
        )
        for one in result.batteries
    )
    columns = (
        "Battery", "Ah in one", "Ah in other", "peak A in one", "peak A in other", "first in one",
        "first in other",
    )  # fmt: skip
    lines = ("Medians; first: of 100 cases, this battery cuts out first.",)
    return Section("Battery by battery", lines, Grid(columns, rows, words=1))


def _cautions(result: VersusResult) -> Section | None:
    rows = tuple(
        (f"{severity}: {topic}", _chance(one), _chance(other))
        for topic, (severity, one, other) in _topics(result).items()
    )
    if not rows:
        return None
    draws = result.traced[0].fan.draws
    lines = (
        f"Of 100 cases, from {draws} draws of each run in full; texts: study spread of either.",
    )
    return Section("Cautions", lines, Grid(("Caution", "one", "the other"), rows, words=1))


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
