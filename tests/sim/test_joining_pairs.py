"""Two batteries joined alone: what the sums of `join_pair` come to, by hand and without a run."""

from dataclasses import replace

import numpy as np
import pytest
from pytest import approx
from simple_banks import affine, affine_cell, bank_of, battery

from bankSim.model.bank import Layout, Wiring
from bankSim.model.curve import Curve
from bankSim.sim.joining_pairs import join_pair, join_pairs


def two(one, other, **more):
    return join_pair(bank_of(one, other, **more), 0, 1)


def tall(*sizes):
    """A battery of two cells in series, of sizes [Ah] and states of charge; far above 13 V."""
    return battery("tall", *(affine_cell(5e-3, Ah, z) for Ah, z in sizes))


@pytest.mark.parametrize(
    ("sizes", "moved_Ah"),
    [
        (((10.0, 0.9), (100.0, 0.5)), 9.0), (((100.0, 0.9), (20.0, 0.5)), 10.0),
        (((100.0, 0.9), (20.0, 0.0)), 0.0),
    ],
)  # fmt: skip
def test_what_never_comes_to_rest_moves_until_the_first_cell_of_the_fuller_is_empty(
    sizes, moved_Ah
):
    pair = two(affine("low", z=0.5), tall(*sizes))
    assert (pair.fuller, pair.emptier) == ("tall", "low")
    assert pair.moved_Ah == approx(moved_Ah)


def test_nothing_moves_between_two_at_the_same_voltage():
    pair = two(affine("a", z=0.5), affine("b", z=0.5))
    assert (pair.difference_V, pair.first_A, pair.moved_Ah) == (0.0, 0.0, 0.0)


def test_what_moves_is_shared_by_the_sizes():
    # 0.6 V over 100 Ah and over 300 Ah: both at rest after dz Q1 Q2 / (Q1 + Q2) = 0.4 x 75 Ah
    pair = two(affine("small", Ah=100.0, z=0.9), affine("large", Ah=300.0, z=0.5))
    assert pair.moved_Ah == approx(30.0, rel=1e-6)
    # a kink: above half charge the small one falls three times as fast; 12.8 + 0.6 z below.
    # it rests with the other at 13.1 V after 30 Ah, of which none lies on a step of the search
    steep = Curve.linear([0.0, 0.5, 1.0], [12.8, 13.1, 14.0])
    small = affine("small", Ah=100.0, z=0.8)
    small = replace(small, cells=(replace(small.cells[0], ocv_V=steep),))
    large = affine("large", Ah=1000.0, z=0.47)
    assert two(small, large).moved_Ah == approx(30.0, rel=1e-6)


def test_charge_that_voltages_hide_is_that_of_the_smallest_cell_of_each():
    # no label: 0.5 x 100 Ah = 50 A through 20 mohm, 1 V, is more than the whole span of 0.6 V, so
    # full and empty are not told apart: 50 x 100 / (50 + 100) Ah
    ten = affine("ten", 10e-3, Ah=100.0, z=0.5)
    uneven = battery(
        "uneven", affine_cell(5e-3, 50.0, 0.5, base=6.4, span=0.3),
        affine_cell(5e-3, 200.0, 0.5, base=6.4, span=0.3),
    )  # fmt: skip
    uneven = replace(uneven, rated_C=100.0 * 3600.0)
    pair = two(ten, uneven)
    assert pair.safe_difference_V == approx(50.0 * 20e-3)
    assert pair.hidden_Ah == approx(50.0 * 100.0 / 150.0)


@pytest.mark.parametrize(("limit_A", "apart"), [(0.0001, 0.0), (4.0, 0.1), (10.0, 0.25)])
def test_charge_that_voltages_hide_grows_with_the_difference(limit_A, apart):
    # 15 mohm x 4 A = 60 mV of 0.6 V: a tenth of the charge; at rest of one voltage nothing
    limits = {"continuous_charge_A": limit_A, "continuous_discharge_A": 99.0}
    one, other = (replace(affine(n, r), **limits) for n, r in (("a", 5e-3), ("b", 10e-3)))
    assert two(one, other).hidden_Ah == approx(apart * 50.0, abs=0.51)
    assert two(one, other).hidden_Ah <= apart * 50.0 + 1e-6


def test_no_resistance_at_all_has_no_first_current():
    bare = [affine(name, 0.0, z=z) for name, z in (("a", 0.9), ("b", 0.5))]
    assert two(*bare).first_A == np.inf


@pytest.mark.parametrize("places", [(0, 2), (2, 0), (1, 3)])
def test_links_count_whichever_comes_first(places):
    # two steps along the row, two rails of 1 mohm a step: 4 mohm more than the 10 mohm of both
    levels = dict(zip(places, (0.9, 0.5), strict=True))
    batteries = [affine(str(k), 5e-3, z=levels.get(k, 0.7)) for k in range(4)]
    row = bank_of(*batteries, wiring=Wiring(Layout.SAME_END, link_ohm=1e-3))
    pair = join_pair(row, *places)
    assert pair.first_A == approx(0.24 / 14e-3)
    assert pair.safe_difference_V == approx(50.0 * 14e-3)  # half of 100 Ah per hour
    # bars have no links
    bars = replace(row, wiring=Wiring(link_ohm=1e-3))
    assert join_pair(bars, *places).safe_difference_V == approx(50.0 * 10e-3)


@pytest.mark.parametrize("order", [1, -1])
def test_the_extremes_of_a_large_row(order):
    batteries = [affine(str(k), 5e-3, z=0.5 + 0.05 * k) for k in range(7)][::order]
    bank = bank_of(*batteries, wiring=Wiring(Layout.SAME_END, link_ohm=1e-3))
    (pair,) = join_pairs(bank)
    assert (pair.fuller, pair.emptier) == ("6", "0")
    assert pair.first_A == approx(0.6 * 0.3 / (10e-3 + 12e-3))


def test_the_sentence():
    limits = {"continuous_charge_A": 22.0, "continuous_discharge_A": 90.0}
    pair = two(*(replace(affine(n, 5e-3, z=z), **limits) for n, z in (("a", 0.5), ("b", 0.9))))
    # 22 A x 10 mohm = 0.22 V, 0.367 of 0.6 V: 36 of the 100 steps of the grid, of 50 Ah
    assert pair.text == (
        'Safe to join "b" and "a", by current alone, while their rest voltages differ by less than '
        "0.22 V: the first peak then stays within 22.0 A, the charge limit of "
        '"a", at any state of charge. Measure at rest, hours after any load or charge. Voltages '
        "that close can still let up to 18 Ah pass over, because rest voltage says little about "
        "charge where the curve is flat. What the makers allow comes first, and is often less."
    )
