"""One step of the cells for a current that changes in a straight line."""

import math

from bankSim.kernels.arrays import (
    BRANCH,
    CELL_EMF,
    CELL_OHM,
    CELL_SLOPE,
    CURRENT,
    EMF,
    MOST_PAIRS,
    OHM,
    PAIR,
    SOC,
)
from bankSim.kernels.curves import find_piece, value_and_slope
from bankSim.kernels.jit import inner, pasted

# columns of the weights of a relaxation pair
KEEP, RAMP = range(2)
# columns of a relaxation pair's values
PAIR_OHM, PAIR_TIME = range(2)


@inner
def split_charge(start, end, dt):
    """Charge that leaves and that enters while the current runs straight from start to end.

    Parameters
    ----------
    start, end : float
        Discharge positive. [A]
    dt : float
        [s]

    Returns
    -------
    out, into : float
        Both >= 0; out - into = (start + end) dt / 2. [C]
    """
    if start >= 0.0 and end >= 0.0:
        return 0.5 * (start + end) * dt, 0.0
    if start <= 0.0 and end <= 0.0:
        return 0.0, -0.5 * (start + end) * dt
    first = 0.5 * start * start / abs(start - end) * dt
    last = 0.5 * end * end / abs(start - end) * dt
    return (first, last) if start > 0.0 else (last, first)


@inner
def follow_branch(branch, start, out, into, rate_per_charge):
    """Advance the one-state hysteresis exactly: h -> -s + (h + s) exp(-g q / Q), s = sign(I).

    Parameters
    ----------
    branch : float
        h at the start, -1 (long discharge) to 1 (long charge). [1]
    start : float
        Current at the start: its sign tells which direction came first. [A]
    out, into : float
        Charge that left and that entered, q. [C]
    rate_per_charge : float
        g / Q. [1/C]

    Source
    ------
    Plett, J. Power Sources 134 (2004) 262, with discharge positive.
    """
    toward_out = math.exp(-rate_per_charge * out) if out > 0.0 else 1.0
    toward_in = math.exp(-rate_per_charge * into) if into > 0.0 else 1.0
    if start >= 0.0:
        branch = -1.0 + (branch + 1.0) * toward_out
        return 1.0 + (branch - 1.0) * toward_in
    branch = 1.0 + (branch - 1.0) * toward_in
    return -1.0 + (branch + 1.0) * toward_out


@inner
def pair_weights(bank, dt, weight):
    """Write the exact weights of dv/dt = (R I - v) / tau over dt for a straight current.

    v(dt) = keep v(0) + R [(1 - keep) I(0) + ramp (I(dt) - I(0))],
    keep = exp(-x), ramp = 1 - (1 - exp(-x)) / x, x = dt / tau.

    Parameters
    ----------
    bank : Bank
        Uses cell.pairs and the time constants.
    dt : float
        > 0. [s]
    weight : array (m, 3, 2)
        Out: KEEP and RAMP. [1]
    """
    last, keep, ramp = 0.0, 0.0, 0.0
    for j in range(MOST_PAIRS):
        for i in range(bank.cell.size):
            if j >= bank.cell[i].pairs:
                continue
            if bank.pair[i, j, PAIR_TIME] != last:
                last = bank.pair[i, j, PAIR_TIME]
                x = dt / last
                keep = math.exp(-x)
                if x < 1e-3:
                    ramp = x * (0.5 - x * (1.0 / 6.0 - x / 24.0))
                else:
                    ramp = 1.0 + math.expm1(-x) / x
            weight[i, j, KEEP] = keep
            weight[i, j, RAMP] = ramp


@pasted
def advance_cell(cell, pair, weight, before, start, end, leaves, enters, dt, after):
    """Advance one cell over dt, exactly for a current that runs straight from start to end.

    Parameters
    ----------
    cell : CELL record
    pair, weight : array (3, 2)
        See `pair_weights`.
    before, after : array (8,)
        Its columns of a moment at the start (in) and end (out) of the step.
    start, end : float
        [A]
    leaves, enters : float
        From `split_charge`. [C]
    dt : float
        [s]
    """
    gone = leaves - cell.efficiency * enters + cell.standing * dt
    after[SOC] = before[SOC] - gone / cell.charge
    for j in range(cell.pairs):
        keep = weight[j, KEEP]
        drive = (1.0 - keep) * start + weight[j, RAMP] * (end - start)
        after[PAIR + j] = keep * before[PAIR + j] + pair[j, PAIR_OHM] * drive
    after[BRANCH] = before[BRANCH]
    if cell.hysteresis != 0.0:
        per_charge = cell.rate / cell.charge
        after[BRANCH] = follow_branch(before[BRANCH], start, leaves, enters, per_charge)


@inner
def look(bank, hint, moment, now):
    """Write the source voltages and resistances that belong to the memory of the cells.

    Parameters
    ----------
    bank : Bank
    hint : array (m, 2)
        Curve pieces to look at first; updated.
    moment : array (m, 8)
        In: SOC, BRANCH, PAIR; out: CELL_EMF, CELL_OHM, CELL_SLOPE.
    now : array (n + 1, 3)
        In: CURRENT, for the slope of R0 only; out: EMF, OHM.
    """
    for k in range(bank.battery.size):
        emf, ohm = 0.0, bank.battery[k].internal
        for i in range(bank.battery[k].first, bank.battery[k].end):
            cell, z = bank.cell[i], moment[i, SOC]
            piece = find_piece(bank.pieces, cell.ocv_first, cell.ocv_end, hint[i, 0], z)
            hint[i, 0] = piece
            voltage, slope = value_and_slope(bank.pieces, piece, z)
            piece = find_piece(bank.pieces, cell.ohm_first, cell.ohm_end, hint[i, 1], z)
            hint[i, 1] = piece
            resistance, steepness = value_and_slope(bank.pieces, piece, z)
            voltage += cell.hysteresis * moment[i, BRANCH]
            for j in range(cell.pairs):
                voltage -= moment[i, PAIR + j]
            resistance *= cell.ohm_factor
            moment[i, CELL_EMF] = voltage
            moment[i, CELL_OHM] = resistance
            moment[i, CELL_SLOPE] = slope - now[k, CURRENT] * steepness * cell.ohm_factor
            emf += voltage
            ohm += resistance
        now[k, EMF] = emf
        now[k, OHM] = ohm


@pasted
def stiffness(bank, moment, weight, dt, tally):
    """Write how much each battery's voltage falls per ampere at the end of a step.

    Through the charge, dt / (2 Q) dU/dz, and through the pairs, R_j ramp_j; used to solve for the
    end current implicitly, so that a small resistance beside a steep curve needs no small steps.

    Parameters
    ----------
    bank : Bank
    moment : array (m, 8)
        At the predicted end of the step.
    weight : array (m, 3, 2)
    dt : float
        [s]
    tally : array (n,)
        Out: stiff >= 0. [ohm]
    """
    for k in range(tally.size):
        total = 0.0
        for i in range(bank.battery[k].first, bank.battery[k].end):
            total += 0.5 * dt * moment[i, CELL_SLOPE] / bank.cell[i].charge
            for j in range(bank.cell[i].pairs):
                total += bank.pair[i, j, PAIR_OHM] * weight[i, j, RAMP]
        tally[k].stiff = max(total, 0.0)
