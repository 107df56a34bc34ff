"""Chargers in ngspice against closed forms."""

import numpy as np
import pytest
from crosscheck_banks import affine_battery, steady

from bankSim.crosscheck.spice import solve_spice
from bankSim.model.bank import Bank, Wiring
from bankSim.model.charger import Charger, Stage, Sun
from bankSim.model.load import Load, Schedule

H = 3600.0
OHM, AH = 8e-3, 50.0
pytestmark = [pytest.mark.ngspice, pytest.mark.usefixtures("spice")]


def charged(*chargers, hours, loads=(), z=0.5, **bank):
    battery = affine_battery("a", OHM, AH, z)
    return Bank((battery,), Wiring(), loads, chargers=chargers, duration_s=hours * H, **bank)


def current_A(found, times):
    return np.interp(times, found.time_s, -found.current_A[:, 0])


def test_constant_current_then_constant_voltage():
    # E = 12.8 + 0.6 z: at 20 A the hold of 13.3 V is met when E = 13.3 - 0.16; then I falls as
    # exp(-t / tau), tau = R Q / slope, because E closes in on the hold through R
    charger = Charger("mains", (Stage(13.3),), limit_A=20.0)
    found = solve_spice(charged(charger, hours=2.0), 2 * H)
    met_s = ((13.3 - 20.0 * OHM - 12.8) / 0.6 - 0.5) * AH * H / 20.0
    tau_s = OHM * AH * H / 0.6
    times = np.array([60.0, met_s - 10.0, met_s + 60.0, met_s + 900.0, met_s + 5000.0])
    expected = 20.0 * np.exp(-np.maximum(times - met_s, 0.0) / tau_s)
    assert current_A(found, times) == pytest.approx(expected, rel=1e-3)
    assert found.voltage_V(times[3:]) == pytest.approx([13.3, 13.3], abs=2e-4)
    stored_C = 20.0 * (met_s + tau_s * (1.0 - np.exp(-(2 * H - met_s) / tau_s)))
    assert found.charged_Ah[-1, 0] == pytest.approx(stored_C / 3600.0, rel=1e-4)


def test_constant_power():
    # at the start V = (E + sqrt(E^2 + 4 R P)) / 2 and I = P / V
    charger = Charger("mains", (Stage(15.0),), limit_W=300.0)
    found = solve_spice(charged(charger, hours=0.1), 60.0)
    volts = 0.5 * (13.1 + np.sqrt(13.1**2 + 4.0 * OHM * 300.0))
    assert current_A(found, 1.0) == pytest.approx(300.0 / volts, rel=1e-4)


def test_stages_end_at_their_tail_and_after_their_time():
    # the tail of 5 A is reached tau ln(20 / 5) after the hold is met; E then is 13.26 V, above
    # the second hold, so nothing flows for 1000 s; the third stage ends the rest at 13.27 V
    stages = (Stage(13.3, tail_A=5.0), Stage(13.25, most_s=1000.0), Stage(13.27))
    found = solve_spice(charged(Charger("mains", stages, limit_A=20.0), hours=2.0), 2 * H)
    met_s = ((13.3 - 20.0 * OHM - 12.8) / 0.6 - 0.5) * AH * H / 20.0
    tail_s = met_s + OHM * AH * H / 0.6 * np.log(4.0)
    times = tail_s + np.array([-10.0, 10.0, 990.0, 1010.0])
    assert current_A(found, times) == pytest.approx([5.02, 0.0, 0.0, 1.25], abs=0.02)


def test_stages_begin_anew_when_the_schedule_comes_back():
    stages = (Stage(13.3, most_s=300.0), Stage(13.0))
    windows = Schedule(active_s=((0.0, 900.0), (1800.0, 3600.0)))
    charger = Charger("mains", stages, limit_A=10.0, schedule=windows)
    found = solve_spice(charged(charger, hours=1.0), H)
    times = np.array([100.0, 600.0, 1200.0, 1900.0, 2300.0])
    assert current_A(found, times) == pytest.approx([10.0, 0.0, 0.0, 10.0, 0.0], abs=1e-3)


def test_last_stage_with_an_end_switches_the_charger_off():
    charger = Charger("mains", (Stage(13.3, most_s=600.0),), limit_A=10.0)
    found = solve_spice(charged(charger, hours=0.5), 1800.0)
    assert current_A(found, np.array([590.0, 620.0])) == pytest.approx([10.0, 0.0], abs=1e-3)


def test_sun_follows_half_a_sine():
    # P(t) = peak sin(pi (clock - rise)/(set - rise)); the run starts at 05:00, the sun at 06:00
    sun = Charger("sun", (Stage(16.0),), sun=Sun(100.0, 6 * H, 18 * H))
    bank = charged(sun, hours=26.0, z=0.1, starts_at_s=5 * H)
    found = solve_spice(bank, 26 * H, max_step_s=20.0)
    times = np.array([0.5, 3.0, 7.0, 15.0, 25.5]) * H
    clock = np.mod(times + 5 * H, 24 * H)
    watts = 100.0 * np.maximum(np.sin(np.pi * (clock / H - 6.0) / 12.0), 0.0)
    watts[clock > 18 * H] = 0.0
    volts = found.voltage_V(times)
    assert current_A(found, times) * volts == pytest.approx(watts, abs=0.01)
    assert sun.edges_s(bank.duration_s, bank.starts_at_s) / H == pytest.approx([1.0, 13.0, 25.0])


def test_chargers_of_one_hold_share_by_their_limits_and_feed_loads_first():
    pair = tuple(Charger("m", (Stage(13.12),), limit_A=amps) for amps in (5.0, 15.0))
    found = solve_spice(charged(*pair, hours=0.1, loads=(steady(4.0),)), 60.0)
    # R I = 13.12 - 13.1 - what has been stored by then: 2.5 A for 30 s of 180,000 As
    expected = (0.02 - 0.6 * 2.5 * 30.0 / (AH * H)) / OHM
    assert current_A(found, 30.0) == pytest.approx(expected, rel=1e-3)


def test_negative_loads_charge():
    profile = Load("feed", 1.0, np.array([0.0, 60.0]), np.array([-5.0, 5.0]))
    found = solve_spice(charged(hours=0.1, loads=(profile,)), 120.0)
    assert current_A(found, np.array([30.0, 90.0])) == pytest.approx([5.0, -5.0], rel=1e-6)
