"""One trial step of warm batteries and of balancers, against closed forms and quadrature."""

import math
from dataclasses import replace

import numpy as np
import pytest
from bridge import bridge
from pytest import approx
from scipy.integrate import quad, solve_ivp
from simple_banks import affine, affine_cell, bank_of, battery, steady, stepped

from bankSim.kernels import arrays as k
from bankSim.kernels import instant, step
from bankSim.model.cell import RelaxationPair
from bankSim.model.curve import Curve
from bankSim.model.upkeep import Balancer, Balancing, Thermal
from bankSim.sim.engine import Engine

attempt = bridge(step.attempt)
find_slope = bridge(step.find_slope)
step_error = bridge(step.step_error)
GAS_J_MOL_K = 8.314462618  # CODATA 2018, exact
RELATIVE = 1e-6


def under_way(*batteries, load=None, until_s=0.0, relative=RELATIVE, **more):
    """A bank after its first step, or after the first that ends later than `until_s`."""
    bank = bank_of(*batteries, load=load, duration_s=1e5, stop_when_empty=False, **more)
    engine = Engine(bank, relative_tolerance=relative)
    engine.go_on(1)
    while engine.run.clock[0]["time"] < until_s:
        engine.go_on(1)
        assert engine.run.clock[0]["steps"] < 500
    return engine.packed, engine.run


# --- temperature ------------------------------------------------------------------------------


@pytest.mark.parametrize("dt", [1.0, 600.0, 20_000.0])
def test_a_warm_battery_at_rest_cools_as_newton_says(dt):
    # C / hA = 9 kJ/K / 2.5 W/K = 1 h, nothing flows: 30 K exp(-t / 1 h)
    bank, run = under_way(affine("plain"), replace(affine("a"), thermal=Thermal(9000.0, 2.5)))
    run.now[1, k.KELVIN] = 298.15 + 30.0
    status, error = attempt(bank, run, dt)
    assert (status, error) == (k.OK, approx(0.0, abs=1e-6))
    want = [298.15, 298.15 + 30.0 * math.exp(-dt / 3600.0)]
    assert run.trial_now[:2, k.KELVIN] == approx(want, abs=1e-9)


def test_without_thermal_mass_a_battery_has_the_temperature_of_the_hour():
    more = {"temperature_K": 288.15, "swing_K": 8.0, "warmest_s": 54_000.0}
    bank, run = under_way(affine("a"), until_s=7200.0, **more)
    start = float(run.clock[0]["time"])
    attempt(bank, run, 900.0)
    for part, row in ((0.0, run.now), (900.0, run.trial_now)):
        turn = 2.0 * math.pi * (start + part - 54_000.0) / 86_400.0
        assert row[0, k.KELVIN] == approx(288.15 + 8.0 * math.cos(turn), abs=1e-9)
        assert row[1, k.TIME] == start + part


@pytest.mark.parametrize("amperes", [(10.0, 10.0), (20.0, 10.0)], ids=["rising", "falling"])
@pytest.mark.parametrize("heat_s", [1e4, 0.5])
def test_the_error_of_a_temperature_is_what_the_change_of_the_losses_makes(amperes, heat_s):
    # the pair's voltage v runs to 0.04 ohm x I with 300 s; the losses are I^2 R0 + I v
    cell = affine_cell(0.01, Ah=1e4, relaxation=(RelaxationPair(0.04, 300.0),))
    one = replace(battery("a", cell), thermal=Thermal(500.0, 0.05))
    load, dt = stepped([0.0, 100.0], amperes), 20.0
    bank, run = under_way(affine("plain", 1e9), one, load=load, until_s=101.0)
    bank.battery["heat_time"][1] = heat_s
    current, before = run.now[1, k.CURRENT], run.moment[1, k.PAIR]

    def losses_more_W(time_s):
        return current * (0.04 * current - before) * (1.0 - math.exp(-time_s / 300.0))

    def warmer_K(time_s):
        return losses_more_W(time_s) * math.exp((time_s - dt) / heat_s) / (0.05 * heat_s)

    missed_K = abs(quad(warmer_K, 0.0, dt, points=[dt - 10.0 * min(heat_s, 1.0)])[0])
    _, error = attempt(bank, run, dt)
    assert missed_K > 1e-3
    assert error * 100.0 * RELATIVE == approx(missed_K, rel=0.04)


# --- resistance that changes with the temperature ---------------------------------------------


@pytest.mark.parametrize("kelvin", [263.15, 318.15])
def test_resistances_follow_the_temperature_over_a_step(kelvin):
    # 12.8 V + 0.6 V z behind 10 mohm and a pair of 20 mohm, 50 s, all times the Arrhenius factor
    cell = affine_cell(0.01, Ah=1e5, relaxation=(RelaxationPair(0.02, 50.0),),
                       activation_J_mol=30e3)  # fmt: skip
    one = replace(battery("a", cell), thermal=Thermal(200.0, 2.0))
    bank, run = under_way(one, load=steady(10.0), until_s=20.0)
    run.now[0, k.KELVIN] = kelvin
    run.now[0, k.FACTOR] = _arrhenius(kelvin)
    heat_W, before, dt = run.now[0, k.HEAT], run.moment[0, k.PAIR], 10.0

    def at(time_s):
        return 298.15 + heat_W / 2.0 + (kelvin - 298.15 - heat_W / 2.0) * math.exp(-time_s / 100.0)

    def slope(time_s, v):
        return (_arrhenius(at(time_s)) * 0.02 * 10.0 - v) / 50.0

    pair_V = solve_ivp(slope, (0.0, dt), [before], rtol=1e-10, atol=1e-12).y[0, -1]
    attempt(bank, run, dt)
    factor = _arrhenius(at(dt))
    assert run.trial_now[0, k.FACTOR] == approx(factor, rel=1e-9)
    assert run.trial[0, k.PAIR] - before == approx(pair_V - before, rel=0.02)
    emf = 12.8 + 0.6 * run.trial[0, k.SOC] - run.trial[0, k.PAIR]
    assert run.trial_now[1, k.BUS] == approx(emf - 0.01 * factor * 10.0, abs=1e-9)


def _arrhenius(kelvin):
    return math.exp(30e3 / GAS_J_MOL_K * (1.0 / kelvin - 1.0 / 298.15))


# --- balancers --------------------------------------------------------------------------------

# A bleed sets in over 2 mV, so there it is a resistor of 2 mV / 0.1 A across a cell of
# 10 Ah / 0.4 V: 20 mohm x 90 kF = 1800 s
BLEED_S = 0.002 / 0.1 * 36_000.0 / 0.4


def bleeding_battery(slope_V=0.4):
    """Two cells, the higher one 1.6 mV above where the bleed starts."""
    high, low = (affine_cell(0.001, 10.0, z, base=3.2, span=slope_V) for z in (0.9, 0.5))
    start_V = 3.2 + max(slope_V * 0.9, slope_V * 0.5) - 0.0016
    balancer = Balancer(Balancing.BLEED, 0.1, start_V, 0.01)
    return replace(battery("a", low, high), balancer=balancer)


def bleeding(slope_V=0.4):
    """Such a battery beside a plain one that carries nothing."""
    return under_way(affine("plain", 1e9), bleeding_battery(slope_V))


def excess_V(soc):
    return 0.4 * (soc - 0.9) + 0.0016


@pytest.mark.parametrize("dt", [30.0, 300.0, 1800.0])
def test_a_bleed_takes_as_much_as_a_resistor(dt):
    bank, run = bleeding()
    before = excess_V(run.moment[2, k.SOC])
    assert run.moment[:, k.BALANCE] == approx([0.0, 0.0, before / 0.02])
    status, error = attempt(bank, run, dt)
    assert status == k.OK
    want_C = before / 0.02 * BLEED_S * (1.0 - math.exp(-dt / BLEED_S))
    moved_C = run.trial[:, k.MOVED] - run.moment[:, k.MOVED]
    assert moved_C[:2] == approx([0.0, 0.0])
    lost = (run.moment[:, k.SOC] - run.trial[:, k.SOC]) * np.array([360e3, 36e3, 36e3])
    assert lost == approx(moved_C, abs=1e-4)
    # 2 % of 0.1 A is allowed; what is judged is of the size of what is missed
    missed = abs(moved_C[2] - want_C) / dt / (0.02 * 0.1)
    assert missed <= 1.5 * error + 1e-9
    assert error <= 1.5 * missed + 1e-9


@pytest.mark.parametrize("dt", [60.0, 600.0, 1800.0])
def test_the_aimed_bleed_is_that_of_an_implicit_step(dt):
    # backward Euler of dI/dt = -I / 1800 s: I / (1 + dt / 1800 s)
    bank, run = bleeding()
    now = run.moment[2, k.BALANCE]
    attempt(bank, run, dt)
    assert run.trial[:, k.AIM_BALANCE] == approx([0.0, 0.0, now / (1.0 + dt / BLEED_S)])


def test_where_the_voltage_rises_with_what_is_taken_out_the_bleed_is_aimed_at_as_found():
    bank, run = bleeding(slope_V=-0.4)
    attempt(bank, run, 30.0)
    found = run.moment[1, k.BALANCE] * (1.0 + 30.0 / BLEED_S)
    assert 0.0 < found < 0.1
    assert run.trial[1, k.AIM_BALANCE] == approx(found)


def test_a_gassing_current_is_aimed_at_as_found_at_the_end():
    # G = 5 A per unit of charge beyond full; 36 A into 100 Ah is 1e-4 each second
    one = affine("a", 0.010, z=1.0, gassing_A=5.0)
    bank, run = under_way(one, load=steady(-36.0), until_s=100.0)
    attempt(bank, run, 100.0)
    assert run.trial[0, k.AIM_LEAK] == approx(5.0 * (run.trial[0, k.SOC] - 1.0), rel=2e-3)
    lost_C = run.trial[0, k.LEAKED] - run.moment[0, k.LEAKED]
    leak_A = 5.0 * (0.5 * (run.moment[0, k.SOC] + run.trial[0, k.SOC]) - 1.0)
    assert lost_C == approx(100.0 * leak_A, rel=2e-3)


# --- the judged error, by hand ----------------------------------------------------------------

# rel 1e-3 and abs 1e-2 A; 6 s after a step of 4 s: the prediction counts 6 / (6 x 10) = 0.1
# now [A], end [A], guess [A], goal [A] of two batteries; error
BY_HAND = {
    "prediction": ([90, 10], [100, 10], [103, 10], [100, 10], 0.3 / 0.11),
    "from above": ([90, 10], [100, 10], [97, 10], [100, 10], 0.3 / 0.11),
    "correction": ([90, 10], [100, 10], [100, 10], [100.4, 10], 0.2 / 0.11),
    "both": ([90, 10], [100, 10], [103, 10], [99.6, 10], 0.5 / 0.11),
    "judged by the start": ([100, 10], [90, 10], [93, 10], [90, 10], 0.3 / 0.11),
    "charging": ([-90, -10], [-100, -10], [-103, -10], [-100, -10], 0.3 / 0.11),
    "charging less": ([-100, -10], [-90, -10], [-93, -10], [-90, -10], 0.3 / 0.11),
    "the second": ([90, 10], [100, 20], [100, 23], [100, 20], 0.3 / 0.03),
    "the worse first": ([90, 10], [100, 20], [150, 23], [100, 20], 5.0 / 0.11),
    "small beside the end": ([90, 0], [100, 1], [100, 1.3], [100, 1], 0.03 / 0.015),
    "small beside the start": ([-100, 0], [-90, 1], [-90, 1.3], [-90, 1], 0.03 / 0.015),
    "small beside a charge": ([90, 0], [-100, 1], [-100, 1.3], [-100, 1], 0.03 / 0.015),
}


@pytest.mark.parametrize("case", BY_HAND)
def test_the_error_of_currents_is_that_of_equation_16_4(case):
    start, end, guess, goal, want = BY_HAND[case]
    bank, run = under_way(affine("a"), affine("b"), load=steady(100.0))
    bank.setting[k.RELATIVE], bank.setting[k.ABSOLUTE] = 1e-3, 1e-2
    run.clock["last_step"] = 4.0
    run.now[:2, k.CURRENT], run.trial_now[:2, k.CURRENT] = start, end
    run.tally["guess"], run.tally["goal"] = guess, goal
    assert step_error(bank, run, 6.0) == approx(want)
    # a thousandth of everything is judged the same
    bank.setting[k.ABSOLUTE] *= 1e-3
    run.now[:2, k.CURRENT] *= 1e-3
    run.trial_now[:2, k.CURRENT] *= 1e-3
    run.tally["guess"] *= 1e-3
    run.tally["goal"] *= 1e-3
    assert step_error(bank, run, 6.0) == approx(want)


def test_the_worst_of_current_temperature_and_balancer_counts():
    one = replace(bleeding_battery(), thermal=Thermal(100.0, 2.0))
    bank, run = under_way(one, load=steady(10.0))
    bank.setting[k.RELATIVE], bank.setting[k.ABSOLUTE] = 1e-3, 0.0
    run.clock["last_step"], run.tally["ramp"] = 4.0, 0.5
    run.tally["guess"] = run.tally["goal"] = run.now[0, k.CURRENT] = 10.0
    then, trial = run.trial_now, run.trial
    then[0, k.CURRENT], then[0, k.HEAT], trial[:, k.BALANCE] = 10.0, run.now[0, k.HEAT], 0.05
    trial[:, k.AIM_BALANCE] = trial[:, k.BALANCE]
    assert step_error(bank, run, 6.0) == 0.0
    for guess, heat, aims, want in (
        (10.2, 0.4, (0.051, 0.05), 2.0),  # 0.1 x 0.2 A / 10 mA
        (10.1, 1.2, (0.051, 0.05), 3.0),  # 0.5 x 1.2 W / 2 W/K / 0.1 K
        (10.1, -1.2, (0.05, 0.051), 3.0),
        (10.1, 0.4, (0.066, 0.05), 4.0),  # half of 16 mA / (2 % of 0.1 A)
        (10.1, 0.4, (0.05, 0.034), 4.0),
    ):
        run.tally["guess"] = guess
        then[0, k.HEAT] = run.now[0, k.HEAT] + heat
        trial[:, k.AIM_BALANCE] = aims
        assert step_error(bank, run, 6.0) == approx(want)


def test_what_leaks_inside_a_cell_is_judged_by_its_charge():
    # half of 0.2 A over 6 s are 0.6 C; allowed are 0.5 x 1e-3 of 720 C: 0.36 C
    cells = (affine_cell(Ah=0.2), affine_cell(Ah=0.4))
    bank, run = under_way(battery("a", *cells), load=steady(10.0))
    bank.setting[k.RELATIVE], bank.setting[k.ABSOLUTE] = 1e-3, 0.0
    run.tally["guess"] = run.tally["goal"] = run.now[0, k.CURRENT] = 10.0
    run.trial_now[0, k.CURRENT], run.trial_now[0, k.HEAT] = 10.0, run.now[0, k.HEAT]
    run.trial[:, k.LEAK] = run.trial[:, k.AIM_LEAK] = 0.3
    assert step_error(bank, run, 6.0) == 0.0
    for aims, want in (
        ((0.5, 0.3), 0.6 / 0.36),
        ((0.3, 0.1), 0.6 / 0.72),
        ((0.1, 0.7), 0.6 / 0.36),
    ):
        run.trial[:, k.AIM_LEAK] = aims
        assert step_error(bank, run, 6.0) == approx(want)


# --- what is left over from before ------------------------------------------------------------


def of_all_kinds():
    pair = RelaxationPair(0.02, 50.0)
    more = {"relaxation": (pair,), "activation_J_mol": 30e3, "gassing_A": 5.0}
    cell = affine_cell(z=1.0, base=6.55, span=0.4, **more)
    cell = replace(cell, ohmic_ohm=Curve.linear([0.0, 1.0], [0.02, 0.01]))
    warm = replace(battery("warm", cell), thermal=Thermal(200.0, 2.0))
    return under_way(warm, bleeding_battery(), load=steady(10.0), until_s=30.0, relative=1e-2)


def litter(run):
    """Leave behind what a refused step might have."""
    for array in (run.trial, run.trial_now, run.probe, run.probe_now):
        array[...] = 123.0
    run.trial[0, k.BALANCE] = run.probe[0, k.BALANCE] = 0.0  # without a balancer it stays
    for name in ("guess", "goal", "stiff"):
        run.tally[name] = 123.0
    run.weight[...] = 0.7
    run.tally["keep"] = run.tally["ramp"] = 0.7


@pytest.mark.parametrize("dt", [3.0, 40.0])
def test_a_step_does_not_hang_on_what_was_tried_before(dt):
    bank, run = of_all_kinds()
    want = attempt(bank, run, dt)
    trial, then, tally = run.trial.copy(), run.trial_now[:, : k.DIODE].copy(), run.tally.copy()
    litter(run)
    assert attempt(bank, run, dt) == want
    known = [k.EMF, k.OHM, k.CURRENT, k.KELVIN, k.FACTOR]
    assert np.array_equal(run.trial_now[:2, known], then[:2, known])
    assert run.trial[0, k.PAIR] == trial[0, k.PAIR]
    for columns in (slice(k.SOC, k.PAIR), slice(k.LEAKED, None)):
        assert np.array_equal(run.trial[:, columns], trial[:, columns])
    assert np.array_equal(run.tally["goal"], tally["goal"])


def test_a_step_that_is_only_tried_moves_nothing():
    bank, run = of_all_kinds()
    kept = [run.moment, run.now, run.ledger[0], run.ledger[2], run.clock, run.tally["out"]]
    before = [array.copy() for array in kept]
    attempt(bank, run, 40.0)
    find_slope(bank, run)
    for array, copy in zip(kept, before, strict=True):
        assert np.array_equal(array, copy)


def test_the_slope_does_not_hang_on_what_was_tried_before():
    bank, run = of_all_kinds()
    find_slope(bank, run)
    want = run.tally["slope"].copy()
    litter(run)
    find_slope(bank, run)
    assert np.array_equal(run.tally["slope"], want)


# --- when there is no answer ------------------------------------------------------------------


def test_which_answers_of_the_network_can_be_gone_on_with():
    fine = {status for status in range(k.FAILED + 1) if instant.solved(status)}
    assert fine == {k.OK, k.NOBODY}


def test_without_an_answer_there_is_no_error_and_no_slope():
    # E^2 / (4 R) of 13.3 V and 5 mohm is 8.9 kW
    bank, run = under_way(affine("a"), load=steady(1000.0, 0.0))
    run.level[:] *= 100.0
    assert attempt(bank, run, 5.0) == (k.SHORTFALL, 0.0)
    find_slope(bank, run)
    assert run.tally["slope"] == approx(np.zeros(1))
