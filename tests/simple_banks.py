"""Small banks for tests: batteries with straight voltage curves and loads of one number."""

import numpy as np

from bankSim.model.bank import Bank, Wiring
from bankSim.model.battery import Battery
from bankSim.model.cell import Cell
from bankSim.model.curve import Curve
from bankSim.model.load import Load, Schedule
from bankSim.scenario.record import Scenario
from bankSim.sim.run import simulate


def affine_cell(ohm=0.005, Ah=100.0, z=0.9, *, base=12.8, span=0.6, **more):
    """One series element whose voltage is base + span z."""
    curve = Curve.linear([0.0, 1.0], [base, base + span])
    return Cell(curve, Curve.constant(ohm), Ah * 3600.0, z, **more)


def battery(name, *cells, rules=(), internal=0.0, lead=0.0, **more):
    """A battery of ready cells; its label says what its smallest cell holds."""
    rated_C = min(cell.charge_C for cell in cells)
    return Battery(name, tuple(cells), internal, lead, tuple(rules), rated_C, **more)


def affine(name="a", ohm=0.005, Ah=100.0, z=0.9, *, rules=(), lead=0.0, **more):
    """A battery with one straight element."""
    return battery(name, affine_cell(ohm, Ah, z, **more), rules=rules, lead=lead)


def steady(amount, exponent=1.0, schedule=Schedule()):
    """A load that never changes: amperes by default."""
    return Load("load", exponent, np.array([0.0]), np.array([float(amount)]), schedule)


def stepped(times_s, amounts, exponent=1.0):
    """A load that changes at given times."""
    return Load("load", exponent, np.asarray(times_s, float), np.asarray(amounts, float))


def bank_of(*batteries, load=None, duration_s=3600.0, **more):
    """A bank on equal leads unless told otherwise."""
    loads = () if load is None else (load,)
    more.setdefault("wiring", Wiring())
    return Bank(tuple(batteries), loads=loads, duration_s=duration_s, **more)


def run(bank, **tolerances):
    """Simulate a bank without a scenario file."""
    return simulate(Scenario("test", bank), **tolerances)
