"""What the batteries' heaters take over a run, beside the loads."""

from dataclasses import dataclass

import numpy as np

from bankSim.model.curve import Floats
from bankSim.sim.chargers_on import any_charger_on
from bankSim.sim.result import HEATER_OFF, HEATER_ON, Result
from bankSim.sim.returns import chargers_A


@dataclass(frozen=True, slots=True)
class Heating:
    """What heaters take, and what is left for the loads.

    Parameters
    ----------
    heaters_Ah, heaters_Wh : float
        [Ah], [Wh]
    loads_Ah, loads_Wh : float
        [Ah], [Wh]
    """

    heaters_Ah: float
    heaters_Wh: float
    loads_Ah: float
    loads_Wh: float


def heating(result: Result) -> Heating:
    """Return how much heaters and loads take, by the power at the loads and who has it on.

    Heaters take their power where all together take as much; what is more goes to loads.

    Parameters
    ----------
    result : Result
    """
    trace, chargers = result.trace, len(result.scenario.bank.chargers)
    given_A = chargers_A(trace, chargers).sum(axis=1) if chargers else np.zeros(len(trace))
    drawn_A, volts = np.maximum(trace[:, 3] + given_A, 0.0), trace[:, 4]
    drawn_W = drawn_A * np.maximum(volts, 0.0)
    wanted_W = _wanted_W(result)
    hours, middle_W = np.diff(trace[:, 0]) / 3600.0, 0.5 * (drawn_W[1:] + drawn_W[:-1])
    middle_A = 0.5 * (drawn_A[1:] + drawn_A[:-1])
    part = np.divide(
        np.minimum(wanted_W, middle_W), middle_W, out=np.zeros_like(middle_W), where=middle_W > 0.0
    )
    totals = [
        float(hours @ (share * amount))
        for share in (part, 1.0 - part)
        for amount in (middle_A, middle_W)
    ]
    return Heating(*totals)


def _wanted_W(result: Result) -> Floats:  # noqa: N802 - the unit as printed
    """What all heaters ask for between rows, (rows - 1,); with a charger only, where one works."""
    time_s = result.trace[:, 0]
    middle_s = 0.5 * (time_s[1:] + time_s[:-1])
    wanted_W = np.zeros(middle_s.size)
    heated = [(one, one.heater) for one in result.scenario.bank.batteries if one.heater is not None]
    waiting = any(heater.needs_charger for _, heater in heated)
    works = any_charger_on(result, middle_s) if waiting else np.zeros(middle_s.size, dtype=bool)
    for battery, heater in heated:
        switched = [
            event
            for event in result.events
            if event.battery == battery.name and event.what in (HEATER_ON, HEATER_OFF)
        ]
        times_s = np.array([event.time_s for event in switched])
        states = np.array([False, *(event.what == HEATER_ON for event in switched)])
        on = states[np.searchsorted(times_s, middle_s, side="right")]
        if heater.needs_charger:
            on = on & works
        wanted_W += np.where(on, heater.power_W, 0.0)
    return wanted_W
