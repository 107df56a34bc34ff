"""Chargers that are switched on, whether they give anything or idle."""

import numpy as np

from bankSim.model.curve import Floats
from bankSim.model.load import Flags
from bankSim.sim.demand import hours_of
from bankSim.sim.result import STAGE, Event, Result


def any_charger_on(result: Result, time_s: Floats) -> Flags:
    """Tell when some charger works: switched on, and its last stage has not ended since.

    Parameters
    ----------
    result : Result
    time_s : array
        Instants; what happens at one counts as done. [s]

    Returns
    -------
    on : array of bool, as long as `time_s`
    """
    bank, works = result.scenario.bank, np.zeros(time_s.size, dtype=bool)
    for charger in bank.chargers:
        edge_s, begun_s = hours_of(charger, bank)
        segment = np.searchsorted(edge_s, time_s, side="right") - 1
        segment = np.clip(segment, 0, begun_s.size - 1)
        before_s = np.concatenate([[np.nan], begun_s[:-1]])
        on = ~np.isnan(begun_s)
        begins = on & (begun_s != before_s)  # switched on, or the sun of another day
        since_s = np.maximum.accumulate(np.where(begins, edge_s[:-1], -np.inf))[segment]
        ends_s = [-np.inf, *(e.time_s for e in result.events if _is_end(e, charger.name))]
        ended_s = np.array(ends_s)[np.searchsorted(ends_s, time_s, side="right") - 1]
        works |= on[segment] & (ended_s <= since_s)
    return works


def _is_end(event: Event, name: str) -> bool:
    """Tell whether the last stage of a charger ends there."""
    return event.what == STAGE and event.source == name and not event.value
