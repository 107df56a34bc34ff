"""A dark bank as a netlist: nobody may feed the loads, and the chargers cannot."""

from bankSim.crosscheck.deck_charger import HELD_V, charger_works
from bankSim.crosscheck.deck_latch import COUNTER_SCALE, latch_lines
from bankSim.crosscheck.deck_load import bent_below_V, drawn, drop_latch, law
from bankSim.crosscheck.deck_rules import blocked_nodes
from bankSim.crosscheck.deck_words import nested, number
from bankSim.model.bank import Bank
from bankSim.model.rule import Blocks

CHANGED = 1e-3
LEAST_WINDOW_S = 1.0


def dark_lines(bank: Bank, node: str, max_step_s: float) -> list[str]:
    """Return the latch that drops all loads of a dark bank, so that a charger may charge it.

    It is set while every battery's discharge is blocked, a charger works, and the voltage at
    `node` has broken down. It lets go when a battery may discharge or no charger works, and, for a
    moment after a load or a charger has changed, where the chargers can feed the loads alone.
    """
    latch = drop_latch(bank)
    if latch is None:
        return []
    blocked = [
        f"V({blocked_nodes(battery, index)[Blocks.DISCHARGE]})"
        for index, battery in enumerate(bank.batteries, start=1)
    ]
    chargers = range(1, len(bank.chargers) + 1)
    works = [charger_works(one, index) for index, one in enumerate(bank.chargers, start=1)]
    offered = [
        f"(V({node}) < V(chh{index}) + {number(HELD_V)} ? V(chl{index}) : 0)" for index in chargers
    ]
    limit_V = bent_below_V(bank)
    wanted = [
        f"{drawn(index, load)} * {law(node, load, limit_V)}"
        for index, load in enumerate(bank.loads, start=1)
    ]
    broken = f"(V(dblock) > 0.5) && (V(dwork) > 0.5) && (V({node}) < {number(limit_V)})"
    changed = f"(abs(V(dstate) - V(dstatef)) > {number(CHANGED)})"
    fed = f"({changed} && ({' + '.join(offered)} > {' + '.join(wanted)}))"
    window_s = max(LEAST_WINDOW_S, max_step_s)
    return [
        "* all loads are dropped while nobody feeds them and a charger may charge the batteries",
        f"Bdblock dblock 0 V = {nested('min', blocked)}",
        f"Bdwork dwork 0 V = {nested('max', works)}",
        f"Bdstate dstate 0 V = {_state(bank, works)}",
        f"Rdstate dstate dstatef {number(1.0 / COUNTER_SCALE)}",
        f"Cdstate dstatef 0 {number(window_s * COUNTER_SCALE)}",
        *latch_lines(
            latch,
            broken,
            0.0,
            max_step_s,
            f"(V(dblock) < 0.5) || (V(dwork) < 0.5) || {fed}",
        ),
    ]


def _state(bank: Bank, works: list[str]) -> str:
    """Return a number that changes whenever a load or a charger is switched."""
    parts = [f"{number(index**0.5)} * {one}" for index, one in enumerate(works, start=2)]
    parts += [f"{number(1.7**index)} * V(chh{index})" for index in range(1, len(works) + 1)]
    for index, load in enumerate(bank.loads, start=1):
        most = abs(load.profile_amount).max() or 1.0
        parts.append(f"{number(index**0.5 / most)} * {drawn(index, load)}")
    return " + ".join(parts)
