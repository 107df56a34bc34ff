"""What a rule watches and how far it is from its limit."""

import math

from bankSim.kernels.arrays import (
    ARMED,
    AT_LOADS,
    BATTERY_VOLTAGE,
    CHARGE_BLOCKED,
    CHARGE_CURRENT,
    CHARGING,
    CURRENT,
    DISCHARGE_CURRENT,
    EMF,
    FACTOR,
    FAR,
    HIGHEST_CELL,
    KELVIN,
    LEVEL,
    LINK,
    LOAD_REMOVED,
    LOAD_VOLTAGE,
    LOWEST_CELL,
    NOTHING,
    OHM,
    PAIR,
    PENDING,
    RELEASING,
    SOC,
    TAIL,
    TAIL_CURRENT,
    TEMPERATURE,
    TRIPPED,
    USABLE,
    WELL,
    WELL_SLOT,
)
from bankSim.kernels.balance import cell_voltage
from bankSim.kernels.cell import KEEP, PAIR_OHM, charge_lag
from bankSim.kernels.curves import most_change
from bankSim.kernels.jit import inner, pasted
from bankSim.kernels.ladder import rail_voltage
from bankSim.kernels.supply import charger_hold, charger_on

# When one rule crosses its limit, others this close to theirs cross with it: equal batteries
# then act together. [V, A, K]
TOUCH = 1e-9
# A charger this close to the voltage it holds is there. [V]
HELD_V = 1e-9
# A limit must be passed by this much to count: a charger that holds just the sum of the cells'
# limits brings them up to it, not beyond. [V, A, K]
BEYOND, BEYOND_K = 1e-11, 4.0 * TOUCH
# Within the first and moving by less than the second, a value has come up to its limit and stays
# there: what it may be beyond is the error of the steps. [V or A], [V/s or A/s]
TRACE, HARDLY = 1e-6, 2e-8
# A battery that takes at least this much is being charged. [A]
CHARGING_A = 1e-3
# Stands for a condition that is not met and that no step can bring about.
FAR_OFF = 1e9


@inner
def battery_voltage(now, battery):
    """Voltage of a battery on the cells' side of its switches. [V]

    Source: docs/theory.md, eq. 8.2.
    """
    return now[battery, EMF] - now[battery, OHM] * now[battery, CURRENT]


@inner
def watched_value(rules, batteries, moment, now, rule):
    """Return what a rule watches [V, A or K] and the deciding cell's index, or -1."""
    watch, k = rules[rule].watch, rules[rule].subject
    if watch == LOWEST_CELL or watch == HIGHEST_CELL:
        sign = 1.0 if watch == LOWEST_CELL else -1.0
        extreme, best = math.inf, -1
        for i in range(batteries[k].first, batteries[k].end):
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
    if watch == TEMPERATURE:
        return now[k, KELVIN], -1
    if watch == LOAD_VOLTAGE:
        return now[batteries.size, AT_LOADS], -1
    return now[batteries.size + 1 + k, CURRENT], -1


@inner
def above_tail(bank, run, now, charger):
    """Distance of a charger from the end of its stage: its current above the tail. [A]

    Below the hold the stage does not end: there the missing voltage counts, too.

    Source: docs/theory.md, eq. 13.1.
    """
    missing = charger_hold(bank.stage, run.source, charger) - now[bank.battery.size, AT_LOADS]
    tail = bank.stage[run.source[charger].stage, TAIL]
    above = now[bank.battery.size + 1 + charger, CURRENT] - tail
    return missing + max(above, 0.0) if missing > HELD_V else above


@inner
def plain_distance(rules, batteries, moment, now, rule, tripped):
    """Distance of a rule from its limit, or from where it lets go when tripped. [V, A or K]

    The limit must be passed; to let go, a voltage or current need only be reached.

    Source: docs/theory.md, eq. 14.1.
    """
    one = rules[rule]
    value = watched_value(rules, batteries, moment, now, rule)[0]
    warm = one.watch == TEMPERATURE
    if tripped:
        return one.sign * (one.let_go - value) + (BEYOND_K if warm else 0.0)
    return one.sign * (value - one.threshold) + (BEYOND_K if warm else BEYOND)


@inner
def is_special(one, phase):
    """Tell whether more than the watched value decides on a rule's next change."""
    return one.watch == TAIL_CURRENT or (one.needs != NOTHING and phase >= TRIPPED)


@inner
def special_distance(bank, run, moment, now, rule):
    """Distance to the next change of a rule that depends on more than its watched value.

    Unit: [V, A or K]
    """
    one = bank.rule[rule]
    if one.watch == TAIL_CURRENT:
        return above_tail(bank, run, now, one.subject)
    distance = plain_distance(bank.rule, bank.battery, moment, now, rule, True)
    if one.needs == LOAD_REMOVED:
        return FAR_OFF if run.clock[0].drawing == 1 else distance
    k = one.subject
    if run.tally[k].mode & CHARGE_BLOCKED:
        n, link, far = bank.battery.size, bank.setting[LINK], bank.setting[FAR]
        return max(distance, now[k, EMF] - rail_voltage(now, n, link, far, k) + 4.0 * TOUCH)
    return max(distance, now[k, CURRENT] + CHARGING_A)


@pasted
def distance_of(bank, run, moment, now, rule):
    """Distance to a rule's next change; > 0 while its condition does not hold. [V, A or K]"""
    one, phase = bank.rule[rule], run.alarm[rule].phase
    if is_special(one, phase):
        return special_distance(bank, run, moment, now, rule)
    return plain_distance(bank.rule, bank.battery, moment, now, rule, phase >= TRIPPED)


@inner
def phase_gap(distance, phase):
    """Distance to the next change of a rule's phase; the change is due at 0 and below.

    Unit: [V, A or K]
    """
    return 2.0 * TOUCH - distance if phase == PENDING or phase == RELEASING else distance


@inner
def is_faint(alarm, gap_before, gap_after, dt):
    """Tell whether an armed rule is within a trace of its limit, and hardly moves."""
    if alarm.phase != ARMED or abs(gap_after) >= TRACE or gap_before >= TRACE:
        return False
    return abs(gap_before - gap_after) < HARDLY * dt


@inner
def asleep(bank, run, rule):
    """Tell whether a rule cannot change: it stays tripped, or its charger has no tail now."""
    one, alarm = bank.rule[rule], run.alarm[rule]
    if one.watch == TAIL_CURRENT:
        charger = one.subject
        if not charger_on(run.source, charger):
            return True
        return bank.stage[run.source[charger].stage, TAIL] < 0.0
    return alarm.phase >= TRIPPED and (one.releases == 0 or alarm.stuck == 1)


@pasted
def note_reach(bank, run):
    """Write how far each battery's voltages can stray inside the trial step, at most.

    Sums, over its cells, a bound on all rises and falls of the curves passed, the largest way
    that a relaxation pair can go towards R I, the largest move of the hysteresis, and the change
    of the ohmic drop; so terms that run against each other do not hide a crossing and its return.

    Source: docs/theory.md, eq. 14.3.
    """
    for k in range(bank.battery.size):
        start, end = run.now[k, CURRENT], run.trial_now[k, CURRENT]
        change, most = abs(end - start), max(abs(start), abs(end))
        reach = change * max(run.now[k, OHM], run.trial_now[k, OHM])
        factor = run.trial_now[k, FACTOR]
        for i in range(bank.battery[k].first, bank.battery[k].end):
            cell, z, then = bank.cell[i], run.moment[i, LEVEL], run.trial[i, LEVEL]
            highest = max(z, then)
            if cell.bound != 0.0:
                at, drive = run.moment[i, WELL], bank.pair[i, WELL_SLOT, PAIR_OHM] * most
                stray = (1.0 - run.weight[i, WELL_SLOT, KEEP]) * (abs(at) + drive)
                stray *= cell.bound
                z, then = min(z, then) - stray, highest + stray
                highest = then
            ocv = most_change(bank.pieces, cell.ocv_first, cell.ocv_end, run.hint[i, 0], z, then)
            z = 1.0 - (1.0 - z) / run.now[k, USABLE]
            then = 1.0 - (1.0 - then) / run.trial_now[k, USABLE]
            if start < 0.0 and end < 0.0:
                z, then = max(z, cell.charge_from), max(then, cell.charge_from)
            ohm = most_change(bank.pieces, cell.ohm_first, cell.ohm_end, run.hint[i, 1], z, then)
            reach += ocv + ohm * cell.ohm_scale * factor * most
            way = abs(run.trial[i, SOC] - run.moment[i, SOC])
            reach += cell.hysteresis * min(2.0, 2.0 * cell.rate * way)
            for j in range(cell.pairs):
                at, pair_ohm = run.moment[i, PAIR + j], factor * bank.pair[i, j, PAIR_OHM]
                way = max(abs(pair_ohm * start - at), abs(pair_ohm * end - at))
                if j == 0:
                    way += charge_lag(cell, factor, min(highest, 1.0), min(start, end))[0]
                reach += (1.0 - run.weight[i, j, KEEP]) * way
        run.tally[k].reach = reach


@inner
def within_reach(rules, tally, now, then, rule, phase, nearest):
    """Tell whether a rule might cross its limit and return inside the trial step.

    Parameters
    ----------
    rules, tally : arrays
        After `note_reach`.
    now, then : array (n + 1 + c, 8)
        At both ends of the step. In the units of `kernels.arrays`.
    rule, phase : int
    nearest : float
        The smaller distance to the limit of both ends. [V, A or K]
    """
    one, n = rules[rule], tally.size
    watch, k, reach = one.watch, one.subject, 0.0
    if watch == TEMPERATURE:
        reach = 2.0 * abs(then[k, KELVIN] - now[k, KELVIN])
    elif watch == DISCHARGE_CURRENT or watch == CHARGE_CURRENT:
        reach = 2.0 * abs(then[k, CURRENT] - now[k, CURRENT])
    elif watch == LOAD_VOLTAGE or watch == TAIL_CURRENT:
        reach = 2.0 * abs(then[n, AT_LOADS] - now[n, AT_LOADS])
        if watch == TAIL_CURRENT:
            reach += 2.0 * abs(then[n + 1 + k, CURRENT] - now[n + 1 + k, CURRENT])
    else:
        reach = tally[k].reach
    if one.needs == CHARGING and phase >= TRIPPED:
        reach += 2.0 * abs(then[k, CURRENT] - now[k, CURRENT]) + tally[k].reach
    return nearest <= reach
