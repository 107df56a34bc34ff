"""Small banks that several tests here solve both ways."""

import numpy as np

from bankSim.model.bank import Bank, Layout, Wiring
from bankSim.model.battery import Battery
from bankSim.model.cell import Cell, RelaxationPair
from bankSim.model.curve import Curve
from bankSim.model.load import Load, Schedule
from bankSim.model.rule import Blocks, Rule, Watch

# An invented flat curve with a knee at each end.
CURVE_Z = [0.0, 0.02, 0.05, 0.1, 0.2, 0.4, 0.6, 0.8, 0.95, 1.0]
CURVE_V = [2.45, 2.85, 3.02, 3.13, 3.2, 3.265, 3.29, 3.315, 3.33, 3.41]
ALWAYS = Schedule()
LOWEST_2_5 = Rule(Watch.LOWEST_CELL, below=True, threshold=2.5, delay_s=2.0)


def affine_battery(name, ohm, Ah, z, *, offset_V=12.8, slope_V=0.6, rules=(), drop_V=0.7, **cell):
    """One cell with E = offset + slope z."""
    curve = Curve.linear([0.0, 1.0], [offset_V, offset_V + slope_V])
    only = Cell(curve, Curve.constant(ohm), Ah * 3600.0, z, **cell)
    return Battery(name, (only,), 0.0, 0.0, rules, Ah * 3600.0, diode_drop_V=drop_V)


def string(name, Ah, mohm, *, spread=0.004, rules=(LOWEST_2_5,), pairs=(), z=1.0, **cell):
    """Four cells of an invented curve; each starts a `spread` below the one before."""
    curve = Curve.linear(CURVE_Z, CURVE_V)
    ohm = Curve.constant(mohm * 1e-3)
    cells = tuple(
        Cell(curve, ohm, Ah * 3600.0, z - spread * i, relaxation=pairs, **cell) for i in range(4)
    )
    return Battery(name, cells, 0.9e-3, 1.7e-3, rules, Ah * 3600.0)


def steady(amount, exponent=1.0, schedule=ALWAYS, name="load"):
    """A load that asks for the same all the time."""
    return Load(name, exponent, np.array([0.0]), np.array([float(amount)]), schedule)


def bare_pair():
    """Two unequal table-only batteries on equal leads under a steady current."""
    batteries = (string("small", 40.0, 0.9, spread=0.02), string("large", 75.0, 0.5))
    return Bank(batteries, Wiring(), (steady(38.0),), duration_s=4 * 3600.0)


def row_of_three(layout):
    """Three unequal batteries in a row, half full, under a load that is a resistance."""
    sizes = (("a", 50, 0.7, 3.05), ("b", 62, 0.5, 2.5), ("c", 45, 1.1, 2.8))
    batteries = tuple(
        string(name, Ah, mohm, rules=(Rule(Watch.LOWEST_CELL, True, limit_V, 2.0),), z=0.5)
        for name, Ah, mohm, limit_V in sizes
    )
    wiring = Wiring(layout, link_ohm=0.4e-3, main_ohm=0.8e-3)
    return Bank(batteries, wiring, (steady(1 / 0.8, 2.0),), duration_s=15 * 3600.0)


def lively_pair():
    """Relaxation, hysteresis, losses and standing draw under constant power, two trips."""
    pairs = (RelaxationPair(0.35e-3, 40.0), RelaxationPair(0.6e-3, 900.0))
    memory = {
        "hysteresis_V": 0.011,
        "hysteresis_rate": 60.0,
        "coulombic_efficiency": 0.97,
        "standing_A": 0.02,
        "activation_J_mol": 20e3,
    }
    rules = (LOWEST_2_5, Rule(Watch.DISCHARGE_CURRENT, False, 58.0, 20.0, Blocks.BOTH))
    batteries = (
        string("old", 45.0, 1.3, spread=0.02, rules=rules, pairs=pairs, **memory),
        string("new", 90.0, 0.6, rules=rules, pairs=pairs, z=0.9, **memory),
    )
    wiring = Wiring(Layout.EQUAL_LEADS, 0.0, 1.1e-3)
    return Bank(
        batteries, wiring, (steady(620.0, 0.0),), temperature_K=283.15, duration_s=5 * 3600.0
    )


def duty_pair():
    """A load that comes and goes, beside a small steady one; charge flows between the two."""
    pairs = (RelaxationPair(0.5e-3, 60.0),)
    batteries = (
        string("first", 30.0, 0.8, spread=0.02, pairs=pairs, z=0.6),
        string("second", 42.0, 0.5, pairs=pairs, z=0.45),
    )
    loads = (
        steady(300.0, 0.0, Schedule(duty_s=(600.0, 900.0)), "pump"),
        steady(1.5, 1.0, name="lamp"),
    )
    return Bank(batteries, Wiring(main_ohm=1e-3), loads, duration_s=12 * 3600.0)
