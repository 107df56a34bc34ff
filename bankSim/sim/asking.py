"""Who asks for power at an instant of a run: loads that are on, and heaters."""

from dataclasses import dataclass

import numpy as np

from bankSim.model.load import Load
from bankSim.sim.chargers_on import any_charger_on
from bankSim.sim.numbers import listing, number, quoted
from bankSim.sim.result import HEATER_OFF, HEATER_ON, LOAD_OFF, LOAD_ON, LOAD_STAYS_OFF, Result


@dataclass(frozen=True, slots=True)
class Asking:
    """What is switched on.

    Parameters
    ----------
    loads : tuple of str
        Names of loads.
    heaters : tuple of (str, float)
        Batteries whose heater is on, with its power; one that needs a charger only while one
        works. [W]
    """

    loads: tuple[str, ...]
    heaters: tuple[tuple[str, float], ...]

    @property
    def only_heaters(self) -> bool:
        """Whether heaters ask and nothing else does."""
        return bool(self.heaters) and not self.loads

    @property
    def heater_words(self) -> str:
        """The heaters inside a sentence: the heater of "a" (40.0 W)."""
        told = [f"{quoted(name)} ({number(power_W)} W)" for name, power_W in self.heaters]
        return f"the heater{'' if len(told) == 1 else 's'} of {listing(told)}"

    @property
    def heaters_ask(self) -> str:
        """The same with its verb: the heater of "a" (40.0 W) asks."""
        return f"{self.heater_words} ask{'s' if len(self.heaters) == 1 else ''}"


def asking_at(result: Result, time_s: float) -> Asking:
    """Tell who asks for power just after what happens at an instant.

    Parameters
    ----------
    result : Result
    time_s : float
        [s]
    """
    bank, when_s = result.scenario.bank, np.array([time_s])
    last: dict[tuple[str | None, bool], str] = {}
    for event in result.events:
        if event.time_s <= time_s and event.what in (HEATER_ON, HEATER_OFF):
            last[event.battery, True] = event.what
        if event.time_s <= time_s and event.what in (LOAD_OFF, LOAD_ON, LOAD_STAYS_OFF):
            last[event.source, False] = event.what
    heaters = [
        (battery.name, battery.heater.power_W)
        for battery in bank.batteries
        if battery.heater is not None
        and last.get((battery.name, True)) == HEATER_ON
        and (not battery.heater.needs_charger or bool(any_charger_on(result, when_s)[0]))
    ]
    loads = [
        load.name
        for load in bank.loads
        if last.get((load.name, False), LOAD_ON) == LOAD_ON
        and _draws(load, time_s, bank.starts_at_s)
    ]
    return Asking(tuple(loads), tuple(heaters))


def _draws(load: Load, time_s: float, starts_at_s: float) -> bool:
    return float(load.amount(np.array([time_s]), starts_at_s)[0]) > 0.0
