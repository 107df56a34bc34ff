"""Cascades: a battery that trips because another one did."""

from dataclasses import dataclass

from bankSim.show.causes import rule_of
from bankSim.sim.result import Event, Result

TOGETHER_S = 1.0
RAISED = 1.05


@dataclass(frozen=True, slots=True)
class Link:
    """One step of a cascade: `event` happened because `before` did.

    Parameters
    ----------
    before, event : Event
        Cut-outs of two batteries.
    from_A, to_A : float
        Current of the second battery before the first one left, and when it tripped itself. [A]
    """

    before: Event
    event: Event
    from_A: float
    to_A: float


def cascades(result: Result) -> list[list[Link]]:
    """Return chains of cut-outs, each raised by the one before it.

    A battery follows another one when its own rule's delay began as that one left, to 1 s, and
    its current had risen by more than 5 %.
    """
    cuts = [event for event in result.events if event.cuts_out]
    chains: list[list[Link]] = []
    for place, event in enumerate(cuts):
        links = (_link(result, cut, event) for cut in reversed(cuts[:place]))
        link = next((found for found in links if found is not None), None)
        if link is None:
            continue
        for chain in chains:
            if any(one is link.before for one in chain_events(chain)):
                chain.append(link)
                break
        else:
            chains.append([link])
    return chains


def chain_events(chain: list[Link]) -> list[Event]:
    """Return the cut-outs of a cascade, the one that began it first."""
    return [chain[0].before, *(link.event for link in chain)]


def _link(result: Result, before: Event, event: Event) -> Link | None:
    if before.battery == event.battery:
        return None
    rule = rule_of(result, event)
    late_s = event.time_s - before.time_s - (0.0 if rule is None else rule.delay_s)
    own = [battery.name for battery in result.batteries].index(event.battery or "")
    from_A, to_A = before.currents_A[own], event.currents_A[own]
    if not -1e-6 <= late_s <= TOGETHER_S or to_A <= RAISED * max(from_A, 0.0) or to_A <= 0.0:
        return None
    return Link(before, event, from_A, to_A)
