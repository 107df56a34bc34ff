"""What a comparison concludes from its own numbers: by hand."""

from types import SimpleNamespace

import numpy as np
import pytest
from pytest import approx

from bankSim.measured.compare_found import MEASURED, SCENARIO, Comparison, Lines
from bankSim.sim.result import ALL_OVER

NAN = float("nan")


def lines(predicted_A, measured_A, predicted_V=(13.0, 12.9, 12.8), measured_V=(13.1, 12.9, NAN)):
    predicted = np.array([predicted_V, predicted_A])
    measured = np.array([measured_V, measured_A])
    return Lines(np.array([0.5, 1.5, 2.5]), predicted, measured, predicted, predicted)


def compared(**given):
    """A comparison of which only these fields matter."""
    found = object.__new__(Comparison)
    for name, value in given.items():
        object.__setattr__(found, name, value)
    return found


def test_mean_currents_are_those_while_both_run():
    found = compared(lines=lines((10.0, 20.0, NAN), (11.0, 21.0, 500.0)))
    assert found.mean_currents_A() == approx((15.0, 16.0))


@pytest.mark.parametrize(
    ("predicted_A", "measured_A"),
    [((10.0, NAN, NAN), (NAN, 11.0, 11.0)), ((10.0, 10.0, 10.0), (-1.0, 0.5, 0.5)),
     ((0.0, 0.0, 0.0), (1.0, 1.0, 1.0))],
)  # fmt: skip
def test_no_mean_currents_where_they_never_run_together_or_nothing_is_given(
    predicted_A, measured_A
):
    assert compared(lines=lines(predicted_A, measured_A)).mean_currents_A() is None


def test_residual_is_measured_less_predicted():
    residual = lines((1.0,) * 3, (1.0,) * 3).residual_V
    assert residual[:2] == approx([0.1, 0.0])
    assert np.isnan(residual[2])


@pytest.mark.parametrize(("farther", "consistent"), [(0.05, True), (0.049, False), (1.0, True)])
def test_a_twentieth_of_the_draws_at_least_as_far_off_is_consistent(farther, consistent):
    assert compared(farther=farther).consistent is consistent


@pytest.mark.parametrize(
    ("load", "reason", "outlasts"),
    [(MEASURED, ALL_OVER, True), (MEASURED, "empty", False), (SCENARIO, ALL_OVER, False)],
)
def test_a_prediction_outlasts_a_measured_current_only(load, reason, outlasts):
    assert compared(load=load, result=SimpleNamespace(end_reason=reason)).outlasts is outlasts
