"""What happens at one instant: rules begin, end or act; loads switch; the loads cannot be fed."""

import math

from bankSim.kernels.arrays import (
    AFTER,
    ARMED,
    BEFORE,
    BOTH_BLOCKED,
    COLLAPSE,
    CURRENT,
    DISCHARGE_BLOCKED,
    EMPTY,
    END,
    FAILED,
    HIGHEST_SOC,
    HIGHEST_V,
    LOWEST_SOC,
    LOWEST_V,
    NO_TAKER,
    NOBODY,
    OK,
    PENDING,
    REFUSED,
    SHORTFALL,
    SOC,
    STOP_EMPTY,
    TOTAL,
    TRACE_EDGES,
    TRIP,
    TRIPPED,
    WHOLE_BANK,
)
from bankSim.kernels.jit import inner, pasted
from bankSim.kernels.log import write_aftermath, write_event, write_row
from bankSim.kernels.rules import TOUCH, asleep, cell_voltage, margin
from bankSim.kernels.step import solve, solved

# Rules that are due this close together act together, on the same voltages. [s]
TIE_S = 1e-6
# Bank currents below this do not count as a first flow. [A]
FLOW_A = 1e-9


@inner
def copy_into(source, target):
    """Copy a matrix, element by element: kernels are compiled without memory of their own."""
    for i in range(source.shape[0]):
        for j in range(source.shape[1]):
            target[i, j] = source[i, j]


@inner
def note_extremes(bank, run):
    """Keep the largest currents and the cells' extremes, and the first sharing of a current."""
    n = run.tally.size
    total = run.now[n, TOTAL]
    if total > FLOW_A:
        run.clock[0].starved = 0
    if total < -FLOW_A:
        run.clock[0].refused = 0
    run.clock[0].bank_peak = max(run.clock[0].bank_peak, abs(total))
    for k in range(n):
        current, tally = run.now[k, CURRENT], run.tally[k]
        tally.peak_out = max(tally.peak_out, current)
        tally.peak_into = max(tally.peak_into, -current)
        if abs(total) > FLOW_A and math.isnan(tally.share):
            tally.share = current / total
        seen = run.extreme[k]
        for i in range(bank.battery[k].first, bank.battery[k].end):
            soc, voltage = run.moment[i, SOC], cell_voltage(run.moment, i, current)
            if soc < seen[LOWEST_SOC]:
                seen[LOWEST_SOC] = soc
            if soc > seen[HIGHEST_SOC]:
                seen[HIGHEST_SOC] = soc
            if voltage < seen[LOWEST_V]:
                seen[LOWEST_V] = voltage
            if voltage > seen[HIGHEST_V]:
                seen[HIGHEST_V] = voltage


@inner
def solve_again(bank, run):
    """Solve the network after a switch opened or loads changed; returns OK or why the run ends."""
    copy_into(run.moment, run.probe)
    copy_into(run.now, run.probe_now)
    status = solve(bank, run, run.probe, run.probe_now)
    if status == NOBODY and (run.level[0] < 0.0 or run.level[1] < 0.0):
        status = NO_TAKER
    if status == SHORTFALL or status == NO_TAKER:
        return unfed(bank, run, status)
    if not solved(status):
        return FAILED
    copy_into(run.probe, run.moment)
    copy_into(run.probe_now, run.now)
    run.clock[0].jumped = 1
    return OK


@inner
def unfed(bank, run, status):
    """Record that the loads cannot be fed (or charge not taken), then end or drop the loads.

    All loads are dropped, and come back at the next change of any load. It is recorded again only
    after loads were fed (charge was taken) in between. Returns OK or why the run ends.
    """
    clock = run.clock[0]
    if status == SHORTFALL and clock.starved == 0:
        write_event(bank, run, COLLAPSE, WHOLE_BANK)
        clock.starved = 1
    if status == NO_TAKER and clock.refused == 0:
        write_event(bank, run, REFUSED, WHOLE_BANK)
        clock.refused = 1
    if status == SHORTFALL:
        clock.fed_until = min(clock.fed_until, clock.time)
        if bank.setting[STOP_EMPTY] == 1.0:
            write_row(bank, run, clock.time, END, run.moment, run.now)
            return SHORTFALL
    write_row(bank, run, clock.time, BEFORE, run.moment, run.now)
    run.level[:] = 0.0
    status = solve(bank, run, run.moment, run.now)
    write_row(bank, run, clock.time, AFTER, run.moment, run.now)
    clock.jumped = 1
    return OK if solved(status) else FAILED


@pasted
def update_phases(bank, run):
    """Arm and begin rules for the voltages and currents in force; returns how many are due."""
    due = 0
    for rule in range(bank.rule.size):
        if asleep(bank, run, rule):
            continue
        distance, alarm = margin(bank, run.moment, run.now, rule), run.alarm[rule]
        if alarm.phase == ARMED and distance <= TOUCH:
            alarm.phase = PENDING
            alarm.since = run.clock[0].time
        elif alarm.phase == PENDING and distance >= 2.0 * TOUCH:
            alarm.phase = ARMED
        run.gap[rule, 0] = distance if alarm.phase == ARMED else 2.0 * TOUCH - distance
        if is_due(bank, run, rule):
            due += 1
    return due


@pasted
def is_due(bank, run, rule):
    """Tell whether a rule is pending and its delay is over."""
    over_at = run.alarm[rule].since + bank.rule[rule].delay
    return run.alarm[rule].phase == PENDING and over_at <= run.clock[0].time + TIE_S


@pasted
def bank_is_empty(run):
    """Tell whether no battery can discharge any more."""
    empty = True
    for k in range(run.tally.size):
        if run.tally[k].mode & DISCHARGE_BLOCKED == 0:
            empty = False
    return empty


@pasted
def open_switches(bank, run):
    """Let every due rule act, in order, all on the voltages in force.

    A battery whose discharge is blocked leaves the bank for good.
    """
    first = run.used[1]
    for rule in range(bank.rule.size):
        if not asleep(bank, run, rule) and is_due(bank, run, rule):
            write_event(bank, run, TRIP, float(rule))
    for entry in range(first, run.used[1]):
        rule = int(run.events[entry, 2])
        tally = run.tally[bank.rule[rule].battery]
        run.alarm[rule].phase = TRIPPED
        tally.mode |= bank.rule[rule].blocks
        if tally.mode & DISCHARGE_BLOCKED:
            tally.mode = BOTH_BLOCKED


@pasted
def settle(bank, run):
    """Let everything that is due at this instant happen; returns OK or why the run ends.

    After every action all rules are looked at again at the same instant. Each round trips at least
    one rule for good, so the rounds end.
    """
    clock = run.clock[0]
    while update_phases(bank, run) > 0:
        if clock.jumped == 0:  # a current that a rule stops at once has not flowed
            note_extremes(bank, run)
        first_row, first_event = run.used[0], run.used[1]
        write_row(bank, run, clock.time, BEFORE, run.moment, run.now)
        open_switches(bank, run)
        status = solve_again(bank, run)
        write_aftermath(bank, run, first_event)
        if status != OK:
            return status
        write_row(bank, run, clock.time, AFTER, run.moment, run.now)
        if bank_is_empty(run):
            clock.fed_until = min(clock.fed_until, clock.time)
            if bank.setting[STOP_EMPTY] == 1.0:
                if run.rows.shape[0] > 0:
                    run.rows[first_row, 1] = END
                return EMPTY
    return OK


@pasted
def put_loads(bank, run, segment):
    """Put the loads of a segment in force; returns OK or why the run ends."""
    clock = run.clock[0]
    traced = bank.setting[TRACE_EDGES] == 1.0 and segment > 0
    if traced:
        write_row(bank, run, clock.time, BEFORE, run.moment, run.now)
    clock.segment = segment
    for i in range(run.level.size):
        run.level[i] = bank.demand[segment, i]
    status = solve_again(bank, run)
    if traced and status == OK:
        write_row(bank, run, clock.time, AFTER, run.moment, run.now)
    return status
