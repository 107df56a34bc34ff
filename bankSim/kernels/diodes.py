"""Which batteries carry current: those with one direction blocked do so the other way only."""

from bankSim.kernels.arrays import (
    AT_LOADS,
    BOTH_BLOCKED,
    BUS,
    CHARGE_BLOCKED,
    CURRENT,
    DISCHARGE_BLOCKED,
    EMF,
    FAR,
    LINK,
    MAIN,
    NO_TAKER,
    NOBODY,
    OK,
    TOTAL,
)
from bankSim.kernels.jit import inner, pasted
from bankSim.kernels.ladder import BRANCH_EMF, BRANCH_OHM, rail_voltage, split_current
from bankSim.kernels.loads import load_current


@inner
def facing_emf(batteries, tally, now, battery):
    """Voltage that a battery shows to its branch: a body diode stands against its current. [V]

    Source: docs/theory.md, eq. 11.1.
    """
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


@pasted
def first_wrong(batteries, tally, now, link, far):
    """Return the first one-way battery whose state contradicts its voltage or current, or -1.

    Source: docs/theory.md, eq. 11.2.
    """
    for k in range(tally.size):
        mode = tally[k].mode
        if mode == 0 or mode == BOTH_BLOCKED:
            continue
        sign = 1.0 if mode == CHARGE_BLOCKED else -1.0
        if tally[k].on == 1:
            # one that could only take charge and carries nothing holds up no rails
            if sign * now[k, CURRENT] < 0.0 or (sign < 0.0 and now[k, CURRENT] == 0.0):
                return k
        else:
            rails = rail_voltage(now, tally.size, link, far, k)
            if sign * (facing_emf(batteries, tally, now, k) - rails) > 1e-12 * abs(rails):
                return k
    return -1


@inner
def spread(batteries, setting, tally, ladder, active, now, count, total, voltage):
    """Split the bank current and write it down; exchange the first battery that contradicts it.

    Parameters
    ----------
    batteries, setting, tally, ladder, active, now : arrays
        As for `bankSim.kernels.network.share`; tally.on of one battery may change.
    count : int
        How many batteries are connected.
    total, voltage : float
        Bank current [A] and voltage at the loads [V].

    Returns
    -------
    fits : bool
        Whether every battery's diode agrees with its current or voltage.

    Source
    ------
    docs/theory.md, eq. 10.5.
    """
    size, link, far = tally.size, setting[LINK], setting[FAR]
    split_current(ladder, active, count, total, now)
    now[size, BUS] = voltage + setting[MAIN] * total
    now[size, TOTAL] = total
    now[size, AT_LOADS] = voltage
    wrong = first_wrong(batteries, tally, now, link, far)
    if wrong < 0:
        return True
    tally[wrong].on = 1 - tally[wrong].on
    return False


@inner
def extreme(batteries, tally, now, mode):
    """Of the idle batteries in this mode: the highest that may feed, the lowest that may take.

    Unit: [V]
    """
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
