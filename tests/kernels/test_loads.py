"""Loads behind a source with resistance."""

import math

import numpy as np
import pytest
from bridge import bridge
from pytest import approx
from scipy.optimize import brentq

from bankSim.kernels import loads
from bankSim.kernels.arrays import OK, SHORTFALL

feed, load_current = bridge(loads.feed), bridge(loads.load_current)
asks_anything = bridge(loads.asks_anything)
NONE = np.empty(0)


def power(watts):
    return np.array([watts, 0.0, 0.0])


@pytest.mark.parametrize("seed", range(10))
def test_current_and_slope_are_those_of_the_exponential_load_model(seed):
    # P / V + I0 + G V + sum a V^(e - 1), by numpy; its slope as a difference quotient
    rng = np.random.default_rng(seed)
    exponent, amounts = rng.uniform(0.0, 3.0, 2), rng.uniform(0.5, 4.0, 2)
    watts, amperes, siemens = rng.uniform(-400, 400), rng.uniform(-20, 20), rng.uniform(0.1, 5.0)
    level = np.array([watts, amperes, siemens, *amounts])

    def current(volts):
        return watts / volts + amperes + siemens * volts + amounts @ volts ** (exponent - 1.0)

    volts = rng.uniform(1.5, 15.0)
    found, slope = load_current(volts, level, exponent)
    assert found == approx(current(volts), rel=1e-12, abs=1e-12)
    assert slope == approx(
        (current(volts + 1e-5) - current(volts - 1e-5)) / 2e-5, rel=1e-6, abs=1e-6
    )


@pytest.mark.parametrize("exponent", [0.3, 0.5, 0.8])
def test_the_least_voltage_that_feeds_a_load_of_any_exponent(exponent):
    # V + R a V^(e - 1) is least where (1 - e) R a V^(e - 2) = 1: there E = V + V / (1 - e)
    ohm, amount = 0.05, 400.0
    volts = ((1.0 - exponent) * ohm * amount) ** (1.0 / (2.0 - exponent))
    least = volts * (1.0 + 1.0 / (1.0 - exponent))
    level, others = np.array([0.0, 0.0, 0.0, amount]), np.array([exponent])
    assert feed(least * (1.0 - 1e-6), ohm, level, others) == (SHORTFALL, 0.0, 0.0)
    status, found, current = feed(least * (1.0 + 1e-6), ohm, level, others)
    assert status == OK
    assert found == approx(volts, rel=0.01)
    assert current == approx(amount * found ** (exponent - 1.0), rel=1e-12)


def test_power_load_meets_the_closed_form():
    # V = (E + sqrt(E^2 - 4 R P)) / 2 with E = 13 V, R = 20 mohm, P = 1500 W: 10.0000 V, 150 A
    status, voltage, current = feed(13.0, 0.02, power(1500.0), NONE)
    assert (status, voltage, current) == (OK, approx(10.0, rel=1e-14), approx(150.0, rel=1e-14))


def test_power_limit_is_E_squared_over_4R():
    # P = E^2 / (4 R) = 2112.5 W (maximum power theorem)
    assert feed(13.0, 0.02, power(2112.4999), NONE)[0] == OK
    status, voltage, current = feed(13.0, 0.02, power(2112.5001), NONE)
    assert (status, voltage, current) == (SHORTFALL, 0.0, 0.0)


@pytest.mark.parametrize(
    ("exponent", "volts", "amperes"),
    # 1500 W at 12.8 V behind 13 V and 20 mohm; exponential load model of the IEEE task force,
    # IEEE Trans. Power Syst. 8 (1993) 472; numbers solved by hand to 4 and 2 decimals
    [(0.0, 10.0, 150.0), (0.77, 10.5497, 122.52), (1.0, 10.6563, 117.19), (2.0, 10.988, 100.60)],
)
def test_exponent_loads(exponent, volts, amperes):
    amount = 1500.0 / 12.8**exponent
    level = np.array([0.0, 0.0, 0.0, amount])
    status, voltage, current = feed(13.0, 0.02, level, np.array([exponent]))
    assert status == OK
    assert voltage == approx(volts, abs=6e-5)
    assert current == approx(amperes, abs=6e-3)


@pytest.mark.parametrize("seed", range(20))
def test_mixed_loads_agree_with_a_general_root_finder(seed):
    # SciPy's brentq on V + R I(V) = E, from the voltage without the loads downwards
    rng = np.random.default_rng(seed)
    emf, ohm = rng.uniform(10, 55), rng.uniform(1e-3, 3e-2)
    exponent = rng.uniform(0.0, 3.0, 2)
    level = np.array([rng.uniform(-200, 400), rng.uniform(-20, 20), rng.uniform(0, 0.5), 0.0, 0.0])
    level[3:] = rng.uniform(0, 100, 2) / emf**exponent

    def miss(v):
        return v + ohm * load_current(v, level, exponent)[0] - emf

    root = brentq(miss, 0.8 * emf, 1.2 * emf, xtol=1e-13, rtol=1e-14)
    status, voltage, current = feed(emf, ohm, level, exponent)
    assert status == OK
    assert voltage == approx(root, rel=1e-12)
    assert voltage + ohm * current == approx(emf, rel=1e-13)


def test_a_load_that_is_nearly_a_short_circuit():
    # V + R a V^(1/2) = E with V = 0.64 V, E = 13 V: R a = 12.36 V / 0.8 V^(1/2)
    level = np.array([0.0, 0.0, 0.0, 12.36 / 0.8 / 0.02])
    status, voltage, current = feed(13.0, 0.02, level, np.array([1.5]))
    assert (status, voltage, current) == (OK, approx(0.64), approx(618.0))


@pytest.mark.parametrize("seed", range(5))
def test_power_current_and_resistance_together_obey_ohm(seed):
    # V + R (P / V + I0 + G V) = E, and of both answers the upper one
    rng = np.random.default_rng(seed)
    emf, ohm = rng.uniform(10, 55), rng.uniform(5e-3, 3e-2)
    watts, amperes, siemens = rng.uniform(100, 400), rng.uniform(-20, 20), rng.uniform(5.0, 20.0)
    status, volts, current = feed(emf, ohm, np.array([watts, amperes, siemens]), NONE)
    assert status == OK
    assert current == approx(watts / volts + amperes + siemens * volts, rel=1e-12)
    assert volts + ohm * current == approx(emf, rel=1e-12)
    assert volts > 0.5 * (emf - ohm * amperes) / (1.0 + ohm * siemens)


def test_loads_ask_for_something_where_any_part_of_them_does():
    assert not asks_anything(np.zeros(5))
    for place in range(5):
        for amount in (1.0, -1.0, 1e-3):
            level = np.zeros(5)
            level[place] = amount
            assert asks_anything(level)


def test_charging_power_raises_the_voltage():
    # V (V - E) / R = P: V = (E + sqrt(E^2 + 4 R P)) / 2
    status, voltage, current = feed(13.0, 0.02, power(-500.0), NONE)
    assert status == OK
    assert voltage == approx((13.0 + math.sqrt(169.0 + 4 * 0.02 * 500.0)) / 2.0, rel=1e-14)
    assert current < 0.0


def test_a_current_that_pulls_the_voltage_to_nothing_is_a_shortfall():
    assert feed(13.0, 0.02, np.array([0.0, 651.0, 0.0]), NONE) == (SHORTFALL, 0.0, 0.0)
    assert feed(13.0, 0.02, np.array([0.0, 649.0, 0.0]), NONE)[0] == OK
