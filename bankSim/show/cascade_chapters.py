"""Cascades in a sentence each: who trips first, whom that raises, and how soon they follow."""

from bankSim.show.causes import cause
from bankSim.show.chapters import HEAVY, Chapter
from bankSim.show.whens import at
from bankSim.show.words import counted
from bankSim.sim.cascades import Link, cascades, chain_events
from bankSim.sim.numbers import AT_ONCE_S, number, quoted, span
from bankSim.sim.result import Event, Result

MOST_CASCADES = 2
MOST_LINKS = 4


def cascade_chapters(result: Result) -> list[Chapter]:
    """One chapter a cascade; beyond a few they are counted."""
    chains = cascades(result)
    told = [
        Chapter(chain[0].before.time_s, _cascade(result, chain), HEAVY, len(chain) + 1)
        for chain in chains[:MOST_CASCADES]
    ]
    rest = chains[MOST_CASCADES:]
    if rest:
        last = at(result, rest[-1][0].before.time_s)
        text = f"{counted(len(rest), 'more cascade')} of this kind, the last {last}."
        events = sum(len(chain) + 1 for chain in rest)
        told.append(Chapter(rest[0][0].before.time_s, text, HEAVY, events))
    return told


def told_in_cascades(result: Result) -> set[int]:
    """Identities of the cut-outs that chapters of cascades tell already."""
    return {id(event) for chain in cascades(result) for event in chain_events(chain)}


def _cascade(result: Result, chain: list[Link]) -> str:
    first = chain[0].before
    own = first.currents_A[[one.name for one in result.batteries].index(first.battery or "")]
    steps = [_step(result, first, link) for link in chain[:MOST_LINKS]]
    if len(chain) > MOST_LINKS:
        steps.append(f"{len(chain) - MOST_LINKS} more follow")
    return (
        f"A cascade: {quoted(first.battery or '')} trips {at(result, first.time_s)} with "
        f"{number(own)} A ({cause(result, first, readings=False)}), and what it carried falls on "
        f"the others: {'; '.join(steps)}."
    )


def _step(result: Result, first: Event, link: Link) -> str:
    late_s = link.event.time_s - first.time_s
    then = "at the same instant" if late_s < AT_ONCE_S else f"{span(late_s)} after it"
    return (
        f"{quoted(link.event.battery or '')} rises from {number(link.from_A)} A to "
        f"{number(link.to_A)} A and trips {then} ({cause(result, link.event, readings=False)})"
    )
