"""Typical values of chemistry NMC; its curve's digits are checked in test_half_cells.py."""

import numpy as np
import pytest

from bankSim.model import nmc


def test_curve_follows_the_functions_and_reaches_beyond_the_usual_limits():
    curve = nmc.ocv_curve()
    z = np.linspace(curve.knots[0], curve.knots[-1], 20_001)
    assert np.abs(curve(z) - nmc.rest_voltage(z)).max() < 1e-4
    assert (np.diff(curve(z)) > 0.0).all()
    assert curve(curve.knots[0]) < 2.5
    assert curve(curve.knots[-1]) > 4.3


def test_published_limits_of_that_cell_are_its_empty_and_full_ends():
    # Chen et al., J. Electrochem. Soc. 167 (2020) 080534: 2.5 to 4.2 V
    assert nmc.ocv_curve()([0.0, 1.0]) == pytest.approx([2.5, 4.2], abs=0.01)


def test_pair_is_that_of_a_published_table():
    # a 31 Ah cell at 20 degC and 50 %: 1.6 mohm, 29 s
    (pair,) = nmc.NMC.typical_cell(31.0, 31.0 * 3600.0).relaxation
    assert pair.resistance_ohm == pytest.approx(1.6e-3, rel=0.02)
    assert pair.time_constant_s == 29.0


def test_resistance_rises_near_empty_only():
    factor = nmc.ohmic_factor()
    assert factor([0.5, 1.0]) == pytest.approx([1.0, 1.0], abs=0.005)
    assert factor(-0.1) == factor(0.0) == pytest.approx(1.0 + nmc.RISE)
    assert (np.diff(factor(np.linspace(0.0, 1.0, 200))) <= 1e-12).all()


def test_usual_rules_keep_the_cells_inside_their_safe_voltages():
    under, over, *_ = nmc.usual_rules(100.0)
    assert (under.threshold, over.threshold) == (2.8, 4.25)  # common practice
    assert nmc.NMC.lowest_safe_V < under.threshold < under.release.threshold
    assert over.release.threshold < nmc.NMC.highest_charge_V < over.threshold
    assert over.threshold < nmc.NMC.highest_safe_V
