import numpy as np
import pytest
from pytest import approx

from bankSim.measured.rounding import rounding_line

# a meter that shows steps of q is off by q / 2 at most (JCGM 100:2008, F.2.2.1)


def width(values):
    return rounding_line(np.asarray(values, float), 1.0)


@pytest.mark.parametrize("loads", [(0.0, 15.0, 40.0), (0.0, 10.0, 15.0, 20.0)])
def test_set_currents_are_not_the_last_digit(loads):
    one = width(np.repeat(loads, 300))
    assert one.width == approx(0.001 * max(loads))
    assert one.assumed
    assert "only a few different readings" in one.source


def test_a_switched_load_is_not_the_last_digit_however_often_it_switches():
    one = width(np.resize([0.0, 5.0, 10.0, 5.0], 600))
    assert one.width == approx(0.01)


def test_one_reading_and_two_are_told_apart():
    assert "all readings are the same" in width(np.full(50, 10.0)).source
    assert "only a few different readings" in width(np.resize([10.0, 20.0], 50)).source


def test_many_levels_on_a_coarse_step_show_it():
    # 30 levels, 0.25 A apart, written with two decimals, on a zero that is off by 0.1 A
    one = width(np.repeat(0.1 + 0.25 * np.arange(30), 5))
    assert one.width == approx(0.125)
    assert not one.assumed


def test_a_coarse_meter_that_flickers_shows_its_step():
    one = width(np.resize([10.0, 11.0, 10.0, 9.0, 10.0, 10.0], 600))
    assert one.width == approx(0.5)


def test_decimals_show_even_with_few_levels():
    assert width(np.repeat([0.0, 14.9, 9.97], 100)).width == approx(0.005)


def test_noise_of_milliamperes_shows_milliamperes():
    rng = np.random.default_rng(0)
    noisy = np.round(np.repeat([10.0, 20.0], 300) + rng.normal(0.0, 0.005, 600), 3)
    assert width(noisy).width == approx(0.0005)


def test_readings_finer_than_any_digit_cost_nothing():
    assert width(10.0 + np.linspace(0.0, np.pi, 100)).width == 0.0
