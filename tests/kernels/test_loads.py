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
NONE = np.empty(0)


def power(watts):
    return np.array([watts, 0.0, 0.0])


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


def test_charging_power_raises_the_voltage():
    # V (V - E) / R = P: V = (E + sqrt(E^2 + 4 R P)) / 2
    status, voltage, current = feed(13.0, 0.02, power(-500.0), NONE)
    assert status == OK
    assert voltage == approx((13.0 + math.sqrt(169.0 + 4 * 0.02 * 500.0)) / 2.0, rel=1e-14)
    assert current < 0.0


def test_a_current_that_pulls_the_voltage_to_nothing_is_a_shortfall():
    assert feed(13.0, 0.02, np.array([0.0, 651.0, 0.0]), NONE)[0] == SHORTFALL
    assert feed(13.0, 0.02, np.array([0.0, 649.0, 0.0]), NONE)[0] == OK
