"""How spread in capacity and resistance goes on into results, against closed forms.

Batteries with straight voltage curves: derived from Kirchhoff's and Faraday's laws; the same
result is published by Weng, Pannala, Siegel, Stefanopoulou, arXiv:2211.04961.
"""

import numpy as np
import pytest
from pytest import approx
from simple_banks import affine, bank_of, steady

from bankSim.model.rule import Blocks, Rule, Watch
from bankSim.model.spread import Shape, Spread
from bankSim.scenario.record import Scenario
from bankSim.study.draws import drawn_values
from bankSim.study.ensemble import STUDY_TOLERANCE, Ensemble
from bankSim.study.fields import Field
from bankSim.study.uniforms import RandomDraws, Sampling
from bankSim.study.unknown import Effect, Kind, Unknown

DRAWS = 1024
SD = 0.05  # of every factor
BASE, SPAN = 12.8, 0.6  # U = BASE + SPAN z [V]


def factor(label, field, place):
    """A normal factor around 1 on one number."""
    spread, effects = Spread(Shape.NORMAL, 1.0, SD, 0.5, 1.5), (Effect(field, (place,)),)
    return Unknown(label, Kind.KEY, "", label, "", spread, effects, "made up")


def even_values(unknowns, draws=DRAWS, sampling=Sampling.EVEN):
    design = RandomDraws(tuple(one.label for one in unknowns), 1, sampling)
    return drawn_values(unknowns, design.chances(0, draws))


def moments(function, count):
    """Mean and variance of a function of normal factors, by Gauss-Hermite quadrature."""
    nodes, weights = np.polynomial.hermite_e.hermegauss(12)
    grid = np.meshgrid(*[1.0 + SD * nodes] * count, indexing="ij")
    weight = np.prod(np.meshgrid(*[weights / weights.sum()] * count, indexing="ij"), axis=0)
    values = function(*grid)
    mean = (weight * values).sum()
    return mean, (weight * (values - mean) ** 2).sum()


def delta_variance(function, count, step=1e-4):
    """Variance by the first derivatives at the middle (delta method)."""
    slopes = []
    for number in range(count):
        up, down = np.ones(count), np.ones(count)
        up[number], down[number] = 1.0 + step, 1.0 - step
        slopes.append((function(*up) - function(*down)) / (2.0 * step))
    return SD**2 * float(np.square(slopes).sum())


def delivered_by_the_first(q1, q2, hours=1.0):
    """Ah of battery 1 of two: 5 and 10 mohm, 100 and 200 Ah times factors, 60 A, both at 0.9."""
    first, second, current = 100.0 * 3600.0 * q1, 200.0 * 3600.0 * q2, 60.0
    tau = 0.015 / SPAN * first * second / (first + second)
    start, limit = current * 10.0 / 15.0, current * first / (first + second)
    t = hours * 3600.0
    return (limit * t + (start - limit) * tau * (1.0 - np.exp(-t / tau))) / 3600.0


def pair_study(tolerance=1e-4):
    pair = affine("a", 0.005, 100.0), affine("b", 0.010, 200.0)
    unknowns = (factor("first", Field.CHARGE, 0), factor("second", Field.CHARGE, 1))
    return Ensemble(Scenario("pair", bank_of(*pair, load=steady(60.0))), unknowns, tolerance)


def test_closed_form_of_the_middle():
    # reference facts, section 5.2, second row of the table
    assert delivered_by_the_first(1.0, 1.0) == approx(35.03961, rel=1e-6)


@pytest.mark.parametrize("tolerance", [STUDY_TOLERANCE, 1e-4, 1e-6])
def test_two_batteries_draw_by_draw(tolerance):
    # promised: the tolerance, and a millionth of the label in an hour (1e-4 Ah) beside it; errors
    # at the tolerance of studies are told to be below 0.03 %
    study = pair_study(tolerance)
    values = even_values(study.unknowns, 64)
    found = study.evaluate(values)["a.delivered_Ah"]
    exact = delivered_by_the_first(*values.T)
    assert np.abs(found - exact).max() < min(tolerance, 3e-4) * exact.min() + 1e-4
    assert np.ptp(found) > 1.0


def test_two_batteries_spread_as_the_closed_form_does():
    study = pair_study()
    found = study.evaluate(even_values(study.unknowns))["a.delivered_Ah"]
    mean, variance = moments(delivered_by_the_first, 2)
    assert found.mean() == approx(mean, rel=2e-4)
    assert found.var() == approx(variance, rel=0.01)
    assert found.var() == approx(delta_variance(delivered_by_the_first, 2), rel=0.03)


def test_random_draws_spread_alike():
    study = pair_study()
    values = even_values(study.unknowns, DRAWS, Sampling.RANDOM)
    found = study.evaluate(values)["a.delivered_Ah"]
    mean, variance = moments(delivered_by_the_first, 2)
    assert found.mean() == approx(mean, abs=4.0 * np.sqrt(variance / DRAWS))
    assert found.var(ddof=1) == approx(variance, rel=4.0 * np.sqrt(2.0 / DRAWS))


LIMIT_V, CURRENT_A, OHM = 12.9, 40.0, 0.003


def runtime_h(q, r):
    """Hours until U0 + a z - R I reaches the limit, for 100 Ah x q and 3 mohm x r from 0.9 on."""
    empty = (LIMIT_V + OHM * r * CURRENT_A - BASE) / SPAN
    return 100.0 * q * (0.9 - empty) / CURRENT_A


def runtime_study():
    rule = Rule(Watch.BATTERY_VOLTAGE, True, LIMIT_V, 0.0, Blocks.DISCHARGE)
    one = affine("a", OHM, 100.0, rules=(rule,))
    unknowns = (factor("capacity", Field.CHARGE, 0), factor("resistance", Field.OHMIC, 0))
    bank = bank_of(one, load=steady(CURRENT_A), duration_s=10 * 3600.0)
    return Ensemble(Scenario("one", bank), unknowns, 1e-4)


def runtime_variance():
    """Exactly: T = q (b - c r), Var = E q^2 E (b - c r)^2 - (E q)^2 (E (b - c r))^2."""
    c = 100.0 * OHM / SPAN
    b = 100.0 / CURRENT_A * (0.9 - (LIMIT_V - BASE) / SPAN)
    return (1.0 + SD**2) * ((b - c) ** 2 + c**2 * SD**2) - (b - c) ** 2


@pytest.mark.parametrize("column", ["bank.runtime_h", "a.cut_out_h", "bank.end_h"])
def test_runtime_draw_by_draw(column):
    study = runtime_study()
    values = even_values(study.unknowns, 64)
    assert study.evaluate(values)[column] == approx(runtime_h(*values.T), rel=1e-6)


def test_runtime_spreads_as_the_closed_form_does():
    study = runtime_study()
    found = study.evaluate(even_values(study.unknowns))["bank.runtime_h"]
    assert runtime_variance() == approx(moments(runtime_h, 2)[1], rel=1e-9)
    assert found.var() == approx(runtime_variance(), rel=0.01)
    assert found.var() == approx(delta_variance(runtime_h, 2), rel=0.02)
    # and by each alone: the shares of the two add up to nearly all of it
    capacity = delta_variance(lambda q: runtime_h(q, 1.0), 1)
    resistance = delta_variance(lambda r: runtime_h(1.0, r), 1)
    assert capacity + resistance == approx(runtime_variance(), rel=0.02)


def test_correlated_factors_spread_less_or_more():
    # Var(q - r c/b ...) with correlation rho: 2 rho times the product of both slopes is added
    capacity, resistance = runtime_study().unknowns
    slope_q = np.sqrt(delta_variance(lambda q: runtime_h(q, 1.0), 1))
    slope_r = -np.sqrt(delta_variance(lambda r: runtime_h(1.0, r), 1))
    for rho in (-0.5, 0.8):
        follows = Unknown(
            resistance.label, resistance.kind, "", "", "", resistance.spread, resistance.effects,
            "made up", follows=capacity.label, correlation=rho,
        )  # fmt: skip
        study = Ensemble(runtime_study().scenario, (capacity, follows), 1e-4)
        found = study.evaluate(even_values(study.unknowns))["bank.runtime_h"]
        expected = slope_q**2 + slope_r**2 + 2.0 * rho * slope_q * slope_r
        assert found.var() == approx(expected, rel=0.03)
