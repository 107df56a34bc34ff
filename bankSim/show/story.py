"""The whole story of a run for somebody who has never seen the program."""

from bankSim.show.basis import assumed, assumed_briefly, remarks, solved
from bankSim.show.beware import cautions
from bankSim.show.blocks import Section, Story
from bankSim.show.energy import energy_section
from bankSim.show.headline import headline
from bankSim.show.life import life
from bankSim.show.moments import cut_out_moments, moments
from bankSim.show.outcomes import charge_table, event_table
from bankSim.show.sharing import sharing
from bankSim.sim.numbers import clean
from bankSim.sim.result import Result
from bankSim.sim.summary import SAFETY_TEXT

MOST_MOMENTS_BRIEFLY = 2


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
    return _story(result, [event_table(result), *moments(result)], assumed(result), briefly=False)


def tell_briefly(result: Result) -> Story:
    """As `tell`, for a terminal: fewer moments, and a few lines on what was assumed."""
    told = cut_out_moments(result, MOST_MOMENTS_BRIEFLY)
    return _story(result, told, assumed_briefly(result), briefly=True)


def _story(
    result: Result, switchings: list[Section], basis: Section | None, *, briefly: bool
) -> Story:
    sections = [
        cautions(result),
        life(result, briefly=briefly),
        sharing(result),
        charge_table(result),
        energy_section(result),
        *switchings,
        remarks(result),
        solved(result),
        basis,
        Section("Safety", (SAFETY_TEXT,)),
    ]
    told = tuple(section for section in sections if section is not None)
    return Story(clean(result.scenario.title), tuple(headline(result)), told)
