"""Batteries that lie unused: what is beyond full evens out, and nothing drives itself below empty.

Closed forms of the two laws (docs/theory.md, 2.3), and what a bench sees.
"""

from dataclasses import replace

import numpy as np
import pytest
from pytest import approx
from simple_banks import affine_cell, bank_of, battery, run, steady

from bankSim.model.battery import Battery
from bankSim.model.charger import Charger, Stage
from bankSim.model.lead_acid import AGM
from bankSim.model.lfp import LFP
from bankSim.model.load import Schedule
from bankSim.model.rule import Blocks, Rule, Watch

RATED_AH = 100.0
HOUR_S = 3600.0


def lfp(z, **cell):
    one = replace(LFP.typical_cell(RATED_AH, RATED_AH * HOUR_S), state_of_charge=z, **cell)
    return Battery("a", (one,) * 4, 1.5e-3, 1e-3, (), RATED_AH * HOUR_S, chemistry="LFP")


def at_rest(result, hours):
    """Return the voltage of the first battery so many hours after the charger went. [V]"""
    table = result.timeline()
    return float(np.interp(hours * HOUR_S, table["time_s"], table["a.voltage_V"]))


def held(volts, end_s=3.0 * HOUR_S):
    """Return a charger that holds a voltage for some hours, then is switched off."""
    schedule = Schedule(active_s=((0.0, end_s),))
    return Charger("mains", (Stage(volts),), limit_A=20.0, schedule=schedule)


def test_a_charged_lfp_falls_back_to_its_rest_voltage_within_hours():
    # it stood at 14.39 V for days; "the measured cell rested at 3.403 V" before its drive cycle
    # (About:Energy, BPX open data set), and about 3.40 V just after full is common practice
    bank = bank_of(lfp(0.9), chargers=(held(14.4),), duration_s=24 * HOUR_S)
    result = run(bank)
    assert at_rest(result, 2.9) == approx(14.4, abs=0.01)
    assert 13.7 < at_rest(result, 4.0) < 14.1
    for hours in (9.0, 24.0):
        assert at_rest(result, hours) / 4.0 == approx(3.41, abs=0.025)
    assert result.batteries[0].highest_state_of_charge < 1.003


def test_what_is_beyond_full_dies_away_as_an_exponential():
    # dz/dt = -G (z - 1) / Q with G / Q = 1 / h: e-fold an hour, without relaxation and hysteresis
    plain = lfp(0.98, relaxation=(), hysteresis_V=0.0, standing_A=0.0)
    bank = bank_of(plain, chargers=(held(14.4, 2.0 * HOUR_S),), duration_s=6 * HOUR_S)
    result = run(bank)
    full_V = 4.0 * float(plain.cells[0].ocv_V(1.0))
    above_V = [at_rest(result, hours) - full_V for hours in (2.5, 3.5, 4.5)]
    # a step may miss 1e-5 of the charge, 4 x 90 V x 1e-5 = 3.6 mV
    assert above_V[1] == approx(above_V[0] * np.exp(-1.0), abs=4e-3)
    assert above_V[2] == approx(above_V[0] * np.exp(-2.0), abs=4e-3)


def test_a_held_lfp_takes_next_to_nothing():
    # C/500 at 3.6 V a cell: own choice, docs/chemistries/lfp.md
    bank = bank_of(lfp(1.0), chargers=(held(14.4, 1e9),), duration_s=48 * HOUR_S)
    table = run(bank).timeline()
    assert -table["a.current_A"].iloc[-1] == approx(RATED_AH / 500.0, rel=0.15)


def test_self_discharge_fades_out_below_empty():
    # dz/dt = -(s0 / Q) (1 + z / D), D = 0.01: z = -D (1 - exp(-s0 t / (Q D))) from empty on
    s0_A, hours = 0.2, 30.0
    cell = replace(affine_cell(), state_of_charge=0.0, standing_A=s0_A)
    bank = bank_of(battery("a", cell), duration_s=hours * HOUR_S)
    (z,) = run(bank).batteries[0].final_state_of_charge
    part = s0_A * hours * HOUR_S / (cell.charge_C * 0.01)
    assert z == approx(-0.01 * (1.0 - np.exp(-part)), abs=1e-5)


@pytest.mark.parametrize("chemistry", [LFP, AGM])
def test_a_year_on_the_shelf_reverses_no_cell(chemistry):
    # the bus went down to -42 V (LFP) and -46 V (AGM) in a winter
    cell = replace(chemistry.typical_cell(RATED_AH, RATED_AH * HOUR_S), state_of_charge=0.05)
    bank = bank_of(
        Battery("a", (cell,) * 4, 0.0, 1e-3, (), RATED_AH * HOUR_S), duration_s=365 * 24 * HOUR_S
    )
    table = run(bank).timeline()
    assert float(np.min(table["a.voltage_V"])) > 0.0


def found(bank):
    return {caution.topic: caution for caution in run(bank).cautions}


def test_a_battery_that_runs_down_by_itself_is_told_to_be_charged_not_to_be_cut_out():
    # cut out at 2.5 V a cell at 2 %, then half a year of self-discharge
    rule = Rule(Watch.LOWEST_CELL, True, 2.5, 5.0, Blocks.DISCHARGE)
    told = found(
        bank_of(
            replace(lfp(0.02), rules=(rule,)),
            load=steady(5.0),
            duration_s=180 * 24 * HOUR_S,
            stop_when_empty=False,
        )
    )
    assert "cell driven below empty" not in told
    caution = told["left deeply discharged"]
    assert caution.severity == "danger"
    assert "run down by itself" in caution.text
    assert "Charge it soon" in caution.advice
    assert "cut-out that acts in time" not in caution.advice
    assert not any("dips" in one.text for one in told.values())
    # one that a load drives there is still told so
    driven = found(bank_of(lfp(0.02), load=steady(5.0), duration_s=2 * HOUR_S))
    assert "cut-out that acts in time" in driven["cell driven below empty"].advice
