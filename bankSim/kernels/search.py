"""The network solved by search, where exchanging one-way batteries runs in circles."""

import math

from bankSim.kernels.arrays import (
    CURRENT,
    DISCHARGE_BLOCKED,
    FAR,
    LINK,
    MAIN,
    NO_TAKER,
    NOBODY,
    OK,
    SHORTFALL,
    TOTAL,
)
from bankSim.kernels.diodes import connect, facing_emf, spread
from bankSim.kernels.jit import inner
from bankSim.kernels.ladder import reduce_row
from bankSim.kernels.loads import asks_anything, load_current
from bankSim.kernels.supply import (
    LEAST_FED,
    LEAST_OHM,
    charger_hold,
    charger_limit,
    charger_on,
    give,
    next_hold,
    room_at,
)

SAME_V = 1e-9
# Below it a direction means nothing. [A]
TURN_A = 1e-9
# Points of the grid of voltages, halvings, and where it begins over the highest source.
POINTS, HALVINGS, HIGHER = 256, 80, 1.25


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
    """Same as `bankSim.kernels.network.share`, for where exchanging batteries runs in circles.

    Returns the same status. A battery may resist discharge and charge differently (tally.ohm_out,
    tally.ohm_into); series is what holds for the directions found.

    With loads that draw more the lower the voltage, a battery behind its diode can be wanted
    without its current and not wanted with it. The highest voltage at the loads below which more
    is given than asked is looked for on a grid and closed in by halving.

    Where nothing asks and no voltage above 0 is found, as in a bank driven below 0 V, none flows.

    Source: docs/theory.md, eq. 11.2.
    """
    size = tally.size
    top, able = 1.0, False
    for k in range(size):
        top = max(top, facing_emf(batteries, tally, now, k))
        able = able or tally[k].mode & DISCHARGE_BLOCKED == 0
    top = HIGHER * max(top, next_hold(stages, source, math.inf))
    high, low, found = top, 0.0, False
    for i in range(POINTS):
        voltage = top * (1.0 - i / POINTS)
        total = drive(batteries, setting, tally, ladder, active, series, now, voltage)
        if excess(chargers, stages, source, level, exponent, now, voltage, total) > 0.0:
            low, found = voltage, True
            break
        high = voltage
    if not found or (not able and low < LEAST_FED * next_hold(stages, source, math.inf)):
        return SHORTFALL if able and asks_anything(level) else NOBODY
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
def drive(batteries, setting, tally, ladder, active, series, now, voltage):
    """Write the currents of the batteries for a given voltage at the loads; returns their sum.

    Unit: [A]
    """
    size, link, far = tally.size, setting[LINK], setting[FAR]
    total = 0.0
    for _ in range(8 * size + 64):
        count = connect(batteries, tally, series, ladder, active, now)
        total = 0.0
        if count > 0:
            emf, inner = reduce_row(ladder, active, count, size, link, far)
            total = (emf - voltage) / max(inner + setting[MAIN], LEAST_OHM)
        if not spread(batteries, setting, tally, ladder, active, now, count, total, voltage):
            continue
        if not turn_first(tally, series, now):
            break
    return total


@inner
def turn_first(tally, series, now):
    """Give the first battery that flows the other way the resistance of that; False for none."""
    for k in range(tally.size):
        ohm = tally[k].ohm_into if now[k, CURRENT] < 0.0 else tally[k].ohm_out
        if abs(now[k, CURRENT]) > TURN_A and series[k] != ohm:
            series[k] = ohm
            return True
    return False


@inner
def excess(chargers, stages, source, level, exponent, now, voltage, total):
    """More current given than asked at a voltage at the loads. [A]"""
    given = total - load_current(voltage, level, exponent)[0]
    for j in range(chargers.size):
        if charger_on(source, j) and charger_hold(stages, source, j) > voltage:
            given += charger_limit(chargers, source, now, j, voltage)
    return given


@inner
def hold_between(chargers, stages, source, level, exponent, now, size, voltage, above):
    """Let the chargers give what they give at the voltage found, between it and just above.

    Those that hold a higher voltage give their limit; those that hold this one share the rest.
    """
    for j in range(chargers.size):
        now[size + 1 + j, CURRENT] = 0.0
    give(chargers, stages, source, now, above, 1e300, voltage, 1.0)
    hold = next_hold(stages, source, above)
    if hold < voltage - SAME_V or hold == 0.0:
        return
    missing = load_current(voltage, level, exponent)[0] - now[size, TOTAL]
    for j in range(chargers.size):
        missing -= now[size + 1 + j, CURRENT]
    room = room_at(chargers, stages, source, now, hold, voltage)
    if room > 0.0:
        give(chargers, stages, source, now, hold, above, voltage, missing / room)
