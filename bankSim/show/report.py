"""A report on one run: a page that needs nothing else, to be read, printed and sent."""

import base64
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from functools import cache
from hashlib import sha256
from importlib import resources
from typing import TYPE_CHECKING

from bankSim.scenario.record import Scenario
from bankSim.show.headline import headline
from bankSim.show.plain_words import in_plain_words
from bankSim.show.report_parts import caution_sections, report_parts, safety_lines, warned
from bankSim.show.report_pictures import Picture, run_pictures, spread_pictures
from bankSim.show.spread_story import spread_headline
from bankSim.show.wiring_drawing import wiring_svg, wiring_words
from bankSim.sim.numbers import clean
from bankSim.sim.result import Result
from bankSim.sim.summary import program_version
from bankSim.study.spread import SpreadResult

if TYPE_CHECKING:
    from jinja2 import Template

TEMPLATE, STYLE = "report.html.j2", "report.css"
MONTHS = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September",
    "October", "November", "December",
)  # fmt: skip
LONGEST_QUESTION = 4000
MOST_IN_FULL, LEAST_IN_FULL, STORIES = 60, 10, 240  # stories times batteries: what a minute takes


@dataclass(frozen=True, slots=True)
class Drawing:
    """The bank as SVG for wide and for narrow pages, and in sentences."""

    wide: str
    narrow: str
    words: list[str]


def report_html(
    result: Result,
    *,
    spread: SpreadResult | None = None,
    question: str = "",
    made_on: datetime | None = None,
    pictures: Mapping[str, Picture] | None = None,
) -> str:
    """Return the report as one HTML page without scripts and without anything from outside.

    Parameters
    ----------
    result : Result
    spread : SpreadResult, optional
        Draws of the same scenario: the band goes into the report.
    question : str
        What was asked, in the words of who asked; plain text.
    made_on : datetime, optional
        Stands at the top; without it the same inputs give the same page, byte by byte.
    pictures : mapping, optional
        From `report_pictures`, when they are drawn already.

    Returns
    -------
    html : str
        Every text is escaped. A content policy in the page forbids scripts and all loading.
    """
    shown = report_pictures(result, spread) if pictures is None else pictures
    style = _text_of(STYLE)
    chances = [] if spread is None else spread_headline(spread)
    return _template().render(
        title=clean(result.scenario.title),
        question=_lines(_cut(question)),
        notes=_lines(result.scenario.notes),
        made_on=None if made_on is None else _date(made_on),
        version=program_version(),
        headline=[in_plain_words(line) for line in headline(result)],
        chances=[in_plain_words(line) for line in chances],
        cautions=caution_sections(result, spread),
        drawing=_drawing(result.scenario),
        parts=report_parts(result, spread, shown),
        input_lines=_lines(result.scenario.text, keep=True),
        safety=safety_lines(spread),
        style=style,
        policy=_policy(style),
    )


def report_pictures(result: Result, spread: SpreadResult | None = None) -> dict[str, Picture]:
    """Draw all figures of a report, by name; this takes a second or two."""
    return {**run_pictures(result), **({} if spread is None else spread_pictures(spread))}


def run_in_full(result: Result) -> int:
    """Return how many of the draws of a report are run in full; fewer of a large bank."""
    return min(max(STORIES // len(result.batteries), LEAST_IN_FULL), MOST_IN_FULL)


def _drawing(scenario: Scenario) -> Drawing:
    bank, keys = scenario.bank, scenario.keys
    wide, narrow = (wiring_svg(bank, keys=keys, narrow=one) for one in (False, True))
    return Drawing(wide, narrow, wiring_words(bank, keys=keys))


def _cut(question: str) -> str:
    """Leave out what nobody would read."""
    longer = len(question) > LONGEST_QUESTION
    return f"{question[:LONGEST_QUESTION]} ..." if longer else question


def _lines(text: str, *, keep: bool = False) -> list[str]:
    """Lines of plain text; marks that cannot be printed become "?". `keep` keeps empty ones."""
    lines = [clean(line.expandtabs(4)) for line in text.replace("\r\n", "\n").split("\n")]
    return lines if keep else [line for line in lines if line.strip()]


def _date(moment: datetime) -> str:
    return f"{moment.day} {MONTHS[moment.month - 1]} {moment.year}, {moment:%H:%M}"


def _policy(style: str) -> str:
    """Allow this style sheet and pictures that are inside the page, and nothing else."""
    digest = base64.b64encode(sha256(style.encode()).digest()).decode()
    rules: Sequence[str] = (
        "default-src 'none'", "img-src data:", f"style-src 'sha256-{digest}'", "base-uri 'none'",
        "form-action 'none'",
    )  # fmt: skip
    return "; ".join(rules)


def _text_of(name: str) -> str:
    return (resources.files("bankSim.show") / name).read_text(encoding="utf-8")


@cache
def _template() -> "Template":
    from jinja2 import Environment, StrictUndefined

    room = Environment(
        autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True
    )
    room.filters["warned"] = warned
    return room.from_string(_text_of(TEMPLATE))
