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
    PAIR,
    SOC,
    TEMPERATURE,
    TRIPPED,
)
from bankSim.kernels.cell import KEEP, PAIR_OHM
from bankSim.kernels.curves import most_change
from bankSim.kernels.jit import inner, pasted

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
    """Distance of a rule's value from its limit; > 0 while all is well. [V, A or K]

    A temperature does not move: exactly at its limit all is still well.
    """
    value = watched_value(bank, moment, now, rule)[0]
    still = 4.0 * TOUCH if bank.rule[rule].watch == TEMPERATURE else 0.0
    return bank.rule[rule].sign * (value - bank.rule[rule].threshold) + still


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


@pasted
def note_reach(bank, run):
    """Write how far each battery's voltages can stray inside the trial step, at most.

    Sums, over its cells, a bound on all rises and falls of the curves passed, the largest way
    that a relaxation pair can go towards R I, the largest move of the hysteresis, and the change
    of the ohmic drop; so terms that run against each other do not hide a crossing and its return.
    """
    for k in range(bank.battery.size):
        start, end = run.now[k, CURRENT], run.trial_now[k, CURRENT]
        change, most = abs(end - start), max(abs(start), abs(end))
        reach = change * max(run.now[k, OHM], run.trial_now[k, OHM])
        for i in range(bank.battery[k].first, bank.battery[k].end):
            cell, z, then = bank.cell[i], run.moment[i, SOC], run.trial[i, SOC]
            ocv = most_change(bank.pieces, cell.ocv_first, cell.ocv_end, run.hint[i, 0], z, then)
            ohm = most_change(bank.pieces, cell.ohm_first, cell.ohm_end, run.hint[i, 1], z, then)
            reach += ocv + ohm * cell.ohm_factor * most
            reach += cell.hysteresis * min(2.0, 2.0 * cell.rate * abs(then - z))
            for j in range(cell.pairs):
                at, pair_ohm = run.moment[i, PAIR + j], bank.pair[i, j, PAIR_OHM]
                way = max(abs(pair_ohm * start - at), abs(pair_ohm * end - at))
                reach += (1.0 - run.weight[i, j, KEEP]) * way
        run.tally[k].reach = reach


@inner
def within_reach(bank, run, rule, nearest):
    """Tell whether a rule might cross its limit and return inside the trial step.

    Parameters
    ----------
    bank, run : Bank, Run
        After `note_reach`.
    rule : int
    nearest : float
        The smaller distance to the limit of both ends. [V or A]
    """
    watch, k = bank.rule[rule].watch, bank.rule[rule].battery
    if watch == TEMPERATURE:
        return False
    if watch == DISCHARGE_CURRENT or watch == CHARGE_CURRENT:
        return nearest <= 2.0 * abs(run.trial_now[k, CURRENT] - run.now[k, CURRENT])
    return nearest <= run.tally[k].reach
