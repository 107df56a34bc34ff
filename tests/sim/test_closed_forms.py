"""Whole runs against closed forms that hold outside this project.

Two batteries with straight voltage curves: derived from Kirchhoff's and Faraday's laws; the same
result is published by Weng, Pannala, Siegel, Stefanopoulou, arXiv:2211.04961.
"""

import math

import numpy as np
import pytest
from pytest import approx
from simple_banks import affine, affine_cell, bank_of, battery, run, steady, stepped

from bankSim.model.bank import Layout, Wiring
from bankSim.model.cell import RelaxationPair
from bankSim.model.curve import Curve
from bankSim.model.half_cells import graphite_voltage, iron_phosphate_voltage

TIGHT = {"relative_tolerance": 1e-7, "absolute_tolerance_A": 1e-8}

# R [mohm], Q [Ah], a [V], I [A], z at start, hours; then tau [s], I1(0) [A], I1(t) [A],
# Ah of each, z of each at t
TWO = [
    ((5, 10), (100, 100), 0.6, 60, (0.9, 0.9), 1.0,
     4500.0, 40.0, 34.49329, (36.88339, 23.11661), (0.531166, 0.668834)),
    ((5, 10), (100, 200), 0.6, 60, (0.9, 0.9), 1.0,
     6000.0, 40.0, 30.97623, (35.03961, 24.96039), (0.549604, 0.775198)),
    ((8, 6), (250 / 3, 1000 / 9), 0.76, 40, (0.95, 0.80), 0.5,
     3157.895, 25.28571, 21.74785, (11.67482, 8.32518), (0.809902, 0.725073)),
    ((5, 10), (100, 100), 0.6, 0, (0.9, 0.5), 1.0,
     4500.0, 16.0, 7.18926, (11.01342, -11.01342), (0.789866, 0.610134)),
]  # fmt: skip


@pytest.mark.parametrize("case", TWO, ids=["equal Ah", "unequal Ah", "equal R Q", "joining"])
def test_two_straight_batteries(case):
    mohm, Ah, span, amperes, start, hours, tau, first, last, table_Ah, table_z = case
    pair = [
        affine(name, r / 1e3, q, z, span=span)
        for name, r, q, z in zip("ab", mohm, Ah, start, strict=True)
    ]
    result = run(bank_of(*pair, load=steady(amperes), duration_s=hours * 3600), **TIGHT)
    # I1(t) = Iinf + (I1(0) - Iinf) exp(-t / tau)
    (r1, r2), (q1, q2) = np.array(mohm) / 1e3, np.array(Ah) * 3600.0
    exact_tau = (r1 + r2) / span * q1 * q2 / (q1 + q2)
    exact_first = (span * (start[0] - start[1]) + amperes * r2) / (r1 + r2)
    limit, t = amperes * q1 / (q1 + q2), hours * 3600.0
    fade = math.exp(-t / exact_tau)
    exact_Ah = (limit * t + (exact_first - limit) * exact_tau * (1.0 - fade)) / 3600.0
    assert exact_tau == approx(tau, rel=1e-6)
    assert exact_first == approx(first, rel=1e-6)
    net_Ah = [b.delivered_Ah - b.charged_Ah for b in result.batteries]
    assert net_Ah[0] == approx(exact_Ah, rel=1e-5)
    assert net_Ah == approx(table_Ah, rel=1e-5)
    table = result.timeline()
    assert table["a.current_A"].iloc[0] == approx(exact_first, rel=1e-9)
    assert table["a.current_A"].iloc[-1] == approx(limit + (exact_first - limit) * fade, rel=1e-5)
    assert table["a.current_A"].iloc[-1] == approx(last, rel=1e-5)
    soc = [b.final_state_of_charge[0] for b in result.batteries]
    assert soc == approx(table_z, rel=1e-5)


def test_terminal_voltage_of_the_first_case():
    pair = [affine("a", 5e-3), affine("b", 10e-3)]
    result = run(bank_of(*pair, load=steady(60.0)), **TIGHT)
    # U0 + a z1 - R1 I1 = 12.946233 V at 1 h
    assert result.timeline()["bank.voltage_V"].iloc[-1] == approx(12.946233, abs=2e-6)


def test_three_straight_batteries():
    # eigenvalues of a diag(1/Q) (diag(G) - G G' / sum G): 5265.57 and 3150.43 s; 4 decimals
    ohm, Ah = (4e-3, 6e-3, 12e-3), (100.0, 120.0, 80.0)
    trio = [affine(n, r, q) for n, r, q in zip("abc", ohm, Ah, strict=True)]
    result = run(bank_of(*trio, load=steady(90.0), duration_s=7200, output_every_s=600.0), **TIGHT)
    table = result.timeline().set_index("time_s")
    found = table[["a.current_A", "b.current_A", "c.current_A"]].loc[[0, 600, 1800, 3600, 7200]]
    assert found.to_numpy() == approx(
        np.array(
            [
                [45.0, 30.0, 15.0],
                [42.4816, 31.3414, 16.1770],
                [38.6549, 33.2787, 18.0664],
                [35.0183, 34.9371, 20.0445],
                [31.7187, 36.0905, 22.1908],
            ]
        ),
        rel=1e-5,
    )


def lfp_set_a(z):
    # Safari & Delacourt (2011) half cells over the windows of Schimpe et al. (2018)
    phosphate = iron_phosphate_voltage(0.916 + z * (0.045 - 0.916))
    return 4.0 * (phosphate - graphite_voltage(0.0085 + z * (0.78 - 0.0085)))


@pytest.mark.slow
def test_two_batteries_with_a_flat_curve_and_a_knee():
    # same voltage function, SciPy solve_ivp at rtol 1e-10; printed to 3 decimals of current and
    # 4 of voltage and charge
    curve = Curve.smooth(lfp_set_a, np.linspace(0.0, 1.0, 401))
    pair = []
    for name, ohm in (("a", 4e-3), ("b", 8e-3)):
        cell = affine_cell(ohm, 100.0, 1.0)
        pair.append(battery(name, type(cell)(curve, Curve.constant(ohm), 360_000.0, 1.0)))
    bank = bank_of(*pair, load=steady(50.0), duration_s=13_574.3, output_every_s=600.0)
    result = run(bank, **TIGHT)
    table = result.timeline().set_index("time_s")
    times = [0, 600, 1800, 3600, 5400, 7200, 9000, 10800, 12600]
    want = {
        "a.current_A": (
            [33.333, 30.476, 32.174, 28.007, 29.168, 29.716, 22.213, 17.757, 14.293], 6e-4),
        "bank.voltage_V": (
            [13.5542, 13.2862, 13.2383, 13.1793, 13.1276, 13.0909, 13.0101, 12.9009, 12.6689],
            6e-5),
        "a.state_of_charge": (
            [1.0, 0.9499, 0.8439, 0.6926, 0.5524, 0.4025, 0.2700, 0.1748, 0.0868], 6e-5),
        "b.state_of_charge": (
            [1.0, 0.9667, 0.9061, 0.8074, 0.6976, 0.5975, 0.4800, 0.3252, 0.1632], 6e-5),
    }  # fmt: skip
    for column, (values, within) in want.items():
        assert table[column].loc[times].to_numpy() == approx(np.array(values), abs=within)
    assert result.batteries[0].final_state_of_charge[0] == approx(0.05, abs=2e-6)
    delivered = [b.delivered_Ah for b in result.batteries]
    assert delivered == approx([95.0, 93.53], abs=6e-3)


def test_rc_step_response():
    # one battery, I = 20 A from rest: V(t) = U - I R0 - sum I Rj (1 - exp(-t / tau_j)), U flat
    pairs = (RelaxationPair(2e-3, 10.0), RelaxationPair(3e-3, 110.0), RelaxationPair(1e-3, 1800.0))
    cell = affine_cell(5e-3, 100.0, 0.5, span=0.0, relaxation=pairs)
    bank = bank_of(battery("a", cell), load=steady(20.0), duration_s=1200, output_every_s=7.0)
    table = run(bank).timeline()
    t = table["time_s"].to_numpy()
    exact = 12.8 - 0.1
    for pair in pairs:
        exact = exact - 20.0 * pair.resistance_ohm * (1.0 - np.exp(-t / pair.time_constant_s))
    assert table["bank.voltage_V"].to_numpy() == approx(exact, abs=1e-9)


def test_rc_rebound_after_the_load_goes():
    # the same pair relaxes with exp(-t / tau) once the current stops
    cell = affine_cell(5e-3, 100.0, 0.5, span=0.0, relaxation=(RelaxationPair(3e-3, 110.0),))
    bank = bank_of(battery("a", cell), load=stepped([0, 330], [20, 0]), duration_s=660)
    table = run(bank).timeline()
    left = 20.0 * 3e-3 * (1.0 - math.exp(-3.0)) * math.exp(-3.0)
    assert table["bank.voltage_V"].iloc[-1] == approx(12.8 - left, abs=1e-10)


def test_hysteresis_offset_after_a_long_discharge():
    # M h with h -> -1: V sits M under the curve once g dz >> 1 (Plett 2004)
    cell = affine_cell(0.0, 100.0, 0.9, hysteresis_V=0.02, hysteresis_rate=50.0)
    bank = bank_of(battery("a", cell, lead=1e-3), load=steady(10.0), duration_s=3.0 * 3600.0)
    row = run(bank).timeline().iloc[-1]
    branch = -1.0 + math.exp(-50.0 * 0.3)
    assert row["a.voltage_V"] == approx(12.8 + 0.6 * 0.6 + 0.02 * branch, abs=1e-12)


@pytest.mark.slow
def test_share_is_by_conductance_first_and_by_capacity_later():
    # I1(0) = I R2 / (R1 + R2); I1(inf) = I Q1 / (Q1 + Q2)
    pair = [affine("a", 4e-3, 50.0, 1.0, span=4.0), affine("b", 12e-3, 150.0, 1.0, span=4.0)]
    result = run(bank_of(*pair, load=steady(20.0), duration_s=4 * 3600), **TIGHT)
    current = result.timeline()["a.current_A"]
    assert current.iloc[0] == approx(15.0, rel=1e-9)
    assert result.batteries[0].share_at_start == approx(0.75, rel=1e-9)
    assert current.iloc[-1] == approx(5.0, rel=1e-4)


@pytest.mark.parametrize("layout", [Layout.SAME_END, Layout.OPPOSITE_ENDS])
def test_a_row_shares_by_the_ladder_at_first(layout):
    # ladder of equal batteries, I_k ~ cosh(...): see tests/kernels/test_network.py
    row = [affine(f"b{i}", 5e-3) for i in range(4)]
    bank = bank_of(*row, load=steady(100.0), wiring=Wiring(layout, link_ohm=0.5e-3))
    shares = [b.share_at_start for b in run(bank).batteries]
    theta = 2.0 * np.arcsinh(np.sqrt(0.2) / 2.0)
    place = {
        Layout.SAME_END: np.array([3.5, 2.5, 1.5, 0.5]),
        Layout.OPPOSITE_ENDS: np.array([1.5, 0.5, 0.5, 1.5]),
    }[layout]
    assert shares == approx(np.cosh(place * theta) / np.cosh(place * theta).sum(), rel=1e-6)


def test_energy_of_a_power_load_is_its_power_times_the_time():
    result = run(
        bank_of(
            affine("a", 5e-3),
            affine("b", 9e-3),
            load=steady(300.0, exponent=0.0),
            duration_s=7200,
            wiring=Wiring(main_ohm=1e-3),
        )
    )
    assert result.bank.delivered_Wh == approx(600.0, rel=1e-9)
    terminals_Wh = sum(b.delivered_Wh for b in result.batteries)
    assert terminals_Wh == approx(600.0 + result.bank.lead_loss_Wh, rel=1e-6)
    # the main lead alone: I^2 R over 2 h with I from delivered Ah
    mean_A = result.bank.delivered_Ah / 2.0
    assert result.bank.lead_loss_Wh == approx(mean_A**2 * 1e-3 * 2.0, rel=1e-3)
