"""What rules, delays and stages do when they are due."""

import math

from bankSim.kernels.arrays import (
    ARMED,
    BLOCK,
    BOTH_BLOCKED,
    CHARGE_BLOCKED,
    DISCHARGE_BLOCKED,
    ENDS_STAGE,
    FREED,
    GROUPS,
    HEATS,
    LONGEST,
    MOST_FRUITLESS,
    NEXT_STAGE,
    PENDING,
    RELEASE,
    RELEASING,
    SHED,
    STAYS_OUT,
    STUCK,
    TRIP,
    TRIPPED,
)
from bankSim.kernels.jit import inner, pasted
from bankSim.kernels.log import write_event, write_rule_event
from bankSim.kernels.supply import charger_on

# A direction that is blocked again before this part of the label capacity has passed since it was
# released has come back in vain. [1]
FRUITLESS_PART = 1e-3
# Until this part of the label capacity has passed the other way, or a load or charger switches. [1]
FREEING_PART = 0.01
# A load or heater that trips again this soon after it came on has not been on. [s]
FLAP_S = 1e-3
# Delays and stages that end this close together end together, on the same voltages. [s]
TIE_S = 1e-6


@inner
def put_level(bank, run):
    """Add up the loads in force: those that stand, those that have not cut themselves off, heaters.

    Also notes whether any load wants to draw, and the power of every heater.
    """
    clock, width = run.clock[0], run.level.size
    row = bank.demand[clock.segment]
    clock.drawing = 0
    for i in range(width):
        run.level[i] = 0.0 if clock.dropped == 1 else row[i]
    groups = int(bank.setting[GROUPS])
    if row[(1 + groups) * width] > 0.0:
        clock.drawing = 1
    for k in range(run.tally.size):
        run.tally[k].heater = 0.0
    for rule in range(bank.rule.size):
        one, phase = bank.rule[rule], run.alarm[rule].phase
        tripped = phase == TRIPPED or phase == RELEASING
        if one.act == SHED and not tripped:
            for i in range(width):
                amount = row[(1 + one.subject) * width + i]
                if clock.dropped == 0:
                    run.level[i] += amount
                if amount > 0.0:
                    clock.drawing = 1
        if one.act == HEATS and tripped and clock.dropped == 0:
            if one.asks_charger == 0 or any_charger(bank, run):
                run.level[0] += one.power
                run.tally[one.subject].heater = one.power


@inner
def any_charger(bank, run):
    """Tell whether some charger works now."""
    for j in range(bank.charger.size):
        if charger_on(run.source, j):
            return True
    return False


@inner
def act_on_rules(bank, run):
    """Let every rule act that is due (marked by alarm.near), in order, all on the same voltages."""
    clock = run.clock[0]
    for rule in range(bank.rule.size):
        one, alarm = bank.rule[rule], run.alarm[rule]
        if alarm.near == 0:
            continue
        if one.act == ENDS_STAGE:
            alarm.phase = ARMED
            next_stage(bank, run, one.subject)
        elif alarm.phase == PENDING:
            write_rule_event(bank, run, TRIP, rule)
            alarm.phase = TRIPPED
            if one.act != BLOCK:
                count_flaps(bank, run, rule)
        else:
            write_rule_event(bank, run, RELEASE, rule)
            alarm.phase, alarm.freed = ARMED, clock.time
            clock.dropped = 0
    for k in range(run.tally.size):
        set_mode(bank, run, k)


@pasted
def count_flaps(bank, run, rule):
    """Count the trips of a load or heater at one instant; stop it in the end."""
    alarm = run.alarm[rule]
    at_once = run.clock[0].time - alarm.freed <= FLAP_S
    alarm.flaps = alarm.flaps + 1 if at_once else 0
    if alarm.flaps >= MOST_FRUITLESS:
        alarm.stuck = 1
        write_event(bank, run, STUCK, float(rule), 0.0)


@inner
def set_mode(bank, run, battery):
    """Write which directions of a battery are blocked now, and count fruitless returns."""
    tally = run.tally[battery]
    mode = tally.held
    for rule in range(bank.rule.size):
        one, phase = bank.rule[rule], run.alarm[rule].phase
        if one.act == BLOCK and one.subject == battery and phase != ARMED and phase != PENDING:
            mode |= one.blocks
    closed, opened = mode & ~tally.mode, tally.mode & ~mode
    if closed & DISCHARGE_BLOCKED:
        run.clock[0].left_at = run.clock[0].time
    if closed != 0:
        count_return(bank, run, battery, closed)
    if opened & DISCHARGE_BLOCKED:
        tally.back_out = tally.out
    if opened & CHARGE_BLOCKED:
        tally.back_into = tally.into
    tally.mode = mode


@inner
def count_return(bank, run, battery, closed):
    """Count a return in vain of the directions that close now; after too many they are held.

    Two that close together have come back in vain only if little has passed either way.
    """
    tally = run.tally[battery]
    least = FRUITLESS_PART * bank.battery[battery].rated
    vain = True
    if closed & DISCHARGE_BLOCKED:
        vain = vain and tally.out - tally.back_out < least
    if closed & CHARGE_BLOCKED:
        vain = vain and tally.into - tally.back_into < least
    tally.hiccups += 1 if vain else 0
    bits = 0
    if closed & DISCHARGE_BLOCKED:
        tally.fruitless_out = tally.fruitless_out + 1 if vain else 0
        bits |= DISCHARGE_BLOCKED if tally.fruitless_out >= MOST_FRUITLESS else 0
    if closed & CHARGE_BLOCKED:
        tally.fruitless_into = tally.fruitless_into + 1 if vain else 0
        bits |= CHARGE_BLOCKED if tally.fruitless_into >= MOST_FRUITLESS else 0
    if bits != 0:
        tally.held |= bits
        tally.held_into, tally.held_out = tally.into, tally.out
        write_event(bank, run, STAYS_OUT, float(battery), float(bits))


@inner
def forgive(bank, run):
    """Something else has switched: let every battery that is held after hiccups try again."""
    for k in range(run.tally.size):
        if run.tally[k].held != 0:
            free(bank, run, k, BOTH_BLOCKED)


@inner
def free(bank, run, battery, bits):
    """Let a battery try again with the directions in `bits`; nothing where there are none."""
    if bits == 0:
        return
    tally = run.tally[battery]
    freed = tally.held & bits
    tally.held &= ~bits
    tally.fruitless_out = 0 if bits & DISCHARGE_BLOCKED else tally.fruitless_out
    tally.fruitless_into = 0 if bits & CHARGE_BLOCKED else tally.fruitless_into
    write_event(bank, run, FREED, float(battery), float(freed))
    set_mode(bank, run, battery)


@inner
def any_freed(bank, run):
    """Tell whether enough charge the other way frees a direction now that was held."""
    for k in range(run.tally.size):
        if held_over(bank, run, k) != 0:
            return True
    return False


@inner
def held_over(bank, run, battery):
    """Return the held directions of a battery that are to be freed, as bits."""
    tally, enough, bits = run.tally[battery], FREEING_PART * bank.battery[battery].rated, 0
    if tally.held & DISCHARGE_BLOCKED and tally.into - tally.held_into >= enough:
        bits |= DISCHARGE_BLOCKED
    if tally.held & CHARGE_BLOCKED and tally.out - tally.held_out >= enough:
        bits |= CHARGE_BLOCKED
    return bits


@inner
def any_stage_over(bank, run):
    """Tell whether the stage of some charger has lasted its longest time."""
    for j in range(bank.charger.size):
        if stage_end(bank, run, j) <= run.clock[0].time + TIE_S:
            return True
    return False


@inner
def stage_end(bank, run, charger):
    """When a charger's stage has lasted its longest time; never for one that is off. [s]"""
    if not charger_on(run.source, charger):
        return math.inf
    return run.source[charger].since + bank.stage[run.source[charger].stage, LONGEST]


@inner
def next_stage(bank, run, charger):
    """Begin the next stage of a charger, or end it after the last one."""
    source = run.source[charger]
    source.stage = source.stage + 1 if source.stage + 1 < bank.charger[charger].end else -1
    source.since = run.clock[0].time
    run.clock[0].dropped = 0
    began = source.stage - bank.charger[charger].first + 1 if source.stage >= 0 else 0
    write_event(bank, run, NEXT_STAGE, float(charger), float(began))


@inner
def end_stages(bank, run):
    """Begin the next stage of every charger whose stage is over; free what was held too long."""
    for j in range(bank.charger.size):
        if stage_end(bank, run, j) <= run.clock[0].time + TIE_S:
            next_stage(bank, run, j)
    for k in range(run.tally.size):
        free(bank, run, k, held_over(bank, run, k))
