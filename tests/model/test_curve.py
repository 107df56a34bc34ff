"""Curves over state of charge: straight, smooth, continued beyond their ends."""

from dataclasses import replace

import numpy as np
import pytest
from pytest import approx

from bankSim.errors import ParameterError
from bankSim.model.curve import Curve, table_rows


def test_linear_between_rows_and_beyond():
    curve = Curve.linear([0.0, 0.5, 1.0], [2.0, 3.0, 3.2])
    assert curve([-0.1, 0.0, 0.25, 0.5, 0.75, 1.0, 1.5]) == pytest.approx(
        [1.8, 2.0, 2.5, 3.0, 3.1, 3.2, 3.4]
    )


def test_ends_can_be_held():
    curve = Curve.linear([0.0, 1.0], [5.0, 4.0], hold_ends=True)
    assert curve([-1.0, 0.5, 2.0]) == pytest.approx([5.0, 4.5, 4.0])


def test_shape_is_kept():
    assert Curve.constant(3.0)(np.zeros((2, 3))).shape == (2, 3)
    assert Curve.constant(3.0)(0.5).shape == ()


def test_smooth_is_exact_for_a_cubic():
    def cubic(z):
        return 1.0 - 2.0 * z + 3.0 * z**2 - 4.0 * z**3

    curve = Curve.smooth(cubic, [0.0, 0.3, 1.0])
    z = np.linspace(0.0, 1.0, 101)
    assert curve(z) == pytest.approx(cubic(z), abs=1e-8)
    # a straight line with the last slope beyond the ends
    assert curve(1.2) == pytest.approx(cubic(1.0) + 0.2 * (-2.0 + 6.0 - 12.0), abs=1e-7)
    assert curve(-0.2) == pytest.approx(cubic(0.0) + 0.2 * 2.0, abs=1e-7)


def test_smooth_error_falls_with_the_fourth_power_of_the_spacing():
    fine = np.linspace(0.0, 1.0, 2001)
    errors = [
        np.abs(Curve.smooth(np.exp, np.linspace(0.0, 1.0, n))(fine) - np.exp(fine)).max()
        for n in (5, 9)
    ]
    assert errors[0] / errors[1] == pytest.approx(16.0, rel=0.15)


def test_scaled_and_same():
    curve = Curve.linear([0.0, 1.0], [2.0, 3.0])
    double = curve.scaled(2.0)
    assert double([-1.0, 0.5, 2.0]) == pytest.approx(2.0 * curve([-1.0, 0.5, 2.0]))
    assert curve.same_as(Curve.linear([0.0, 1.0], [2.0, 3.0]))
    assert not curve.same_as(double)


def test_table_rows():
    z, y = table_rows(Curve.linear([0.0, 1.0], [2.0, 3.0]), extra=[0.5, 1.0])
    assert (list(z), list(y)) == ([0.0, 0.5, 1.0], [2.0, 2.5, 3.0])


@pytest.mark.parametrize("knots", [[0.0], [0.0, 0.0], [1.0, 0.0], [0.0, float("nan")]])
def test_knots_must_rise(knots):
    with pytest.raises(ParameterError, match="knots"):
        Curve(np.array(knots), np.zeros((max(len(knots) - 1, 1), 4)), 0.0, 0.0, 0.0)


def test_coefficients_must_be_finite():
    with pytest.raises(ParameterError, match="coefficients"):
        Curve.linear([0.0, 1.0], [0.0, float("inf")])


def test_a_curve_goes_on_as_another_one_from_a_place():
    # 2 V at 1 by its last line; the other rises by 5 V per unit to 1.1, then by 50
    own = Curve.linear([0.0, 0.8], [1.0, 1.8])
    other = Curve.linear([0.0, 1.0, 1.1], [3.0, 3.5, 4.0])
    other = replace(other, slope_above=50.0)
    both = own.continued(other, 1.0)
    assert both([0.4, 0.8, 1.0, 1.05, 1.1, 1.2]) == approx([1.4, 1.8, 2.0, 2.25, 2.5, 7.5])
    assert float(both(-0.5)) == approx(0.5)
    ends = own.continued(replace(Curve.linear([0.0, 1.0], [0.0, 1.0]), slope_above=9.0), 1.0)
    assert ends([1.0, 2.0]) == approx([2.0, 11.0])
