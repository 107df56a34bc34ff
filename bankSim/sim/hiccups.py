"""Returns that are worth nothing: how often a battery comes back only to be blocked again."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from bankSim.model.curve import Floats
from bankSim.model.load import Flags
from bankSim.sim.result import TRIP, BatteryOutcome, Result
from bankSim.sim.returns import LOOKED_AT_S, column

# Of the label capacity: what passes until it is blocked again, within the hour; own choice. A
# solver that follows returns of a tenth of that for ever ends them, see FRUITLESS_PART.
SHORT_RETURN = 0.01


def with_hiccups(result: Result) -> Result:
    """Return a result whose batteries tell their hiccups.

    Parameters
    ----------
    result : Result
        Its batteries tell the returns in vain that the solver counted.
    """
    told = tuple(replace(one, hiccups=_count(result, one)) for one in result.batteries)
    return replace(result, batteries=told)


def _count(result: Result, outcome: BatteryOutcome) -> int:
    """How often it came back and was soon blocked with hardly any charge passed."""
    back_s = [back.time_s for back in result.returns if back.battery == outcome.name]
    trips = (e for e in result.events if e.what == TRIP and e.battery == outcome.name)
    place = [one.name for one in result.batteries].index(outcome.name)
    battery = result.scenario.bank.batteries[place]
    held_C = sum(cell.charge_C for cell in battery.cells) / len(battery.cells)
    level = column(result.trace, place, 2) * held_C / battery.rated_C
    short = short_returns(back_s, [trip.time_s for trip in trips], result.trace[:, 0], level)
    return max(outcome.hiccups, int(np.count_nonzero(short)))


def short_returns(
    back_s: Sequence[float], trips_s: Sequence[float], row_s: Floats, level: Floats
) -> Flags:
    """Tell of each return whether a trip within the hour ends it with hardly any charge passed.

    Parameters
    ----------
    back_s, trips_s : sequence of float
        When the battery comes back, and when it trips; both rising. [s]
    row_s, level : array (rows,)
        Times of the timeline and what the battery holds there, over its label. [s], [1]

    Returns
    -------
    short : array of bool, as long as `back_s`
    """
    begin_s = np.array(back_s, dtype=np.float64)
    later_s = np.append(trips_s, np.inf)
    end_s = later_s[np.searchsorted(trips_s, begin_s, side="right")]
    short = end_s - begin_s < LOOKED_AT_S
    first, last = (np.searchsorted(row_s, at_s[short]) for at_s in (begin_s, end_s))
    short[short] = np.abs(level[first] - level[last]) < SHORT_RETURN
    return short
