"""Who cuts out in which order and why, as sentences of the headline."""

from bankSim.show.causes import cause, cut_outs
from bankSim.sim.numbers import AT_ONCE_S, after, listing, quoted, span
from bankSim.sim.result import Event, Result

FOLLOWERS_TOLD = 3
NAMES_TOLD = 4
CAUSES_TOLD = 3
CLOSE_SHARE = 0.05


def departures(result: Result) -> list[str]:
    """Say who goes first and why, then the others in order; those of one instant together."""
    groups = _ties(cut_outs(result))
    if not groups:
        return ["No battery cuts out."]
    first, others = groups[0], groups[1:]
    sentences = [_first(result, first, alone=not others)]
    for before, group in zip(groups, others[:FOLLOWERS_TOLD], strict=False):
        follow = "follows" if len(group) == 1 else "follow together"
        why = _why(result, group)
        sentences.append(f"{_who(group)} {follow} {_then(before[0], group[0])}: {why}.")
    rest = [event for group in others[FOLLOWERS_TOLD:] for event in group]
    if rest:
        names = [quoted(event.battery or "") for event in rest]
        sentences.append(f"Then {listing(names, 3)}, the last {after(rest[-1].time_s)}.")
    return sentences


def _first(result: Result, group: list[Event], *, alone: bool) -> str:
    verb = "cuts out" if len(group) == 1 else "cut out together"
    first = "" if alone else " first,"
    return f"{_who(group)} {verb}{first} {after(group[0].time_s)}, because {_why(result, group)}."


def _ties(events: list[Event]) -> list[list[Event]]:
    """Gather events of one instant."""
    groups: list[list[Event]] = []
    for event in events:
        if groups and event.time_s - groups[-1][0].time_s < AT_ONCE_S:
            groups[-1].append(event)
        else:
            groups.append([event])
    return groups


def _who(group: list[Event]) -> str:
    return listing([quoted(event.battery or "") for event in group], NAMES_TOLD)


def _why(result: Result, group: list[Event]) -> str:
    """One cause when all share it, apart from what exactly was read; else one for each."""
    if len(group) == 1:
        return cause(result, group[0])
    shared = {cause(result, event, readings=False) for event in group}
    if len(shared) == 1:
        return f"in each of them, {shared.pop()}"
    told = [f"{quoted(event.battery or '')}: {cause(result, event)}" for event in group]
    return "; ".join(told[:CAUSES_TOLD]) + ("; ..." if len(told) > CAUSES_TOLD else "")


def _then(before: Event, event: Event) -> str:
    """Say when, from the one before where the two are close together."""
    gap_s = event.time_s - before.time_s
    close = gap_s < CLOSE_SHARE * event.time_s
    return f"{span(gap_s)} later" if close else after(event.time_s)
