"""A balancer as a netlist: what it takes out of each cell, as an expression of the voltages."""

import math

from bankSim.crosscheck.deck_extremes import HIGHEST, LOWEST, cell_volts, extreme
from bankSim.crosscheck.deck_words import number
from bankSim.model.battery import Battery
from bankSim.model.upkeep import Balancer, Balancing

RAMP_V = 2e-3


def balancer_lines(battery: Battery, index: int) -> tuple[list[str], list[str]]:
    """Return the lines and, per cell, the current that leaves it, as an expression.

    With r(x) = x / 2 mV kept within 0 and 1: bleed takes current r(V - lowest - within)
    r(V - starts above) out of a cell; transfer does so from the highest cells to the lowest.
    """
    balancer, count = battery.balancer, len(battery.cells)
    if balancer is None or count < 2:
        return [], [""] * count
    volts = cell_volts(battery, index)
    lowest, highest = (extreme(battery, index, kind) for kind in (LOWEST, HIGHEST))
    if balancer.kind is Balancing.BLEED:
        return [], [_worked(balancer, volt, lowest) for volt in volts]
    taken = [f"max(1 - ({highest} - {volt}) / {number(RAMP_V)}, 0)" for volt in volts]
    given = [f"max(1 - ({volt} - {lowest}) / {number(RAMP_V)}, 0)" for volt in volts]
    total = _worked(balancer, highest, lowest)
    lines = []
    for node, shares in ((f"bt{index}", taken), (f"bg{index}", given)):
        lines.append(f"B{node} {node} 0 V = {total} / ({' + '.join(shares)})")
    flows = zip(taken, given, strict=True)
    return lines, [f"V(bt{index}) * {one} - V(bg{index}) * {other}" for one, other in flows]


def _worked(balancer: Balancer, high: str, lowest: str) -> str:
    """Return the balancing current for a cell at `high`."""
    parts = [number(balancer.current_A), _ramp(f"{high} - {lowest} - {number(balancer.within_V)}")]
    if math.isfinite(balancer.starts_above_V):
        parts.append(_ramp(f"{high} - {number(balancer.starts_above_V)}"))
    return " * ".join(parts)


def _ramp(excess: str) -> str:
    return f"min(max(({excess}) / {number(RAMP_V)}, 0), 1)"
