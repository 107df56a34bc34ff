"""Loads as a netlist: amounts over time as break points, currents as functions of voltage."""

import numpy as np

from bankSim.crosscheck.deck_words import comment, number
from bankSim.model.bank import Bank
from bankSim.model.curve import Floats
from bankSim.model.load import Load

RAMP_S = 1e-3
LIMIT_SHARE = 0.2
CLAMP_SHARE = 3.0
CLAMP_SIEMENS = 100.0


def load_lines(bank: Bank, node: str) -> list[str]:
    """Return all loads between `node` and the minus take-off.

    Load j draws amount(t) V^(n - 1). Below a fifth of the bank's voltage it behaves as a
    resistance instead, so that a load that cannot be fed leaves the circuit solvable.
    """
    volts = max(sum(float(cell.ocv_V(1.0)) for cell in battery.cells) for battery in bank.batteries)
    limit_V = LIMIT_SHARE * volts
    lines = []
    charging = False
    for index, load in enumerate(bank.loads, start=1):
        times, amounts = _steps(load, bank)
        charging |= bool((amounts < 0.0).any())
        lines += [comment(f"load {index} {load.name}"), _source(index, times, amounts)]
        lines.append(f"Bload{index} {node} 0 I = V(a{index}) * {_law(node, load, limit_V)}")
    if lines:
        lines.insert(0, f"* loads behave as resistances below {number(limit_V)} V")
    if charging:
        most_V = number(CLAMP_SHARE * volts)
        clamp = f"{number(CLAMP_SIEMENS)} * max(V({node}) - {most_V}, 0)"
        lines.append(f"Bclamp {node} 0 I = {clamp}")
    return lines


def _law(node: str, load: Load, limit_V: float) -> str:
    """Return V^(n - 1), bent to a straight line through 0 below the limit."""
    if load.exponent == 2.0:
        return f"V({node})"
    power = number(load.exponent - 2.0)
    return f"V({node}) * pwr(max(V({node}), {number(limit_V)}), {power})"


def _steps(load: Load, bank: Bank) -> tuple[Floats, Floats]:
    """Return the instants from which an amount holds, and the amounts; only real changes."""
    edges = np.concatenate([[0.0], load.edges_s(bank.duration_s, bank.starts_at_s)])
    middles = 0.5 * (edges + np.append(edges[1:], bank.duration_s))
    amounts = load.amount(middles, bank.starts_at_s)
    changed = np.concatenate([[True], np.diff(amounts) != 0.0])
    return edges[changed], amounts[changed]


def _source(index: int, times: Floats, amounts: Floats) -> str:
    """Return the amounts as a piecewise linear source with steep edges, which are break points."""
    if times.size == 1:
        return f"Va{index} a{index} 0 {number(float(amounts[0]))}"
    ramp_s = min(RAMP_S, 0.25 * float(np.diff(times).min()))
    points = [f"0 {number(float(amounts[0]))}"]
    for time_s, before, after in zip(times[1:], amounts[:-1], amounts[1:], strict=True):
        points.append(f"{number(time_s)} {number(before)}")
        points.append(f"{number(time_s + ramp_s)} {number(after)}")
    return f"Va{index} a{index} 0 PWL({' '.join(points)})"
