"""What happens at one instant: rules begin, end or act; loads switch; the loads cannot be fed."""

import math

from bankSim.kernels.actions import (
    TIE_S,
    act_on_rules,
    any_charger,
    any_freed,
    any_stage_over,
    end_stages,
    forgive,
    put_level,
)
from bankSim.kernels.arrays import (
    AFTER,
    ARMED,
    AT_LOADS,
    BEFORE,
    COLLAPSE,
    DISCHARGE_BLOCKED,
    EMF,
    EMPTY,
    END,
    FAILED,
    GROUPS,
    NO_TAKER,
    OK,
    PAUSED,
    PENDING,
    REFUSED,
    RELEASING,
    SHORTFALL,
    STOP_EMPTY,
    TRACE_EDGES,
    TRIPPED,
    WHOLE_BANK,
)
from bankSim.kernels.instant import solve, solved
from bankSim.kernels.jit import inner, pasted
from bankSim.kernels.loads import asks_anything, load_current
from bankSim.kernels.log import has_room, note_extremes, write_aftermath, write_event, write_row
from bankSim.kernels.rules import (
    TOUCH,
    TRACE,
    asleep,
    distance_of,
    phase_gap,
)


@inner
def copy_into(source, target):
    """Copy a matrix, element by element: kernels are compiled without memory of their own."""
    for i in range(source.shape[0]):
        for j in range(source.shape[1]):
            target[i, j] = source[i, j]


@inner
def solve_again(bank, run):
    """Solve the network after something switched; returns OK or why the run ends.

    Where the loads cannot be fed (or charge is not taken), all loads are dropped; so they are in a
    dark bank that a charger may charge.
    """
    status, ends = FAILED, False
    for _ in range(2):
        status = solve_probe(bank, run)
        if status == SHORTFALL or status == NO_TAKER:
            status = drop_loads(bank, run, status)
            if status != OK:
                return status
            continue
        dark = is_dark(bank, run, run.probe_now)
        ends = dark and bank.setting[STOP_EMPTY] == 1.0
        if ends or not dark or not go_dark(bank, run):
            break
    if not solved(status):
        return FAILED
    copy_into(run.probe, run.moment)
    copy_into(run.probe_now, run.now)
    run.clock[0].jumped = 1
    return end_dark(bank, run) if ends else OK


@inner
def solve_after(bank, run):
    """Same as `solve_again`, and write the row just after. Returns the same status."""
    status = solve_again(bank, run)
    if status == OK:
        write_row(bank, run, run.clock[0].time, AFTER, run.moment, run.now)
    return status


@inner
def write_last(bank, run, kind):
    """Write the row just before the loads are dropped, or the last one of a run.

    Where rules have acted at this instant it stands there already, with what was blocked before
    they did. Before the start there is none.
    """
    time, last = run.clock[0].time, run.used[0] - 1
    if last >= 0 and run.rows[last, 0] == time and run.rows[last, 1] == BEFORE:
        run.rows[last, 1] = kind
    elif kind == END or last >= 0 or time > 0.0:
        write_row(bank, run, time, kind, run.moment, run.now)


@inner
def show_at_rest(bank, run):
    """Solve a run that ends as it begins without its loads: its only row shows the bank at rest."""
    if run.used[0] > 0:
        return
    run.clock[0].dropped = 1
    if solved(solve_probe(bank, run)):
        copy_into(run.probe, run.moment)
        copy_into(run.probe_now, run.now)


@inner
def drop_loads(bank, run, status):
    """Record that the loads cannot be fed (or charge not taken), then end or drop the loads.

    They come back when something else switches that may help. It is recorded again only after
    loads were fed (charge was taken) in between. Returns OK, to solve again, or why the run ends.
    """
    clock = run.clock[0]
    if clock.dropped == 1:
        return FAILED
    if status == SHORTFALL and clock.starved == 0:
        write_event(bank, run, COLLAPSE, WHOLE_BANK, 0.0)
        clock.starved = 1
    if status == NO_TAKER and clock.refused == 0:
        write_event(bank, run, REFUSED, WHOLE_BANK, 0.0)
        clock.refused = 1
    if status == SHORTFALL:
        clock.fed_until = min(clock.fed_until, clock.time)
        if bank.setting[STOP_EMPTY] == 1.0:
            show_at_rest(bank, run)
            write_last(bank, run, END)
            return SHORTFALL
    write_last(bank, run, BEFORE)
    clock.dropped = 1
    return OK


@inner
def tell_after(bank, run, status, first_event):
    """Write what flows once an instant is over beside its events.

    Where loads that cannot be fed end the run, it is what flows without them; the run itself ends
    as it was.
    """
    if status == SHORTFALL and flows_unloaded(bank, run):
        write_aftermath(bank, run, first_event, run.probe_now)
    else:
        write_aftermath(bank, run, first_event, run.now)


@inner
def flows_unloaded(bank, run):
    """Solve without the loads, in the probe; tell whether that has an answer."""
    run.clock[0].dropped = 1
    return solved(solve_probe(bank, run))


@inner
def solve_probe(bank, run):
    """Solve this instant, with what is in force, in the probe; returns OK or why that fails."""
    copy_into(run.moment, run.probe)
    copy_into(run.now, run.probe_now)
    put_level(bank, run)
    return solve(bank, run, run.probe, run.probe_now)


@pasted
def update_phases(bank, run):
    """Begin and break off delays for what is in force now; returns how many are due.

    Source: docs/theory.md, eq. 14.2.
    """
    due, together = 0, False
    for rule in range(bank.rule.size):
        alarm = run.alarm[rule]
        alarm.asleep = 1 if asleep(bank, run, rule) else 0
        if alarm.asleep == 1:
            continue
        distance = distance_of(bank, run, run.moment, run.now, rule)
        run.gap[rule, 0] = distance
        if alarm.phase == ARMED:
            alarm.faint = alarm.faint if abs(distance) < TRACE else 0
            together = together or (distance <= 0.0 and alarm.faint == 0)
    for rule in range(bank.rule.size):
        alarm, distance = run.alarm[rule], run.gap[rule, 0]
        if alarm.asleep == 1:
            continue
        calm, begun = (ARMED, PENDING) if alarm.phase < TRIPPED else (TRIPPED, RELEASING)
        touch = TOUCH if together or calm == TRIPPED else 0.0
        if alarm.phase == calm and distance <= touch and alarm.faint == 0:
            alarm.phase = begun
            alarm.since = run.clock[0].time
        elif alarm.phase == begun and distance >= 2.0 * TOUCH:
            alarm.phase = calm
        run.gap[rule, 0] = phase_gap(distance, alarm.phase)
        if over_at(bank.rule, run.alarm, rule) <= run.clock[0].time + TIE_S:
            due += 1
    return due


@inner
def over_at(rules, alarms, rule):
    """When the delay of a rule is over that waits for it, else never. [s]"""
    alarm, one = alarms[rule], rules[rule]
    if alarm.asleep == 1:
        return math.inf
    if alarm.phase == PENDING:
        return alarm.since + one.delay
    return alarm.since + one.let_go_delay if alarm.phase == RELEASING else math.inf


@inner
def all_blocked(run):
    """Tell whether no battery can discharge any more."""
    for k in range(run.tally.size):
        if run.tally[k].mode & DISCHARGE_BLOCKED == 0:
            return False
    return True


@inner
def is_empty(bank, run):
    """Tell whether a bank without chargers can no longer feed its loads.

    Every battery's discharge is blocked, and the loads do not charge it now.
    """
    if bank.charger.size > 0 or not all_blocked(run):
        return False
    rest = 1.0
    for k in range(run.tally.size):
        rest = max(rest, run.now[k, EMF])
    return load_current(rest, run.level, bank.exponent)[0] >= 0.0


@inner
def is_dark(bank, run, now):
    """Tell whether loads or heaters ask, nobody may discharge, and the chargers do not cover it.

    Only of banks with chargers.
    """
    if bank.charger.size == 0 or now[run.tally.size, AT_LOADS] != 0.0:
        return False
    return asks_anything(run.level) and all_blocked(run)


@inner
def go_dark(bank, run):
    """Drop the loads of a dark bank where a charger works, so that it may charge the batteries.

    It is recorded as loads that cannot be fed, unless the last battery left just now, which tells
    as much. Returns whether they were dropped: then solve again.
    """
    clock = run.clock[0]
    clock.fed_until = min(clock.fed_until, clock.time)
    if not any_charger(bank, run):
        return False
    if clock.starved == 0 and clock.left_at < clock.time:
        write_event(bank, run, COLLAPSE, WHOLE_BANK, 0.0)
    write_last(bank, run, BEFORE)
    clock.starved, clock.dropped = 1, 1
    return True


@inner
def end_dark(bank, run):
    """End a run that ends when its bank is dark. Returns OK or why the run ends."""
    clock = run.clock[0]
    clock.fed_until = min(clock.fed_until, clock.time)
    write_last(bank, run, END)
    return EMPTY


@pasted
def fade(bank, run):
    """Drop the loads of a bank that went dark during a step; returns OK or why the run ends."""
    if not is_dark(bank, run, run.now):
        return OK
    if bank.setting[STOP_EMPTY] == 1.0:
        return end_dark(bank, run)
    first_event = run.used[1]
    if not go_dark(bank, run):
        return OK
    status = solve_after(bank, run)
    tell_after(bank, run, status, first_event)
    return status


@pasted
def settle(bank, run):
    """Let everything that is due at this instant happen; returns OK, PAUSED or why the run ends.

    After every action all rules are looked at again at the same instant. A rule that lets go and
    trips again at once is stopped after a number of times, so the rounds end.
    """
    clock = run.clock[0]
    while True:
        due = update_phases(bank, run) > 0
        if not (due or any_stage_over(bank, run) or any_freed(bank, run)):
            return OK
        if not has_room(bank, run):
            clock.arrived = 1
            return PAUSED
        if clock.jumped == 0:  # a current that a rule stops at once has not flowed
            note_extremes(bank, run)
        first_row, first_event = run.used[0], run.used[1]
        write_row(bank, run, clock.time, BEFORE, run.moment, run.now)
        for rule in range(bank.rule.size):
            due_now = over_at(bank.rule, run.alarm, rule) <= clock.time + TIE_S
            run.alarm[rule].near = 1 if due_now else 0
        act_on_rules(bank, run)
        end_stages(bank, run)
        status = solve_again(bank, run)
        tell_after(bank, run, status, first_event)
        if status != OK:
            return status
        write_row(bank, run, clock.time, AFTER, run.moment, run.now)
        if is_empty(bank, run):
            clock.fed_until = min(clock.fed_until, clock.time)
            if bank.setting[STOP_EMPTY] == 1.0:
                if run.rows.shape[0] > 0:
                    run.rows[first_row, 1] = END
                return EMPTY


@pasted
def put_segment(bank, run, segment):
    """Put the loads and chargers of a segment in force; returns OK or why the run ends."""
    clock = run.clock[0]
    traced = bank.setting[TRACE_EDGES] == 1.0 and segment > 0
    if traced:
        write_row(bank, run, clock.time, BEFORE, run.moment, run.now)
    clock.segment, clock.dropped = segment, 0
    first_event = run.used[1]
    switch_chargers(bank, run)
    forgive(bank, run)
    status = solve_after(bank, run) if traced else solve_again(bank, run)
    tell_after(bank, run, status, first_event)
    return status


@pasted
def switch_chargers(bank, run):
    """Switch chargers on (with their first stage) and off as the segment says."""
    width = run.level.size
    first = (1 + int(bank.setting[GROUPS])) * width + 1
    for j in range(bank.charger.size):
        begun, source = bank.demand[run.clock[0].segment, first + j], run.source[j]
        if math.isnan(begun):
            source.on, source.stage = 0, -1
        elif source.on == 0:
            source.on, source.stage = 1, bank.charger[j].first
            source.since, source.begun = run.clock[0].time, begun
