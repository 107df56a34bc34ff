"""The whole story of a run for somebody who has never seen the program."""

from bankSim.show.basis import assumed, remarks, solved
from bankSim.show.blocks import Section, Story
from bankSim.show.headline import SEVERITIES, headline
from bankSim.show.moments import moments
from bankSim.show.outcomes import charge_table, event_table
from bankSim.show.sharing import sharing
from bankSim.show.words import clean
from bankSim.sim.result import Caution, Result
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
    sections = [
        cautions(result),
        sharing(result),
        charge_table(result),
        event_table(result),
        *moments(result),
        assumed(result),
        remarks(result),
        solved(result),
        Section("Safety", (SAFETY_TEXT,)),
    ]
    told = tuple(section for section in sections if section is not None)
    return Story(clean(result.scenario.title), tuple(headline(result)), told)


def cautions(result: Result) -> Section | None:
    """Cautions, worst first, one line each."""
    ranked = sorted(result.cautions, key=_rank)
    lines = tuple(f"{caution.severity.upper()}: {clean(caution.text)}" for caution in ranked)
    return Section("Cautions", lines) if lines else None


def _rank(caution: Caution) -> int:
    return SEVERITIES.index(caution.severity) if caution.severity in SEVERITIES else 0
