"""Quantiles of an uncertain number against SciPy's distributions."""

import math

import numpy as np
import pytest
from pytest import approx
from scipy import stats

from bankSim.errors import ParameterError
from bankSim.model.spread import Shape, Spread

# from one in a thousand million to nearly all; the middle and both sides of a triangle's peak
CHANCES = np.concatenate([[1e-9, 1e-6, 1e-3], np.linspace(0.01, 0.99, 197), [0.999, 1 - 1e-6]])
ENDS = np.array([2.0**-54, 1.0 - 2.0**-53])  # the smallest and largest that are ever drawn


def normal(value, sd, low, high):
    """scipy.stats.truncnorm of the same numbers."""
    return stats.truncnorm((low - value) / sd, (high - value) / sd, loc=value, scale=sd)


NORMALS = [
    (10.0, 2.0, -math.inf, math.inf),
    (10.0, 2.0, 0.0, math.inf),
    (1.0, 0.3, 0.0, 1.0),  # cut at its value: one side only
    (0.5, 4.0, 0.0, 1.0),  # wide against its limits: nearly even
    (-3.0, 1.0, -40.0, 80.0),
    (0.0, 0.01, -0.04, 0.04),
]


@pytest.mark.parametrize("numbers", NORMALS)
def test_normal_cut_at_its_limits(numbers):
    value, sd, low, high = numbers
    found = Spread(Shape.NORMAL, value, sd, low, high).at(CHANCES)
    assert found == approx(normal(*numbers).ppf(CHANCES), rel=1e-9, abs=1e-9 * sd)


@pytest.mark.parametrize("numbers", NORMALS)
def test_normal_keeps_its_limits_at_the_ends(numbers):
    value, sd, low, high = numbers
    first, last = Spread(Shape.NORMAL, value, sd, low, high).at(ENDS)
    assert low <= first < value
    assert value <= last <= high
    assert np.isfinite([first, last]).all()


@pytest.mark.parametrize(("median", "sd"), [(1.0, 0.03), (2.5, 0.3), (100.0, 1.5)])
def test_lognormal_around_its_median(median, sd):
    spread = Spread(Shape.LOGNORMAL, median, sd, 0.0)
    exact = stats.lognorm(s=sd, scale=median)
    assert spread.at(CHANCES) == approx(exact.ppf(CHANCES), rel=1e-9)
    assert float(spread.at(np.array(0.5))) == approx(median, rel=1e-14)
    assert np.isfinite(spread.at(ENDS)).all()
    assert (spread.at(ENDS) > 0.0).all()


@pytest.mark.parametrize(("low", "high"), [(0.0, 1.0), (-5.0, 80.0), (3.0, 3.5)])
def test_uniform_between_its_limits(low, high):
    spread = Spread(Shape.UNIFORM, 0.5 * (low + high), low=low, high=high)
    exact = stats.uniform(loc=low, scale=high - low)
    assert spread.at(CHANCES) == approx(exact.ppf(CHANCES), rel=1e-12, abs=1e-12)
    assert spread.at(ENDS) == approx([low, high], abs=1e-14 * max(abs(low), abs(high)))


@pytest.mark.parametrize("peak", [0.0, 0.2, 0.5, 0.9, 1.0])
def test_triangle_with_its_peak_anywhere(peak):
    low, high = -2.0, 6.0
    value = low + peak * (high - low)
    exact = stats.triang(c=peak, loc=low, scale=high - low)
    spread = Spread(Shape.TRIANGULAR, value, low=low, high=high)
    assert spread.at(CHANCES) == approx(exact.ppf(CHANCES), rel=1e-9, abs=1e-9)
    first, last = spread.at(ENDS)
    assert low <= first < last <= high
    assert (first, last) == approx((low, high), abs=1e-6)


@pytest.mark.parametrize(
    "spread",
    [
        Spread(Shape.NORMAL, 3.0),
        Spread(Shape.LOGNORMAL, 3.0),
        Spread(Shape.UNIFORM, 3.0, low=3.0, high=3.0),
        Spread(Shape.TRIANGULAR, 3.0, low=3.0, high=3.0),
    ],
    ids=lambda spread: spread.shape.value,
)
def test_nothing_to_draw(spread):
    assert spread.is_sure
    assert spread.at(np.array([[0.1, 0.9]])).tolist() == [[3.0, 3.0]]


@pytest.mark.parametrize("numbers", NORMALS)
def test_something_to_draw(numbers):
    value, sd, low, high = numbers
    assert not Spread(Shape.NORMAL, value, sd, low, high).is_sure


@pytest.mark.parametrize("shape", list(Shape))
def test_the_shape_of_the_chances_is_kept(shape):
    limits = (-math.inf, math.inf) if shape is Shape.LOGNORMAL else (0.5, 2.0)
    spread = Spread(shape, 1.0, 0.1, *limits)
    assert spread.at(np.full((2, 3), 0.4)).shape == (2, 3)
    rising = spread.at(CHANCES)
    assert (np.diff(rising) > 0.0).all()


NAN, INF = math.nan, math.inf


@pytest.mark.parametrize(
    ("field", "numbers"),
    [
        ("value", (Shape.NORMAL, 1.0, 0.1, 2.0, 3.0)),
        ("value", (Shape.NORMAL, 4.0, 0.1, 2.0, 3.0)),
        ("value", (Shape.NORMAL, NAN, 0.1)),
        ("value", (Shape.NORMAL, 1.0, 0.1, NAN, 3.0)),
        ("value", (Shape.NORMAL, 1.0, 0.1, 0.0, NAN)),
        ("value", (Shape.UNIFORM, 1.0, 0.0, 2.0, 0.0)),
        ("sd", (Shape.NORMAL, 1.0, -0.1)),
        ("sd", (Shape.LOGNORMAL, 1.0, NAN, 0.0)),
        ("sd", (Shape.NORMAL, 1.0, INF)),
        ("low", (Shape.UNIFORM, 1.0, 0.0, 0.0)),
        ("low", (Shape.TRIANGULAR, 1.0, 0.0, -INF, 2.0)),
    ],
)
def test_wrong_numbers(field, numbers):
    with pytest.raises(ParameterError, match=f"^{field} = "):
        Spread(*numbers)


# A median of 0 or less has no logarithm, a lognormal spread has no limits, and an endless value is
# no number.
@pytest.mark.parametrize(
    "numbers",
    [
        (Shape.LOGNORMAL, -1.0, 0.1),
        (Shape.LOGNORMAL, 0.0, 0.1, 0.0),
        (Shape.LOGNORMAL, 1.0, 0.5, 0.9, 1.1),
        (Shape.NORMAL, INF, 0.1),
    ],
)
def test_what_no_spread_can_be(numbers):
    with pytest.raises(ParameterError):
        Spread(*numbers)
