"""Loads that cut themselves off and start again, over and over."""

import math
from collections.abc import Iterator

import numpy as np

from bankSim.model.curve import Floats
from bankSim.model.load import DAY_S, CutOff
from bankSim.sim.numbers import after, number, quoted
from bankSim.sim.result import LOAD_ON, LOAD_STAYS_OFF, Caution, Result

# Restarts within one day: a bank that charges every day restores its loads once or twice a day, and
# a clouded sun a few times more; own choice.
HUNTS = 10
HOUR_S = 3600.0


def of_hunting(result: Result) -> Iterator[Caution]:
    """Warn of loads whose own cut-off lets them go and come again and again."""
    for load in result.scenario.bank.loads:
        if load.cut_off is None:
            continue
        back_s = np.array(
            [e.time_s for e in result.events if e.what == LOAD_ON and e.source == load.name]
        )
        if _most_within(back_s, DAY_S) >= HUNTS:
            yield _caution(result, load.name, load.cut_off, back_s)


def _most_within(times_s: Floats, window_s: float) -> int:
    """Return how many of some rising times fall into a window, wherever that is put."""
    ends = np.searchsorted(times_s, times_s + window_s, side="left")
    return int((ends - np.arange(times_s.size)).max(initial=0))


def _caution(result: Result, name: str, cut_off: CutOff, back_s: Floats) -> Caution:
    off_V, on_V = cut_off.below_V, cut_off.restart_V or math.nan
    stays = any(e.what == LOAD_STAYS_OFF and e.source == name for e in result.events)
    end = " In the end it is taken to stay off." if stays else ""
    return Caution(
        "load hunts",
        "warning",
        float(back_s.size),
        float(HUNTS),
        "times",
        f"{quoted(name)} hunts: it cuts itself off below {number(off_V, 4)} V and starts "
        f"again at {number(on_V, 4)} V {back_s.size} times, the first time "
        f"{after(float(back_s[0]))}, up to {_most_within(back_s, HOUR_S)} times within an hour. "
        "Without the load the voltage soon comes back, with it it falls again: every start "
        f"wears the load's electronics and what hangs on it.{end}",
        f"Leave a wider gap between its cut-off and its restart than {number(on_V - off_V, 2)} V, "
        "so that it starts again only once the bank is charged, or let it stay off for the day. "
        "Less power at a time, or thicker leads, make the voltage sag less.",
    )
