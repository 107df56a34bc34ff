"""Sobol' indices against closed forms and against SciPy."""

import numpy as np
import pytest
from closed_indices import Ishigami, Product, answers_of
from pytest import approx
from scipy.stats import sobol_indices

from bankSim.model.spread import Shape, Spread
from bankSim.study.designs import Swaps, saltelli
from bankSim.study.draws import drawn_values
from bankSim.study.indices import (
    Indices,
    Swapped,
    _estimate,
    _part,
    _sharper,
    consistent,
    weights_of,
)
from bankSim.study.statistics import Estimate
from bankSim.study.unknown import Kind, Unknown

G = Product(0.0, 0.5, 3.0, 9.0)
FOUR = ("1", "2", "3", "4")


def swapped_of(function, labels, groups, points, seed=1, resamples=200):
    answers = answers_of(function, saltelli(labels, seed, groups), points)
    weights = weights_of(points, seed, resamples)
    return Swapped(answers[:, 0], answers[:, 1], answers[:, 2:], weights)


def values(indices):
    return np.array([(one.first.value, one.total.value) for one in indices]).T


def test_rows_are_two_sets_and_their_swaps():
    design = saltelli(("p", "q", "r"), 3, ((0, 2), (1,)))
    a, b, first, second = design.chances(0, 4 * 256).reshape(256, 4, 3).transpose(1, 0, 2)
    assert np.array_equal(first, np.column_stack([b[:, 0], a[:, 1], b[:, 2]]))
    assert np.array_equal(second, np.column_stack([a[:, 0], b[:, 1], a[:, 2]]))
    both = np.hstack([a, b])
    # even points: every sixteenth of every axis holds as many
    assert all((np.bincount((16 * one).astype(int)) == 16).all() for one in both.T)
    assert np.abs(np.corrcoef(both.T) - np.eye(6)).max() < 0.1


@pytest.mark.filterwarnings("error")
def test_points_are_the_same_for_other_swaps_portions_and_numbers_of_points():
    design = saltelli(("p", "q", "r"), 3, ((0, 2), (1,)))
    whole = design.chances(0, 4 * 16)
    parts = [design.chances(first, min(first + 7, 64)) for first in range(0, 64, 7)]
    assert np.array_equal(np.vstack(parts), whole)
    alone = Swaps(("p", "q", "r"), 3, ((0, 2),))
    assert np.array_equal(alone.chances(0, 16), whole[2::4])
    assert np.array_equal(design.chances(0, 4 * 100)[:64], whole)
    assert not np.array_equal(saltelli(("p", "q", "r"), 4, ((0, 2), (1,))).chances(0, 64), whole)


def test_ishigami():
    # Ishigami and Homma (1990); 0.3139 0.4424 0 and 0.5576 0.4424 0.2437 are often printed
    first, total = Ishigami().indices()
    assert (*first, *total) == approx((0.3139, 0.4424, 0, 0.5576, 0.4424, 0.2437), abs=5e-5)
    found = swapped_of(Ishigami(), ("1", "2", "3"), ((0,), (1,), (2,)), 2048)
    assert values(found.indices()) == approx(np.array([first, total]), abs=0.02)
    one, two, both = 0.5 * (1.0 + 0.1 * np.pi**4 / 5.0) ** 2, 49.0 / 8.0, 0.08 * np.pi**8 / 225.0
    assert found.sd().value == approx(np.sqrt(one + two + both), rel=0.01)


def test_a_product_of_four():
    found = swapped_of(G, FOUR, ((0,), (1,), (2,), (3,)), 2048)
    first = [G.known(place) for place in range(4)]
    total = [G.total(place) for place in range(4)]
    assert values(found.indices()) == approx(np.array([first, total]), abs=0.02)


def test_groups():
    # what the two explain alone and with each other, and all in which one of them has a part
    found = swapped_of(G, FOUR, ((0, 1), (2, 3)), 2048)
    first, total = values(found.indices())
    assert first == approx([G.known(0, 1), G.known(2, 3)], abs=0.015)
    assert total == approx([G.total(0, 1), G.total(2, 3)], abs=0.015)
    assert first[0] > G.known(0) + G.known(1) + 0.01


def test_against_scipy():
    # the same points through SciPy's own estimators, (b) and (f) of Saltelli and others (2010);
    # (b) is the one taken for small indices
    found = swapped_of(G, FOUR, ((0,), (1,), (2,), (3,)), 512)
    answers = {"f_A": found.a[None], "f_B": found.b[None], "f_AB": found.ab.T[:, None]}
    theirs = sobol_indices(func=answers, n=512)
    first, total = values(found.indices())
    assert total == approx(theirs.total_order, rel=1e-9)
    assert first[2:] == approx(theirs.first_order[2:], rel=1e-9)


def test_what_remains_when_some_are_known():
    # independent straight parts: what remains is the spread of the others, c / sqrt(12) each
    slopes = np.array([4.0, 2.0, 1.0])
    labels, known = ("p", "q", "r"), (0, 2)
    found = swapped_of(lambda chances: chances @ slopes, labels, ((0,), (1,), (2,)), 512)
    other = answers_of(lambda chances: chances @ slopes, Swaps(labels, 1, (known,)), 512)[:, 0]
    sd, part = found.remaining(found.b, other)
    assert sd.value == approx(2.0 / np.sqrt(12.0), rel=0.01)
    assert part.value == approx(2.0 / np.sqrt(21.0), rel=0.01)
    assert sd.low < sd.value < sd.high
    assert found.remaining(found.a, found.a)[0].high == 0.0


def test_what_goes_along_counts_for_the_one_that_leads():
    # the answer is the follower itself, -0.6 x + 0.8 y of two normal numbers: 0.36 and 0.64
    spread = Spread(Shape.NORMAL, 0.0, 1.0)
    one = Unknown("capacity", Kind.CAPACITY, "a", "", "", spread, (), "")
    other = Unknown("resistance", Kind.RESISTANCE, "a", "", "", spread, (), "",
                    follows="capacity", correlation=-0.6)  # fmt: skip
    found = swapped_of(
        lambda chances: drawn_values((one, other), chances)[:, 1],
        ("capacity", "resistance"), ((0,), (1,)), 1024,
    )  # fmt: skip
    assert values(found.indices()) == approx(np.array([[0.36, 0.64], [0.36, 0.64]]), abs=0.02)


def test_intervals_hold_the_truth_and_are_not_endless():
    # points at random: of 60 studies 95 % would be 57; 50 has a chance of 0.2 % from below
    truth = np.array([G.known(0), G.total(0)])
    hits, widths = np.zeros(2), []
    source = np.random.default_rng(8)
    for seed in range(60):
        a, b = source.random((2, 128, 4))
        swapped = a.copy()
        swapped[:, 0] = b[:, 0]
        weights = weights_of(128, seed, 200)
        one = Swapped(G(a), G(b), G(swapped)[:, None], weights).indices()[0]
        hits += [
            each.low <= true <= each.high
            for each, true in zip((one.first, one.total), truth, strict=True)
        ]
        widths.append((one.first.high - one.first.low, one.total.high - one.total.low))
    assert (hits >= 50).all()
    assert (hits <= 60).all()
    assert 0.05 < np.mean(widths) < 0.4


def test_resamples_are_the_estimates_of_points_drawn_again():
    found = swapped_of(lambda chances: 5.0 + G(chances), FOUR, ((0,), (1, 2, 3)), 64)
    again = np.random.default_rng(3).integers(64, size=64)
    drawn = Swapped(found.a[again], found.b[again], found.ab[again], np.full((2, 64), 1 / 64))
    counts = np.bincount(again, minlength=64) / 64
    weighed = Swapped(found.a, found.b, found.ab, np.tile(counts, (2, 1)))
    assert values(weighed.indices()) == approx(values(drawn.indices()), rel=1e-9)
    assert weighed.sd().value == approx(drawn.sd().value, rel=1e-9)
    assert weighed.sd().value == approx(np.std([found.a[again], found.b[again]]), rel=1e-9)


@pytest.mark.filterwarnings("error")
def test_a_rare_event_has_finite_indices():
    # a single point of 64 is different: many a resample misses it
    rare = np.zeros(64)
    rare[5] = 1.0
    found = Swapped(rare, np.zeros(64), rare[:, None], weights_of(64, 1, 200)).indices()[0]
    assert np.isfinite([found.first.low, found.first.high, found.total.low]).all()
    assert found.total.value == 0.0


@pytest.mark.parametrize("points", [16, 100])
def test_weights(points):
    weights = weights_of(points, 1, 50)
    assert weights.shape == (51, points)
    assert weights.sum(axis=1) == approx(1.0, rel=1e-12)
    assert (weights[0] == 1.0 / points).all()
    assert weights[1:].std() == approx(1.0 / points, rel=0.1)  # counts are nearly Poisson
    assert not np.array_equal(weights, weights_of(points, 2, 50))


@pytest.mark.parametrize(
    ("first", "total", "both"),
    [
        ((0.62, 0.49, 0.72), (0.54, 0.39, 0.74), (0.62, 0.49, 0.72)),
        ((0.04, 0.0, 0.09), (0.02, 0.01, 0.03), (0.02, 0.01, 0.03)),
    ],
)
def test_alone_is_never_above_in_all(first, total, both):
    # the first-order part is one of the terms of the total one (Sobol', 1993)
    found = consistent(Indices(Estimate(*first), Estimate(*total)))
    assert found == Indices(Estimate(*both), Estimate(*both))


def test_indices_in_order_stay_as_they_are():
    found = Indices(Estimate(0.3, 0.1, 0.5), Estimate(0.4, 0.35, 0.45))
    assert consistent(found) == found


def test_alone_as_much_as_in_all_is_left_as_it_is():
    # equal is not above: both keep their own interval
    found = Indices(Estimate(0.3, 0.1, 0.5), Estimate(0.3, 0.2, 0.4))
    assert consistent(found) == found


def test_a_large_answer_with_a_small_spread_loses_no_digits():
    # Y + c has the indices of Y; squares of 1e7 alone would be off by 1e14 x 1e-16, a hundredth
    small = swapped_of(G, FOUR, ((0,), (1,), (2, 3)), 64)
    large = Swapped(small.a + 1e7, small.b + 1e7, small.ab + 1e7, small.weights)
    assert values(large.indices()) == approx(values(small.indices()), abs=1e-6)
    assert large.sd().value == approx(small.sd().value, rel=1e-6)


@pytest.mark.parametrize(
    ("value", "low", "high"),
    [(500.0, 25.0, 975.0), (-3.0, -3.0, 975.0), (2e3, 25.0, 2e3)],  # the interval holds the value
)
def test_the_interval_leaves_out_a_fortieth_of_the_resamples_at_each_end(value, low, high):
    # resamples 0, 1, ... 1000: their 2.5 and 97.5 % points are 25 and 975; the first is no resample
    found = _estimate(np.concatenate([[value], np.arange(1001.0)]))
    assert (found.value, found.low, found.high) == approx((value, low, high), rel=1e-12)


def test_the_sharper_estimate_is_the_one_whose_resamples_scatter_less():
    # resamples 1.0 and 1.1 against 1 and 2, wherever the estimates themselves lie; then the reverse
    one = np.array([[9.0, -7.0], [1.0, 1.0], [1.1, 2.0]])
    other = np.array([[1.5, 1.5], [1.0, 1.0], [2.0, 1.1]])
    expected = np.array([[9.0, 1.5], [1.0, 1.0], [1.1, 1.1]])
    assert np.array_equal(_sharper(one, other), expected)
    assert np.array_equal(_sharper(other, one), expected)


def test_a_part_of_nothing_is_not_known():
    assert np.array_equal(_part(np.array([1.0, 1.0]), np.array([0.0, 4.0])), [np.nan, 0.25], True)


def test_there_are_a_thousand_resamples():
    # docs/theory.md, below eq. 23.4
    assert weights_of(4, 1).shape == (1001, 4)


def test_swaps_have_a_mark_of_their_own():
    marks = [Swaps(("p", "q"), 1, swaps).mark for swaps in (((0,),), ((1,),), ((0,), (1,)))]
    assert len(set(marks)) == 3
    assert {len(mark) for mark in marks} == {8}
    assert all(set(mark) <= set("0123456789abcdef") for mark in marks)
