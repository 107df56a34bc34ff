"""When: hours since the start, and the wall clock where the scenario tells it."""

from typing import Protocol

from bankSim.scenario.record import Scenario
from bankSim.show.words import clock
from bankSim.sim.numbers import AT_ONCE_S, span
from bankSim.sim.result import Result

APART_S, CLOSE_S = 0.5, 60.0


class Timed(Protocol):
    """What has a start on the clock and an end: a run, or many of them."""

    @property
    def scenario(self) -> Scenario:
        """What was run."""

    @property
    def end_time_s(self) -> float:
        """The last instant. [s]"""


def tells_clock(result: Timed) -> bool:
    """Tell whether the scenario says anything of the time of day."""
    bank = result.scenario.bank
    schedules = [one.schedule for one in bank.loads] + [one.schedule for one in bank.chargers]
    daily = any(schedule.daily_s for schedule in schedules)
    sunny = any(charger.sun is not None for charger in bank.chargers)
    return bank.starts_at_s > 0.0 or daily or sunny or bank.swing_K > 0.0


def when(result: Result, time_s: float, digits: int = 3) -> str:
    """As in "41.0 h", with the clock where it is known: "41.0 h (day 2, 23:31)".

    The clock tells seconds where something else happens less than a minute before or after.
    """
    hours = span(time_s, digits)
    if not tells_clock(result):
        return hours
    gaps_s = (abs(event.time_s - time_s) for event in result.events)
    close = any(APART_S < gap_s < CLOSE_S for gap_s in gaps_s)
    return f"{hours} ({clock(result.scenario.bank.starts_at_s + time_s, to_seconds=close)})"


def at(result: Result, time_s: float) -> str:
    """As in "at once" or "after 41.0 h"."""
    return "at once" if time_s < AT_ONCE_S else f"after {when(result, time_s)}"


def between(start_s: float, end_s: float) -> str:
    """As in "between 5.20 h and 6.10 h", digits enough to tell the two apart."""
    digits = 3 if end_s - start_s > 0.02 * end_s else 5
    return f"between {span(start_s, digits)} and {span(end_s, digits)}"
