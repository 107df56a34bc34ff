"""Kirchhoff's laws between batteries, rails, main, loads and chargers, at every row."""

import numpy as np

from bankSim.model.bank import Layout
from bankSim.sim.result import (
    COLLAPSE,
    HEATER_OFF,
    HEATER_ON,
    LOAD_OFF,
    LOAD_ON,
    REFUSED,
    STAGE,
)

from .record import BACK_S, unlike

CHARGE, DISCHARGE = 1, 2  # bits of what is blocked
NO_A, SAME_V = 1e-7, 1e-6
HELD_V = 2e-6


def rails_V(record):
    """Voltage between the rails where each battery's lead ends, by row. [V]"""
    amps, wiring = record.amps, record.bank.wiring
    volts = np.repeat(record.bus_V[:, None], amps.shape[1], axis=1)
    if wiring.layout is Layout.EQUAL_LEADS:
        return volts
    plus = amps.sum(axis=1)[:, None] - np.cumsum(amps, axis=1)  # in the link behind each battery
    minus = -plus
    if wiring.layout is Layout.OPPOSITE_ENDS:
        minus = np.cumsum(amps, axis=1)
        volts = volts + wiring.link_ohm * minus[:, :-1].sum(axis=1)[:, None]
    rise = wiring.link_ohm * (plus - minus)
    volts[:, 1:] += np.cumsum(rise[:, :-1], axis=1)
    return volts


def check_wires(record):
    """Currents add up; each battery's branch obeys Ohm and its diode; the main cable likewise."""
    scale = np.abs(record.amps).max(axis=1) + 1.0
    for row in unlike(record.amps.sum(axis=1), record.bank_A, 1e-9 * scale):
        record.blame("currents do not add up", row, f"{record.amps[row]} to {record.bank_A[row]}")
    drop = record.bank.wiring.main_ohm * record.bank_A
    fine = ~record.dark
    for row in unlike(record.bus_V - drop, record.loads_V, 1e-9 * scale + SAME_V):
        if fine[row]:
            record.blame("main cable", row, f"{record.bus_V[row]} less {drop[row]}")
    rails = rails_V(record)
    for number, battery in enumerate(record.bank.batteries):
        _check_branch(record, number, battery, rails[:, number])


def _check_branch(record, number, battery, rails):
    amps, mode = record.amps[:, number], record.mode[:, number]
    own = record.cell_V[number].sum(axis=1) - battery.internal_ohm * amps
    for row in unlike(own, record.volts[:, number], SAME_V):
        record.blame("cells do not add up", row, f"{battery.name}: {own[row]} V")
    drop = np.where(mode == CHARGE, -battery.diode_drop_V, 0.0)
    drop = np.where(mode == DISCHARGE, battery.diode_drop_V, drop)
    shown = record.volts[:, number] + drop - battery.lead_ohm * amps
    flows = (np.abs(amps) > NO_A) & ~record.dark
    for row in np.flatnonzero(flows & ~(np.abs(shown - rails) < SAME_V + 1e-9 * np.abs(amps))):
        told = f"{battery.name}: {amps[row]:.6g} A, shows {shown[row]:.6f} V to {rails[row]:.6f} V"
        record.blame("branch", row, told)
    for bit, sign in ((CHARGE, 1.0), (DISCHARGE, -1.0)):
        blocked = mode & bit > 0
        for row in np.flatnonzero(blocked & (sign * amps < -NO_A)):
            record.blame("flows where blocked", row, f"{battery.name}: {amps[row]:.6g} A")
        idle = (mode == bit) & (np.abs(amps) <= NO_A) & ~record.dark
        for row in np.flatnonzero(idle & (sign * (shown - rails) > SAME_V)):
            told = f"{battery.name}: {shown[row]:.6f} V behind {rails[row]:.6f} V"
            record.blame("diode should carry", row, told)
    idle = (mode == 0) & (np.abs(amps) <= NO_A) & ~record.dark
    for row in np.flatnonzero(idle & (np.abs(shown - rails) > SAME_V)):
        record.blame("idle though connected", row, f"{battery.name}: {shown[row]} of {rails[row]}")


class Wanted:
    """What loads, heaters and chargers want at an instant.

    Where some of them switch at that very instant, several states are there one after the other:
    `turn` counts them, from that of before to that of after.
    """

    def __init__(self, record):
        self.bank = record.bank
        self.switched = {}
        for event in record.result.events:
            who = event.battery if event.what in (HEATER_ON, HEATER_OFF) else event.source
            if event.what in (LOAD_OFF, LOAD_ON, HEATER_ON, HEATER_OFF, STAGE):
                self.switched.setdefault(who, []).append(event)
        every = [event.time_s for own in self.switched.values() for event in own]
        self.times = np.sort(np.array(every))

    def moments(self, record, row):
        """Moments of a row to ask about: (time, events of that time that have happened)."""
        now = record.time_s[row]
        here = int((np.abs(self.times - now) < BACK_S).sum())
        sides = (now - 2.0 * BACK_S, now + 2.0 * BACK_S)
        return [(at, turn) for turn in range(here, -1, -1) for at in sides]

    def last(self, who, moment):
        """The last switching of a load, heater or charger up to a moment, or None."""
        time_s, turn = moment
        own = self.switched.get(who, [])
        known = [e for e in own if e.time_s < time_s - 3.0 * BACK_S]
        return (
            known + [e for e in own if abs(e.time_s - time_s) <= 3.0 * BACK_S][:turn] or [None]
        )[-1]

    def load_A(self, volts, moment):
        """What loads and heaters draw at a voltage. [A]"""
        total, when = 0.0, np.array([max(moment[0], 0.0)])
        for load in self.bank.loads:
            event = self.last(load.name, moment) if load.cut_off else None
            if event is None or event.what != LOAD_OFF:
                amount = float(load.amount(when, self.bank.starts_at_s)[0])
                total += amount * volts ** (load.exponent - 1.0)
        charged = any(self.hold_V(one, moment) is not None for one in self.bank.chargers)
        for battery in self.bank.batteries:
            event = self.last(battery.name, moment) if battery.heater else None
            if event is not None and event.what == HEATER_ON:
                total += (
                    battery.heater.power_W / volts * (charged or not battery.heater.needs_charger)
                )
        return total

    def hold_V(self, charger, moment):
        """The voltage a charger holds; None while it is off. [V]"""
        begun_s = self._begun_s(charger, moment[0])
        if begun_s is None:
            return None
        event = self.last(charger.name, moment)
        number = 1 if event is None or event.time_s < begun_s else int(event.value)
        return charger.stages[number - 1].hold_V if number > 0 else None

    def _begun_s(self, charger, time_s):
        when = max(time_s, 0.0)
        if charger.sun is not None:
            clock = (when + self.bank.starts_at_s) % 86_400.0
            there = charger.sun.rise_s <= clock < charger.sun.set_s
            return when - (clock - charger.sun.rise_s) if there else None
        if not charger.schedule.is_on(np.array([when]), self.bank.starts_at_s)[0]:
            return None
        edges = charger.schedule.edges_s(self.bank.duration_s, self.bank.starts_at_s)
        before = np.array([0.0, *edges[edges <= when]])
        on = charger.schedule.is_on(before + BACK_S, self.bank.starts_at_s)
        off = np.flatnonzero(~on)
        return float(before[off[-1] + 1]) if off.size else 0.0

    def limit_A(self, charger, volts, moment):
        """The most a charger gives at a voltage. [A]"""
        if charger.sun is not None:
            sun = charger.sun
            clock = (moment[0] + self.bank.starts_at_s) % 86_400.0
            part = (clock - sun.rise_s) / (sun.set_s - sun.rise_s)
            return max(sun.peak_W * np.sin(np.pi * part), 0.0) / volts
        return charger.limit_A if charger.limit_A is not None else charger.limit_W / volts

    def given_A(self, volts, moment):
        """What all chargers would give at a voltage, those at their hold all they can. [A]"""
        return sum(
            self.limit_A(charger, volts, moment)
            for charger in self.bank.chargers
            if (hold := self.hold_V(charger, moment)) is not None and volts < hold
        )


def check_ends(record):
    """Loads draw by their law or are dropped; chargers keep theirs."""
    wanted = Wanted(record)
    told_s = [e.time_s for e in record.result.events if e.what in (COLLAPSE, REFUSED)]
    first_s = min(told_s, default=np.inf)
    for row in range(record.time_s.size):
        volts, flows = record.loads_V[row], record.bank_A[row] + record.charger_A[row].sum()
        moments = wanted.moments(record, row)
        if record.dark[row]:
            if abs(flows) > NO_A:
                record.blame("current in the dark", row, f"{flows} A")
            continue
        slack = 1e-7 + 1e-7 * (abs(flows) + np.abs(record.charger_A[row]).sum())
        if not any(abs(flows - wanted.load_A(volts, at)) < slack for at in moments):
            nobody = np.all(record.mode[row] & DISCHARGE > 0)
            dropped = abs(flows) < slack and (nobody or record.time_s[row] >= first_s)
            if not dropped:
                record.blame("loads", row, f"{flows} A, not {wanted.load_A(volts, moments[0])} A")
        for number, charger in enumerate(record.bank.chargers):
            own = record.charger_A[row, number]
            if not any(_obeys(wanted, charger, own, volts, at) for at in moments):
                hold = wanted.hold_V(charger, moments[0])
                record.blame("charger", row, f"{own} A at {volts} V, holds {hold} V")


def _obeys(wanted, charger, amps, volts, moment):
    hold = wanted.hold_V(charger, moment)
    if hold is None:
        return abs(amps) < NO_A
    limit = wanted.limit_A(charger, volts, moment)
    late = wanted.limit_A(charger, volts, (moment[0] + 4.0 * BACK_S, 0))  # the sun moves on
    slack = NO_A + 1e-6 * limit + abs(limit - late)
    if abs(volts - hold) <= HELD_V:
        return -slack <= amps <= limit + slack
    return abs(amps - (limit if volts < hold else 0.0)) <= slack
