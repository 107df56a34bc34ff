"""What a charge meets besides: with the first relaxation pair, for charge only, more near full."""

import math
from dataclasses import replace

import numpy as np
import pytest
from pytest import approx
from scipy.integrate import solve_ivp
from simple_banks import affine_cell, bank_of, battery, run, steady, stepped

from bankSim.model.cell import RelaxationPair
from bankSim.model.charge_lag import ChargeLag
from bankSim.model.charger import Charger, Stage
from bankSim.scenario.read import parse_scenario
from bankSim.sim.run import simulate

LAG = affine_cell(
    5e-3, 1e6, 0.5, span=0.0, charge_lag=ChargeLag(20e-3),
    relaxation=(RelaxationPair(3e-3, 110.0), RelaxationPair(1e-3, 900.0)),
)  # fmt: skip


def volts(cell, load, **more):
    """Times and voltages of a battery of one cell. [s, V]"""
    table = run(bank_of(battery("a", cell), load=load, **more)).timeline()
    return table["time_s"].to_numpy(), table["bank.voltage_V"].to_numpy()


@pytest.mark.parametrize("amps", [20.0, -20.0])
def test_step_response_of_either_direction(amps):
    # closed form: V = U - I R0 - sum I Rj (1 - exp(-t / tau_j)), with R1 + Rc for a charge
    t, shown = volts(LAG, steady(amps), duration_s=1200, output_every_s=7.0)
    first = 3e-3 if amps > 0.0 else 23e-3
    exact = 12.8 - amps * 5e-3
    for ohm, tau in ((first, 110.0), (1e-3, 900.0)):
        exact = exact - amps * ohm * (1.0 - np.exp(-t / tau))
    assert shown == approx(exact, abs=1e-9)


def test_what_a_charge_built_up_falls_as_the_pair_does():
    t, shown = volts(LAG, stepped([0, 330], [-20, 0]), duration_s=660)
    left = 20.0 * 23e-3 * (1.0 - math.exp(-3.0)) * math.exp(-3.0)
    left += 20.0 * 1e-3 * (1.0 - math.exp(-330 / 900)) * math.exp(-330 / 900)
    assert t[-1] == 660.0
    assert shown[-1] == approx(12.8 + left, abs=1e-9)


def test_without_a_pair_nothing_lags():
    _, bare = volts(replace(LAG, relaxation=()), steady(-20.0))
    assert bare == approx(12.8 + 20.0 * 5e-3, abs=1e-9)


Ah, FULL_OHM, WIDTH, BEND_V = 100.0, 0.3, 0.01, 0.1
RISING = ChargeLag(FULL_OHM, WIDTH, 0.8, BEND_V)


def met_V(z, amps, lag=RISING):
    """(4.4) and (4.5) of the theory, written once more; z below full."""
    near = lag.width / (lag.width + 1.0 - z) - lag.width / (lag.width + 1.0 - lag.starts_at)
    straight = lag.full_ohm * np.maximum(near, 0.0) * amps
    return straight if lag.bend_V == math.inf else lag.bend_V * np.arcsinh(straight / lag.bend_V)


def near_full(lag, tau_s, z, *, ohm=1e-3):
    """A battery of one cell, 12.8 V at any charge, that is to be charged."""
    pair = RelaxationPair(0.0, tau_s)
    return battery("a", affine_cell(ohm, Ah, z, span=0.0, charge_lag=lag, relaxation=(pair,)))


@pytest.mark.parametrize("lag", [RISING, replace(RISING, bend_V=math.inf)])
@pytest.mark.parametrize("tau_s", [1.0, 300.0])
def test_a_steady_charge_to_full_meets_what_the_law_says(lag, tau_s):
    # general reference: the lag of first order as an integral, by scipy's solver
    bank = bank_of(near_full(lag, tau_s, 0.6), load=steady(-20.0), duration_s=7000.0)
    table = run(replace(bank, output_every_s=100.0)).timeline()
    t, shown = (table[name].to_numpy() for name in ("time_s", "bank.voltage_V"))

    def slope(time_s, volts):
        return (met_V(0.6 + 20.0 * time_s / (3600.0 * Ah), 20.0, lag) - volts) / tau_s

    exact = solve_ivp(slope, (0.0, t[-1]), [0.0], "LSODA", t, rtol=1e-9, atol=1e-9, max_step=5.0)
    assert shown == approx(12.8 + 20.0 * 1e-3 + exact.y[0], abs=1e-3)
    assert exact.y[0].max() > 0.1


def test_at_a_held_voltage_what_is_missing_fades_exponentially():
    # closed form: where nothing bends and U is the same, I = (V - U) (w + 1 - z) / (w Rc), so that
    # w + 1 - z falls as exp(-t (V - U) / (w Rc Q)); R0 and tau too small to matter
    lag = ChargeLag(FULL_OHM, WIDTH)
    one = near_full(lag, 0.1, 0.5, ohm=1e-6)
    charger = Charger("c", (Stage(13.4),), limit_A=1e4)
    bank = replace(bank_of(one, load=steady(0.0), duration_s=5000.0), chargers=(charger,))
    table = run(replace(bank, output_every_s=60.0)).timeline()
    t, z = (table[name].to_numpy() for name in ("time_s", "a.state_of_charge"))
    rate = 0.6 / (WIDTH * FULL_OHM * Ah * 3600.0)
    missing = (WIDTH + 0.5) * np.exp(-rate * t)
    assert WIDTH + 1.0 - z[-1] < 0.1 * (WIDTH + 0.5)
    assert WIDTH + 1.0 - z == approx(missing, rel=1e-3)


def test_a_discharge_and_a_charge_far_from_full_meet_nothing():
    for amps, z in ((20.0, 1.0), (-20.0, 0.5)):
        one = near_full(RISING, 60.0, z)
        table = run(bank_of(one, load=steady(amps), duration_s=1800.0)).timeline()
        assert table["bank.voltage_V"].to_numpy() == approx(12.8 - amps * 1e-3, abs=1e-9)


def test_beyond_full_it_rises_no_more():
    one = replace(RISING, starts_at=-math.inf)
    assert one.volts(1.2, 20.0) == approx(BEND_V * math.asinh(FULL_OHM * 20.0 / BEND_V))
    assert one.volts(1.0, 20.0) == one.volts(1.2, 20.0)


CHARGED = """
[simulation]
duration_h = 10
stop = "end"
[[battery]]
name = "a"
chemistry = "{}"
cells_in_series = 6
rated_capacity_Ah = 100
state_of_charge = 0.3
lead_mohm = 0
[[charger]]
limit_A = {}
hold_V = 14.4
"""


def charge(word, amps, tmp_path):
    """Return the timeline of a charge at 14.4 V."""
    return simulate(parse_scenario(CHARGED.format(word, amps), tmp_path)).timeline()


# Common practice, no source, and the form of Copetti, Lorenzo & Chenlo (1993), from memory: half
# full at C/10 a 12 V battery shows 12.7 to 13.6 V, and comes to 14.4 V at 75 to 90 %.
@pytest.mark.parametrize("word", ["AGM", "gel", "flooded"])
def test_lead_acid_charges_at_the_voltages_of_practice(word, tmp_path):
    table = charge(word, 10, tmp_path)
    z, shown = (table[name].to_numpy() for name in ("a.state_of_charge", "bank.voltage_V"))
    assert 12.7 < np.interp(0.5, z, shown) < 13.6
    assert 0.75 < z[np.argmax(shown > 14.39)] < 0.9


def test_a_flat_hold_takes_little_into_lead(tmp_path):
    # An AGM of 70 % on 13.1 V, as a lithium battery beside it holds, takes some C/13 after minutes
    # and not the C/1.3 that R0 alone lets in (by hand: 0.65 V over 5.85 mohm)
    text = CHARGED.replace("= 0.3", "= 0.7").replace("14.4", "13.1")
    table = simulate(parse_scenario(text.format("AGM", 200), tmp_path)).timeline()
    amps = -table["a.current_A"].to_numpy()
    assert amps[0] == approx(0.65 / 5.85e-3, rel=0.1)  # R0 of 0.975 mohm a cell at 70 %
    assert 5.0 < amps[5] < 10.0


# Common practice, no source: at a fifth to half of its Ah an hour an LFP cell comes to 3.65 V with
# 1 to 4 % still to go, and constant voltage takes some 5 to 30 minutes until a twentieth flows; at
# 3.40 V a cell the last of it takes hours.
@pytest.mark.parametrize("amps", [20, 50])
def test_lfp_ends_a_charge_as_in_practice(amps, tmp_path):
    text = CHARGED.replace("cells_in_series = 6", "cells_in_series = 4\nprotection = []")
    z, amperes, minutes = held(text.replace("14.4", "14.6").format("LFP", amps), 14.6, tmp_path)
    assert 0.96 < z[0] < 0.995
    assert 4.0 < minutes[np.argmax(amperes < 5.0)] < 30.0
    assert z[np.argmax(amperes < 5.0)] == approx(1.0, abs=0.01)
    text = text.replace("14.4", "13.6").replace("= 0.3", "= 0.8")
    z, amperes, minutes = held(text.format("LFP", amps), 13.6, tmp_path)
    assert minutes[np.argmax(amperes < 2.0)] > 60.0
    assert 0.9 < z[np.argmax(amperes < 2.0)] < 0.99


def held(text, hold_V, tmp_path):
    """State of charge, current, minutes from where a charge comes to a voltage. [1], [A], [min]"""
    table = simulate(parse_scenario(text, tmp_path)).timeline()
    at = np.argmax(table["bank.voltage_V"].to_numpy() > hold_V - 1e-3)
    names = ("a.state_of_charge", "a.current_A", "time_s")
    z, amps, time_s = (table[name].to_numpy()[at:] for name in names)
    return z, -amps, (time_s - time_s[0]) / 60.0


# Common practice, no source: a float voltage fills the last of lead-acid slower than absorption.
def test_float_fills_lead_acid_slower_than_absorption(tmp_path):
    hours = {}
    for hold_V in ("13.5", "14.4"):
        text = CHARGED.replace("= 0.3", "= 0.9").replace("14.4", hold_V).replace("= 10", "= 24")
        table = simulate(parse_scenario(text.format("AGM", 20), tmp_path)).timeline()
        time_s, z = (table[name].to_numpy() for name in ("time_s", "a.state_of_charge"))
        hours[hold_V] = np.interp(0.95, np.maximum.accumulate(z), time_s) / 3600.0
    assert hours["13.5"] > 2.0 * hours["14.4"]


def test_rows_of_a_battery_held_for_days_are_quiet(tmp_path):
    # by hand: held full it takes what it loses, 2 % of 100 Ah a month: 2.7 mA, over 0.998
    text = CHARGED.replace("= 6", "= 4\nprotection = []").replace("_h = 10", "_h = 168")
    table = simulate(parse_scenario(text.format("LFP", 20), tmp_path)).timeline()
    late = table["time_s"].to_numpy() > 100 * 3600.0
    milliamps = -1e3 * table["a.current_A"].to_numpy()[late]
    assert milliamps == approx(2.0 / 730.5e-3 / 0.998, rel=0.1)
