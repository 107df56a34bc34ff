"""What a bank has that the netlist cannot express, in words."""

from collections.abc import Sequence

from bankSim.model.bank import Bank
from bankSim.model.battery import Battery
from bankSim.model.rule import Watch
from bankSim.sim.numbers import MOST_NAMES, listing


def left_out(bank: Bank) -> list[str]:
    """Return one sentence for everything that the netlist of this bank leaves out.

    Beyond these, no netlist knows: that a run ends, that loads are dropped which batteries that
    may discharge cannot feed (they turn into resistances at low voltage), and that a battery
    stays out after many fruitless reconnections. Loads that nobody may feed are dropped where a
    charger works.
    """
    batteries, swings = bank.batteries, bank.swing_K > 0.0
    warming = _names([one for one in batteries if one.thermal is not None])
    heated = _names([one for one in batteries if one.heater is not None])
    watching = _names([one for one in batteries if _watches_change(one, swings)])
    words = []
    if swings or warming:
        words.append("changes of temperature: every battery is at the surroundings' mean")
    if warming:
        words.append(f"the heat balance of {warming}")
    if heated:
        words.append(f"the heater of {heated}, its power and its warmth")
    if watching:
        words.append(f"changes of temperature that rules watch, of {watching}")
    return words


def _names(batteries: Sequence[Battery]) -> str:
    return listing([battery.name for battery in batteries], MOST_NAMES)


def _watches_change(battery: Battery, swings: bool) -> bool:
    """Tell whether a rule watches a temperature that moves."""
    moves = swings or battery.thermal is not None
    return moves and any(rule.watches is Watch.TEMPERATURE for rule in battery.rules)
