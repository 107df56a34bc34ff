"""The twin's temperatures against closed forms for one lump."""

from dataclasses import replace

import numpy as np
import pytest
from pytest import approx
from twin_banks import amperes, battery_above, between, happened, solved, wide

from bankSim.crosscheck.twin_result import HEATER_OFF, HEATER_ON, TRIP
from bankSim.model.cell import RelaxationPair
from bankSim.model.curve import Curve
from bankSim.model.load import Schedule
from bankSim.model.rule import Blocks, Rule, Watch
from bankSim.model.upkeep import Heater, Thermal

LUMP = Thermal(capacity_J_K=5000.0, loss_W_K=2.0)
RATE = 2.0 / 5000.0
FLAT = {"offset_V": 13.0, "slope_V": 0.0}


def warmed_K(power_W, seconds):
    """T - Ta = P/hA (1 - exp(-hA t/C))."""
    return power_W / 2.0 * (1 - np.exp(-RATE * seconds))


def test_losses_warm_exponentially_to_a_steady_state():
    # I^2 (R0 + internal) with 20 A
    battery = wide(ohm=8e-3, internal_ohm=2e-3, thermal=LUMP, cell=FLAT)
    found = solved(battery, loads=[between("load", 20.0, 0.0, 1e6)], hours=2.0)
    times = np.array([0.0, 600.0, 7200.0])
    expected = 298.15 + warmed_K(20.0**2 * 0.01, times)
    assert found.temperature_K(times)[:, 0] == approx(expected, abs=1e-5)
    assert found.final_temperature_K == approx(expected[-1:])


def test_relaxation_and_charging_losses_are_heat():
    # settled pair: I^2 R1; 10 % of 20 A x 13 V does not go into charge
    cell = FLAT | {"relaxation": (RelaxationPair(4e-3, 1.0),), "coulombic_efficiency": 0.9}
    found = solved(
        wide(ohm=6e-3, z=0.1, thermal=LUMP, cell=cell), chargers=(amperes(20.0, 15.0),), hours=4.0
    )
    warmer = found.final_temperature_K - 298.15
    expected = warmed_K(20.0**2 * 0.01 + 0.1 * 20.0 * 13.0, 4 * 3600.0)
    assert warmer == approx([expected], rel=1e-4)  # the pair takes a second to settle


def test_diode_is_heat_and_standing_draw_is_heat():
    full = battery_above(12.0, Blocks.CHARGE)
    cell = FLAT | {"standing_A": 0.1}
    found = solved(
        wide(ohm=0.01, Ah=300.0, rules=[full], thermal=LUMP, cell=cell),
        loads=[between("load", 20.0, 0.0, 1e6)],
        hours=4.0,
    )
    power_W = 20.0**2 * 0.01 + 0.7 * 20.0 + 0.1 * 13.0
    assert found.final_temperature_K == approx([298.15 + warmed_K(power_W, 4 * 3600.0)], abs=1e-5)
    assert found.delivered_Wh == approx([(13.0 - 0.2 - 0.7) * 20.0 * 4.0])


@pytest.mark.parametrize(
    ("activation_J_mol", "temperature_C", "ratio"),
    [(33.8e3, -20.0, 11.29), (33.8e3, 40.0, 0.520), (40.9e3, 0.0, 4.53), (20e3, 10.0, 1.53)],
)
def test_resistance_follows_arrhenius(activation_J_mol, temperature_C, ratio):
    # R(T) = R25 exp(Ea/Rg (1/T - 1/298.15)); energies of LFP charge and discharge transfer from
    # Electrochim. Acta 60 (2012) 269, 20 kJ/mol a usual whole-cell value (from memory)
    cell = FLAT | {"activation_J_mol": activation_J_mol, "relaxation": (RelaxationPair(1e-3, 1.0),)}
    found = solved(
        wide(ohm=1e-3, cell=cell),
        loads=[between("load", 10.0, 0.0, 1e6)],
        temperature_K=273.15 + temperature_C,
        hours=0.1,
    )
    drops = 13.0 - found.voltage_V([0.0, 300.0])
    assert drops / 10e-3 == approx([ratio, 2 * ratio], rel=3e-3)


def test_daily_swing_is_followed_late_and_damped():
    # C dT/dt = hA (Ta - T), Ta = Tm + S cos(w (t - t0)): amplitude S k/sqrt(k^2 + w^2), late by
    # atan(w/k), plus what the start leaves
    w, t0, swing = 2 * np.pi / 86400.0, 9.0 * 3600.0, 8.0
    found = solved(wide(thermal=LUMP), wide("b"), hours=48.0, swing_K=swing, starts_at_s=6 * 3600.0)
    times = np.linspace(0.0, 48.0, 9) * 3600.0
    surroundings = 298.15 + swing * np.cos(w * (times - t0))
    damped = swing * RATE / np.hypot(RATE, w) * np.cos(w * (times - t0) - np.arctan2(w, RATE))
    left = surroundings[0] - 298.15 - damped[0]
    expected = 298.15 + damped + left * np.exp(-RATE * times)
    assert found.temperature_K(times)[:, 0] == approx(expected, abs=1e-5)
    assert found.temperature_K(times)[:, 1] == approx(surroundings, abs=1e-9)


def test_rule_on_the_swing_acts_when_it_is_crossed():
    # Ta falls through its mean 6 h after the warmest hour, 15:00
    cold = Rule(Watch.TEMPERATURE, True, 298.15, 60.0, Blocks.CHARGE)
    found = solved(wide(rules=[cold]), hours=24.0, swing_K=5.0, starts_at_s=12 * 3600.0)
    assert happened(found) == [(approx(9 * 3600.0 + 60.0, abs=0.01), TRIP)]


def test_the_cold_raises_the_resistance_earlier_and_leaves_the_voltage_at_rest():
    # f = 0.75 at 0 degC: R0 is read at 1 - 0.5 / 0.75 = 1/3, the voltage at 0.5: 12.8 V
    part = Curve.linear([263.15, 298.15], [0.65, 1.0], hold_ends=True)
    ohm = Curve.linear([0.0, 1.0], [0.02, 0.005])
    battery = wide(z=0.5, cell={"usable_part": part})
    battery = replace(battery, cells=(replace(battery.cells[0], ohmic_ohm=ohm),))
    load = between("load", 10.0, 10.0, 1e6)
    found = solved(battery, loads=[load], temperature_K=273.15)
    expected = [12.8, 12.8 - 10.0 * 0.015]
    assert found.voltage_V([5.0, 10.0]) == approx(expected, abs=1e-6)


def test_heater_cycles_between_its_limits():
    # on at 272 K: T = Ta + P/hA (1 - exp(-k t)); off at 279 K, then it cools to 275 K
    heater = Heater(30.0, 275.0, 279.0, needs_charger=False)
    found = solved(wide(thermal=LUMP, heater=heater, cell=FLAT), temperature_K=272.0, hours=2.0)
    warm_s = -np.log(1 - 7.0 * 2.0 / 30.0) / RATE
    cool_s = np.log(7.0 / 3.0) / RATE
    first = happened(found)[:3]
    assert first[0] == (0.0, HEATER_ON)
    assert first[1] == (approx(warm_s, abs=2.0), HEATER_OFF)  # 30 W through 5 mohm warm a bit too
    assert first[2] == (approx(warm_s + cool_s, abs=3.0), HEATER_ON)
    assert found.current_A([1.0])[0] == approx([30.0 / 13.0], rel=2e-3)


def test_heater_waits_for_a_charger():
    charger = amperes(5.0, 14.0, schedule=Schedule(active_s=((1000.0, 2000.0),)))
    found = solved(
        wide(thermal=LUMP, heater=Heater(30.0, 275.0, 279.0), cell=FLAT),
        temperature_K=272.0,
        chargers=(charger,),
        hours=1.0,
    )
    assert found.temperature_K([1000.0])[0] == approx([272.0])
    peak_K = found.temperature_K([2000.0])[0]
    assert peak_K == approx([272.0 + warmed_K(30.0, 1000.0)], abs=0.1)
    assert found.temperature_K([3600.0])[0] < peak_K
