"""The whole story of a run for somebody who has never seen the program."""

from bankSim.show.basis import assumed, assumed_briefly, remarks, solved
from bankSim.show.beware import cautions
from bankSim.show.blocks import Section, Story
from bankSim.show.headline import headline
from bankSim.show.moments import moments
from bankSim.show.outcomes import charge_table, event_table
from bankSim.show.sharing import sharing
from bankSim.show.words import clean
from bankSim.sim.result import Result
from bankSim.sim.summary import SAFETY_TEXT


def tell(result: Result) -> Story:
    """Turn a result into a headline and sections.

    Parameters
    ----------
    result : Result
        A finished run.

    Returns
    -------
    story : Story
        Texts only, every number rounded and with its unit; names are on one printable line.
    """
    return _story(result, assumed(result))


def tell_briefly(result: Result) -> Story:
    """As `tell`, with what was assumed in a few lines that point to story.txt for the rest."""
    return _story(result, assumed_briefly(result))


def _story(result: Result, basis: Section | None) -> Story:
    sections = [
        cautions(result),
        sharing(result),
        charge_table(result),
        event_table(result),
        *moments(result),
        remarks(result),
        solved(result),
        basis,
        Section("Safety", (SAFETY_TEXT,)),
    ]
    told = tuple(section for section in sections if section is not None)
    return Story(clean(result.scenario.title), tuple(headline(result)), told)
