"""How far a prediction can be compared with a netlist, and what a reader must know."""

from dataclasses import replace
from itertools import pairwise

import numpy as np

from bankSim.crosscheck.deck_limits import left_out
from bankSim.model.bank import Bank
from bankSim.model.cell import ZERO_C_K
from bankSim.scenario.record import Scenario
from bankSim.sim.numbers import number
from bankSim.sim.result import (
    COLLAPSE,
    LOAD_STAYS_OFF,
    REFUSED,
    STAYS_OUT,
    Result,
)

LEAST_S = 600.0  # a shorter stretch is not worth a comparison
NEAR_END = 0.999
BEYOND = {
    COLLAPSE: "the loads cannot be fed and are dropped; the netlist turns them into resistances",
    REFUSED: "charge is refused and all loads are dropped; the netlist drops none",
    STAYS_OUT: "a battery stays out after many fruitless reconnections; the netlist lets it return",
    LOAD_STAYS_OFF: "a load stays off after many fruitless restarts; the netlist lets it restart",
}


def comparable_part(result: Result) -> tuple[float, str | None]:
    """Return until when the netlist can do the same, and what comes then.

    Returns
    -------
    until_s : float
        The end of the run, where nothing is beyond the netlist or only its very end is. [s]
    reason : str or None
        None when the netlist can do all of it.
    """
    for event in result.events:
        if event.what in BEYOND:
            last = event.time_s >= NEAR_END * result.end_time_s
            return (result.end_time_s if last else event.time_s), BEYOND[event.what]
    return result.end_time_s, None


def first_part(scenario: Scenario, until_s: float) -> Result:
    """Predict the same bank again, up to an earlier end."""
    return _predict(scenario, replace(scenario.bank, duration_s=until_s))


def held(result: Result) -> Result:
    """Predict the same bank again with all temperatures held, as the netlist holds them.

    Heat balances, heaters and the daily swing are taken away; where there are none, the result
    itself is returned.
    """
    bank = result.scenario.bank
    cold = tuple(replace(one, thermal=None, heater=None) for one in bank.batteries)
    if cold == bank.batteries and bank.swing_K == 0.0:
        return result
    return _predict(result.scenario, replace(bank, batteries=cold, swing_K=0.0))


def _predict(scenario: Scenario, bank: Bank) -> Result:
    from bankSim.sim.run import simulate

    return simulate(replace(scenario, bank=bank))


def most_shift_K(result: Result) -> float:  # noqa: N802 - the unit as printed
    """Return how far any battery's temperature gets from the surroundings' mean. [K]"""
    bank = result.scenario.bank
    timeline = result.timeline()
    mean_degC = bank.temperature_K - ZERO_C_K
    columns = [f"{battery.name}.temperature_C" for battery in bank.batteries]
    return float(np.abs(timeline[columns].to_numpy(dtype=float) - mean_degC).max())


def near_ties(result: Result, step_s: float) -> list[str]:
    """Return a sentence where two batteries switch within one step of ngspice, or none.

    Parameters
    ----------
    result : Result
    step_s : float
        Longest step of ngspice. [s]
    """
    of_batteries = [event for event in result.events if event.battery is not None]
    for first, second in pairwise(of_batteries):
        if first.battery != second.battery and second.time_s - first.time_s < step_s:
            return [
                f"At {number(first.time_s / 3600.0, 4)} h {first.battery} and {second.battery} "
                "switch within one of ngspice's steps: where the first decides what the second "
                "does, the two sides may part there."
            ]
    return []


def remarks(result: Result, compared: Result) -> list[str]:
    """Return what the netlist leaves out, and what holding the temperatures changes.

    Parameters
    ----------
    result : Result
        The prediction as it is.
    compared : Result
        The same with temperatures held; the same object where nothing had to be held.
    """
    notes = [f"Left out of the netlist: {words}." for words in left_out(result.scenario.bank)]
    if compared is not result:
        given, as_held = (number(one.bank.delivered_Ah, 5) for one in (result, compared))
        notes.insert(
            0,
            f"Both sides of this comparison hold every battery at {_mean(result)} degrees C. In "
            f"the prediction itself a battery gets {most_shift_K(result):.1f} K away from that; "
            f"held, the bank delivers {as_held} Ah instead of {given} Ah.",
        )
    return notes


def _mean(result: Result) -> str:
    return number(result.scenario.bank.temperature_K - ZERO_C_K, 3)
