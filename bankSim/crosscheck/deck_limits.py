"""What a bank has that the netlist cannot express, in words."""

from bankSim.model.bank import Bank
from bankSim.model.battery import Battery
from bankSim.model.rule import Watch

MEAN_WORDS = "the netlist takes every battery at the surroundings' mean temperature"


def left_out(bank: Bank) -> list[str]:
    """Return one sentence for everything that the netlist of this bank leaves out.

    Beyond these, no netlist knows: that a run ends, that loads which cannot be fed are dropped
    (they turn into resistances at low voltage), and that a battery stays out after many
    fruitless reconnections.
    """
    words = []
    if bank.swing_K > 0.0:
        words.append(f"the surroundings' daily swing: {MEAN_WORDS}")
    for battery in bank.batteries:
        words += _battery_words(battery, moves=bank.swing_K > 0.0)
    return words


def _battery_words(battery: Battery, moves: bool) -> list[str]:
    words = []
    name = battery.name
    if battery.thermal is not None:
        words.append(f"the heat balance of {name!r}: {MEAN_WORDS}")
    if battery.heater is not None:
        words.append(f"the heater of {name!r}, its power and its warmth")
    watching = any(rule.watches is Watch.TEMPERATURE for rule in battery.rules)
    if watching and (moves or battery.thermal is not None):
        words.append(f"changes of temperature that the rules of {name!r} watch")
    return words
