"""The lowest and the highest cell of a battery as nodes, for all that looks at them."""

from bankSim.model.battery import Battery
from bankSim.model.rule import Watch

LOWEST, HIGHEST = ("min", "bl"), ("max", "bh")  # function and node
WATCHED = {Watch.LOWEST_CELL: LOWEST, Watch.HIGHEST_CELL: HIGHEST}


def cell_volts(battery: Battery, index: int) -> list[str]:
    """Return the voltage of every cell of battery `index`, counted from 1, as expressions."""
    places = range(1, len(battery.cells) + 1)
    return [f"V(b{index}c{place}, b{index}c{place - 1})" for place in places]


def extreme(battery: Battery, index: int, kind: tuple[str, str]) -> str:
    """Return the voltage of the lowest or the highest cell as an expression."""
    volts = cell_volts(battery, index)
    return volts[0] if len(volts) == 1 else f"V({kind[1]}{index})"


def extreme_lines(battery: Battery, index: int) -> list[str]:
    """Return the nodes of both extremes, as far as rules or a balancer look at them.

    Two terms at a time: ngspice derives a source by each of its voltages, and of nested functions
    each derivative goes through all that is inside again.
    """
    kinds = [WATCHED[rule.watches] for rule in battery.rules if rule.watches in WATCHED]
    if battery.balancer is not None:
        kinds += [LOWEST, HIGHEST]
    lines = []
    for function, node in sorted(set(kinds)):
        so_far, *rest = cell_volts(battery, index)
        for place, volt in enumerate(rest, start=2):
            name = f"{node}{index}" if place == len(battery.cells) else f"{node}{index}n{place}"
            lines.append(f"B{name} {name} 0 V = {function}({so_far}, {volt})")
            so_far = f"V({name})"
    return lines
