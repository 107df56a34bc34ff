"""Cell voltages, directions of currents and the voltage of the network, from the cells by hand."""

import numpy as np

from bankSim.model.bank import Layout
from bankSim.sim.result import COLLAPSE

from .cells import follow
from .record import AFTER, BEFORE, promised_A
from .wires import CHARGE, DISCHARGE, NO_A, Wanted, rails_V

LAG_PART = 1e-4  # of the ohmic drop
NEAR_V = 2e-3  # of a cell, where a whole network is searched
ROWS = 12  # at which the whole network is searched
POINTS = 600


def follow_all(record):
    """Follow every battery without a balancer; None for the others."""
    loose_A = promised_A(record)
    of = record.time_s, record.amps.T, record.kelvin.T
    return [
        None if battery.balancer else follow(battery, of[0], amps, kelvin, loose_A)
        for battery, amps, kelvin in zip(record.bank.batteries, of[1], of[2], strict=True)
    ]


def check_cells(record, followed):
    """Every cell shows what its charge, its past and its current make it show."""
    rails = rails_V(record)
    for number, (battery, one) in enumerate(zip(record.bank.batteries, followed, strict=True)):
        if one is None:
            continue
        amps = record.amps[:, number]
        ohm = np.where(amps[:, None] < 0.0, one.into_ohm, one.out_ohm)
        by_hand = one.open_V - amps[:, None] * ohm
        miss = np.abs(by_hand - record.cell_V[number])
        allowed = one.doubt_V + LAG_PART * np.abs(amps[:, None] * ohm)
        for row, cell in np.argwhere(~(miss <= allowed)):
            told = (f"{battery.name} cell {cell + 1}: {record.cell_V[number][row, cell]:.5f} V, "
                    f"by hand {by_hand[row, cell]:.5f} V")  # fmt: skip
            record.blame("cell voltage", row, told)
        _check_way(record, number, battery, one, rails[:, number])


def _check_way(record, number, battery, one, rails):
    """Current flows from high to low, and no more than Ohm's law lets through."""
    amps, mode = record.amps[:, number], record.mode[:, number]
    drop = np.where(mode == CHARGE, -1.0, 0.0) + np.where(mode == DISCHARGE, 1.0, 0.0)
    gap = one.open_V.sum(axis=1) + battery.diode_drop_V * drop - rails
    slack = one.doubt_V.sum(axis=1) + LAG_PART * np.abs(gap)
    side = battery.internal_ohm + battery.lead_ohm
    for sign, ohm, word in ((1.0, one.out_ohm, "gives"), (-1.0, one.into_ohm, "takes")):
        most = np.maximum(sign * gap + slack, 0.0) / np.maximum(ohm.sum(axis=1) + side, 1e-12)
        for row in np.flatnonzero((sign * amps > most + NO_A) & ~record.dark):
            told = (
                f"{battery.name} {word} {abs(amps[row]):.6g} A, at most {most[row]:.6g} A by hand"
            )
            record.blame("charge direction", row, told)


def check_answers(record, followed):
    """Where the loads could be fed at a higher voltage, or at all, they are."""
    bank = record.bank
    if bank.wiring.layout is not Layout.EQUAL_LEADS or any(one is None for one in followed):
        return
    wanted = Wanted(record)
    collapses = {e.time_s for e in record.result.events if e.what == COLLAPSE}
    rows = np.flatnonzero(record.kind != BEFORE)
    rows = rows[:: max(1, rows.size // ROWS)]
    for row in rows:
        if not record.dark[row]:
            _check_highest(record, followed, wanted, int(row))
    for time_s in sorted(collapses)[:ROWS]:
        rows = np.flatnonzero((record.kind[:-1] == BEFORE) & (record.time_s[:-1] == time_s))
        told = [_check_collapse(record, followed, wanted, int(row)) for row in rows]
        if told and all(told):  # of several switchings at one instant one had no answer
            record.blame("collapse without a reason", int(rows[0]), told[0])


def given_A(record, followed, row, bus_V, *, shift_V=0.0):
    """What the batteries give together at a voltage of the bus. [A]"""
    total = np.zeros_like(bus_V)
    for number, battery in enumerate(record.bank.batteries):
        mode, one = record.mode[row, number], followed[number]
        if mode == CHARGE | DISCHARGE:
            continue
        drop = battery.diode_drop_V * ((mode == DISCHARGE) * 1.0 - (mode == CHARGE) * 1.0)
        gap = one.open_V[row].sum() + drop + shift_V * len(battery.cells) - bus_V
        side = battery.internal_ohm + battery.lead_ohm
        ohm = np.where(gap < 0.0, one.into_ohm[row].sum(), one.out_ohm[row].sum()) + side
        amps = gap / np.maximum(ohm, 1e-12)
        amps = np.maximum(amps, 0.0) if mode == CHARGE else amps
        total += np.minimum(amps, 0.0) if mode == DISCHARGE else amps
    return total


def surplus(record, followed, wanted, row, bus_V, moment, *, shift_V=0.0):
    """More given than asked, and the voltage at the loads. [A, V]"""
    total = given_A(record, followed, row, bus_V, shift_V=shift_V)
    loads_V = bus_V - record.bank.wiring.main_ohm * total
    more = [
        amps + wanted.given_A(volts, moment) - wanted.load_A(volts, moment) if volts > 0 else -1e9
        for amps, volts in zip(total, loads_V, strict=True)
    ]
    return np.array(more), loads_V


def _check_highest(record, followed, wanted, row):
    flows = record.bank_A[row] + record.charger_A[row].sum()
    at = next((t for t in wanted.moments(record, row)
               if abs(flows - wanted.load_A(record.loads_V[row], t)) < 1e-6 + 1e-6 * abs(flows)),
              None)  # fmt: skip
    if at is None:
        return  # dropped
    bus_V = record.bus_V[row] * np.linspace(1.0, 1.5, POINTS)[1:]
    more, volts = surplus(record, followed, wanted, row, bus_V, at, shift_V=-NEAR_V)
    found = np.flatnonzero((more > 1e-6) & (volts > record.loads_V[row] + 0.01))
    if found.size:
        told = f"{record.loads_V[row]:.4f} V at the loads, {volts[found[-1]]:.4f} V would do"
        record.blame("not the highest answer", row, told)


def _check_collapse(record, followed, wanted, row):
    """Tell what would feed the loads as they come between the two rows of a switching, if any."""
    after = row + 1
    if record.kind[after] != AFTER:
        return ""
    bus_V = np.linspace(1.0, 1.5 * max(record.bus_V[row], record.bus_V[after], 10.0), POINTS)
    for moment in wanted.moments(record, row):
        more, volts = surplus(record, followed, wanted, after, bus_V, moment, shift_V=-NEAR_V)
        chargers = record.bank.chargers
        hold = max((h for c in chargers if (h := wanted.hold_V(c, moment))), default=0.0)
        fed = (more > 1e-6) & (volts > 0.2 * hold)
        if not fed.any():
            return ""
    return f"{volts[fed][-1]:.4f} V at the loads would feed them"
