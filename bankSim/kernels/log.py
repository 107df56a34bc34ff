"""Writing rows of the trace, events and extremes; the march sees to it that there is room."""

import math

from bankSim.kernels.arrays import (
    AT_LOADS,
    BUS,
    CURRENT,
    EVENT_FIXED,
    FIXED,
    HIGHEST_SOC,
    HIGHEST_V,
    KELVIN,
    LEVEL,
    LOWEST_SOC,
    LOWEST_V,
    PER_BATTERY,
    SOC,
    TOTAL,
)
from bankSim.kernels.balance import cell_voltage
from bankSim.kernels.jit import inner
from bankSim.kernels.loads import asks_anything
from bankSim.kernels.rules import battery_voltage, watched_value

# Bank currents below this do not count as a first flow. [A]
FLOW_A = 1e-9


@inner
def write_row(bank, run, time, kind, moment, now):
    """Append one instant to the trace, if a trace is kept at all."""
    if run.rows.shape[0] == 0:
        return
    row, n = run.rows[run.used[0]], bank.battery.size
    run.used[0] += 1
    row[0], row[1] = time, kind
    row[2], row[3], row[4] = now[n, BUS], now[n, TOTAL], now[n, AT_LOADS]
    for k in range(n):
        held, room = 0.0, 0.0
        for i in range(bank.battery[k].first, bank.battery[k].end):
            held += moment[i, SOC] * bank.cell[i].charge
            room += bank.cell[i].charge
            row[FIXED + PER_BATTERY * n + i] = cell_voltage(moment, i, now[k, CURRENT])
        at = FIXED + PER_BATTERY * k
        row[at], row[at + 1], row[at + 2] = now[k, CURRENT], battery_voltage(now, k), held / room
        row[at + 3], row[at + 4] = now[k, KELVIN], run.tally[k].mode
    for j in range(bank.charger.size):
        row[FIXED + PER_BATTERY * n + bank.cell.size + j] = now[n + 1 + j, CURRENT]


@inner
def write_event(bank, run, what, subject, value):
    """Append an event with the voltages and currents in force.

    Columns: EVENT_FIXED ones, then currents just before, currents just after, battery voltages,
    cell voltages. Subject is a rule; for NEXT_STAGE a charger; for STAYS_OUT and FREED a battery,
    value the direction's bits; for COLLAPSE and REFUSED WHOLE_BANK.
    """
    entry, n = run.events[run.used[1]], bank.battery.size
    run.used[1] += 1
    entry[0], entry[1], entry[2] = run.clock[0].time, what, subject
    entry[3], entry[4], entry[5] = -1.0, value, run.now[n, BUS]
    for k in range(n):
        entry[EVENT_FIXED + k] = run.now[k, CURRENT]
        entry[EVENT_FIXED + n + k] = 0.0
        entry[EVENT_FIXED + 2 * n + k] = battery_voltage(run.now, k)
        for i in range(bank.battery[k].first, bank.battery[k].end):
            voltage = cell_voltage(run.moment, i, run.now[k, CURRENT])
            entry[EVENT_FIXED + 3 * n + i] = voltage


@inner
def write_rule_event(bank, run, what, rule):
    """Append an event of a rule, with the watched value and the deciding cell."""
    value, cell = watched_value(bank.rule, bank.battery, run.moment, run.now, rule)
    write_event(bank, run, what, float(rule), value)
    run.events[run.used[1] - 1, 3] = cell


@inner
def write_aftermath(bank, run, first, now):
    """Write the currents of `now` as those just after every event from `first` on."""
    n = bank.battery.size
    for entry in range(first, run.used[1]):
        for k in range(n):
            run.events[entry, EVENT_FIXED + n + k] = now[k, CURRENT]


@inner
def most_events(bank):
    """Return the most events that one round of actions can make."""
    return 2 * bank.rule.size + bank.charger.size + 3 * bank.battery.size + 2


@inner
def has_room(bank, run):
    """Tell whether one more step or round of actions fits into the log whatever happens in it."""
    most = most_events(bank)
    rows_fit = run.rows.shape[0] == 0 or run.used[0] + 4 * most + 8 < run.rows.shape[0]
    return rows_fit and run.used[1] + 2 * most < run.events.shape[0]


@inner
def note_extremes(bank, run):
    """Keep the largest currents and the cells' extremes, and the first sharing of a current."""
    n = run.tally.size
    total, clock = run.now[n, TOTAL], run.clock[0]
    if run.now[n, AT_LOADS] > 0.0 and asks_anything(run.level):
        clock.starved = 0
    if total < -FLOW_A:
        clock.refused = 0
    clock.bank_peak = max(clock.bank_peak, abs(total))
    for j in range(run.source.size):
        run.source[j].peak = max(run.source[j].peak, run.now[n + 1 + j, CURRENT])
    for k in range(n):
        current, tally = run.now[k, CURRENT], run.tally[k]
        tally.peak_out = max(tally.peak_out, current)
        tally.peak_into = max(tally.peak_into, -current)
        tally.coldest = min(tally.coldest, run.now[k, KELVIN])
        tally.warmest = max(tally.warmest, run.now[k, KELVIN])
        if abs(total) > FLOW_A and math.isnan(tally.share):
            tally.share = current / total
        seen = run.extreme[k]
        for i in range(bank.battery[k].first, bank.battery[k].end):
            soc, voltage = run.moment[i, LEVEL], cell_voltage(run.moment, i, current)
            if soc < seen[LOWEST_SOC]:
                seen[LOWEST_SOC] = soc
            if soc > seen[HIGHEST_SOC]:
                seen[HIGHEST_SOC] = soc
            if voltage < seen[LOWEST_V]:
                seen[LOWEST_V] = voltage
            if voltage > seen[HIGHEST_V]:
                seen[HIGHEST_V] = voltage
