"""One step of the cells for a current that changes in a straight line."""

import math

from bankSim.kernels.arrays import (
    AIM_BALANCE,
    AIM_LEAK,
    BALANCE,
    BRANCH,
    CELL_EMF,
    CELL_OHM,
    CELL_SLOPE,
    CURRENT,
    EMF,
    FACTOR,
    KELVIN,
    LEAK,
    LEAKED,
    LEVEL,
    MOVED,
    OHM,
    OPEN,
    PAIR,
    SOC,
    USABLE,
    WELL,
    WELL_SLOT,
)
from bankSim.kernels.curves import find_piece, value_and_slope
from bankSim.kernels.jit import inner, pasted

# columns of the weights of a relaxation pair
KEEP, RAMP = range(2)
# columns of a relaxation pair's values
PAIR_OHM, PAIR_TIME = range(2)
REFERENCE_K = 298.15
DRAINED = 0.01  # below empty: self-discharge fades out over it


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

    Source
    ------
    docs/theory.md, eq. 2.8.
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
    Equations: docs/theory.md, eq. 5.1, 5.2.
    """
    toward_out = math.exp(-rate_per_charge * out) if out > 0.0 else 1.0
    toward_in = math.exp(-rate_per_charge * into) if into > 0.0 else 1.0
    if start >= 0.0:
        branch = -1.0 + (branch + 1.0) * toward_out
        return 1.0 + (branch - 1.0) * toward_in
    branch = 1.0 + (branch - 1.0) * toward_in
    return -1.0 + (branch + 1.0) * toward_out


@inner
def weights_of(x):
    """Exact weights of dv/dt = (u - v) / tau over dt = x tau for a straight u. [1]

    v(dt) = keep v(0) + (1 - keep) u(0) + ramp (u(dt) - u(0)),
    keep = exp(-x), ramp = 1 - (1 - exp(-x)) / x.

    Source: docs/theory.md, eq. 4.3.
    """
    if x < 1e-3:
        return math.exp(-x), x * (0.5 - x * (1.0 / 6.0 - x / 24.0))
    return math.exp(-x), 1.0 + math.expm1(-x) / x


@inner
def pair_weights(bank, tally, dt, weight):
    """Write the weights of the relaxation pairs, the wells and the temperatures over dt.

    Parameters
    ----------
    bank : Bank
        Uses cell.pairs, cell.bound, battery.heat_time and the time constants.
    tally : array (n,)
        Out: keep and ramp of the temperatures. [1]
    dt : float
        > 0. [s]
    weight : array (m, 4, 2)
        Out: KEEP and RAMP. [1]
    """
    last, keep, ramp = 0.0, 0.0, 0.0
    for j in range(WELL_SLOT + 1):
        for i in range(bank.cell.size):
            if j >= bank.cell[i].pairs and (j < WELL_SLOT or bank.cell[i].bound == 0.0):
                continue
            if bank.pair[i, j, PAIR_TIME] != last:
                last = bank.pair[i, j, PAIR_TIME]
                keep, ramp = weights_of(dt / last)
            weight[i, j, KEEP] = keep
            weight[i, j, RAMP] = ramp
    heat_weights(bank.battery, tally, dt)


@inner
def heat_weights(batteries, tally, dt):
    """Write the weights of the temperatures over dt, see `pair_weights`."""
    for k in range(batteries.size):
        if batteries[k].heat_time > 0.0:
            tally[k].keep, tally[k].ramp = weights_of(dt / batteries[k].heat_time)


@pasted
def advance_cell(cell, pair, weight, before, aim, start, end, leaves, enters, dt, part, after):
    """Advance one cell over dt, exactly for currents that run straight from start to end.

    Parameters
    ----------
    cell : CELL record
    pair, weight : array (4, 2)
        See `pair_weights`; of pairs, only the wells' slot is used. [ohm, s; 1]
    before, after : array (17,)
        Its columns of a moment at the start (in) and end (out) of the step.
        In the units of `kernels.arrays`.
    aim : array (17,)
        Its columns of the trial moment: AIM_LEAK and AIM_BALANCE at the end of the whole step.
    start, end : float
        [A]
    leaves, enters : float
        From `split_charge`. [C]
    dt : float
        [s]
    part : float
        dt as a part of the whole step. [1]

    Source
    ------
    docs/theory.md, eq. 2.1, 2.2, 2.6, 2.9, 2.10.
    """
    leak_end = before[LEAK] + part * (aim[AIM_LEAK] - before[LEAK])
    moved_end = before[BALANCE] + part * (aim[AIM_BALANCE] - before[BALANCE])
    leaked = 0.5 * (before[LEAK] + leak_end) * dt
    moved = 0.5 * (before[BALANCE] + moved_end) * dt
    after[LEAKED] = before[LEAKED] + leaked
    after[MOVED] = before[MOVED] + moved
    gone = leaves - cell.efficiency * enters + leaked + moved
    after[SOC] = before[SOC] - gone / cell.charge
    after[WELL] = 0.0
    if cell.bound != 0.0:
        first = start if start > 0.0 else cell.efficiency * start
        last = end if end > 0.0 else cell.efficiency * end
        first += before[LEAK] + before[BALANCE]
        last += leak_end + moved_end
        keep, ramp = weight[WELL_SLOT, KEEP], weight[WELL_SLOT, RAMP]
        drive = (1.0 - keep) * first + ramp * (last - first)
        after[WELL] = keep * before[WELL] + pair[WELL_SLOT, PAIR_OHM] * drive
    after[BRANCH] = before[BRANCH]
    if cell.hysteresis != 0.0:
        per_charge = cell.rate / cell.charge
        after[BRANCH] = follow_branch(before[BRANCH], start, leaves, enters, per_charge)


@inner
def charge_lag(cell, factor, head, current):
    """What a charge drives the first pair to besides its own resistance, and how that changes.

    It goes with the current that is stored: what gasses meets none of it.

    Parameters
    ----------
    cell : CELL record
    factor : float
        R(T) / R(25 degC). [1]
    head : float
        y. [1]
    current : float
        [A]

    Returns
    -------
    volts, per_ampere, per_head : float
        >= 0; the slopes over the charging current and over the head. [V, ohm, V]

    Source
    ------
    docs/theory.md, eq. 4.4, 4.5.
    """
    if current >= 0.0 or cell.lag == 0.0:
        return 0.0, 0.0, 0.0
    part = 1.0 / (1.0 + cell.lag_near * max(1.0 - head, 0.0))
    near = part - cell.lag_away
    stored = -cell.efficiency * current - cell.gassing * max(head - 1.0, 0.0)
    if near <= 0.0 or stored <= 0.0:
        return 0.0, 0.0, 0.0
    ohm = factor * cell.lag
    volts, flatter = ohm * near * stored, 1.0
    if cell.lag_bend > 0.0:
        bent = volts * cell.lag_bend
        volts, flatter = math.asinh(bent) / cell.lag_bend, 1.0 / math.sqrt(1.0 + bent * bent)
    steep = cell.lag_near * part * part * stored if head < 1.0 else -near * cell.gassing
    return volts, ohm * near * cell.efficiency * flatter, ohm * steep * flatter


@pasted
def advance_pairs(cell, pair, weight, factor, before, start, end, after):
    """Advance the relaxation pairs of one cell; `factor` is R(T) / R(25 degC).

    Source: docs/theory.md, eq. 4.2, 4.4, 4.5.
    """
    for j in range(cell.pairs):
        keep = weight[j, KEEP]
        drive = (1.0 - keep) * start + weight[j, RAMP] * (end - start)
        after[PAIR + j] = keep * before[PAIR + j] + factor * pair[j, PAIR_OHM] * drive
    if cell.lag > 0.0 and cell.pairs > 0 and (start < 0.0 or end < 0.0):
        head = after[SOC] - cell.bound * after[WELL]
        first = charge_lag(cell, factor, before[LEVEL], start)[0]
        last = charge_lag(cell, factor, head, end)[0]
        after[PAIR] -= (1.0 - weight[0, KEEP]) * first + weight[0, RAMP] * (last - first)


@inner
def warmth(batteries, pieces, now, battery):
    """Write R(T) / R(25 degC) and the usable part of the charge at a battery's temperature.

    Source: Arrhenius; straight lines between the rows of f(T).

    Source: docs/theory.md, eq. 6.3.
    """
    one, kelvin = batteries[battery], now[battery, KELVIN]
    now[battery, FACTOR], now[battery, USABLE] = 1.0, 1.0
    if one.activation != 0.0:
        now[battery, FACTOR] = math.exp(one.activation * (1.0 / kelvin - 1.0 / REFERENCE_K))
    if one.usable_end > one.usable_first:
        first, end = one.usable_first, one.usable_end
        piece = find_piece(pieces, first, end, first, kelvin)
        now[battery, USABLE] = value_and_slope(pieces, piece, kelvin)[0]


@inner
def look(batteries, cells, pieces, hint, moment, now):
    """Write the source voltages and resistances that belong to the memory of the cells.

    Parameters
    ----------
    batteries, cells, pieces : arrays
        Of the bank.
    hint : array of int (m, 2)
        Curve pieces to look at first, of the voltage and of R0; updated.
    moment : array (m, 17)
        In: SOC, BRANCH, PAIR, WELL; out: what follows from them.
    now : array (n + 1 + c, 8)
        In: KELVIN, and CURRENT for the direction in which R0 is read; out: EMF, OHM, FACTOR,
        USABLE.

    Source
    ------
    docs/theory.md, eq. 2.3, 2.7, 6.1, 6.2, 6.4, 6.7, 8.1.
    """
    for k in range(batteries.size):
        warmth(batteries, pieces, now, k)
        emf, ohm = 0.0, batteries[k].internal
        factor, usable = now[k, FACTOR], now[k, USABLE]
        for i in range(batteries[k].first, batteries[k].end):
            cell = cells[i]
            head = moment[i, SOC] - cell.bound * moment[i, WELL]
            piece = find_piece(pieces, cell.ocv_first, cell.ocv_end, hint[i, 0], head)
            hint[i, 0] = piece
            voltage, slope = value_and_slope(pieces, piece, head)
            drawn = 1.0 - (1.0 - head) / usable
            if now[k, CURRENT] < 0.0:
                drawn = max(drawn, cell.charge_from)
            piece = find_piece(pieces, cell.ohm_first, cell.ohm_end, hint[i, 1], drawn)
            hint[i, 1] = piece
            resistance, steepness = value_and_slope(pieces, piece, drawn)
            moment[i, LEVEL], moment[i, OPEN] = head, voltage
            left = min(max(1.0 + head / DRAINED, 0.0), 1.0)
            moment[i, LEAK] = left * cell.standing + cell.gassing * max(head - 1.0, 0.0)
            voltage += cell.hysteresis * moment[i, BRANCH]
            for j in range(cell.pairs):
                voltage -= moment[i, PAIR + j]
            resistance *= cell.ohm_scale * factor
            moment[i, CELL_EMF] = voltage
            moment[i, CELL_OHM] = resistance
            steepness *= cell.ohm_scale * factor / usable
            if now[k, CURRENT] < 0.0 and drawn == cell.charge_from:
                steepness = 0.0
            moment[i, CELL_SLOPE] = slope - now[k, CURRENT] * steepness
            emf += voltage
            ohm += resistance
        now[k, EMF] = emf
        now[k, OHM] = ohm


@pasted
def stiffness(bank, moment, now, weight, dt, tally):
    """Write how much each battery's voltage falls per ampere at the end of a step.

    Through the charge, dt / (2 Q) dU/dz, through the wells, and through the pairs, R_j ramp_j;
    used to solve for the end current implicitly, so that a small resistance beside a steep curve
    needs no small steps.

    Parameters
    ----------
    bank : Bank
    moment : array (m, 17)
        At the predicted end of the step. In the units of `kernels.arrays`.
    now : array (n + 1 + c, 8)
        Uses FACTOR, and CURRENT for its direction.
    weight : array (m, 4, 2)
    dt : float
        [s]
    tally : array (n,)
        Out: stiff >= 0. [ohm]

    Source
    ------
    docs/theory.md, eq. 16.3.
    """
    for k in range(tally.size):
        total = 0.0
        for i in range(bank.battery[k].first, bank.battery[k].end):
            cell = bank.cell[i]
            fall = 0.5 * dt / cell.charge
            if cell.bound != 0.0:
                ramp = weight[i, WELL_SLOT, RAMP]
                fall += cell.bound * bank.pair[i, WELL_SLOT, PAIR_OHM] * ramp
            total += fall * moment[i, CELL_SLOPE]
            for j in range(cell.pairs):
                total += now[k, FACTOR] * bank.pair[i, j, PAIR_OHM] * weight[i, j, RAMP]
            if now[k, CURRENT] < 0.0 and cell.pairs > 0:
                lag = charge_lag(cell, now[k, FACTOR], moment[i, LEVEL], now[k, CURRENT])
                total += weight[i, 0, RAMP] * (lag[1] + fall * lag[2])
        tally[k].stiff = max(total, 0.0)
