"""Dangers and warnings of two scenarios: which has them, how often, more often than the other."""

from dataclasses import dataclass

from bankSim.show.blocks import Grid, Section
from bankSim.show.study_words import bare_of_100, of_100
from bankSim.show.versus_names import Side
from bankSim.sim.numbers import listing, sentence
from bankSim.study.statistics import Estimate, chance
from bankSim.study.traced import SEVERITIES
from bankSim.study.versus import VersusResult

OFTEN = 0.5  # a warning that only one side raises is told from here on
FAR = 0.4  # or one that is so much more frequent on one side


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
    """

    topic: str
    severities: tuple[str | None, str | None]
    chances: tuple[Estimate, Estimate]

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
        found.append(Topic(topic, severities, chances))
    return sorted(found, key=lambda one: SEVERITIES.index(one.worst))


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
    """Name the warnings that one side alone raises often, or far more often than the other."""
    told = []
    found = [one for one in topics_of(result) if one.worst == "warning"]
    for place in (0, 1):
        only = [_alone(one, place) for one in found if one.severities[1 - place] is None]
        more = [_against(one, place) for one in found]
        for verb, parts in (("Only {} warns of", only), ("{} warns more often of", more)):
            named = [part for part in parts if part]
            if named:
                told.append(sentence(f"{verb.format(sides[place].said)} {listing(named)}."))
    return told


def _alone(one: Topic, place: int) -> str:
    own = one.chances[place]
    return f"{one.topic} ({_cases(own)})" if own.value > OFTEN else ""


def _against(one: Topic, place: int) -> str:
    own, beside = one.chances[place], one.chances[1 - place]
    far = higher(*one.chances) == place and own.value - beside.value >= FAR
    if None in one.severities or not far:
        return ""
    return f"{one.topic} ({_cases(own)} against {bare_of_100(beside)})"


def _cases(part: Estimate) -> str:
    return "in all cases" if part.value == 1.0 else f"in {bare_of_100(part)} of 100 cases"


def cautions_section(result: VersusResult, sides: tuple[Side, Side]) -> Section | None:
    """Return how often each side raises each caution; None without any."""
    rows = tuple(
        (f"{one.worst}: {one.topic}", *(bare_of_100(part) for part in one.chances))
        for one in topics_of(result)
    )
    if not rows:
        return None
    draws = result.traced[0].fan.draws
    lines = (
        f"Of 100 cases, from {draws} draws of each run in full; texts: study spread of either.",
    )
    columns = ("Caution", *(side.name for side in sides))
    return Section("Cautions", lines, Grid(columns, rows, words=1))
