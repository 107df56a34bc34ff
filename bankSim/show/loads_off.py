"""Loads that cut themselves off, in the sentences at the top."""

from bankSim.show.words import counted
from bankSim.sim.numbers import after, listing, quoted
from bankSim.sim.result import LOAD_OFF, Result

MOST_LOADS = 3


def loads_off(result: Result) -> dict[str, list[float]]:
    """Return when each load that cuts itself off does so, in order of the first times. [s]"""
    found: dict[str, list[float]] = {}
    for event in result.events:
        if event.what == LOAD_OFF and event.source is not None:
            found.setdefault(event.source, []).append(event.time_s)
    return found


def loads_off_lines(result: Result) -> list[str]:
    """Say which loads cut themselves off and when first; empty where none does."""
    off = loads_off(result)
    if not off:
        return []
    told = [_cut_off(name, times) for name, times in list(off.items())[:MOST_LOADS]]
    more = len(off) - len(told)
    others = f"; so {'does' if more == 1 else 'do'} {counted(more, 'more load')}" if more else ""
    return [f"{listing(told)}{others}."]


def _cut_off(name: str, times_s: list[float]) -> str:
    again = f" (the first of {len(times_s)} times)" if len(times_s) > 1 else ""
    return f"{quoted(name)} cuts itself off {after(times_s[0])}{again}"
