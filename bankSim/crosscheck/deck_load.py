"""Loads as a netlist: amounts over time as break points, currents as functions of voltage."""

import numpy as np

from bankSim.crosscheck.deck_latch import latch_lines, margin_lines
from bankSim.crosscheck.deck_words import comment, number
from bankSim.model.bank import Bank
from bankSim.model.curve import Floats
from bankSim.model.load import Load
from bankSim.model.rule import Blocks

RAMP_S = 1e-3
LIMIT_SHARE = 0.2
CLAMP_SHARE = 3.0
CLAMP_SIEMENS = 100.0
DROPPED = "dark"


def load_lines(bank: Bank, node: str, max_step_s: float) -> list[str]:
    """Return all loads between `node` and the minus take-off.

    Load j draws amount(t) V^(n - 1); its own cut-off is a latch. Below a fifth of the
    bank's voltage it behaves as a resistance instead, so that a load that cannot be fed leaves
    the circuit solvable.
    """
    limit_V, latch = bent_below_V(bank), drop_latch(bank)
    lines = []
    charging = False
    for index, load in enumerate(bank.loads, start=1):
        times, amounts = _steps(load, bank)
        gives = bool((amounts < 0.0).any())
        charging |= gives
        lines += [comment(f"load {index} {load.name}"), steps_line(f"a{index}", times, amounts)]
        lines += _cut_off_lines(load, index, node, max_step_s)
        shape = law(node, load, limit_V, f"V(a{index})" if gives else None)
        asked = drawn(index, load) if latch is None else f"{drawn(index, load)} * (1 - V(l{latch}))"
        lines.append(f"Bload{index} {node} 0 I = {asked} * {shape}")
    if lines:
        lines.insert(0, f"* loads behave as resistances below {number(limit_V)} V")
    if charging:
        most_V = number(CLAMP_SHARE * _full_V(bank))
        clamp = f"{number(CLAMP_SIEMENS)} * max(V({node}) - {most_V}, 0)"
        lines.append(f"Bclamp {node} 0 I = {clamp}")
    return lines


def bent_below_V(bank: Bank) -> float:  # noqa: N802 - the unit as printed
    """Return the voltage below which the netlist's loads are resistances. [V]"""
    return LIMIT_SHARE * _full_V(bank)


def _full_V(bank: Bank) -> float:  # noqa: N802 - the unit as printed
    """Return the highest voltage of any battery at rest and full. [V]"""
    return max(sum(float(cell.ocv_V(1.0)) for cell in one.cells) for one in bank.batteries)


def drop_latch(bank: Bank) -> str | None:
    """Return the name of the latch that drops all loads of a dark bank, or None without one.

    There is one where every battery may block its discharge, a charger may work then, and a
    load's current does not fall with its voltage: others are fed at whatever voltage there is.
    """
    goes_dark = all(
        any(rule.blocks & Blocks.DISCHARGE for rule in battery.rules) for battery in bank.batteries
    )
    stiff = any(load.exponent <= 1.0 for load in bank.loads)
    return DROPPED if goes_dark and bank.chargers and stiff else None


def drawn(index: int, load: Load) -> str:
    """Return a load's amount, 0 while it has cut itself off."""
    amount = f"V(a{index})"
    return amount if load.cut_off is None else f"{amount} * (1 - V(lcut{index}))"


def law(node: str, load: Load, limit_V: float, gives: str | None = None) -> str:
    """Return V^(n - 1), bent to a straight line through 0 below the limit.

    While its amount `gives` is negative it is held there instead: at 0 V a straight line would
    never lift an empty bus.
    """
    volts, above = f"V({node})", f"max(V({node}), {number(limit_V)})"
    if load.exponent == 2.0 and gives is None:
        return volts
    power = f"pwr({above}, {number(load.exponent - 2.0)})"
    if gives is None:
        return f"{volts} * {power}"
    return f"({gives} < 0 ? {above} : {volts}) * {power}"


def _steps(load: Load, bank: Bank) -> tuple[Floats, Floats]:
    """Return the instants from which an amount holds, and the amounts; only real changes."""
    edges = np.concatenate([[0.0], load.edges_s(bank.duration_s, bank.starts_at_s)])
    middles = 0.5 * (edges + np.append(edges[1:], bank.duration_s))
    amounts = load.amount(middles, bank.starts_at_s)
    changed = np.concatenate([[True], np.diff(amounts) != 0.0])
    return edges[changed], amounts[changed]


def _cut_off_lines(load: Load, index: int, node: str, max_step_s: float) -> list[str]:
    """Return the latch lcut<j> that is 1 while the load has cut itself off."""
    cut_off = load.cut_off
    if cut_off is None:
        return []
    lines = margin_lines(f"mcut{index}", f"V({node}) - {number(cut_off.below_V)}", "V")
    restart = None
    if cut_off.restart_V is not None:
        lines += margin_lines(f"ncut{index}", f"V({node}) - {number(cut_off.restart_V)}", "V")
        restart = f"V(ncut{index}) > 0"
    low = f"V(mcut{index}) < 0"
    return lines + latch_lines(f"cut{index}", low, cut_off.after_s, max_step_s, restart)


def steps_line(node: str, times: Floats, values: Floats) -> str:
    """Return a piecewise linear source with steep edges, which are break points.

    Times [s], values [any unit].
    """
    if times.size == 1:
        return f"V{node} {node} 0 {number(float(values[0]))}"
    ramp_s = min(RAMP_S, 0.25 * float(np.diff(times).min()))
    points = [f"0 {number(float(values[0]))}"]
    for time_s, before, after in zip(times[1:], values[:-1], values[1:], strict=True):
        points.append(f"{number(time_s)} {number(before)}")
        points.append(f"{number(time_s + ramp_s)} {number(after)}")
    return f"V{node} {node} 0 PWL({' '.join(points)})"
