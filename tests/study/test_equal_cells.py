"""Cells made equal: every number the mean of all, curves too."""

from dataclasses import replace

import numpy as np
import pytest
from pytest import approx

from bankSim.model.cell import Cell, RelaxationPair
from bankSim.model.curve import Curve
from bankSim.study.equal_cells import MEANS, made_equal, mean_curve

PLACES = np.linspace(-0.3, 1.4, 341)  # knots, between and beyond them


def cubic(knots, seed):
    """Any piecewise cubic, with steps at its knots."""
    rng = np.random.default_rng(seed)
    values = rng.normal(size=(len(knots) - 1, 4))
    return Curve(np.array(knots), values, float(rng.normal()), *map(float, rng.normal(size=2)))


@pytest.mark.parametrize(
    "knots",
    [
        [(0.0, 0.5, 1.0)] * 2,
        [(0.0, 0.5, 1.0), (0.0, 0.3, 0.7, 1.0)],
        [(0.2, 0.8), (0.0, 0.1, 1.1), (-0.1, 0.5, 0.9)],
    ],
)
def test_the_mean_curve_is_the_mean_of_the_curves(knots):
    # the definition of a mean of functions, at many places but not on the steps themselves
    curves = [cubic(own, seed) for seed, own in enumerate(knots)]
    ends = np.unique(np.concatenate([curve.knots for curve in curves]))
    places = PLACES[np.abs(PLACES[:, None] - ends).min(axis=1) > 1e-9]
    expected = np.mean([curve(places) for curve in curves], axis=0)
    assert mean_curve(curves)(places) == approx(expected, rel=1e-12, abs=1e-12)


def test_equal_curves_stay_the_same_object():
    curve = cubic((0.0, 0.4, 1.0), 3)
    assert mean_curve([curve, replace(curve), curve]) is curve


def cell(ohm=1e-3, pairs=((1e-3, 30.0),), **changes):
    made = Cell(
        Curve.linear([0.0, 1.0], [2.5, 3.5]), Curve.constant(ohm), 3600.0 * 100.0,
        relaxation=tuple(RelaxationPair(*pair) for pair in pairs),
    )  # fmt: skip
    return replace(made, **changes)


def test_every_number_is_the_mean():
    low = dict.fromkeys(MEANS, 0.2)
    cells = [cell(ohm=1e-3, **low), cell(ohm=4e-3, **dict.fromkeys(MEANS, 0.8))]
    one, other = made_equal(cells)
    assert one is other
    assert [getattr(one, name) for name in MEANS] == approx([0.5] * len(MEANS))
    assert float(one.ohmic_ohm(0.3)) == approx(2.5e-3)


def test_charge_and_what_is_held_add_up_to_the_same():
    cells = [cell(charge_C=100.0, state_of_charge=1.0), cell(charge_C=60.0, state_of_charge=0.5)]
    made = made_equal(cells)
    assert sum(one.charge_C for one in made) == approx(160.0)
    assert sum(one.charge_C * one.state_of_charge for one in made) == approx(130.0)


def test_a_pair_that_a_cell_does_not_have_counts_as_none():
    cells = [cell(pairs=((2e-3, 10.0), (6e-3, 900.0))), cell(pairs=((4e-3, 30.0),))]
    (one, _) = made_equal(cells)
    assert [(p.resistance_ohm, p.time_constant_s) for p in one.relaxation] == [
        (approx(3e-3), approx(20.0)),
        (approx(3e-3), approx(900.0)),
    ]
    assert made_equal([cell(pairs=())] * 3)[0].relaxation == ()
