"""The banks that are timed; all of them invented."""

from dataclasses import replace

import numpy as np

from bankSim.model.bank import Bank, Layout, Wiring
from bankSim.model.battery import Battery
from bankSim.model.charge_lag import NO_LAG
from bankSim.model.curve import Curve
from bankSim.model.lfp import INTERNAL_OHM_AH, ocv_curve, typical_cell
from bankSim.model.load import Load, Schedule
from bankSim.model.rule import Rule, Watch

LOWEST_CELL = Rule(Watch.LOWEST_CELL, below=True, threshold=2.5, delay_s=5.0)
START = (1.0, 0.992, 0.985, 0.996)  # states of charge of the four cells
OUT_OF_BALANCE = (1.0, 0.97, 0.86, 0.985)  # one cell ends the discharge early
CELL_OHM = (1.0, 1.08, 0.95, 1.02)  # their resistance over the usual one
WATT_PER_BATTERY = 28.0


def battery(name, label_Ah, capacity_Ah, ageing, start=START):
    """Four unequal cells in series: typical curve, two relaxation pairs, hysteresis."""
    cells = tuple(
        replace(typical_cell(label_Ah, capacity_Ah * 3600.0, ageing * ohm), state_of_charge=z)
        for z, ohm in zip(start, CELL_OHM, strict=True)
    )
    internal_ohm = INTERNAL_OHM_AH / label_Ah
    return Battery(name, cells, internal_ohm, 2e-3, (LOWEST_CELL,), label_Ah * 3600.0)


def power(watt, schedule=Schedule()):  # noqa: B008 - frozen
    return Load("power", 0.0, np.array([0.0]), np.array([watt]), schedule)


def pair(size=1.0):
    """Two unequal batteries on equal leads under constant power for about 54 h times `size`."""
    batteries = (
        battery("newer", 145.0 * size, 138.0 * size, 1.0),
        battery("older", 105.0 * size, 91.0 * size, 1.5, OUT_OF_BALANCE),
    )
    return Bank(
        batteries,
        Wiring(main_ohm=1e-3),
        (power(2.0 * WATT_PER_BATTERY),),
        duration_s=size * 80.0 * 3600.0,
    )


def tabled_pair():
    """The same two with straight lines between the rows of a table, as a measured one would be."""
    bank = pair()
    z = np.array([*np.linspace(0.0, 0.1, 6), *np.linspace(0.15, 0.9, 13), 0.94, 0.97, 0.99, 1.0])
    curve = Curve.linear(z, ocv_curve()(z))
    return _with_cells(bank, ocv_V=curve)


def without_charge_lag(bank):
    """The same bank of cells that a charge meets no more than a discharge: the lean equations."""
    return _with_cells(bank, charge_lag=NO_LAG)


def _with_cells(bank, **changes):
    batteries = tuple(
        replace(one, cells=tuple(replace(cell, **changes) for cell in one.cells))
        for one in bank.batteries
    )
    return replace(bank, batteries=batteries)


def many(count, layout, size=1.0, schedule=Schedule()):  # noqa: B008 - frozen
    """`count` unequal batteries, each with the same share of the load, for about 54 h."""
    batteries = tuple(
        battery(
            f"b{i}", 115.0 * size, size * (115.0 - 18.0 * (i * 0.618 % 1.0)), 1.0 + 0.1 * i / count
        )
        for i in range(count)
    )
    watt = count * WATT_PER_BATTERY / (0.4 if schedule.duty_s else 1.0)
    return Bank(
        batteries,
        Wiring(layout, link_ohm=0.1e-3, main_ohm=1e-3 / count),
        (power(watt, schedule),),
        duration_s=size * 100.0 * 3600.0,
    )


def in_a_row(count):
    return many(count, Layout.OPPOSITE_ENDS)


def equal_leads(count):
    return many(count, Layout.EQUAL_LEADS)


def duty(size):
    """Two batteries under a load that is on for 12 of 30 minutes, for about 54 h times `size`."""
    return many(2, Layout.EQUAL_LEADS, size, Schedule(duty_s=(720.0, 1080.0)))
