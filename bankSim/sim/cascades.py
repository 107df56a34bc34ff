"""Cascades: a battery that trips because another one did."""

from bisect import bisect_left, bisect_right
from dataclasses import dataclass

from bankSim.model.cell import ZERO_C_K
from bankSim.model.rule import Rule, Watch
from bankSim.sim.result import RELEASE, TRIP, Event, Result

OVER_CURRENT = {"discharge": Watch.DISCHARGE_CURRENT.value, "charge": Watch.CHARGE_CURRENT.value}
TOGETHER_S = 1.0
OVER_CURRENT_S = 60.0  # at loads of constant power a current creeps up to a limit after the jump
RAISED = 1.05


@dataclass(frozen=True, slots=True)
class Link:
    """One step of a cascade: `event` happened because `before` did.

    Parameters
    ----------
    before, event : Event
        Trips of two batteries.
    from_A, to_A : float
        Current of the second battery in the direction that trips, before the first one left and
        when it tripped itself. [A]
    """

    before: Event
    event: Event
    from_A: float
    to_A: float


def cascades(result: Result, direction: str = "discharge") -> list[list[Link]]:
    """Return chains of trips, each brought about by one before it.

    A battery follows another one when its current jumped by more than 5 % as that one left, most
    of its rise came from there, and its own rule's delay began then: within 1 s, or within 60 s
    for a rule on the current. A trip on current is also one when it comes within those 60 s,
    though its limit was passed before: the jump is what people see. Trips after a return of its
    own in between are no part of it, and each battery is in a chain once.

    Parameters
    ----------
    result : Result
    direction : str
        "discharge" or "charge": what the trips block.
    """
    trips = [e for e in result.events if e.what == TRIP and e.blocks in (direction, "both")]
    let_go: dict[str | None, list[Event]] = {}
    for release in (e for e in result.events if e.what == RELEASE):
        let_go.setdefault(release.battery, []).append(release)
    chains: list[list[Link]] = []
    chain_of: dict[int, list[Link]] = {}  # by the identity of a trip
    for place, event in enumerate(trips):
        link = _cause_of(result, place, trips, direction, let_go)
        if link is None:
            continue
        chain = chain_of.get(id(link.before))
        if chain is None or any(event.battery == e.battery for e in chain_events(chain)):
            chain = chain_of[id(link.before)] = []
            chains.append(chain)
        chain.append(link)
        chain_of[id(event)] = chain
    return chains


def chain_events(chain: list[Link]) -> list[Event]:
    """Return the trips of a cascade, the one that began it first."""
    return [chain[0].before, *(link.event for link in chain)]


def _cause_of(
    result: Result,
    place: int,
    trips: list[Event],
    direction: str,
    let_go: dict[str | None, list[Event]],
) -> Link | None:
    """Find the last of the earlier trips that brought the one at a place about."""
    event = trips[place]
    rule, over = rule_of(result, event), event.watches == OVER_CURRENT[direction]
    delay_s = 0.0 if rule is None else rule.delay_s
    window_s = OVER_CURRENT_S if over else TOGETHER_S
    own = [battery.name for battery in result.batteries].index(event.battery or "")
    sign = 1.0 if direction == "discharge" else -1.0
    to_A = sign * event.currents_A[own]
    for before in (trips[at] for at in range(place - 1, -1, -1)):
        late_s = event.time_s - before.time_s
        if late_s > max(window_s + delay_s, OVER_CURRENT_S):
            return None
        begun_s = late_s - delay_s
        follows = -1e-6 <= begun_s <= window_s or (over and late_s <= OVER_CURRENT_S)
        if before.battery == event.battery or not follows:
            continue
        if _came_back(let_go.get(event.battery, []), before.time_s, event.time_s, direction):
            continue
        from_A, jumped_A = sign * before.currents_A[own], sign * before.currents_after_A[own]
        if jumped_A > RAISED * max(from_A, 0.0) and to_A - jumped_A <= jumped_A - from_A:
            return Link(before, event, from_A, to_A)
    return None


def _came_back(own: list[Event], since_s: float, until_s: float, direction: str) -> bool:
    """Tell whether a battery came back by itself in that time: its current jumped at that.

    At the first instant any of its paths counts, later that of the direction. [s]
    """
    first = bisect_left(own, since_s, key=lambda release: release.time_s)
    last = bisect_right(own, until_s, key=lambda release: release.time_s)
    return any(
        release.time_s == since_s or release.blocks in (direction, "both")
        for release in own[first:last]
    )


def rule_of(result: Result, event: Event) -> Rule | None:
    """Return the rule that tripped or let go: its battery's, alike in watch, limit and blocks."""
    for battery in result.scenario.bank.batteries:
        for rule in battery.rules if battery.name == event.battery else ():
            acts = rule.release if event.what == RELEASE else rule
            alike = rule.watches.value == event.watches and rule.blocks.name.lower() == event.blocks
            if acts is None or not alike:
                continue
            shift = ZERO_C_K if rule.watches is Watch.TEMPERATURE else 0.0
            gap = abs(acts.threshold - shift - (event.threshold or 0.0))
            if gap <= 1e-9 * max(1.0, abs(acts.threshold)):
                return rule
    return None
