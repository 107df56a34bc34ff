"""The resistance of a cell at an instant: theory 6.2 to 6.7 written out by hand."""

import math
from dataclasses import replace

import numpy as np
import pytest
from pytest import approx

from bankSim.model.cell import Cell, arrhenius_factor
from bankSim.model.curve import Curve

# 30 mohm at 0, 10 mohm at 1 and on
OHM = Curve.linear([0.0, 1.0], [0.03, 0.01])
CELL = Cell(Curve.constant(3.3), OHM, 3600.0)
COLD_K, WARM_K = 273.15, 298.15


@pytest.mark.parametrize(("head", "ohm"), [(1.0, 0.01), (0.5, 0.02), (0.0, 0.03), (-0.1, 0.032)])
def test_it_is_read_at_the_head_of_the_available_well(head, ohm):
    assert CELL.ohm_at(head, WARM_K) == approx(ohm)
    assert CELL.ohm_at(head, COLD_K) == approx(ohm)  # no activation energy


def test_in_the_cold_it_is_read_as_if_less_were_left():
    # half of the charge is usable: a = 1 - (1 - y) / 0.5
    half = replace(CELL, usable_part=Curve.linear([COLD_K, WARM_K], [0.5, 1.0]))
    assert half.ohm_at(0.8, WARM_K) == approx(0.014)
    assert half.ohm_at(0.8, COLD_K) == approx(0.018)
    assert half.ohm_at(1.0, COLD_K) == approx(0.01)
    assert half.ohm_at(0.25, COLD_K) == approx(0.04)  # a = -0.5


def test_all_of_it_grows_in_the_cold():
    one = replace(CELL, activation_J_mol=20e3)
    # exp(20000 / 8.314462618 (1/273.15 - 1/298.15)) = exp(0.73843...)
    factor = math.exp(20e3 / 8.314462618 * (1.0 / 273.15 - 1.0 / 298.15))
    assert factor == approx(2.0926, rel=1e-4)
    assert one.ohm_at(0.5, COLD_K) == approx(0.02 * factor)
    assert arrhenius_factor(20e3, COLD_K) == approx(factor)
    assert arrhenius_factor(20e3, WARM_K) == 1.0
    assert arrhenius_factor(0.0, COLD_K) == 1.0
    assert arrhenius_factor(20e3, 323.15) < 1.0


def test_a_charge_does_not_meet_the_rise_near_empty():
    one = replace(CELL, charge_ohm_from=0.4)
    assert one.ohm_at(0.1, WARM_K) == approx(0.028)
    assert one.ohm_at(0.1, WARM_K, into=True) == approx(0.022)
    assert one.ohm_at(0.6, WARM_K, into=True) == approx(0.018)
    assert CELL.ohm_at(0.1, WARM_K, into=True) == approx(0.028)


def test_where_it_is_read_for_many_currents():
    one = replace(CELL, charge_ohm_from=0.4)
    places, amps = np.array([0.1, 0.1, 0.1, 0.9]), np.array([-1.0, 0.0, 1.0, -1.0])
    assert one.ohm_read_at(places, amps).tolist() == [0.4, 0.1, 0.1, 0.9]
    assert one.ohm_read_at(places, -1.0).tolist() == [0.4, 0.4, 0.4, 0.9]
