"""How far a prediction can be compared with a netlist, and what a reader must know."""

from dataclasses import replace

import numpy as np

from bankSim.crosscheck.deck_limits import left_out
from bankSim.model.rule import Watch
from bankSim.scenario.record import Scenario
from bankSim.sim.result import (
    COLLAPSE,
    HEATER_ON,
    LOAD_STAYS_OFF,
    REFUSED,
    RELEASE,
    STAYS_OUT,
    TRIP,
    Event,
    Result,
)

MOST_KELVIN = 1.0
KELVIN_AT_0_DEGC = 273.15
LEAST_S = 600.0  # a shorter stretch is not worth a comparison
NEAR_END = 0.999
BEYOND = {
    COLLAPSE: "the loads cannot be fed and are dropped; the netlist turns them into resistances",
    REFUSED: "charge is refused and all loads are dropped; the netlist drops none",
    STAYS_OUT: "a battery stays out after many fruitless reconnections; the netlist lets it return",
    LOAD_STAYS_OFF: "a load stays off after many fruitless restarts; the netlist lets it restart",
    HEATER_ON: "a heater is on; the netlist has no heaters",
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
    moves = most_shift_K(result) > 0.0
    for event in result.events:
        reason = _beyond(event, moves)
        if reason is not None:
            last = event.time_s >= NEAR_END * result.end_time_s
            return (result.end_time_s if last else event.time_s), reason
    return result.end_time_s, None


def _beyond(event: Event, moves: bool) -> str | None:
    watches_heat = event.what in (TRIP, RELEASE) and event.watches == Watch.TEMPERATURE.value
    if watches_heat and moves:
        return "a rule acts on a temperature that moves; the netlist holds all temperatures"
    return BEYOND.get(event.what)


def first_part(scenario: Scenario, until_s: float) -> Result:
    """Predict the same bank again, up to an earlier end."""
    from bankSim.sim.run import simulate

    bank = replace(scenario.bank, duration_s=until_s)
    return simulate(replace(scenario, bank=bank))


def most_shift_K(result: Result) -> float:  # noqa: N802 - the unit as printed
    """Return how far any battery's temperature gets from the surroundings' mean. [K]"""
    bank = result.scenario.bank
    if bank.swing_K == 0.0 and all(battery.thermal is None for battery in bank.batteries):
        return 0.0
    timeline = result.timeline()
    mean_degC = bank.temperature_K - KELVIN_AT_0_DEGC
    columns = [f"{battery.name}.temperature_C" for battery in bank.batteries]
    return float(np.abs(timeline[columns].to_numpy(dtype=float) - mean_degC).max())


def remarks(result: Result) -> list[str]:
    """Return what the netlist leaves out of this bank, and whether temperatures matter."""
    notes = [f"Left out of the netlist: {words}." for words in left_out(result.scenario.bank)]
    shift_K = most_shift_K(result)
    if shift_K > MOST_KELVIN:
        notes.append(
            f"A battery gets {shift_K:.1f} K away from the surroundings' mean temperature, at "
            "which the netlist holds it: resistances differ, so differences are no sign of a fault."
        )
    return notes
