"""The wiring solved to round-off in a time that grows with the number of batteries only."""

import math

from bankSim.kernels.arrays import (
    AT_LOADS,
    BOTH_BLOCKED,
    BUS,
    CHARGE_BLOCKED,
    CURRENT,
    DISCHARGE_BLOCKED,
    EMF,
    FAILED,
    FAR,
    LINK,
    MAIN,
    NO_TAKER,
    NOBODY,
    OK,
    SHORTFALL,
    TOTAL,
)
from bankSim.kernels.jit import inner, pasted
from bankSim.kernels.loads import asks_anything, feed, load_current
from bankSim.kernels.search import SAME_V, excess, hold_between
from bankSim.kernels.supply import LEAST_OHM, next_hold, supply

# Stands for the batteries when none is connected. [ohm]
ISOLATED_OHM = 1e9
# A voltage at the loads that only charge which nobody takes can drive there. [V]
ABSURD_V = 1e4
# A search by voltage: points of its grid, halvings, where it begins over the highest source.
GRID, HALVINGS, HIGHER = 256, 80, 1.25
# columns of the ladder: free part and load part of the segment current J, elimination factor,
# then resistance and source voltage of the connected batteries in row order
FREE, LOADED, FACTOR, BRANCH_OHM, BRANCH_EMF = range(5)


@inner
def reduce_row(ladder, active, count, positions, link, far):
    """Reduce a row of sources to one source: V = E - R T at the take-off.

    J_a is the current in the plus rail between connected batteries a and a + 1, towards the plus
    take-off at position 0; I_a = J_{a-1} - J_a with J_{-1} = T. Kirchhoff's voltage law around
    neighbours, m positions apart,

    (R_a + R_{a+1} + 2 r m) J_a - R_a J_{a-1} - R_{a+1} J_{a+1} = E_{a+1} - E_a + far r m T,

    is tridiagonal and solved for J = free + loaded T. This form holds for r = 0 as well, which is
    one common pair of bars. far = 1 takes minus off at the other end of the row.

    Parameters
    ----------
    ladder : array (n, 5)
        Columns BRANCH_OHM [ohm] and BRANCH_EMF [V] given for the first `count` rows; FREE [A],
        LOADED [1] and FACTOR [1] are written.
    active : array (n,)
        Positions 0 .. positions - 1 of the connected batteries, rising.
    count : int
        How many are connected, >= 1.
    positions : int
        Length of the whole row.
    link : float
        r, one rail between neighbours. [ohm]
    far : float
        1 or 0.

    Returns
    -------
    emf, resistance : float
        E [V] and R [ohm] seen at the take-off.

    Source
    ------
    Kirchhoff's laws; elimination for tridiagonal systems without pivoting, which is stable here
    because the diagonal dominates.
    """
    for a in range(count - 1):
        gap = link * (active[a + 1] - active[a])
        back, ahead = ladder[a, BRANCH_OHM], ladder[a + 1, BRANCH_OHM]
        pivot = back + ahead + 2.0 * gap
        free = ladder[a + 1, BRANCH_EMF] - ladder[a, BRANCH_EMF]
        loaded = far * gap
        if a == 0:
            loaded += back
        else:
            pivot -= back * ladder[a - 1, FACTOR]
            free += back * ladder[a - 1, FREE]
            loaded += back * ladder[a - 1, LOADED]
        ladder[a, FACTOR] = ahead / pivot
        ladder[a, FREE] = free / pivot
        ladder[a, LOADED] = loaded / pivot
    ladder[count - 1, FREE] = 0.0
    ladder[count - 1, LOADED] = 0.0
    for a in range(count - 3, -1, -1):
        ladder[a, FREE] += ladder[a, FACTOR] * ladder[a + 1, FREE]
        ladder[a, LOADED] += ladder[a, FACTOR] * ladder[a + 1, LOADED]
    emf = ladder[0, BRANCH_EMF] + ladder[0, BRANCH_OHM] * ladder[0, FREE]
    resistance = ladder[0, BRANCH_OHM] * (1.0 - ladder[0, LOADED])
    if far == 0.0:
        return emf, resistance + 2.0 * link * active[0]
    resistance += link * (active[0] + positions - 1 - active[count - 1])
    for a in range(count - 1):
        gap = link * (active[a + 1] - active[a])
        emf += gap * ladder[a, FREE]
        resistance += gap * (1.0 - ladder[a, LOADED])
    return emf, resistance


@pasted
def split_current(ladder, active, count, total, now):
    """Write each battery's current for the bank current `total`; unconnected ones get 0. [A]"""
    for k in range(active.size):
        now[k, CURRENT] = 0.0
    above = total
    for a in range(count):
        below = ladder[a, FREE] + ladder[a, LOADED] * total
        now[active[a], CURRENT] = above - below
        above = below


@inner
def rail_voltage(now, count, link, far, position):
    """Voltage between the rails of `count` batteries where the lead of one of them ends. [V]"""
    voltage, total = now[count, BUS], now[count, TOTAL]
    segment = total
    if far != 0.0:
        for s in range(count - 1):
            segment -= now[s, CURRENT]
            voltage += link * (total - segment)
    segment = total
    for s in range(position):
        segment -= now[s, CURRENT]
        voltage += link * (2.0 * segment - far * total)
    return voltage


@inner
def facing_emf(batteries, tally, now, battery):
    """Voltage that a battery shows to its branch: a body diode stands against its current. [V]"""
    mode = tally[battery].mode
    if mode == CHARGE_BLOCKED:
        return now[battery, EMF] - batteries[battery].drop
    if mode == DISCHARGE_BLOCKED:
        return now[battery, EMF] + batteries[battery].drop
    return now[battery, EMF]


@pasted
def connect(batteries, tally, series, ladder, active, now):
    """Gather the connected batteries in row order; returns their number."""
    count = 0
    for k in range(tally.size):
        if tally[k].on == 1:
            active[count] = k
            ladder[count, BRANCH_OHM] = series[k]
            ladder[count, BRANCH_EMF] = facing_emf(batteries, tally, now, k)
            count += 1
    return count


@inner
def share(
    batteries,
    setting,
    exponent,
    chargers,
    stages,
    source,
    tally,
    level,
    ladder,
    active,
    series,
    now,
):
    """Split what loads and chargers ask for between the batteries: (diag(R) + Z) I = E - V.

    A battery with one direction blocked carries the other one only, through a body diode with a
    constant drop; which of these carry current is a linear complementarity problem. It is solved
    by exchanging the first one that breaks its condition (least-index rule; Murty, Opsearch 11
    (1974), from memory), starting from the last answer.

    Parameters
    ----------
    batteries, setting, exponent, chargers, stages : arrays
        Of the bank; of batteries only drop.
    source, tally, level : arrays
        Of the run; tally.on is the first guess and the answer.
    ladder, active : arrays
        Room to calculate in.
    series : array (n,)
        Resistance of each branch up to the end of its lead. [ohm]
    now : array (n + 1 + c, 8)
        In: EMF [V], and TIME of the bank [s]; out: CURRENT [A] of batteries and chargers, and of
        the bank BUS [V], TOTAL [A], AT_LOADS [V].

    Returns
    -------
    status : int
        OK; NOBODY; SHORTFALL; NO_TAKER; FAILED. On anything but OK all currents are 0.
    """
    size, link, far = tally.size, setting[LINK], setting[FAR]
    for k in range(size):
        if tally[k].mode == 0:
            tally[k].on = 1
        elif tally[k].mode == BOTH_BLOCKED:
            tally[k].on = 0
    status = FAILED
    for _ in range(8 * size + 64):
        count = connect(batteries, tally, series, ladder, active, now)
        emf, inner = 0.0, ISOLATED_OHM
        if count > 0:
            emf, inner = reduce_row(ladder, active, count, size, link, far)
        outer = inner + setting[MAIN]
        if chargers.size > 0:
            status, at_loads, total = supply(
                chargers, stages, source, level, exponent, now, emf, outer, count
            )
        else:
            status, at_loads, total = feed(emf, outer, level, exponent)
        if status == SHORTFALL and not asks_anything(level):
            status, at_loads, total = OK, emf, 0.0  # at rest even a voltage below 0 will do
        if count == 0:
            total = 0.0
            if status == OK and at_loads > ABSURD_V:
                status = offered(batteries, tally, level, exponent, now)
                if status == OK:
                    status = FAILED
                    continue
        if status == SHORTFALL and wake(batteries, tally, now):
            status = FAILED
            continue
        if status != OK:
            if status == SHORTFALL and count == 0:
                status = NOBODY
            break
        split_current(ladder, active, count, total, now)
        now[size, BUS] = at_loads + setting[MAIN] * total
        now[size, TOTAL] = total
        now[size, AT_LOADS] = at_loads
        wrong = _first_wrong(batteries, tally, now, link, far)
        if wrong < 0:
            return OK
        tally[wrong].on = 1 - tally[wrong].on
        status = FAILED
    if status == FAILED:
        status = search(
            batteries,
            setting,
            exponent,
            chargers,
            stages,
            source,
            tally,
            level,
            ladder,
            active,
            series,
            now,
        )
        if status == OK:
            return OK
    now[:, CURRENT] = 0.0
    now[size, BUS], now[size, TOTAL], now[size, AT_LOADS] = 0.0, 0.0, 0.0
    return status


@inner
def drive(batteries, setting, tally, ladder, active, series, now, voltage):
    """Write the currents of the batteries for a given voltage at the loads; returns their sum."""
    size, link, far = tally.size, setting[LINK], setting[FAR]
    total = 0.0
    for _ in range(8 * size + 64):
        count = connect(batteries, tally, series, ladder, active, now)
        total = 0.0
        if count > 0:
            emf, inner = reduce_row(ladder, active, count, size, link, far)
            total = (emf - voltage) / max(inner + setting[MAIN], LEAST_OHM)
        split_current(ladder, active, count, total, now)
        now[size, BUS] = voltage + setting[MAIN] * total
        now[size, TOTAL] = total
        now[size, AT_LOADS] = voltage
        wrong = _first_wrong(batteries, tally, now, link, far)
        if wrong < 0:
            break
        tally[wrong].on = 1 - tally[wrong].on
    return total


@inner
def search(
    batteries,
    setting,
    exponent,
    chargers,
    stages,
    source,
    tally,
    level,
    ladder,
    active,
    series,
    now,
):
    """Same as `share`, for the rare case that exchanging batteries runs in circles.

    With loads that draw more the lower the voltage, a battery behind its diode can be wanted
    without its current and not wanted with it. The highest voltage at the loads below which more
    is given than asked is looked for on a grid and closed in by halving.
    """
    size = tally.size
    top, able = 1.0, False
    for k in range(size):
        top = max(top, facing_emf(batteries, tally, now, k))
        able = able or tally[k].mode & DISCHARGE_BLOCKED == 0
    top = HIGHER * max(top, next_hold(stages, source, math.inf))
    high, low, found = top, 0.0, False
    for i in range(GRID):
        voltage = top * (1.0 - i / GRID)
        total = drive(batteries, setting, tally, ladder, active, series, now, voltage)
        if excess(chargers, stages, source, level, exponent, now, voltage, total) > 0.0:
            low, found = voltage, True
            break
        high = voltage
    if not found:
        return SHORTFALL if able else NOBODY
    if low == top:
        return NO_TAKER
    for _ in range(HALVINGS):
        voltage = 0.5 * (low + high)
        total = drive(batteries, setting, tally, ladder, active, series, now, voltage)
        if excess(chargers, stages, source, level, exponent, now, voltage, total) > 0.0:
            low = voltage
        else:
            high = voltage
    drive(batteries, setting, tally, ladder, active, series, now, low)
    hold_between(chargers, stages, source, level, exponent, now, size, low, high + SAME_V)
    return OK


@inner
def extreme(batteries, tally, now, mode):
    """Of the idle batteries in this mode: the highest that may feed, the lowest that may take."""
    best, sign = -1, 1.0 if mode == CHARGE_BLOCKED else -1.0
    for k in range(tally.size):
        if tally[k].on == 0 and tally[k].mode == mode:
            emf = sign * facing_emf(batteries, tally, now, k)
            if best < 0 or emf > sign * facing_emf(batteries, tally, now, best):
                best = k
    return best


@inner
def wake(batteries, tally, now):
    """With the loads unfed: connect one more battery that may feed them; False if there is none."""
    for k in range(tally.size):
        if tally[k].on == 1 and tally[k].mode == DISCHARGE_BLOCKED:
            tally[k].on = 0
            return True
    best = extreme(batteries, tally, now, CHARGE_BLOCKED)
    if best >= 0:
        tally[best].on = 1
    return best >= 0


@inner
def offered(batteries, tally, level, exponent, now):
    """With nobody connected and charge on offer: connect whom the loads make feed or be charged.

    Returns OK where somebody was, NOBODY where the loads want more than is offered, else NO_TAKER.
    """
    best = extreme(batteries, tally, now, CHARGE_BLOCKED)
    taker = extreme(batteries, tally, now, DISCHARGE_BLOCKED)
    voltage = 1.0
    if taker >= 0:
        voltage = facing_emf(batteries, tally, now, taker)
        if load_current(voltage, level, exponent)[0] < 0.0:
            tally[taker].on = 1
            return OK
    if best >= 0:
        voltage = facing_emf(batteries, tally, now, best)
        if load_current(voltage, level, exponent)[0] > 0.0:
            tally[best].on = 1
            return OK
    return NOBODY if load_current(voltage, level, exponent)[0] > 0.0 else NO_TAKER


@pasted
def _first_wrong(batteries, tally, now, link, far):
    """Return the first one-way battery whose state contradicts its voltage or current, or -1."""
    for k in range(tally.size):
        mode = tally[k].mode
        if mode == 0 or mode == BOTH_BLOCKED:
            continue
        sign = 1.0 if mode == CHARGE_BLOCKED else -1.0
        if tally[k].on == 1:
            if sign * now[k, CURRENT] < 0.0:
                return k
        else:
            rails = rail_voltage(now, tally.size, link, far, k)
            if sign * (facing_emf(batteries, tally, now, k) - rails) > 1e-12 * abs(rails):
                return k
    return -1
