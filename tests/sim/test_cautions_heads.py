"""Resistance at a row of the trace: from the charge, the wells, the temperature and the way."""

from dataclasses import replace
from math import exp

import numpy as np
import pytest
from made_results import Course, made
from pytest import approx
from simple_banks import affine, affine_cell, bank_of, battery

from bankSim.model.curve import Curve
from bankSim.sim.cautions.heads import bound_above, cell_ohms_at, ohm_at

FALLING = Curve.linear([-1.0, 2.0], [0.04, 0.01])  # 30 mohm empty, 20 mohm full
HOUR_S = 3600.0


def falling(z, Ah=100.0, **more):
    return replace(affine_cell(Ah=Ah, z=z, **more), ohmic_ohm=FALLING)


def test_of_one_well_the_charge_counts():
    # the mean level falls by 0.2 of the mean of 100 and 50 Ah: 15 Ah of each, from 90 % and 70 %
    one = battery("b", falling(0.9), falling(0.7, 50.0), internal=0.001, lead=0.002)
    bank = bank_of(affine("a"), one)
    result = made(bank, [0.0, HOUR_S], Course(), Course(A=15.0, z=[0.8, 0.6]))
    assert cell_ohms_at(result, 1, 0) == approx([0.021, 0.023])
    assert cell_ohms_at(result, 1, 1) == approx([0.0225, 0.026])
    assert ohm_at(result, 1, 1) == approx(0.001 + 0.002 + 0.0225 + 0.026)


# on charge it is read at 90 % or above
@pytest.mark.parametrize(
    ("amps", "giving", "ohm"),
    [(5.0, False, 0.025), (0.0, False, 0.025), (-5.0, False, 0.021), (-5.0, True, 0.025)],
)
def test_which_way_the_current_flows(amps, giving, ohm):
    one = battery("a", falling(0.5, charge_ohm_from=0.9))
    result = made(bank_of(one), [0.0, 1.0], Course(A=[0.0, amps], z=0.5))
    assert cell_ohms_at(result, 0, 1, giving=giving) == approx([ohm])
    assert ohm_at(result, 0, 1, giving=giving) == approx(ohm)


def test_the_cold_raises_it():
    # exp(Ea / Rg (1 / T - 1 / 298.15)), docs/theory.md, eq. 6.3
    one = battery("a", falling(0.5, activation_J_mol=20_000.0))
    result = made(bank_of(one), [0.0, 1.0], Course(K=[298.15, 273.15], z=0.5))
    factor = exp(20_000.0 / 8.314462618 * (1.0 / 273.15 - 1.0 / 298.15))
    assert cell_ohms_at(result, 0, 0) == approx([0.025])
    assert cell_ohms_at(result, 0, 1) == approx([0.025 * factor])


def wells(rate=1e-3):
    return affine_cell(Ah=100.0, available_fraction=0.6, well_rate_per_s=rate)


# docs/theory.md, eq. 2.6: dd/dt = i / (c Q) - k' d
def test_the_bound_well_above_the_available_one():
    time_s = np.array([0.0, 600.0, 600.0, 1000.0])
    amps = np.array([30.0, 30.0, -10.0, -10.0])
    held_C = 0.6 * 360_000.0
    first = 30.0 / (held_C * 1e-3) * (1.0 - exp(-0.6))
    second = first * exp(-0.4) - 10.0 / (held_C * 1e-3) * (1.0 - exp(-0.4))
    assert bound_above(wells(), time_s, amps) == approx(second)
    assert bound_above(wells(), time_s[:2], amps[:2]) == approx(first)
    # the mean of 0 and 60 A in a step counts as 30 A
    assert bound_above(wells(), time_s[:2], np.array([0.0, 60.0])) == approx(first)
    # without a way between the wells what is taken is missing from the one alone
    taken_C = 30.0 * 600.0 - 10.0 * 400.0
    assert bound_above(wells(0.0), time_s, amps) == approx(taken_C / held_C)
    assert bound_above(affine_cell(), time_s, amps) == 0.0


def test_of_two_wells_the_head_of_the_available_one_counts():
    # y = z - (1 - c) d, docs/theory.md, eq. 2.4
    cell = replace(wells(), ohmic_ohm=FALLING, state_of_charge=0.9)
    time_s, amps = [0.0, 600.0, 600.0, 5000.0], [30.0, 30.0, 0.0, 0.0]
    level = np.array([0.9, 0.85, 0.85, 0.85])
    result = made(bank_of(battery("a", cell)), time_s, Course(A=amps, z=level))
    above = 30.0 / (0.6 * 360_000.0 * 1e-3) * (1.0 - exp(-0.6))
    (ohm,) = cell_ohms_at(result, 0, 1)
    assert ohm == approx(0.03 - 0.01 * (0.85 - 0.4 * above))
