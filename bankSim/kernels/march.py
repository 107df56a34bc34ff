"""The march of one bank through time: step, look for events, act, go on."""

import math

from bankSim.kernels.actions import stage_end
from bankSim.kernels.arrays import (
    AT_LOADS,
    CURRENT,
    DURATION,
    END,
    EVERY,
    GRID,
    KELVIN,
    NOBODY,
    OK,
    PAUSED,
    RELATIVE,
    SWING_K,
    TOTAL,
)
from bankSim.kernels.cell import heat_weights, split_charge
from bankSim.kernels.crossing import first_change, look_inside
from bankSim.kernels.instant import solved
from bankSim.kernels.jit import inner, pasted
from bankSim.kernels.log import has_room, note_extremes, write_row
from bankSim.kernels.losses import book_all, settle_temperature
from bankSim.kernels.settle import (
    copy_into,
    drop_loads,
    fade,
    is_dark,
    over_at,
    put_segment,
    settle,
    solve_after,
    tell_after,
)
from bankSim.kernels.step import attempt, find_slope
from bankSim.kernels.supply import charger_on

FIRST_STEP_S = 5.0
SMALLEST_STEP_S = 1e-6
MOST_GROWTH = 3.0  # of the wished step, from one to the next
NEARLY_S = 1e-9
LONGEST_IN_SWING_S = 1200.0  # resistances and rules then see the day go by
FREEZING_K = 273.15


@inner
def march(bank, run, budget):
    """Advance a bank until it ends, its log is full, or `budget` steps were tried.

    Parameters
    ----------
    bank : Bank
    run : Run
        In and out: call again with the same arrays to go on. The caller empties the log
        (used[:] = 0) between calls.
    budget : int
        Most trial steps in this call.

    Returns
    -------
    status : int
        PAUSED (call again), EMPTY, SHORTFALL, DURATION, or FAILED (a bug).

    Source
    ------
    docs/theory.md, eq. 16.5.
    """
    clock = run.clock[0]
    for _ in range(budget):
        if not has_room(bank, run):
            return PAUSED
        if clock.arrived == 1:
            clock.arrived = 0
            status = act(bank, run)
            if status != OK:
                return status
        if clock.jumped == 1:
            find_slope(bank, run)
            book_all(bank, run, run.moment, run.now)
            copy_into(run.ledger[1], run.ledger[0])
            clock.last_step, clock.jumped = 0.0, 0
            clock.step = min(clock.step, FIRST_STEP_S)
        target = next_target(bank, run)
        dt = choose_step(bank, run, target - clock.time)
        room = free_time(bank, run)
        if dt > room:
            if run.used[0] > 0:
                return PAUSED  # with an empty log it may fit: a trace is not to change the steps
            dt = room
        status, error = attempt(bank, run, dt)
        clock.steps += 1
        if status == OK and dt > SMALLEST_STEP_S and goes_dark(bank, run):
            status = NOBODY  # when the chargers can feed the loads no longer is found like this
        if status != OK and dt <= SMALLEST_STEP_S:
            first_event = run.used[1]
            status = drop_loads(bank, run, status)
            if status == OK:
                status = solve_after(bank, run)
            tell_after(bank, run, status, first_event)
            if status != OK:
                return status
            clock.arrived = 1  # rules look at the voltages without the loads
            continue
        if status != OK or (error > 1.0 and dt > SMALLEST_STEP_S):
            factor = 0.25 if status != OK else max(0.2, 0.9 / math.sqrt(error))
            clock.step = max(dt * factor, SMALLEST_STEP_S)
            clock.rejected += 1
            continue
        if error > 1.0:
            clock.forced += 1
        grown = dt * min(MOST_GROWTH, 0.9 / math.sqrt(max(error, 1e-6)))
        clock.step = grown if dt >= clock.step else max(grown, clock.step)
        clock.last_step = dt
        for k in range(run.tally.size):
            run.tally[k].slope = (run.trial_now[k, CURRENT] - run.now[k, CURRENT]) / dt
        part = first_change(bank, run, dt)
        if part < 1.0:  # what a short step has seen, a far longer one must not undo, over and over
            clock.step = min(clock.step, MOST_GROWTH * dt)
        arrival = clock.time + min(part, 1.0) * dt
        if part >= 1.0 and target - arrival < NEARLY_S:
            arrival = target
        write_rows_inside(bank, run, dt, arrival)
        take_over(bank, run, dt, part)
        clock.time = arrival
        clock.arrived = 1
    return PAUSED


@pasted
def next_target(bank, run):
    """Return the next instant a step must end at: load edge, end of a delay or stage. [s]"""
    target = bank.edge[run.clock[0].segment + 1]
    for rule in range(bank.rule.size):
        target = min(target, over_at(bank.rule, run.alarm, rule))
    for j in range(bank.charger.size):
        target = min(target, stage_end(bank, run, j))
    return target


@pasted
def choose_step(bank, run, left):
    """Return the length of the next trial step: wished, bounded by charge and target. [s]"""
    dt, most = run.clock[0].step, 0.0
    for k in range(bank.battery.size):
        flow = abs(run.now[k, CURRENT])
        most = max(most, flow)
        dt = min(dt, bank.battery[k].stride / max(flow, 1e-12))
    if most == 0.0:  # no battery's current tells how exact the step is
        dt = min(dt, longest_in_sun(bank, run))
    if bank.setting[SWING_K] > 0.0:
        dt = min(dt, LONGEST_IN_SWING_S)
    if dt >= left:
        return left
    return min(dt, 0.5 * left) if dt > 0.5 * left else dt


@inner
def longest_in_sun(bank, run):
    """Return the longest step in which chargers that follow the sun give what they should. [s]

    A straight line misses the part (pi dt / day)^2 / 12 of a half sine.

    Source: docs/theory.md, eq. 16.6.
    """
    longest = math.inf
    for j in range(bank.charger.size):
        if bank.charger[j].day > 0.0 and charger_on(run.source, j):
            part = math.sqrt(12.0 * bank.setting[RELATIVE]) / math.pi
            longest = min(longest, part * bank.charger[j].day)
    return longest


@inner
def goes_dark(bank, run):
    """Tell whether the loads are fed where the trial step begins, and by nobody where it ends."""
    fed = run.now[run.tally.size, AT_LOADS] != 0.0
    return fed and is_dark(bank, run, run.trial_now)


@pasted
def free_time(bank, run):
    """Return how long a step the log has room for; what is left is looked at before more. [s]"""
    if run.rows.shape[0] == 0:
        return math.inf
    free = run.rows.shape[0] - run.used[0]
    if bank.row_s.size == 0:
        return float(free) * bank.setting[EVERY]
    last = run.clock[0].next_row + free - 1
    return bank.row_s[last] - run.clock[0].time if last < bank.row_s.size else math.inf


@pasted
def row_due(bank, run):
    """Return the instant of the next timeline row; infinite after the last one. [s]"""
    number = run.clock[0].next_row
    if bank.row_s.size == 0:
        return number * bank.setting[EVERY]
    return bank.row_s[number] if number < bank.row_s.size else math.inf


@pasted
def write_rows_inside(bank, run, dt, arrival):
    """Write the timeline rows that lie strictly inside the accepted part of the step."""
    clock = run.clock[0]
    while run.rows.shape[0] > 0:
        at = row_due(bank, run)
        if not at < arrival - NEARLY_S:
            return
        if solved(look_inside(bank, run, dt, (at - clock.time) / dt)):
            write_row(bank, run, at, GRID, run.probe, run.probe_now)
        clock.next_row += 1


@pasted
def write_due_row(bank, run):
    """Write the timeline row of this very instant, if one is due."""
    clock = run.clock[0]
    if clock.time >= row_due(bank, run) - NEARLY_S:
        write_row(bank, run, clock.time, GRID, run.moment, run.now)
        clock.next_row += 1


@pasted
def take_over(bank, run, dt, part):
    """Take over the trial step up to `part`, and add up charge and energy."""
    moment, then, reach = run.trial, run.trial_now, 1.0
    if part < 1.0:
        look_inside(bank, run, dt, part)
        moment, then, reach = run.probe, run.probe_now, part
    n, span = run.tally.size, dt * reach
    end_total = 0.0
    for k in range(n):
        start = run.now[k, CURRENT]
        aim = run.tally[k].goal if part >= 1.0 else run.tally[k].path
        end = start + reach * (aim - start)
        end_total += end
        add_charge(bank, run, k, start, end, span)
    out, into = split_charge(run.now[n, TOTAL], end_total, span)
    run.clock[0].bank_out += out
    run.clock[0].bank_into += into
    for j in range(bank.charger.size):
        source, first, last = run.source[j], run.now[n + 1 + j, CURRENT], then[n + 1 + j, CURRENT]
        source.out += 0.5 * span * (first + last)
        power = first * run.now[n, AT_LOADS] + last * then[n, AT_LOADS]
        source.energy += 0.5 * span * power
    book_all(bank, run, moment, then)
    add_energy(run.ledger, span)
    heat_weights(bank.battery, run.tally, span)
    settle_temperature(bank.battery, run.tally, run.now, then)
    copy_into(moment, run.moment)
    copy_into(then, run.now)


@inner
def add_charge(bank, run, battery, start, end, span):
    """Add up the charge of one battery, and the time above its label limits."""
    tally, one = run.tally[battery], bank.battery[battery]
    out, into = split_charge(start, end, span)
    tally.out += out
    tally.into += into
    if run.now[battery, KELVIN] < FREEZING_K:
        tally.cold_into += into
    tally.above_out += span * part_above(start, end, one.limit_out)
    tally.above_into += span * part_above(-start, -end, one.limit_into)


@inner
def part_above(start, end, limit):
    """Part of a straight way from start to end that lies above a limit. [1]"""
    if start > limit and end > limit:
        return 1.0
    if start <= limit and end <= limit:
        return 0.0
    return (max(start, end) - limit) / abs(end - start)


@inner
def add_energy(ledger, span):
    """Add up the energy of all parts, straight between the powers at both ends of the step."""
    for i in range(ledger.shape[1]):
        for j in range(ledger.shape[2]):
            ledger[2, i, j] += 0.5 * span * (ledger[0, i, j] + ledger[1, i, j])
            ledger[0, i, j] = ledger[1, i, j]


@pasted
def act(bank, run):
    """Let rules, load changes and the end of the run take effect, in this order.

    Returns OK or why the run ends.
    """
    clock = run.clock[0]
    while True:
        if clock.segment >= 0:
            status = fade(bank, run)  # chargers that gave less and less
            if status == OK:
                status = settle(bank, run)
            if status != OK:
                return status
            note_extremes(bank, run)
        if clock.time < bank.edge[clock.segment + 1]:
            break
        if clock.segment + 2 == bank.edge.size:
            write_row(bank, run, clock.time, END, run.moment, run.now)
            return DURATION
        status = put_segment(bank, run, clock.segment + 1)
        if status != OK:
            return status
    write_due_row(bank, run)
    return OK
