"""Dangers and warnings of two scenarios: which has them, how often, more often than the other."""

from dataclasses import dataclass

from bankSim.show.blocks import Grid, Section
from bankSim.show.study_words import bare_of_100, in_cases, of_100
from bankSim.show.versus_names import Side
from bankSim.sim.cautions.cells import BELOW_EMPTY
from bankSim.sim.numbers import listing, sentence
from bankSim.study.statistics import Estimate, chance
from bankSim.study.traced import SEVERITIES, CautionChance, Traced
from bankSim.study.versus import VersusResult

OFTEN = 0.5  # a warning that only one side raises is told from here on
FAR = 0.4  # or one that is so much more frequent on one side
# Left at that topic is only what is not in the graver one, so fewer cases of it are no better.
GRAVER = {"left deeply discharged": BELOW_EMPTY}


@dataclass(frozen=True, slots=True)
class Topic:
    """A caution of either scenario.

    Parameters
    ----------
    topic : str
    severities : (str or None, str or None)
        The worst of either; None where it is never raised.
    chances : (Estimate, Estimate)
        Of being so severe.
    whole : (Estimate, Estimate)
        Of being raised, whatever the severity.
    """

    topic: str
    severities: tuple[str | None, str | None]
    chances: tuple[Estimate, Estimate]
    whole: tuple[Estimate, Estimate]

    @property
    def worst(self) -> str:
        """The worse of both severities."""
        return min((one for one in self.severities if one is not None), key=SEVERITIES.index)


def topics_of(result: VersusResult) -> list[Topic]:
    """Return the cautions of both sides, the worst first."""
    sides = [{one.topic: one for one in reversed(traced.cautions)} for traced in result.traced]
    never = [chance(0, traced.fan.draws) for traced in result.traced]
    found = []
    for topic in dict.fromkeys([*sides[0], *sides[1]]):
        one, other = (side.get(topic) for side in sides)
        severities = (one.severity if one else None, other.severity if other else None)
        chances = (one.chance if one else never[0], other.chance if other else never[1])
        first, second = (_whole(traced, topic) for traced in result.traced)
        found.append(Topic(topic, severities, chances, (first, second)))
    return sorted(found, key=lambda one: SEVERITIES.index(one.worst))


def _whole(traced: Traced, topic: str) -> Estimate:
    """Chance of a topic with all its severities: a draw counts for one of them."""
    draws = traced.fan.draws
    parts = [one.chance for one in traced.cautions if one.topic == topic]
    if len(parts) == 1:
        return parts[0]
    return chance(min(round(sum(part.value for part in parts) * draws), draws), draws)


def higher(one: Estimate, other: Estimate) -> int | None:
    """Return the place of the higher one; None where the intervals overlap."""
    if one.high < other.low:
        return 1
    return 0 if other.high < one.low else None


def dangers(result: VersusResult, sides: tuple[Side, Side]) -> list[str]:
    """Tell every danger with its chance on both sides, one sentence each."""
    draws = [traced.fan.draws for traced in result.traced]
    return [_danger(one, sides, draws) for one in topics_of(result) if one.worst == "danger"]


def _danger(one: Topic, sides: tuple[Side, Side], draws: list[int]) -> str:
    place = one.severities.index("danger")
    here, there = sides[place].said, sides[1 - place].said
    own, beside = (of_100(one.chances[side]) for side in (place, 1 - place))
    lesser = one.severities[1 - place]
    more = higher(*one.chances)
    if lesser is None:
        only = "only " if more == place else ""
        never = f"in {draws[1 - place]} draws of {there} it never came up"
        return f"DANGER {only}with {here}: {one.topic}, in {own}; {never}."
    if lesser != "danger":
        return f"DANGER with {here}: {one.topic}, in {own}; with {there} a {lesser}, in {beside}."
    if own == beside:
        return f"DANGER with both: {one.topic}, in {own} with either."
    often = "" if more is None else f", more often with {sides[more].said}"
    return f"DANGER with both{often}: {one.topic}, in {own} with {here}, in {beside} with {there}."


def warnings(result: VersusResult, sides: tuple[Side, Side]) -> list[str]:
    """Name the warnings that one side alone raises often, or far more often than the other.

    Where it is a warning with one side and a note with the other, say with which it is worse.
    """
    told, every = [], topics_of(result)
    found = [one for one in every if one.worst == "warning"]
    for place in (0, 1):
        only = [_alone(one, place) for one in found if one.severities[1 - place] is None]
        more = [_against(one, place) for one in found if not _is_graver(one, 1 - place, every)]
        worse = [_worse(one, place) for one in found]
        for verb, parts in (
            ("Only {} warns of", only),
            ("{} warns more often of", more),
            ("{} is worse in", worse),
        ):
            named = [part for part in parts if part]
            if named:
                told.append(sentence(f"{verb.format(sides[place].said)} {listing(named)}."))
    return told


def _is_graver(one: Topic, place: int, every: list[Topic]) -> bool:
    """Tell whether that side has more cases of what takes the place of a topic."""
    graver = [other for other in every if other.topic == GRAVER.get(one.topic)]
    return any(higher(*other.whole) == place for other in graver)


def _worse(one: Topic, place: int) -> str:
    """A warning here that is a note there."""
    if (one.severities[place], one.severities[1 - place]) != ("warning", "note"):
        return ""
    own, beside = one.chances[place], one.whole[1 - place]
    if own.value < OFTEN:
        return ""
    return f"{one.topic} (a warning {in_cases(own)}, with the other a note {in_cases(beside)})"


def _alone(one: Topic, place: int) -> str:
    own = one.chances[place]
    return f"{one.topic} ({in_cases(own)})" if own.value > OFTEN else ""


def _against(one: Topic, place: int) -> str:
    own, beside = one.whole[place], one.whole[1 - place]
    far = higher(*one.whole) == place and own.value - beside.value >= FAR
    if one.severities[0] != one.severities[1] or not far:
        return ""
    return f"{one.topic} ({in_cases(own)} against {bare_of_100(beside)})"


def cautions_section(result: VersusResult, sides: tuple[Side, Side]) -> Section | None:
    """Return how often each side raises each caution; None without any."""
    kinds = [
        (severity, topic.topic)
        for severity in SEVERITIES
        for topic in topics_of(result)
        if any(
            _is(one, severity, topic.topic) for traced in result.traced for one in traced.cautions
        )
    ]
    rows = tuple(
        (f"{severity}: {topic}", *(_part(traced, severity, topic) for traced in result.traced))
        for severity, topic in kinds
    )
    if not rows:
        return None
    draws = result.traced[0].fan.draws
    lines = (
        f"Of 100 cases, from {draws} draws of each run in full; texts: study spread of either.",
    )
    columns = ("Caution", *(side.name for side in sides))
    return Section("Cautions", lines, Grid(columns, rows, words=1))


def _is(one: CautionChance, severity: str, topic: str) -> bool:
    return (one.severity, one.topic) == (severity, topic)


def _part(traced: Traced, severity: str, topic: str) -> str:
    """Of 100 cases, those in which a topic is just so severe."""
    own = [one.chance for one in traced.cautions if _is(one, severity, topic)]
    return bare_of_100(own[0] if own else chance(0, traced.fan.draws))
