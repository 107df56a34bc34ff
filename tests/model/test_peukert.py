"""Peukert's law; worked examples, each with the convention it is in."""

import pytest

from bankSim.errors import ParameterError
from bankSim.model.peukert import (
    exponent_of,
    one_ampere_Ah,
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
