"""Rest voltage and resistance of a battery in the first instant: sums by hand."""

import math
from dataclasses import replace

import pytest
from pytest import approx
from simple_banks import affine, affine_cell, battery

from bankSim.model.curve import Curve
from bankSim.sim.at_rest import (
    charge_limit_A,
    instant_ohm,
    least_ohm,
    rest_voltage,
    rest_voltages_after,
)

COLD_K, WARM_K = 263.15, 323.15
EA = 20e3


def arrhenius(kelvin):
    """exp(Ea / R (1/T - 1/298.15)), R = 8.314462618 J/mol/K."""
    return math.exp(EA / 8.314462618 * (1.0 / kelvin - 1.0 / 298.15))


def two_cells(**more):
    """3 mohm inside, 2 mohm of lead; cells of 5 mohm at 20 % and of 7 mohm at 80 %."""
    cells = affine_cell(5e-3, 50.0, 0.2, **more), affine_cell(7e-3, 100.0, 0.8, **more)
    return battery("two", *cells, internal=3e-3, lead=2e-3)


def test_rest_voltages_add_up():
    # 12.8 + 0.6 z each
    assert rest_voltage(two_cells()) == approx(2 * 12.8 + 0.6 * (0.2 + 0.8))
    assert rest_voltage(two_cells(), 0.0) == approx(25.6)
    assert rest_voltage(two_cells(), 1.0) == approx(26.8)
    # 10 Ah are 20 % of one and 10 % of the other
    assert rest_voltages_after(two_cells(), 36_000.0) == approx(26.2 - 0.6 * (0.2 + 0.1))
    assert rest_voltages_after(two_cells(), -36_000.0) == approx(26.2 + 0.6 * 0.3)


def test_resistances_add_up():
    assert instant_ohm(two_cells()) == approx(17e-3)
    assert least_ohm(two_cells(), 298.15) == approx(17e-3)


def test_only_the_cells_feel_the_cold():
    one = two_cells(activation_J_mol=EA)
    assert instant_ohm(one, COLD_K) == approx(5e-3 + 12e-3 * arrhenius(COLD_K))
    assert instant_ohm(one, WARM_K) == approx(5e-3 + 12e-3 * arrhenius(WARM_K))


def test_the_least_resistance_is_that_of_a_warm_battery():
    # who joins them on a cold day has not made them safe for a warm one: never above 25 degC's
    one = two_cells(activation_J_mol=EA)
    assert least_ohm(one, COLD_K) == approx(17e-3)
    assert least_ohm(one, WARM_K) == approx(5e-3 + 12e-3 * arrhenius(WARM_K))
    assert least_ohm(one, WARM_K) < least_ohm(one, COLD_K)


@pytest.mark.parametrize("z", [0.0, 0.4, 1.0])
def test_the_least_resistance_is_sought_at_all_charges_of_all_cells_together(z):
    # one falls from 9 to 1 mohm at 25 % and rises to 4; the other falls in a line from 3 to 0:
    # together 12, 1 + 2.25, 4 + 0 mohm
    dip = Curve.linear([0.0, 0.25, 1.0], [9e-3, 1e-3, 4e-3])
    falling = Curve.linear([0.0, 1.0], [3e-3, 0.0])
    cells = (
        replace(affine_cell(z=z), ohmic_ohm=dip), replace(affine_cell(z=1.0), ohmic_ohm=falling)
    )  # fmt: skip
    assert least_ohm(battery("dip", *cells), 298.15) == approx(3.25e-3)
    assert least_ohm(battery("end", cells[1]), 298.15) == approx(0.0, abs=1e-12)


def test_a_charge_reads_the_resistance_away_from_empty():
    falling = Curve.linear([0.0, 1.0], [20e-3, 10e-3])
    cell = replace(affine_cell(z=0.1), ohmic_ohm=falling, charge_ohm_from=0.5)
    one = battery("one", cell)
    assert instant_ohm(one) == approx(19e-3)
    assert instant_ohm(one, into=True) == approx(15e-3)
    assert instant_ohm(one, state_of_charge=0.7) == approx(13e-3)
    assert instant_ohm(one, state_of_charge=0.7, into=True) == approx(13e-3)


def test_a_charge_limit_that_nobody_gave_is_half_the_label_per_hour():
    assert charge_limit_A(affine(Ah=80.0)) == approx(40.0)
    assert charge_limit_A(replace(affine(Ah=80.0), continuous_charge_A=25.0)) == 25.0
