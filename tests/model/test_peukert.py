"""Peukert's law; worked examples, each with the convention it is in."""

import math

import pytest

from bankSim.errors import ParameterError
from bankSim.model.peukert import (
    exponent_of,
    exponent_of_wells,
    one_ampere_Ah,
    part_given,
    time_from_one_ampere_h,
    time_from_rating_h,
)


@pytest.mark.parametrize(
    ("capacity_Ah", "exponent", "current_A", "hours"),
    [
        (100.0, 1.2, 5.0, 14.496),  # an encyclopaedic page gives 14.5 h; digits by hand
        (250.0, 1.3, 20.0, 5.088632),  # a public worked example, all digits
    ],
)
def test_examples_on_the_1_A_basis(capacity_Ah, exponent, current_A, hours):
    found = time_from_one_ampere_h(current_A, capacity_Ah, exponent)
    assert found == pytest.approx(hours, rel=5e-5)


@pytest.mark.parametrize(
    ("rated_Ah", "exponent", "current_A", "hours", "given_Ah"),
    [
        # rated over 20 h; worked by hand from t = H (C / (I H))^k
        (100.0, 1.2, 10.0, 8.70551, 87.055),
        (100.0, 1.2, 25.0, 2.89912, 72.478),
        (100.0, 1.15, 50.0, 1.41589, 70.795),
        (200.0, 1.3, 40.0, 3.29877, 131.951),
    ],
)
def test_examples_from_a_20_h_rating(rated_Ah, exponent, current_A, hours, given_Ah):
    found = time_from_rating_h(current_A, rated_Ah, 20.0, exponent)
    assert found == pytest.approx(hours, abs=1e-5)
    assert found * current_A == pytest.approx(given_Ah, abs=1e-3)


def test_the_rated_current_lasts_the_rated_hours():
    assert time_from_rating_h(5.0, 100.0, 20.0, 1.3) == pytest.approx(20.0)


def test_both_conventions_agree_once_the_capacity_is_converted():
    basis_Ah = one_ampere_Ah(100.0, 20.0, 1.2)
    assert basis_Ah > 100.0
    time_h = time_from_one_ampere_h(25.0, basis_Ah, 1.2)
    assert time_h == pytest.approx(time_from_rating_h(25.0, 100.0, 20.0, 1.2))


def test_exponent_comes_back_from_two_discharges():
    slow_h, fast_h = (time_from_rating_h(current, 100.0, 20.0, 1.17) for current in (5.0, 50.0))
    assert exponent_of(5.0, slow_h, 50.0, fast_h) == pytest.approx(1.17)


@pytest.mark.parametrize(
    ("call", "field"),
    [
        (lambda: time_from_rating_h(0.0, 100.0, 20.0, 1.2), "current_A"),
        (lambda: time_from_rating_h(1.0, 100.0, -20.0, 1.2), "rated_over_h"),
        (lambda: time_from_rating_h(1.0, 100.0, 20.0, 0.9), "exponent"),
        (lambda: time_from_one_ampere_h(1.0, float("nan"), 1.2), "one_ampere_Ah"),
        (lambda: time_from_one_ampere_h(1.0, 1.0, float("inf")), "exponent"),
        (lambda: exponent_of(5.0, 1.0, 5.0, 1.0), "second_A"),
        (lambda: exponent_of(5.0, 0.0, 6.0, 1.0), "first_h"),
    ],
)
def test_wrong_values_are_refused(call, field):
    with pytest.raises(ParameterError, match=field):
        call()


def stepped_part(fraction, rate_per_h, over_h):
    """Of charge 1: a current of 1 per h from two full wells, by small steps until one is empty.

    Manwell and McGowan: dq1/dt = -I - k (h1 - h2) and dq2/dt = k (h1 - h2), heads q / width, with
    k = k' c (1 - c). The current that lasts `over_h` is found by halving.
    """

    def lasts_h(amps, steps=4_000):
        k, dt = rate_per_h * fraction * (1.0 - fraction), over_h * 2.0 / steps
        first, second = fraction, 1.0 - fraction
        for step in range(steps):
            across = k * (first / fraction - second / (1.0 - fraction))
            left = first - dt * (amps + across)
            if left < 0.0:
                return (step + first / (first - left)) * dt
            first, second = left, second + dt * across
        return math.inf

    low, high = 0.0, 1.0 / over_h
    for _ in range(20):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if lasts_h(middle) > over_h else (low, middle)
    return low * over_h


def test_the_part_that_two_wells_give_is_that_of_small_steps():
    assert part_given(0.45, 0.7, 2.0) == pytest.approx(stepped_part(0.45, 0.7, 2.0), rel=1e-3)


def test_the_ends_of_what_two_wells_give():
    # at once only the available well; all of it in the end; one well gives all at any rate
    assert part_given(0.4, 0.7, 1e-6) == pytest.approx(0.4, rel=1e-5)
    assert part_given(0.4, 0.7, 1e6) == pytest.approx(1.0, rel=1e-5)
    assert part_given(1.0, 0.7, 3.0) == pytest.approx(1.0)
    for wrong in ({"available_fraction": 0.0}, {"rate_per_h": 0.0}, {"over_h": 0.0}):
        good = {"available_fraction": 0.4, "rate_per_h": 0.7, "over_h": 2.0}
        with pytest.raises(ParameterError, match=next(iter(wrong))):
            part_given(**(good | wrong))


def test_the_exponent_of_two_wells():
    # AGM as documented: 100, 93 and 60 Ah in 20, 10 and 1 h, so k = ln(20/1) / ln(60 / 5) = 1.2056
    fraction, rate_per_h, per_rated = 0.475111, 0.676960, 1.0816
    given = [100.0 * per_rated * part_given(fraction, rate_per_h, h) for h in (20.0, 10.0, 1.0)]
    assert given == pytest.approx([100.0, 93.0, 60.0], abs=0.05)
    found = exponent_of_wells(fraction, rate_per_h, 1.0, 20.0)
    assert found == pytest.approx(math.log(20.0) / math.log(12.0), rel=1e-3)
    assert exponent_of_wells(1.0, rate_per_h, 1.0, 20.0) == pytest.approx(1.0)
