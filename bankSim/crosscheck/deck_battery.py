"""One battery as a netlist: cells, balancer, resistances, protection."""

from bankSim.crosscheck.deck_balancer import balancer_lines
from bankSim.crosscheck.deck_cell import cell_lines, counter_lines
from bankSim.crosscheck.deck_extremes import extreme_lines
from bankSim.crosscheck.deck_latch import SWITCH_ON_OHM
from bankSim.crosscheck.deck_rules import blocked_nodes, rule_latches, rule_lines
from bankSim.crosscheck.deck_words import comment, number
from bankSim.model.bank import Bank
from bankSim.model.battery import Battery

TRIPPED = 0.5


def battery_lines(bank: Bank, index: int, rails: tuple[str, str], max_step_s: float) -> list[str]:
    """Return the lines of battery `index` (from 1) between two rail nodes, plus and minus.

    The ammeter vb<k> carries the discharge current; d<k> and e<k> count the charge given and
    taken in Ah; l<k>r<j> is 1 while a rule has tripped, bd<k> and bc<k> are 1 while discharge and
    charge are blocked. Nodes are named by numbers only.
    """
    battery, name = bank.batteries[index - 1], f"b{index}"
    plus, minus = rails
    lines = [comment(f"battery {index} {battery.name}"), f"V{name} {minus} {name}c0 0"]
    balance, flows = balancer_lines(battery, index)
    for place, (cell, flow) in enumerate(zip(battery.cells, flows, strict=True), start=1):
        lines += cell_lines(cell, index, place, bank.temperature_K, flow)
    inside, outside = f"{name}c{len(battery.cells)}", f"{name}s" if battery.rules else plus
    lines.append(_resistor(f"{name}i", inside, f"{name}t", battery.internal_ohm))
    lines.append(_resistor(f"{name}l", f"{name}t", outside, _lead_ohm(battery, index)))
    return [
        *lines,
        *extreme_lines(battery, index),
        *balance,
        *counter_lines(index),
        *rule_lines(battery, index, rails, bank, max_step_s),
    ]


def _lead_ohm(battery: Battery, index: int) -> float:
    """Return the leads' resistance less that of the closed switches, which stand in series."""
    rest_ohm = battery.lead_ohm - len(blocked_nodes(battery, index)) * SWITCH_ON_OHM
    return rest_ohm if rest_ohm > 0.0 else battery.lead_ohm


def timers(battery: Battery, index: int) -> dict[str, float]:
    """Return the node of every rule's latch and the level beyond which it has tripped.

    Unit: [V in the deck]
    """
    return {f"l{name}": TRIPPED for name in rule_latches(battery, index)}


def _resistor(name: str, first: str, second: str, ohm: float) -> str:
    """Return a resistor, or a source of 0 V where there is none."""
    if ohm > 0.0:
        return f"R{name} {first} {second} {number(ohm)}"
    return f"V{name} {first} {second} 0"
