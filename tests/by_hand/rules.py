"""Rules: each trips and lets go where its quantity says so, after its delay, and blocks its way."""

import numpy as np

from bankSim.model.rule import Needs, Watch
from bankSim.sim.result import MAY_RETURN, RELEASE, STAYS_OUT, TRIP

BITS = {"charge": 1, "discharge": 2, "both": 3}
NEAR = 2e-4  # in V, A or K: the rows between two instants are no closer
TIME_S = 1e-4
FEW = 4  # rows beyond a limit do not tell what was between them


def watched(record, number, watch):
    """The quantity of a rule at every row. [V, A or K]"""
    if watch is Watch.LOWEST_CELL:
        return record.cell_V[number].min(axis=1)
    if watch is Watch.HIGHEST_CELL:
        return record.cell_V[number].max(axis=1)
    if watch is Watch.BATTERY_VOLTAGE:
        return record.volts[:, number]
    if watch is Watch.TEMPERATURE:
        return record.kelvin[:, number]
    return record.amps[:, number] * (1.0 if watch is Watch.DISCHARGE_CURRENT else -1.0)


def check_rules(record):
    """Look at every trip, every release, every stretch beyond a limit, and what is blocked."""
    for number, battery in enumerate(record.bank.batteries):
        own = [e for e in record.result.events if e.battery == battery.name]
        for rule in battery.rules:
            values = watched(record, number, rule.watches)
            events = [e for e in own if _is_of(e, rule)]
            _check_trips(record, battery, rule, values, [e for e in events if e.what == TRIP])
            back = [e for e in events if e.what == RELEASE]
            _check_releases(record, number, rule, values, back)
            if sum(_alike(rule, other) for other in battery.rules) == 1:
                _check_missed(record, battery, rule, values, events)
        _check_blocked(record, number, battery, own)


def _alike(rule, other):
    return (rule.watches, rule.threshold) == (other.watches, other.threshold)


def _is_of(event, rule):
    if event.watches != rule.watches.value or event.what not in (TRIP, RELEASE):
        return False
    limit = rule.threshold if event.what == TRIP else rule.release and rule.release.threshold
    shift = 273.15 if rule.watches is Watch.TEMPERATURE else 0.0
    return limit is not None and abs(event.threshold + shift - limit) < 1e-9


def _during(record, since_s, until_s):
    """Rows well inside a stretch of time."""
    return np.flatnonzero((record.time_s > since_s + TIME_S) & (record.time_s < until_s - TIME_S))


def _check_trips(record, battery, rule, values, trips):
    sign = 1.0 if rule.below else -1.0
    for event in trips:
        seen = _quantity(event, rule, record)
        if seen is not None and abs(seen - event.value) > 1e-6:
            record.blame("trip of another value", None, f"{event.time_s}: {seen}, {event.value}")
        if sign * (event.value - event.threshold) > 1e-6:
            told = f"{battery.name} at {event.time_s}: {event.value} to {event.threshold}"
            record.blame("trip without a reason", None, told)
        rows = _during(record, event.time_s - rule.delay_s, event.time_s)
        for row in rows[sign * (values[rows] - rule.threshold) > NEAR]:
            told = f"{battery.name}: {rule.watches.value} {values[row]}, trips at {event.time_s}"
            record.blame("trip within its delay", row, told)


def _quantity(event, rule, record):
    """The watched value as the voltages and currents beside an event have it. [V or A]"""
    number = [battery.name for battery in record.bank.batteries].index(event.battery)
    return {
        Watch.LOWEST_CELL: min(event.cell_voltages_V),
        Watch.HIGHEST_CELL: max(event.cell_voltages_V),
        Watch.BATTERY_VOLTAGE: event.battery_voltage_V,
        Watch.DISCHARGE_CURRENT: event.currents_A[number],
        Watch.CHARGE_CURRENT: -event.currents_A[number],
    }.get(rule.watches)


def _check_releases(record, number, rule, values, releases):
    sign = 1.0 if rule.below else -1.0
    name = record.bank.batteries[number].name
    for event in releases:
        if sign * (event.threshold - event.value) > 1e-6:
            told = f"{name} at {event.time_s}: {event.value} to {event.threshold}"
            record.blame("release without a reason", None, told)
        rows = _during(record, event.time_s - rule.release.delay_s, event.time_s)
        for row in rows[sign * (rule.release.threshold - values[rows]) > NEAR]:
            record.blame("release within its delay", row, f"{name}: {values[row]}")
        if rule.release.needs is Needs.CHARGING:
            open_to_it = record.mode[rows, number] & 1 == 0
            for row in rows[open_to_it & (record.amps[rows, number] > -0.9e-3)]:
                record.blame("release without charge", row, f"{record.amps[row, number]} A")


def _check_missed(record, battery, rule, values, events):
    """Look for a stretch beyond the limit that is longer than the delay, and no trip."""
    sign = 1.0 if rule.below else -1.0
    beyond = sign * (values - rule.threshold) < -NEAR
    since_s, rows = None, 0
    for row in range(beyond.size):
        if not beyond[row] or _tripped(events, record.time_s[row]):
            since_s, rows = None, 0
            continue
        since_s, rows = record.time_s[row] if since_s is None else since_s, rows + 1
        if rows > FEW and record.time_s[row] - since_s > rule.delay_s + TIME_S:
            told = f"{battery.name}: {rule.watches.value} {values[row]} since {since_s}"
            record.blame("missed trip", row, told)
            return


def _tripped(events, time_s):
    """Whether a rule has tripped and not let go, at an instant or just beside it."""
    known = [event for event in events if event.time_s <= time_s + TIME_S]
    beside = bool(known) and known[-1].time_s >= time_s - TIME_S
    return beside or (bool(known) and known[-1].what == TRIP)


def _check_blocked(record, number, battery, own):
    """What is blocked follows from the events and from nothing else."""
    times = np.array([event.time_s for event in own])
    for row in range(0, record.time_s.size, max(1, record.time_s.size // 400)):
        now = record.time_s[row]
        if times.size and np.abs(times - now).min() < TIME_S:
            continue
        tripped, stays = {}, 0
        for event in own[: int(np.searchsorted(times, now))]:
            if event.what in (TRIP, RELEASE):
                rule = next(i for i, r in enumerate(battery.rules) if _is_of(event, r))
                tripped[rule] = event.what == TRIP
            elif event.what == STAYS_OUT:
                stays |= BITS[event.blocks]
            elif event.what == MAY_RETURN:
                stays &= ~BITS[event.blocks]
        bits = [int(battery.rules[rule].blocks) for rule, is_on in tripped.items() if is_on]
        expected = int(np.bitwise_or.reduce([stays, *bits]))
        if len({(r.watches, r.threshold) for r in battery.rules}) < len(battery.rules):
            continue
        if expected != record.mode[row, number]:
            told = f"{battery.name}: {record.mode[row, number]}, by its events {expected}"
            record.blame("blocked otherwise than told", row, told)
