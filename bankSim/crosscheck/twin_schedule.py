"""When loads change and chargers switch by the clock, as the twin reads it."""

import numpy as np

from bankSim.model.bank import Bank
from bankSim.model.charger import Charger
from bankSim.model.curve import Floats
from bankSim.model.load import Schedule


def switching_times(bank: Bank) -> Floats:
    """Return every instant at which a load or a charger may switch, and the end. [s]"""
    schedules = [part for charger in bank.chargers for part in _parts(charger)]
    edges = [load.edges_s(bank.duration_s, bank.starts_at_s) for load in bank.loads]
    edges += [part.edges_s(bank.duration_s, bank.starts_at_s) for part in schedules]
    return np.unique(np.concatenate([*edges, [bank.duration_s]]))


def loads_wanted(bank: Bank, time_s: float) -> Floats:
    """Return what the loads would ask at one instant, shape (m,). [A V^(1 - exponent)]"""
    now = np.array([time_s])
    return np.array([load.amount(now, bank.starts_at_s)[0] for load in bank.loads])


def charger_is_on(bank: Bank, charger: Charger, time_s: float) -> bool:
    """Tell whether schedule and sun switch a charger on."""
    now = np.array([time_s])
    return all(bool(part.is_on(now, bank.starts_at_s)[0]) for part in _parts(charger))


def _parts(charger: Charger) -> list[Schedule]:
    """Return its schedule, and daylight as another."""
    if charger.sun is None:
        return [charger.schedule]
    return [charger.schedule, Schedule(daily_s=((charger.sun.rise_s, charger.sun.set_s),))]
