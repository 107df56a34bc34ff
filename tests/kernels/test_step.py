"""One trial step against the closed form of two straight batteries, and its own error."""

import math

import numpy as np
import pytest
from bridge import bridge
from pytest import approx
from simple_banks import affine, bank_of, steady

from bankSim.kernels import arrays as k
from bankSim.kernels import step
from bankSim.sim.engine import Engine

attempt = bridge(step.attempt)
find_slope = bridge(step.find_slope)

# 3 mohm and a lead of 2 mohm beside 10 mohm, 100 Ah each, 0.6 V over the whole charge, 60 A:
# I1 = 30 A + 10 A exp(-t / tau)
TAU_S = 15e-3 / 0.6 * 50.0 * 3600.0


def on_its_way():
    """Two batteries some steps after the start."""
    pair = [affine("a", 3e-3, lead=2e-3), affine("b", 10e-3)]
    engine = Engine(bank_of(*pair, load=steady(60.0), duration_s=3e4), relative_tolerance=1e-6)
    while engine.run.clock[0]["time"] < 300.0:
        engine.go_on(1)
        assert engine.run.clock[0]["steps"] < 500
    return engine.packed, engine.run


def exact(time_s):
    return 30.0 + 10.0 * np.exp(-time_s / TAU_S)


@pytest.mark.parametrize("dt", [10.0, 100.0, 500.0, 2000.0])
def test_the_error_of_a_step_is_not_told_too_small_nor_far_too_large(dt):
    bank, run = on_its_way()
    start = float(run.clock[0]["time"])
    assert run.now[0, k.CURRENT] == approx(exact(start), abs=1e-4)
    status, error = attempt(bank, run, dt)
    assert status == k.OK
    first, last = run.now[0, k.CURRENT], run.trial_now[0, k.CURRENT]
    whole = 30.0 * dt + 10.0 * TAU_S * (math.exp(-start / TAU_S) - math.exp(-(start + dt) / TAU_S))
    missed_A = abs(0.5 * (first + last) * dt - whole) / dt
    allowed_A = bank.setting[k.RELATIVE] * first + bank.setting[k.ABSOLUTE]
    assert missed_A / allowed_A <= 1.5 * error + 0.05
    assert error <= 10.0 * missed_A / allowed_A + 0.05
    assert last == approx(exact(start + dt), abs=3.0 * (dt / TAU_S) ** 3 + 1e-4)


@pytest.mark.parametrize("dt", [100.0, 1000.0])
def test_the_end_of_a_step_obeys_ohm_kirchhoff_and_faraday(dt):
    bank, run = on_its_way()
    attempt(bank, run, dt)
    current = run.trial_now[:2, k.CURRENT]
    assert current.sum() == approx(60.0, rel=1e-12)
    charge = 0.5 * dt * (run.now[:2, k.CURRENT] + run.tally["goal"])
    assert run.moment[:, k.SOC] - run.trial[:, k.SOC] == approx(charge / 360_000.0, rel=1e-12)
    volts = 12.8 + 0.6 * run.trial[:, k.SOC] - np.array([5e-3, 10e-3]) * current
    assert volts == approx(np.full(2, run.trial_now[2, k.BUS]), abs=1e-12)
    assert run.tally["goal"] == approx(current, abs=2e-3)
    assert run.tally["stiff"] == approx(np.full(2, dt / (2.0 * 360_000.0) * 0.6))


def test_the_slope_after_a_jump_is_that_of_the_closed_form():
    bank, run = on_its_way()
    want = -10.0 / TAU_S * math.exp(-run.clock[0]["time"] / TAU_S)
    run.tally["slope"] = 0.0
    find_slope(bank, run)
    assert run.tally["slope"] == approx([want, -want], rel=1e-3)
