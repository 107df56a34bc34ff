"""The error that a trial step tells of what a charge meets near full, against the law by hand."""

import math
from dataclasses import replace

import numpy as np
import pytest
from bridge import bridge
from pytest import approx
from simple_banks import affine_cell, bank_of, battery, steady

from bankSim.kernels import arrays as k
from bankSim.kernels import step
from bankSim.kernels.cell import KEEP
from bankSim.model.cell import RelaxationPair
from bankSim.model.charge_lag import ChargeLag
from bankSim.sim.engine import Engine

attempt = bridge(step.attempt)
lag_error = bridge(step.lag_error)
meets_charge = bridge(step.meets_charge)

Ah, TAU_S, FULL_OHM, WIDTH, FROM, BEND_V = 100.0, 100.0, 0.3, 0.01, 0.8, 0.1
NEAR_FULL = affine_cell(
    1e-3, Ah, 0.9, span=0.0, charge_lag=ChargeLag(FULL_OHM, WIDTH, FROM, BEND_V),
    relaxation=(RelaxationPair(0.0, TAU_S),),
)  # fmt: skip
RELATIVE = 1e-4  # where 0.02 mV are allowed
PAIR_LESS = replace(NEAR_FULL, relaxation=())
PLAIN = affine_cell(1e-3, Ah, 0.9, span=0.0, relaxation=(RelaxationPair(0.0, TAU_S),))


def met_V(z, amps):
    """(4.4) and (4.5) of the theory, written once more; z below full, a charge of `amps`."""
    near = WIDTH / (WIDTH + 1.0 - z) - WIDTH / (WIDTH + 1.0 - FROM)
    return BEND_V * math.asinh(FULL_OHM * near * amps / BEND_V)


def under_way(*cells, amps=-20.0, relative=RELATIVE):
    """Batteries of one cell each, after one step of a steady current."""
    batteries = [battery(f"b{place}", cell) for place, cell in enumerate(cells)]
    bank = bank_of(*batteries, load=steady(amps), duration_s=1e5)
    engine = Engine(bank, relative_tolerance=relative)
    engine.go_on(1)
    return engine.packed, engine.run


@pytest.mark.parametrize("dt", [60.0, 200.0, 1000.0])
@pytest.mark.parametrize(("relative", "allowed_V"), [(1e-5, 2e-6), (1e-4, 2e-5), (1e-2, 2e-4)])
def test_the_error_is_how_far_the_middle_lies_from_the_straight_line(dt, relative, allowed_V):
    bank, run = under_way(NEAR_FULL, relative=relative)
    first = float(run.moment[0, k.LEVEL])
    status, error = attempt(bank, run, dt)
    last = first + 20.0 * dt / (3600.0 * Ah)
    assert run.trial[0, k.LEVEL] == approx(last, abs=1e-12)
    middle = met_V(0.5 * (first + last), 20.0)
    missed = abs(middle - 0.5 * (met_V(first, 20.0) + met_V(last, 20.0)))
    # alone at a steady current nothing else can be missed
    assert status == k.OK
    assert error == approx((1.0 - math.exp(-dt / TAU_S)) * missed / allowed_V, rel=1e-6)
    assert missed > 1e-6


def test_the_middle_is_that_of_the_current_too():
    # a charge that fades from 20 to 10 A at about the same charge: only the bend is missed
    bank, run = under_way(NEAR_FULL)
    run.now[0, k.CURRENT] = -40.0
    first, dt = float(run.moment[0, k.LEVEL]), 1e-3 * TAU_S
    _, error = attempt(bank, run, dt)
    assert run.trial_now[0, k.CURRENT] == approx(-20.0)
    missed = met_V(first, 30.0) - 0.5 * (met_V(first, 40.0) + met_V(first, 20.0))
    lag_part = (1.0 - math.exp(-1e-3)) * abs(missed) / 2e-5
    assert missed > 1e-3
    assert lag_part > 0.05
    assert error >= lag_part * 0.999


@pytest.mark.parametrize(
    ("start", "end"), [(-20.0, 10.0), (10.0, -20.0), (-20.0, -5.0), (0.0, -20.0), (-0.5, 0.5)]
)
def test_a_charge_at_one_end_of_a_step_is_enough(start, end):
    bank, run = under_way(NEAR_FULL)
    first, last = 0.95, 0.96
    run.now[0, k.CURRENT], run.trial_now[0, k.CURRENT] = start, end
    run.moment[0, k.LEVEL], run.trial[0, k.LEVEL] = first, last
    run.weight[0, 0, KEEP], run.trial_now[0, k.FACTOR] = 0.25, 1.0
    into = [max(-amps, 0.0) for amps in (start, 0.5 * (start + end), end)]
    missed = met_V(0.955, into[1]) - 0.5 * (met_V(first, into[0]) + met_V(last, into[2]))
    assert lag_error(bank, run, 0, 0) == approx(0.75 * abs(missed) / 2e-5)
    assert abs(missed) > 1e-5


@pytest.mark.parametrize(
    ("cells", "amps"),
    [((NEAR_FULL,), 20.0), ((PAIR_LESS,), -20.0), ((PLAIN,), -20.0)],
    ids=["a discharge", "no pair", "no such law"],
)
def test_nothing_is_missed_where_nothing_is_met(cells, amps):
    bank, run = under_way(*cells, amps=amps)
    status, error = attempt(bank, run, 300.0)
    assert (status, error) == (k.OK, approx(0.0, abs=1e-9))
    assert not meets_charge(bank, run)


@pytest.mark.parametrize("place", [0, 1])
def test_the_worst_of_all_cells_counts(place):
    # in a bank of two alike the one nearer to full misses more
    cells = [NEAR_FULL, NEAR_FULL]
    cells[place] = replace(NEAR_FULL, state_of_charge=0.97)
    bank, run = under_way(*cells, amps=-40.0)
    first = run.moment[:, k.LEVEL].copy()
    flowing = run.now[:2, k.CURRENT].copy()
    _, error = attempt(bank, run, 50.0)
    ends, last = run.trial_now[:2, k.CURRENT], run.trial[:, k.LEVEL]
    missed = [
        met_V(0.5 * (first[i] + last[i]), -0.5 * (flowing[i] + ends[i]))
        - 0.5 * (met_V(first[i], -flowing[i]) + met_V(last[i], -ends[i]))
        for i in range(2)
    ]
    least = (1.0 - math.exp(-0.5)) * np.abs(missed).max() / 2e-5
    assert error >= least * 0.999
    assert least > 0.01


@pytest.mark.parametrize(("now_A", "then_A"), [(-1.0, 5.0), (5.0, -1.0), (-1.0, -1.0), (0.0, 0.0)])
def test_a_charge_is_met_where_either_end_is_one(now_A, then_A):
    bank, run = under_way(PLAIN, NEAR_FULL)
    run.now[:2, k.CURRENT] = run.trial_now[:2, k.CURRENT] = 5.0
    assert not meets_charge(bank, run)
    run.now[1, k.CURRENT], run.trial_now[1, k.CURRENT] = now_A, then_A
    assert bool(meets_charge(bank, run)) is (min(now_A, then_A) < 0.0)
    run.now[:, k.CURRENT], run.trial_now[:, k.CURRENT] = 5.0, 5.0
    run.now[0, k.CURRENT] = -5.0  # the plain one meets nothing
    assert not meets_charge(bank, run)
