"""Where the power of the cells goes: losses, heat, temperature, and the energy ledger."""

import math

from bankSim.kernels.arrays import (
    AT_LOADS,
    BALANCE,
    BALANCED,
    BOTH_BLOCKED,
    BRANCH,
    CHEMICAL,
    COULOMBIC,
    CURRENT,
    DAY_SHIFT,
    DIODE,
    EMF,
    FAR,
    FROM_BANK,
    FROM_CHARGERS,
    FROM_LOADS,
    GIVEN,
    HEAT,
    IN_DIODE,
    IN_LEAD,
    IN_RAILS,
    KELVIN,
    LEAK,
    LINK,
    LOST,
    MAIN,
    MEAN_K,
    NO_BALANCER,
    OHM,
    OHMIC,
    OPEN,
    PAIR,
    POLAR,
    SWING_K,
    TAKEN,
    TO_BANK,
    TO_LOADS,
    TOTAL,
)
from bankSim.kernels.balance import balance, cell_voltage
from bankSim.kernels.jit import inner

DAILY = 2.0 * math.pi / 86_400.0  # [1/s]


@inner
def surroundings(setting, time):
    """Temperature of the surroundings: a cosine over the day. [K]

    Source: docs/theory.md, eq. 7.2.
    """
    kelvin, swing = setting[MEAN_K], setting[SWING_K]
    if swing == 0.0:
        return kelvin
    return kelvin + swing * math.cos(DAILY * (time + setting[DAY_SHIFT]))


@inner
def carried(setting, heat_time, time):
    """Temperature that the surroundings alone would carry a battery to, day after day. [K]

    Source: docs/theory.md, eq. 7.4.
    """
    kelvin, swing = setting[MEAN_K], setting[SWING_K]
    if swing == 0.0:
        return kelvin
    angle, slow = DAILY * (time + setting[DAY_SHIFT]), DAILY * heat_time
    return kelvin + swing * (math.cos(angle) + slow * math.sin(angle)) / (1.0 + slow * slow)


@inner
def book_battery(batteries, cells, moment, now, battery, book):
    """Write where the power of one battery goes, columns CHEMICAL to TAKEN of the ledger. [W]

    sum U i = V I + I^2 R + sum v I - M h I + U (1 - eta) I_in + U leak + U b + drop |I|, with i
    all that leaves a cell's charge; of U b the balancer gets V b, the rest goes with the losses of
    pairs and hysteresis; lead, and V I in two directions, stand beside it.

    Returns
    -------
    heat : float
        What stays in the battery. [W]

    Source
    ------
    docs/theory.md, eq. 7.3, 18.2.
    """
    one, current, line = batteries[battery], now[battery, CURRENT], book[battery]
    into = max(-current, 0.0)
    coulombic, lost, balanced, polar, chemical = 0.0, 0.0, 0.0, 0.0, 0.0
    for i in range(one.first, one.end):
        cell, opened = cells[i], moment[i, OPEN]
        wasted = (1.0 - cell.efficiency) * into
        coulombic += opened * wasted
        lost += opened * moment[i, LEAK]
        voltage, moved = cell_voltage(moment, i, current), moment[i, BALANCE]
        balanced += voltage * moved
        polar += (opened - voltage) * moved
        chemical += opened * (current + wasted + moment[i, LEAK] + moved)
        polar -= cell.hysteresis * moment[i, BRANCH] * current
        for j in range(cell.pairs):
            polar += moment[i, PAIR + j] * current
    line[CHEMICAL], line[POLAR] = chemical, polar
    line[OHMIC] = now[battery, OHM] * current * current
    line[COULOMBIC], line[LOST], line[BALANCED] = coulombic, lost, balanced
    line[IN_DIODE] = now[battery, DIODE] * abs(current)
    line[IN_LEAD] = one.lead * current * current
    terminal = (now[battery, EMF] - now[battery, OHM] * current) * current - line[IN_DIODE]
    line[GIVEN], line[TAKEN] = max(terminal, 0.0), max(-terminal, 0.0)
    return line[OHMIC] + polar + coulombic + lost + balanced + line[IN_DIODE]


@inner
def upkeep(batteries, cells, tally, book, moment, now):
    """Write what follows from the currents now known: diode drops, balancing currents, losses."""
    for k in range(batteries.size):
        one = batteries[k]
        one_way = tally[k].on == 1 and 0 < tally[k].mode < BOTH_BLOCKED
        now[k, DIODE] = one.drop if one_way else 0.0
        if one.balancing != NO_BALANCER:
            balance(batteries, moment, now, k)
        if one.heat_time > 0.0:
            heat = book_battery(batteries, cells, moment, now, k, book)
            now[k, HEAT] = heat + tally[k].heater


@inner
def book_all(bank, run, moment, now):
    """Write the power of all batteries and of the bank into `run.ledger[1]`. [W]"""
    n = bank.battery.size
    for k in range(n):
        book_battery(bank.battery, bank.cell, moment, now, k, run.ledger[1])
    line, total, at_loads = run.ledger[1, n], now[n, TOTAL], now[n, AT_LOADS]
    link, far = bank.setting[LINK], bank.setting[FAR]
    rails, plus = bank.setting[MAIN] * total * total, total
    for k in range(n - 1):
        plus -= now[k, CURRENT]
        minus = total - plus if far != 0.0 else plus
        rails += link * (plus * plus + minus * minus)
    given = 0.0
    for j in range(bank.charger.size):
        given += now[n + 1 + j, CURRENT]
    loads = (total + given) * at_loads
    line[IN_RAILS], line[FROM_CHARGERS] = rails, given * at_loads
    line[TO_LOADS], line[FROM_LOADS] = max(loads, 0.0), max(-loads, 0.0)
    line[FROM_BANK], line[TO_BANK] = max(total * at_loads, 0.0), max(-total * at_loads, 0.0)


@inner
def advance_temperature(batteries, setting, tally, before, after, dt, time):
    """Advance the temperatures over dt: C dT/dt = losses - hA (T - Ta), with the losses of now.

    Parameters
    ----------
    before, after : array (n + 1 + c, 8)
        In: KELVIN and HEAT at the start; out: KELVIN at the end. [K, W]
    dt : float
        [s]
    time : float
        At the start. [s]

    Source
    ------
    docs/theory.md, eq. 7.1, 7.4.
    """
    for k in range(batteries.size):
        one = batteries[k]
        if one.heat_time == 0.0:
            after[k, KELVIN] = surroundings(setting, time + dt)
            continue
        keep, own = tally[k].keep, before[k, KELVIN] - carried(setting, one.heat_time, time)
        warmed = (1.0 - keep) * before[k, HEAT] / one.heat_loss
        after[k, KELVIN] = carried(setting, one.heat_time, time + dt) + keep * own + warmed


@inner
def settle_temperature(batteries, tally, now, then):
    """Add to the temperatures at the end of a step what the change of the losses makes of them.

    Source: docs/theory.md, eq. 7.4.
    """
    for k in range(batteries.size):
        if batteries[k].heat_time > 0.0:
            change = (then[k, HEAT] - now[k, HEAT]) / batteries[k].heat_loss
            then[k, KELVIN] += tally[k].ramp * change
