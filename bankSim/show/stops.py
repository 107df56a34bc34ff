"""Runs that stop at an empty bank although a charger is on or still to come."""

import math

import numpy as np

from bankSim.model.bank import Bank
from bankSim.model.charger import Charger
from bankSim.model.curve import Floats
from bankSim.model.load import DAY_S
from bankSim.show.whens import at
from bankSim.sim.numbers import quoted
from bankSim.sim.result import COLLAPSE, EMPTY, STAGE, Result

INSIDE_S = 1e-3


def charger_to_come(result: Result) -> list[str]:
    """Say that the run stops although a charger is on, or comes before its duration is over."""
    bank = result.scenario.bank
    if result.end_reason not in (EMPTY, COLLAPSE) or not bank.stop_when_empty:
        return []
    times = [(_next_on_s(result, charger), charger.name) for charger in bank.chargers]
    time_s, name = min(times, default=(math.inf, ""))
    if time_s >= bank.duration_s:
        return []
    when = "is on" if time_s <= result.end_time_s else f"comes {at(result, time_s)}"
    return [
        f'The run stops here because stop is "bank empty"; the charger {quoted(name)} {when}; '
        'stop = "end" would follow it.'
    ]


def _next_on_s(result: Result, charger: Charger) -> float:
    """Return when it is on, from the end of the run: by schedule and sun; inf: never. [s]"""
    bank, end_s = result.scenario.bank, result.end_time_s
    edges = np.union1d(charger.schedule.edges_s(bank.duration_s, bank.starts_at_s), [end_s])
    times = np.union1d(edges, _sunrises_s(bank, charger))
    times = times[times >= end_s]
    on = charger.is_on(times, bank.starts_at_s)
    if _is_finished(result, charger):
        on = on & np.maximum.accumulate(~on)
    return float(times[on][0]) if on.any() else math.inf


def _sunrises_s(bank: Bank, charger: Charger) -> Floats:
    """Return instants a little after each sunrise, so that rounding keeps them behind it. [s]"""
    if charger.sun is None:
        return np.empty(0)
    first_s = charger.sun.rise_s - bank.starts_at_s
    return np.arange(first_s, bank.duration_s, DAY_S) + INSIDE_S


def _is_finished(result: Result, charger: Charger) -> bool:
    """Tell whether it ended its last stage; only its next switching on starts it again."""
    own = [e.value for e in result.events if e.what == STAGE and e.source == charger.name]
    return bool(own) and not own[-1]
