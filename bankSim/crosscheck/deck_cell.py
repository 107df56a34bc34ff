"""One cell as a netlist: charge in one or two wells, voltage, relaxation, hysteresis."""

import math

from bankSim.crosscheck.deck_latch import COUNTER_SCALE
from bankSim.crosscheck.deck_words import number, pwl
from bankSim.model.cell import DRAINED, Cell, RelaxationPair, arrhenius_factor

# Charges, relaxation and hysteresis are computed this much smaller: over a short step the
# rounding of a voltage across a large capacitor would be a current that never settles.
SCALE = 1e-7


def cell_lines(
    cell: Cell, index: int, place: int, temperature_K: float, balancing: str
) -> list[str]:
    """Return one cell of battery `index`: its charge as capacitors, its voltage as a source.

    Parameters
    ----------
    cell : Cell
    index, place : int
        Of the battery in the bank and the cell in the battery, from 1.
    temperature_K : float
    balancing : str
        Current that a balancer takes out of it, as an expression; empty for none.
    """
    current, node, below = f"I(Vb{index})", f"b{index}c{place}", f"b{index}c{place - 1}"
    factor = arrhenius_factor(cell.activation_J_mol, temperature_K)
    read, part = f"V({node}z)", 1.0
    lines = _charge_lines(cell, node, _leaving(cell, node, current, balancing))
    if cell.usable_part is not None:
        part = float(cell.usable_part(temperature_K))
    volts, ohm = pwl(cell.ocv_V, read), _ohm(cell, read, current, factor, part)
    if cell.hysteresis_V > 0.0:
        volts += f" + {number(cell.hysteresis_V)} * V({node}h)"
        lines += _hysteresis_lines(cell, node, current)
    lags = (_lag(cell, f"V({node}z)", current, factor), "", "")
    for letter, pair, lag in zip("uvw", cell.relaxation, lags, strict=False):
        if pair.resistance_ohm == 0.0 and not lag:
            continue
        lines += _pair_lines(pair, lag, f"{node}{letter}", f"Vb{index}", factor)
        volts += f" - V({node}{letter})"
    return [*lines, f"B{node} {node} {below} V = {volts} - {current} * {ohm}"]


def _ohm(cell: Cell, head: str, current: str, factor: float, part: float) -> str:
    """Return R0 over the head z, read at 1 - (1 - z) / part.

    On charge it is read no lower than where its rise near empty begins.
    """
    if not math.isfinite(cell.charge_ohm_from):
        return pwl(cell.ohmic_ohm, head, factor, part)
    into = f"max({head}, {number(1.0 - (1.0 - cell.charge_ohm_from) * part)})"
    return f"({pwl(cell.ohmic_ohm, f'({current} < 0 ? {into} : {head})', factor, part)})"


def _charge_lines(cell: Cell, node: str, leaving: str) -> list[str]:
    """Return the wells: capacitors whose voltages are their heads, a conductance in between.

    The conductance k' c (1 - c) Q lets the heads approach each other at the rate k'.
    """
    c, wells = cell.available_fraction, [(f"{node}z", cell.available_fraction)]
    if c < 1.0:
        wells.append((f"{node}y", 1.0 - c))
    lines = []
    for well, part in wells:
        lines.append(f"C{well} {well} 0 {number(SCALE * part * cell.charge_C)}")
        lines.append(f".ic V({well})={number(cell.state_of_charge)}")
    lines.append(f"B{node}z {node}z 0 I = {number(SCALE)} * ({leaving})")
    if c < 1.0:
        siemens = number(SCALE * cell.well_rate_per_s * c * (1.0 - c) * cell.charge_C)
        lines.append(f"G{node}y {node}y {node}z {node}y {node}z {siemens}")
    return lines


def _leaving(cell: Cell, node: str, current: str, balancing: str) -> str:
    """Return all currents that leave a cell's charge; charging is stored with a loss."""
    head = f"V({node}z)"
    left = f"({head} > 0 ? 1 : max(1 + {head} / {number(DRAINED)}, 0))"
    parts = [current, f"{number(cell.standing_A)} * {left}"]
    if cell.coulombic_efficiency < 1.0:
        parts[0] = f"{current} * ({current} < 0 ? {number(cell.coulombic_efficiency)} : 1)"
    if cell.gassing_A > 0.0:
        parts.append(f"{number(cell.gassing_A)} * max({head} - 1, 0)")
    return " + ".join([*parts, balancing] if balancing else parts)


def _hysteresis_lines(cell: Cell, node: str, current: str) -> list[str]:
    """Return dh/dt = -|g I/Q| (h + sign I)."""
    rate = number(SCALE * cell.hysteresis_rate / cell.charge_C)
    return [
        f"C{node}h {node}h 0 {number(SCALE)}",
        f"B{node}h {node}h 0 I = {rate} * (abs({current}) * V({node}h) + {current})",
    ]


def _lag(cell: Cell, head: str, current: str, factor: float) -> str:
    """Return what a charge drives the first pair to besides its own resistance, in V, or ""."""
    lag = cell.charge_lag
    if lag.full_ohm == 0.0:
        return ""
    stored = f"-{number(cell.coulombic_efficiency)} * {current}"
    if cell.gassing_A > 0.0:
        stored += f" - {number(cell.gassing_A)} * max({head} - 1, 0)"
    volts = f"{number(factor * lag.full_ohm)} * max({stored}, 0)"
    if math.isfinite(lag.width):
        part = f"{number(lag.width)} / ({number(lag.width)} + max(1 - {head}, 0))"
        volts += f" * max({part} - {number(lag.away)}, 0)"
    if not math.isfinite(lag.bend_V):
        return volts
    return f"{number(lag.bend_V)} * asinh({volts} / {number(lag.bend_V)})"


def _pair_lines(
    pair: RelaxationPair, lag: str, node: str, ammeter: str, factor: float
) -> list[str]:
    """Return a resistor of 1 ohm and a capacitor that are driven to R I, on charge to more.

    They stand beside the string of cells, at ground.
    """
    ohm = factor * pair.resistance_ohm
    drive = f"F{node} 0 {node} {ammeter} {number(SCALE * ohm)}"
    if lag:
        volts = f"{number(ohm)} * I({ammeter})"
        volts = f"(I({ammeter}) < 0 ? {volts} - {lag} : {volts})"
        drive = f"B{node} 0 {node} I = {number(SCALE)} * {volts}"
    return [
        drive,
        f"R{node} {node} 0 {number(1.0 / SCALE)}",
        f"C{node} {node} 0 {number(SCALE * pair.time_constant_s)}",
        f".ic V({node})=0",
    ]


def counter_lines(index: int) -> list[str]:
    """Return the capacitors that count the charge given (d) and taken (e), 1 V = 1 Ah."""
    current, scale = f"I(Vb{index})", number(COUNTER_SCALE)
    lines = []
    for node, way in ((f"d{index}", current), (f"e{index}", f"-{current}")):
        lines.append(f"C{node} {node} 0 {number(3600.0 * COUNTER_SCALE)}")
        lines.append(f"B{node} 0 {node} I = {scale} * max({way}, 0)")
    return lines
