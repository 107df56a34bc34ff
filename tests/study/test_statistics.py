"""Percentiles, chances and means with their intervals against SciPy, and how often they hold."""

import numpy as np
import pytest
from pytest import approx
from scipy import stats

from bankSim.study.statistics import CONFIDENCE, chance, mean, percentile

PERCENTS = (5.0, 25.0, 50.0, 75.0, 95.0)
SIZES = (1, 2, 5, 20, 59, 100, 400, 1777)


def sample(size, seed=3):
    return np.random.default_rng(seed).lognormal(0.0, 0.5, size)


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("percent", PERCENTS)
def test_percentiles(size, percent):
    values = sample(size)
    found = percentile(values, percent)
    assert found.value == approx(np.quantile(values, percent / 100.0), rel=1e-12)
    test = stats.quantile_test(values, p=percent / 100.0)
    low, high = test.confidence_interval(CONFIDENCE)
    # few draws have no such interval: SciPy gives NaN, here it ends at the outermost draw
    low = values.min() if np.isnan(low) else low
    high = values.max() if np.isnan(high) else high
    assert found.low == approx(min(low, found.value), rel=1e-12)
    assert found.high == approx(max(high, found.value), rel=1e-12)


def test_percentile_of_the_order_of_draws():
    values = sample(300)
    assert percentile(values[::-1], 25.0) == percentile(values, 25.0)


@pytest.mark.parametrize(("percent", "place"), [(0.0, 0), (100.0, -1)])
def test_outermost_percentiles(percent, place):
    values = np.sort(sample(50))
    assert percentile(values, percent).value == values[place]


def test_percentile_of_equal_draws():
    found = percentile(np.full(40, 7.5), 95.0)
    assert (found.value, found.low, found.high, found.half_width) == (7.5, 7.5, 7.5, 0.0)


@pytest.mark.parametrize("draws", SIZES)
@pytest.mark.parametrize("part", [0.0, 0.01, 0.3, 0.5, 0.99, 1.0])
def test_chances(draws, part):
    count = round(part * draws)
    found = chance(count, draws)
    exact = stats.binomtest(count, draws).proportion_ci(CONFIDENCE, method="wilson")
    assert found.value == count / draws
    assert found.low == approx(exact.low, rel=1e-9, abs=1e-12)
    assert found.high == approx(exact.high, rel=1e-9, abs=1e-12)
    assert 0.0 <= found.low <= found.value <= found.high <= 1.0


@pytest.mark.parametrize("size", SIZES[1:])
def test_means(size):
    values = sample(size)
    found = mean(values)
    low, high = stats.t.interval(CONFIDENCE, size - 1, values.mean(), stats.sem(values))
    assert found.value == approx(values.mean(), rel=1e-14)
    assert (found.low, found.high) == (approx(low, rel=1e-9), approx(high, rel=1e-9))


def test_mean_of_one_draw():
    found = mean(np.array([4.0]))
    assert (found.value, found.low, found.high) == (4.0, 4.0, 4.0)


def test_half_width_is_the_larger_side():
    found = chance(1, 50)
    assert found.half_width == found.high - found.value > found.value - found.low


REPEATS = 400


def coverage(truth, estimate):
    """Part of repeated studies whose interval holds the truth; deterministic by its seed."""
    rng = np.random.default_rng(11)
    inside = 0
    for _ in range(REPEATS):
        found = estimate(rng)
        inside += found.low <= truth <= found.high
    return inside / REPEATS


@pytest.mark.parametrize("draws", [100, 400])
@pytest.mark.parametrize("percent", [5.0, 50.0, 95.0])
def test_intervals_of_percentiles_hold_the_truth(percent, draws):
    exact = stats.lognorm(s=0.5)
    truth = exact.ppf(percent / 100.0)
    held = coverage(truth, lambda rng: percentile(rng.lognormal(0.0, 0.5, draws), percent))
    # never less than promised, but for the luck of 400 repeats: 0.95 - 2 x 0.011
    assert 0.93 <= held <= 0.99


@pytest.mark.parametrize("part", [0.05, 0.3, 0.5, 0.9])
def test_intervals_of_chances_hold_the_truth(part):
    assert 0.93 <= coverage(part, lambda rng: chance(rng.binomial(200, part), 200)) <= 0.99


def test_intervals_of_means_hold_the_truth():
    assert 0.93 <= coverage(2.0, lambda rng: mean(rng.normal(2.0, 0.3, 30))) <= 0.99
