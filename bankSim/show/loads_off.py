"""Loads that cut themselves off, in the sentences at the top."""

from bankSim.show.words import counted
from bankSim.sim.numbers import after, listing, quoted, span
from bankSim.sim.result import LOAD_OFF, Result
from bankSim.sim.runtime import all_gone

MOST_LOADS = 3


def loads_off(result: Result) -> dict[str, list[float]]:
    """Return when each load that cuts itself off does so, in order of the first times. [s]"""
    found: dict[str, list[float]] = {}
    for event in result.events:
        if event.what == LOAD_OFF and event.source is not None:
            found.setdefault(event.source, []).append(event.time_s)
    return found


def loads_off_lines(result: Result) -> list[str]:
    """Say which loads cut themselves off while the bank could feed them, and when first."""
    off = loads_off(result)
    gone = all_gone(result)
    early = {name: times for name, times in off.items() if gone or times[0] < result.bank.runtime_s}
    if not early:
        return []
    told = list(early.items())[:MOST_LOADS]
    groups: dict[str, list[str]] = {}
    for name, times in told:
        again = f" (the first of {len(times)} times)" if len(times) > 1 else ""
        groups.setdefault(f"{after(times[0])}{again}", []).append(quoted(name))
    parts = [
        f"{listing(names)} {'cut themselves' if len(names) > 1 else 'cuts itself'} off {when}"
        for when, names in groups.items()
    ]
    more = len(early) - len(told)
    others = f"; so {'does' if more == 1 else 'do'} {counted(more, 'more load')}" if more else ""
    left = f"; no load is left for the rest of the {span(result.end_time_s)}" if gone else ""
    return [f"{listing(parts)}{others}{left}."]
