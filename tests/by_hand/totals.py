"""Charge and energy: the totals are the areas under the rows, and all that is lost is accounted."""

import numpy as np

from bankSim.model.bank import Layout

from .cells import bends
from .record import promised_A

PART = 1e-4  # of what passed
ENERGY_PART = 2e-3  # a run sums its energies over its own steps, which only charges make short


def area(time_s, values):
    """Area under straight lines, and how far it may be off where the values bend. [unit s]"""
    dt = np.diff(time_s)
    sums = 0.5 * (values[1:] + values[:-1]) * dt
    return np.array([np.sum(sums), np.sum(bends(time_s, values) * dt)])


def parts(time_s, amps):
    """Charge out and in along straight lines. [C]"""
    first, last, dt = amps[:-1], amps[1:], np.diff(time_s)
    mean = 0.5 * (first + last) * dt
    turns = first * last < 0.0
    safe = np.where(turns, first - last, 1.0)
    one, other = 0.5 * first**2 / safe * dt, -0.5 * last**2 / safe * dt
    out = np.where(turns, np.maximum(one, 0.0) + np.maximum(other, 0.0), np.maximum(mean, 0.0))
    return float(out.sum()), float(out.sum() - mean.sum())


def check_totals(record, followed):
    """Hold the totals against the rows."""
    strays_Wh = 0.0
    for number, (battery, outcome) in enumerate(
        zip(record.bank.batteries, record.result.batteries, strict=True)
    ):
        amps, time_s = record.amps[:, number], record.time_s
        out, into = (charge / 3600.0 for charge in parts(time_s, amps))
        loose_A = bends(time_s, amps) + promised_A(record)[1:]
        stray_C = float(np.sum(loose_A * np.diff(time_s)))
        allowed = PART * (out + into) + 1e-6 * outcome.rated_Ah + stray_C / 3600.0
        strays_Wh += abs(record.volts[:, number]).max() * stray_C / 3600.0
        for what, own, sum_Ah in (("out", outcome.delivered_Ah, out),
                                  ("in", outcome.charged_Ah, into)):  # fmt: skip
            if not abs(own - sum_Ah) <= allowed:
                told = f"{battery.name} {what}: {own} Ah, rows say {sum_Ah}"
                record.blame("charge", None, told)
        one = followed[number]
        if one is not None:
            slack = 3600.0 * allowed / min(cell.charge_C for cell in battery.cells) + 1e-7
            for own, held in zip(outcome.final_state_of_charge, one.held, strict=True):
                if not abs(own - held) <= slack:
                    record.blame("charge held", None, f"{battery.name}: {own}, rows say {held}")
    _check_energy(record, strays_Wh)


def _check_energy(record, strays_Wh):
    """Terminals give what loads take, chargers give and wires lose."""
    time_s, wiring = record.time_s, record.bank.wiring
    energy = record.result.bank.energy
    at_loads = record.loads_V * (record.bank_A + record.charger_A.sum(axis=1))
    chargers = area(time_s, record.loads_V * record.charger_A.sum(axis=1)) / 3600.0
    drop = np.array([battery.diode_drop_V for battery in record.bank.batteries])
    lead = np.array([battery.lead_ohm for battery in record.bank.batteries])
    diodes = area(time_s, (((record.mode == 1) | (record.mode == 2)) * np.abs(record.amps)
                           * drop).sum(axis=1)) / 3600.0  # fmt: skip
    wires = (record.amps**2 * lead).sum(axis=1) + wiring.main_ohm * record.bank_A**2
    if wiring.layout is not Layout.EQUAL_LEADS:
        flows = np.cumsum(record.amps, axis=1)
        plus, minus = record.amps.sum(axis=1)[:, None] - flows, flows
        if wiring.layout is Layout.SAME_END:
            minus = plus
        wires = wires + wiring.link_ohm * (plus**2 + minus**2)[:, :-1].sum(axis=1)
    leads = area(time_s, wires) / 3600.0
    loads = area(time_s, at_loads) / 3600.0
    terminals = area(time_s, (record.volts * record.amps).sum(axis=1)) / 3600.0
    size = area(time_s, np.abs(record.volts * record.amps).sum(axis=1))[0] / 3600.0 + abs(loads[0])
    for what, own, (by_rows, stray) in (
        ("leads", energy.leads_Wh, leads),
        ("diodes", energy.diodes_Wh, diodes),
        ("chargers", energy.chargers_Wh, chargers),
        ("loads", energy.loads_Wh - energy.fed_back_Wh, loads),
        ("terminals", (terminals + chargers)[0], (loads + leads + diodes)),
    ):
        if not abs(own - by_rows) <= ENERGY_PART * size + strays_Wh + stray + 1e-6:
            record.blame("energy", None, f"{what}: {own} Wh, rows say {by_rows}")
