"""What a charge meets beside the resistance: theory 4.4 and 4.5 written out by hand."""

import math

import numpy as np
import pytest
from pytest import approx

from bankSim.model.charge_lag import NO_LAG, ChargeLag

# 20 mohm at full, half of what is above the rest at 5 % below
FADING = ChargeLag(0.02, width=0.05)
# the same, nothing below 80 %: w / (w + 0.2) = 0.2 is taken away everywhere
STARTING = ChargeLag(0.02, width=0.05, starts_at=0.8)


@pytest.mark.parametrize(
    ("lag", "head", "ohm"),
    [
        (FADING, 1.0, 0.02), (FADING, 0.95, 0.01), (FADING, 0.85, 0.005), (FADING, 1.2, 0.02),
        (FADING, 0.0, 0.02 / 21.0),
        (STARTING, 1.0, 0.016), (STARTING, 0.95, 0.006), (STARTING, 0.8, 0.0),
        (STARTING, 0.5, 0.0), (STARTING, 1.1, 0.016),
        (ChargeLag(0.02), 0.0, 0.02), (ChargeLag(0.02), 1.0, 0.02), (NO_LAG, 1.0, 0.0),
    ],
)  # fmt: skip
def test_it_rises_towards_full(lag, head, ohm):
    assert float(lag.ohm(head)) == approx(ohm, abs=1e-15)


def test_many_heads_at_once():
    heads = np.array([[1.0, 0.95], [0.85, 1.2]])
    assert FADING.ohm(heads) == approx(np.array([[0.02, 0.01], [0.005, 0.02]]))


def test_without_a_bend_the_voltage_goes_with_the_current():
    # 10 mohm x 30 A, 1.5 times that in the cold
    assert float(FADING.volts(0.95, 30.0)) == approx(0.3)
    assert float(FADING.volts(0.95, 30.0, 1.5)) == approx(0.45)
    assert float(FADING.volts(0.95, 0.0)) == 0.0


def test_a_bend_makes_it_grow_with_the_logarithm():
    # B asinh(R I / B): 0.1 V x asinh(3) = 0.18184 V; small ones are straight
    bent = ChargeLag(0.02, width=0.05, bend_V=0.1)
    assert float(bent.volts(0.95, 30.0)) == approx(0.1 * math.log(3.0 + math.sqrt(10.0)))
    assert float(bent.volts(0.95, 30.0, 2.0)) == approx(0.1 * math.log(6.0 + math.sqrt(37.0)))
    assert float(bent.volts(0.95, 1e-4)) == approx(1e-6, rel=1e-9)
    # e-fold currents are 0.1 V apart far beyond the bend
    far = [float(bent.volts(1.0, 1e6 * math.e**k)) for k in range(3)]
    assert np.diff(far) == approx([0.1, 0.1], rel=1e-6)


def test_scaled_is_another_resistance_alone():
    lag = ChargeLag(0.02, 0.05, 0.8, 0.1).scaled(0.25)
    assert lag == ChargeLag(0.005, 0.05, 0.8, 0.1)
