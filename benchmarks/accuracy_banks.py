"""Ten banks that differ, for the table of true errors; all of them invented."""

import math
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from bankSim.model.bank import Bank, Wiring
from bankSim.model.battery import Battery
from bankSim.model.cell import Cell
from bankSim.model.curve import Curve
from bankSim.model.load import Load, Schedule
from bankSim.model.rule import Rule, Watch
from bankSim.scenario.read import parse_scenario, read_scenario
from benchmarks.banks import battery, duty, pair
from benchmarks.hybrid import hybrid

SCENARIOS = Path(__file__).resolve().parents[1] / "scenarios"
TWIN, CLOSED_FORM, OWN_RUN = "twin", "closed form", "own run at 1e-9"
NMC = """
title = "Two NMC"
[simulation]
duration_h = 40.0
[[battery]]
name = "fresh"
chemistry = "NMC"
cells_in_series = 7
rated_capacity_Ah = 50.0
lead_mohm = 2.0
[[battery]]
name = "worn"
chemistry = "NMC"
cells_in_series = 7
rated_capacity_Ah = 60.0
capacity_fraction = 0.8
resistance_factor = 1.7
lead_mohm = 3.0
[[load]]
name = "motor"
power_W = 500.0
duty = { on_min = 25, off_min = 20 }
"""
# the battery with a closed form: E = 12 + 1.6 z behind 30 mohm on a resistor of 0.25 ohm
BASE_V, SPAN_V, INSIDE_OHM, RESISTOR_OHM = 12.0, 1.6, 0.03, 0.25
CHARGE_C, FULL, CUT_OUT_V, DELAY_S = 100.0 * 3600.0, 0.95, 11.2, 7.0


@dataclass(frozen=True)
class Case:
    """A bank of the table.

    Parameters
    ----------
    name : str
    bank : Bank
    reference : str
        What its errors are measured against: `TWIN`, `CLOSED_FORM` or `OWN_RUN`.
    """

    name: str
    bank: Bank
    reference: str


def cases(*, short=False):
    """Return the ten banks; the short form marches less of some and asks the twin less often."""
    size = 0.15 if short else 1.0
    own = OWN_RUN if short else TWIN
    return [
        Case("single battery on a resistor", single(), CLOSED_FORM),
        Case("two LFP, constant power", pair(size), own),
        Case("hybrid, four LFP, sun, 7 h", hybrid(0.1), own),
        Case(
            "AGM with two wells beside LFP",
            _shipped("lfp-beside-agm", 0.1 if short else 1.0),
            OWN_RUN,
        ),
        Case("four in a row, taken off at one end", _shipped("hut-same-end"), own),
        Case("balancers, sun", _shipped("three-days-of-sun", size), OWN_RUN),
        Case("cold, heater, blocked charge", _shipped("winter-hut", size), OWN_RUN),
        Case("two NMC, duty cycle", parse_scenario(NMC, SCENARIOS).bank, own),
        Case("power near collapse", near_collapse(), own),
        Case("many switchings: 12 of 30 min", duty(size), OWN_RUN),
    ]


def single():
    """One battery with a straight voltage curve on a resistor: what it does is in a textbook."""
    curve = Curve.linear([0.0, 1.0], [BASE_V, BASE_V + SPAN_V])
    cell = Cell(curve, Curve.constant(INSIDE_OHM), CHARGE_C, FULL)
    rule = Rule(Watch.LOWEST_CELL, below=True, threshold=CUT_OUT_V, delay_s=DELAY_S)
    load = Load("resistor", 2.0, np.array([0.0]), np.array([1.0 / RESISTOR_OHM]), Schedule())
    one = Battery("one", (cell,), 0.0, 0.0, (rule,), CHARGE_C)
    return Bank((one,), Wiring(), (load,), duration_s=10.0 * 3600.0)


def single_answer():
    """Return (cut-out [s], Ah over time [Ah], bus voltage over time [V]) of the single battery.

    E falls as exp(-t / tau) with tau = Q (R + RL) / span, and the bus is the part RL / (R + RL)
    of it (Ohm and Faraday; derived by hand).
    """
    around_ohm = INSIDE_OHM + RESISTOR_OHM
    part, tau_s = RESISTOR_OHM / around_ohm, CHARGE_C * around_ohm / SPAN_V
    full_V = BASE_V + SPAN_V * FULL
    cut_out_s = tau_s * math.log(full_V * part / CUT_OUT_V) + DELAY_S
    most_Ah = CHARGE_C * full_V / SPAN_V / 3600.0

    def given_Ah(time_s):  # noqa: N802 - the unit as printed
        return most_Ah * -np.expm1(-time_s / tau_s)

    return cut_out_s, given_Ah, lambda time_s: part * full_V * np.exp(-time_s / tau_s)


def near_collapse():
    """Two worn batteries under so much power that it can no longer be fed before they are empty."""
    sizes = (("a", 30.0, 12.0), ("b", 24.0, 15.0))
    worn = [battery(name, Ah, Ah, ageing) for name, Ah, ageing in sizes]
    rule = Rule(Watch.LOWEST_CELL, below=True, threshold=0.8, delay_s=5.0)
    load = Load("inverter", 0.0, np.array([0.0]), np.array([300.0]), Schedule())
    batteries = tuple(replace(one, rules=(rule,)) for one in worn)
    return Bank(batteries, Wiring(main_ohm=4e-3), (load,), duration_s=3.0 * 3600.0)


def _shipped(name, part=1.0):
    """Return the bank of a shipped scenario, or the first part of its time."""
    bank = read_scenario(SCENARIOS / f"{name}.toml").bank
    return replace(bank, duration_s=part * bank.duration_s)
