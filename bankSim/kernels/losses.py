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
from bankSim.kernels.balance import balance
from bankSim.kernels.jit import inner

DAY_S = 86_400.0


@inner
def surroundings(bank, time):
    """Temperature of the surroundings: a cosine over the day. [K]"""
    kelvin, swing = bank.setting[MEAN_K], bank.setting[SWING_K]
    if swing == 0.0:
        return kelvin
    return kelvin + swing * math.cos(2.0 * math.pi * (time + bank.setting[DAY_SHIFT]) / DAY_S)


@inner
def book_battery(bank, moment, now, battery, book):
    """Write where the power of one battery goes, columns CHEMICAL to TAKEN of the ledger. [W]

    sum U i = V I + I^2 R + sum v I - M h I + U (1 - eta) I_in + U leak + U b + drop |I|, with i
    all that leaves a cell's charge; lead, and V I in two directions, stand beside it.

    Returns
    -------
    heat : float
        What stays in the battery. [W]
    """
    one, current, line = bank.battery[battery], now[battery, CURRENT], book[battery]
    into = max(-current, 0.0)
    coulombic, lost, balanced, polar, chemical = 0.0, 0.0, 0.0, 0.0, 0.0
    for i in range(one.first, one.end):
        cell, opened = bank.cell[i], moment[i, OPEN]
        wasted = (1.0 - cell.efficiency) * into
        coulombic += opened * wasted
        lost += opened * moment[i, LEAK]
        balanced += opened * moment[i, BALANCE]
        chemical += opened * (current + wasted + moment[i, LEAK] + moment[i, BALANCE])
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
def upkeep(bank, run, moment, now):
    """Write what follows from the currents now known: diode drops, balancing currents, losses."""
    for k in range(bank.battery.size):
        one, tally = bank.battery[k], run.tally[k]
        one_way = tally.on == 1 and 0 < tally.mode < BOTH_BLOCKED
        now[k, DIODE] = one.drop if one_way else 0.0
        if one.balancing != NO_BALANCER:
            balance(bank, moment, now, k)
        if one.heat_time > 0.0:
            now[k, HEAT] = book_battery(bank, moment, now, k, run.ledger[1]) + tally.heater


@inner
def book_all(bank, run, moment, now):
    """Write the power of all batteries and of the bank into `run.ledger[1]`. [W]"""
    n = bank.battery.size
    for k in range(n):
        book_battery(bank, moment, now, k, run.ledger[1])
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
def advance_temperature(bank, run, before, after, dt, part, time):
    """Advance the temperatures over dt: C dT/dt = losses - hA (T - Ta), straight on the right.

    Parameters
    ----------
    before, after : array (n + 1 + c, 8)
        In: KELVIN and HEAT at the start; out: KELVIN at the end. [K, W]
    dt : float
        [s]
    part : float
        dt as a part of the step for whose end tally.heat_aim holds. [1]
    time : float
        At the start. [s]
    """
    ambient = surroundings(bank, time + dt)
    for k in range(bank.battery.size):
        one, tally = bank.battery[k], run.tally[k]
        if one.heat_time == 0.0:
            after[k, KELVIN] = ambient
            continue
        heat = before[k, HEAT]
        first = surroundings(bank, time) + heat / one.heat_loss
        last = ambient + (heat + part * (tally.heat_aim - heat)) / one.heat_loss
        drive = (1.0 - tally.keep) * first + tally.ramp * (last - first)
        after[k, KELVIN] = tally.keep * before[k, KELVIN] + drive
