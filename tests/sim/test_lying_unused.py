"""Batteries that lie unused: nothing drives itself below empty.

Closed form of the law (docs/theory.md, 2.3).
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


def held(volts, end_s):
    """Return a charger that holds a voltage for some hours, then is switched off."""
    schedule = Schedule(active_s=((0.0, end_s),))
    return Charger("mains", (Stage(volts),), limit_A=20.0, schedule=schedule)


@pytest.mark.parametrize(("end_h", "told"), [(1.0, False), (12.0, True)])
def test_only_hours_at_a_charger_count_as_held(end_h, told):
    # the model rests where it was held, which a real cell does not: that is no holding
    bank = bank_of(lfp(0.95), chargers=(held(14.4, end_h * HOUR_S),), duration_s=48 * HOUR_S)
    assert ("held at a high voltage" in found(bank)) is told


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
    assert "run down by itself to below 2.0 V" in caution.text
    assert "within a day or so of its cut-out" in caution.advice
    assert "cut-out that acts in time" not in caution.advice
    assert not any("dips" in one.text for one in told.values())
    # a monitor of 8 mA drains it faster than it drains itself: then a cut-out is missing
    bare = bank_of(lfp(0.03), load=steady(0.008), duration_s=120 * 24 * HOUR_S)
    assert "cut-out that acts in time" in found(bare)["cell driven below empty"].advice
    # one that a load drives there is still told so
    driven = found(bank_of(lfp(0.02), load=steady(5.0), duration_s=2 * HOUR_S))
    assert "cut-out that acts in time" in driven["cell driven below empty"].advice
