"""The balancer of a battery: what it takes out of each cell."""

from bankSim.kernels.arrays import (
    BALANCE,
    BLEED,
    CELL_EMF,
    CELL_OHM,
    CURRENT,
)
from bankSim.kernels.jit import inner

# Balancing sets in over this much voltage, so that it does not flutter. [V]
RAMP_V = 0.002


@inner
def cell_voltage(moment, cell, current):
    """Voltage at the terminals of one cell. [V]

    Source: docs/theory.md, eq. 6.1.
    """
    return moment[cell, CELL_EMF] - moment[cell, CELL_OHM] * current


@inner
def part_of(excess):
    """Return 0 below 0 V, 1 above RAMP_V, and a straight line between. [1]

    Source: docs/theory.md, eq. 15.1.
    """
    return min(max(excess / RAMP_V, 0.0), 1.0)


@inner
def balance(batteries, moment, now, battery):
    """Write the balancing current out of every cell of a battery.

    BLEED: every cell more than `within` above the lowest and above the start voltage. TRANSFER:
    from the highest to the lowest cell while they are more than `within` apart and the highest is
    above the start voltage; cells within RAMP_V of the highest (lowest) take part in proportion
    to their nearness. Voltages are those at the battery's current, without the balancing current.

    Parameters
    ----------
    batteries : array (n,)
        Of the bank; uses balance_within, balance_above [V] and balance_current [A].
    moment : array (m, 17)
        In: CELL_EMF, CELL_OHM; out: BALANCE. [A]
    now : array (n + 1 + c, 8)
        In: CURRENT.
    battery : int

    Source
    ------
    docs/theory.md, eq. 15.2, 15.3.
    """
    one, current = batteries[battery], now[battery, CURRENT]
    low, high = 1e300, -1e300
    for i in range(one.first, one.end):
        voltage = cell_voltage(moment, i, current)
        low, high = min(low, voltage), max(high, voltage)
    if one.balancing == BLEED:
        for i in range(one.first, one.end):
            voltage = cell_voltage(moment, i, current)
            apart = part_of(voltage - low - one.balance_within)
            moment[i, BALANCE] = one.balance_current * apart * part_of(voltage - one.balance_above)
        return
    total = one.balance_current * part_of(high - low - one.balance_within)
    total *= part_of(high - one.balance_above)
    givers, takers = 0.0, 0.0
    for i in range(one.first, one.end):
        voltage = cell_voltage(moment, i, current)
        givers += 1.0 - part_of(high - voltage)
        takers += 1.0 - part_of(voltage - low)
    for i in range(one.first, one.end):
        voltage = cell_voltage(moment, i, current)
        gives, takes = 1.0 - part_of(high - voltage), 1.0 - part_of(voltage - low)
        moment[i, BALANCE] = total * (gives / givers - takes / takers)
