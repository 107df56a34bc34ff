"""What the two sides of `study versus` are called: titles, file names, or first and second file."""

from dataclasses import dataclass
from pathlib import Path

from bankSim.scenario.record import Scenario
from bankSim.show.words import shortened
from bankSim.sim.numbers import clean, quoted
from bankSim.study.versus import VersusResult

LONGEST = 24


@dataclass(frozen=True, slots=True)
class Side:
    """One of the two scenarios.

    Parameters
    ----------
    name : str
        In a table or a figure: hut-same-end.
    said : str
        In a sentence: "hut-same-end" with its quotation marks, or the first file without.
    """

    name: str
    said: str


def sides_of(result: VersusResult) -> tuple[Side, Side]:
    """Name both by their titles where these are short and differ, else by their files."""
    one, other = (draws.plan.scenario for draws in (result.one, result.other))
    for pair in (_titles(one, other), _stems(one, other)):
        if all(pair) and pair[0] != pair[1]:
            return (Side(pair[0], quoted(pair[0])), Side(pair[1], quoted(pair[1])))
    return (Side("first file", "the first file"), Side("second file", "the second file"))


def _titles(one: Scenario, other: Scenario) -> tuple[str, str]:
    told = (clean(one.title).strip(), clean(other.title).strip())
    return told if max(len(title) for title in told) <= LONGEST else ("", "")


def _stems(one: Scenario, other: Scenario) -> tuple[str, str]:
    first, second = (shortened(Path(side.file).stem, LONGEST) for side in (one, other))
    return first, second
