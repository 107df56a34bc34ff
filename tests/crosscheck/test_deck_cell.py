"""Wells, gassing, losses, cold and balancers in ngspice against closed forms."""

from dataclasses import replace

import numpy as np
import pytest
from crosscheck_banks import affine_battery, steady, string

from bankSim.crosscheck.deck_balancer import balancer_lines
from bankSim.crosscheck.spice import solve_spice
from bankSim.model.bank import Bank, Wiring
from bankSim.model.curve import Curve
from bankSim.model.load import Schedule
from bankSim.model.upkeep import Balancer, Balancing

H = 3600.0


def run(battery, load, end_s, **bank):
    return solve_spice(Bank((battery,), Wiring(), (load,), duration_s=end_s, **bank), end_s)


@pytest.mark.ngspice
@pytest.mark.usefixtures("spice")
def test_two_wells_under_load_and_at_rest():
    # Manwell & McGowan, Solar Energy 50 (1993) 399: with d the difference of the heads,
    # d = I/(c Q k') (1 - exp(-k' t)) under a current, then it decays with k'; y = z - (1 - c) d
    c, rate, charge_C = 0.3, 1.0 / H, 50.0 * H
    cell = affine_battery("a", 5e-3, 50.0, 1.0, available_fraction=c, well_rate_per_s=rate)
    found = run(cell, steady(20.0, schedule=Schedule(active_s=((0.0, 1800.0),))), 2 * H)
    times = np.array([900.0, 1799.0, 1805.0, 3600.0, 7000.0])
    spent_s = np.minimum(times, 1800.0)
    apart = 20.0 / (c * charge_C * rate) * (1.0 - np.exp(-rate * spent_s))
    apart *= np.exp(-rate * np.maximum(times - 1800.0, 0.0))
    head = 1.0 - 20.0 * spent_s / charge_C - (1.0 - c) * apart
    volts = 12.8 + 0.6 * head - np.where(times < 1800.0, 0.1, 0.0)
    assert found.voltage_V(times) == pytest.approx(volts, abs=1e-5)


@pytest.mark.ngspice
@pytest.mark.usefixtures("spice")
def test_gassing_balances_a_small_charge():
    # beyond full G (y - 1) is lost: 2 A are balanced at y = 1 + 2/G, approached with tau = Q/G
    full = affine_battery("a", 0.0, 1.0, 1.0, gassing_A=40.0)
    found = run(full, steady(-2.0), 600.0)
    times = np.array([30.0, 90.0, 590.0])
    volts = 13.4 + 0.6 * 0.05 * (1.0 - np.exp(-times * 40.0 / H))
    assert found.voltage_V(times) == pytest.approx(volts, abs=1e-5)


@pytest.mark.ngspice
@pytest.mark.usefixtures("spice")
def test_charging_stores_its_share_and_standing_draw_goes_on():
    lossy = affine_battery("a", 0.0, 10.0, 0.5, coulombic_efficiency=0.9, standing_A=0.1)
    found = run(lossy, steady(-2.0), H)
    assert found.voltage_V(H) == pytest.approx(12.8 + 0.6 * (0.5 + 0.17), abs=1e-5)


@pytest.mark.ngspice
@pytest.mark.usefixtures("spice")
def test_cold_raises_the_resistance_as_if_emptier():
    # R0 is read at a = 1 - (1 - z) / f(T): z = 0.8, f = 0.5 gives a = 0.6; U stays
    part = Curve.linear([263.15, 298.15], [0.5, 1.0])
    battery = affine_battery("a", 0.0, 1e6, 0.8, usable_part=part)
    cell = replace(battery.cells[0], ohmic_ohm=Curve.linear([0.0, 1.0], [20e-3, 10e-3]))
    found = run(replace(battery, cells=(cell,)), steady(10.0), 60.0, temperature_K=263.15)
    assert found.voltage_V(30.0) == pytest.approx(12.8 + 0.6 * 0.8 - 10.0 * 14e-3, abs=1e-5)


def four(kind, **more):
    battery = string("a", 50.0, 0.5, spread=0.05, z=0.6, rules=())
    return replace(battery, balancer=Balancer(kind, 2.0, **more))


@pytest.mark.ngspice
@pytest.mark.usefixtures("spice")
def test_bleed_empties_all_but_the_lowest_cell():
    # 2 A for 1800 s out of 50 Ah is 0.02 of three cells; between z = 0.4 and 0.6 a cell falls by
    # 0.025 V per 0.2
    found = run(four(Balancing.BLEED, within_V=1e-4), steady(0.0), 1800.0)
    fall = found.voltage_V(10.0) - found.voltage_V(1800.0)
    assert fall == pytest.approx(3 * 0.02 * 0.125, rel=0.02)


@pytest.mark.ngspice
@pytest.mark.usefixtures("spice")
def test_transfer_moves_charge_and_loses_none():
    # highest and lowest cell sit on the same straight piece: their voltages' sum stays
    found = run(four(Balancing.TRANSFER, within_V=1e-3), steady(0.0), 1800.0)
    assert found.voltage_V(1800.0) == pytest.approx(float(found.voltage_V(10.0)), abs=1e-5)


def test_balancer_of_one_cell_does_nothing():
    only = affine_battery("a", 1e-3, 10.0, 0.5)
    lone = replace(only, balancer=Balancer(Balancing.BLEED, 1.0))
    assert balancer_lines(lone, 1) == ([], [""])


def test_threshold_of_a_balancer_that_always_works_is_left_away():
    _, always = balancer_lines(four(Balancing.BLEED), 1)
    _, above = balancer_lines(four(Balancing.BLEED, starts_above_V=3.45), 1)
    assert "inf" not in always[0]
    assert "- 3.45" in above[0]
