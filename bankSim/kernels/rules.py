"""What a rule watches and how far it is from its limit."""

import math

from bankSim.kernels.arrays import (
    ARMED,
    BATTERY_VOLTAGE,
    CELL_EMF,
    CELL_OHM,
    CHARGE_CURRENT,
    CURRENT,
    DISCHARGE_BLOCKED,
    DISCHARGE_CURRENT,
    EMF,
    HIGHEST_CELL,
    LOWEST_CELL,
    OHM,
    TEMPERATURE,
    TRIPPED,
)
from bankSim.kernels.jit import inner

# A margin this small counts as crossed, so that equal batteries cross together. [V, A, K]
TOUCH = 1e-9


@inner
def cell_voltage(moment, cell, current):
    """Voltage at the terminals of one cell. [V]"""
    return moment[cell, CELL_EMF] - moment[cell, CELL_OHM] * current


@inner
def battery_voltage(now, battery):
    """Voltage at a battery's terminals, before its lead. [V]"""
    return now[battery, EMF] - now[battery, OHM] * now[battery, CURRENT]


@inner
def watched_value(bank, moment, now, rule):
    """Return what a rule watches [V, A or K] and the deciding cell's index, or -1."""
    watch, k = bank.rule[rule].watch, bank.rule[rule].battery
    if watch == LOWEST_CELL or watch == HIGHEST_CELL:
        sign = 1.0 if watch == LOWEST_CELL else -1.0
        extreme, best = math.inf, -1
        for i in range(bank.battery[k].first, bank.battery[k].end):
            voltage = sign * cell_voltage(moment, i, now[k, CURRENT])
            if voltage < extreme:
                extreme, best = voltage, i
        return sign * extreme, best
    if watch == BATTERY_VOLTAGE:
        return battery_voltage(now, k), -1
    if watch == DISCHARGE_CURRENT:
        return now[k, CURRENT], -1
    if watch == CHARGE_CURRENT:
        return -now[k, CURRENT], -1
    return bank.battery[k].temperature, -1


@inner
def margin(bank, moment, now, rule):
    """Distance of a rule's value from its limit; > 0 while all is well. [V, A or K]"""
    value = watched_value(bank, moment, now, rule)[0]
    return bank.rule[rule].sign * (value - bank.rule[rule].threshold)


@inner
def phase_gap(bank, alarm, moment, now, rule):
    """Distance to the next change of a rule's phase; the change is due at 0 and below."""
    distance = margin(bank, moment, now, rule)
    return distance if alarm[rule].phase == ARMED else 2.0 * TOUCH - distance


@inner
def asleep(bank, run, rule):
    """Tell whether a rule is not watched: it has tripped, or its battery has left the bank."""
    left = run.tally[bank.rule[rule].battery].mode & DISCHARGE_BLOCKED
    return run.alarm[rule].phase == TRIPPED or left != 0


@inner
def within_reach(bank, run, rule, nearest):
    """Tell whether a rule might cross its limit and return inside the trial step.

    Bounds the excursion between the two ends by twice the sum of all changes that the watched
    battery's voltages, resistances and current make over the step.

    Parameters
    ----------
    bank, run : Bank, Run
    rule : int
    nearest : float
        The smaller distance to the limit of both ends. [V or A]
    """
    watch, k = bank.rule[rule].watch, bank.rule[rule].battery
    if watch == TEMPERATURE:
        return False
    now, then = run.now[k], run.trial_now[k]
    change = abs(then[CURRENT] - now[CURRENT])
    if watch == DISCHARGE_CURRENT or watch == CHARGE_CURRENT:
        return nearest <= 2.0 * change
    reach = change * max(now[OHM], then[OHM]) + abs(then[OHM] - now[OHM]) * abs(then[CURRENT])
    for i in range(bank.battery[k].first, bank.battery[k].end):
        reach += abs(run.trial[i, CELL_EMF] - run.moment[i, CELL_EMF])
    return nearest <= 2.0 * reach
