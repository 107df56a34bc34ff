"""The slow twin against closed forms, derived beside each check."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from crosscheck_banks import affine_battery, lively_pair, steady, string

from bankSim.crosscheck import twin as twin_module
from bankSim.crosscheck.twin import ALL_OVER, COLLAPSE, EMPTY, solve_twin
from bankSim.crosscheck.twin_board import Board
from bankSim.crosscheck.twin_cells import Plant
from bankSim.crosscheck.twin_network import rail_matrix
from bankSim.model.bank import Bank, Layout, Wiring
from bankSim.model.cell import RelaxationPair
from bankSim.model.load import Load
from bankSim.model.rule import Blocks, Rule, Watch


@pytest.mark.parametrize(
    ("ohm", "Ah", "slope_V", "load_A", "start", "end_s"),
    [
        ((5e-3, 10e-3), (100.0, 100.0), 0.6, 60.0, (0.9, 0.9), 3600.0),
        ((5e-3, 10e-3), (100.0, 200.0), 0.6, 60.0, (0.9, 0.9), 3600.0),
        ((8e-3, 6e-3), (250 / 3, 1000 / 9), 0.76, 40.0, (0.95, 0.80), 1800.0),
        ((5e-3, 10e-3), (100.0, 100.0), 0.6, 0.0, (0.9, 0.5), 3600.0),
    ],
)
def test_two_affine_batteries_share_as_the_closed_form_says(ohm, Ah, slope_V, load_A, start, end_s):
    # E = U0 + a z, total current I: tau = (R1 + R2)/a Q1 Q2/(Q1 + Q2) and
    # I1 = I1inf + (I1(0) - I1inf) exp(-t/tau); Weng et al., arXiv:2211.04961
    pair = tuple(
        affine_battery(n, r, q, z, slope_V=slope_V)
        for n, r, q, z in zip("ab", ohm, Ah, start, strict=True)
    )
    found = solve_twin(Bank(pair, Wiring(), (steady(load_A),), duration_s=end_s))
    total_ohm = sum(ohm)
    tau = total_ohm / slope_V * 3600.0 * Ah[0] * Ah[1] / sum(Ah)
    first = (slope_V * (start[0] - start[1]) + load_A * ohm[1]) / total_ohm
    last = load_A * Ah[0] / sum(Ah)
    given = (last * end_s + (first - last) * tau * (1 - np.exp(-end_s / tau))) / 3600.0
    times = np.array([0.0, 0.3 * end_s, end_s])
    current = last + (first - last) * np.exp(-times / tau)
    assert found.current_A(times)[:, 0] == pytest.approx(current, rel=1e-8)
    net = found.delivered_Ah - found.charged_Ah
    assert net == pytest.approx([given, load_A * end_s / 3600.0 - given], rel=1e-8)
    assert found.end_reason == ALL_OVER


def test_relaxation_follows_a_current_step():
    # RC response: V = U - I R0 - I R1 (1 - exp(-t/tau)) during the pulse, then decay from its end
    pair = RelaxationPair(2e-3, 50.0)
    alone = affine_battery("a", 4e-3, 1e7, 0.5, relaxation=(pair,))
    pulse = Load("pulse", 1.0, np.array([100.0, 250.0]), np.array([30.0, 0.0]))
    found = solve_twin(Bank((alone,), Wiring(), (pulse,), duration_s=600.0))
    rise, fall = np.array([100.0, 130.0, 249.0]), np.array([250.0, 300.0, 600.0])
    reached = 0.06 * (1 - np.exp(-150.0 / 50.0))
    assert found.voltage_V(rise) == pytest.approx(
        13.1 - 0.12 - 0.06 * (1 - np.exp(-(rise - 100.0) / 50.0)), abs=1e-6
    )
    assert found.voltage_V(fall) == pytest.approx(
        13.1 - reached * np.exp(-(fall - 250.0) / 50.0), abs=1e-6
    )


def test_hysteresis_follows_charge():
    # dh/dt = -|g I/Q| (h + 1) with I > 0 gives h = exp(-g q/Q) - 1
    alone = affine_battery("a", 0.0, 10.0, 0.9, slope_V=0.0, hysteresis_V=0.02, hysteresis_rate=30)
    found = solve_twin(Bank((alone,), Wiring(), (steady(5.0),), duration_s=720.0))
    h = np.exp(-30 * 0.1) - 1
    assert found.voltage_V(720.0) == pytest.approx(12.8 + 0.02 * h, abs=1e-8)


def test_charging_stores_its_share_and_standing_draw_goes_on():
    alone = affine_battery("a", 1e-3, 10.0, 0.5, coulombic_efficiency=0.9, standing_A=0.1)
    found = solve_twin(Bank((alone,), Wiring(), (steady(-2.0),), duration_s=3600.0))
    assert found.final_state_of_charge == pytest.approx([0.5 + (0.9 * 2.0 - 0.1) / 10.0])
    assert found.charged_Ah == pytest.approx([2.0])


@pytest.mark.parametrize("layout", [Layout.SAME_END, Layout.OPPOSITE_ENDS])
def test_ladder_of_equal_batteries(layout):
    # theta = 2 asinh(sqrt(2 r/R)/2); same end: I_k ~ cosh((N - k + 1/2) theta), opposite ends:
    # I_k ~ cosh((k - (N + 1)/2) theta); from Kirchhoff's laws for a uniform ladder
    batteries = tuple(affine_battery(n, 5e-3, 100.0, 0.5) for n in "abcd")
    bank = Bank(batteries, Wiring(layout, 0.5e-3), (steady(100.0),), duration_s=1.0)
    theta = 2 * np.arcsinh(np.sqrt(2 * 0.5 / 5.0) / 2)
    place = np.arange(1, 5)
    far = 4.5 - place if layout is Layout.SAME_END else place - 2.5
    shape = np.cosh(far * theta)
    assert solve_twin(bank).flow_at(0.0).current_A == pytest.approx(100 * shape / shape.sum())


def test_equal_leads_have_no_rails():
    batteries = (affine_battery("a", 1e-3, 1.0, 0.5), affine_battery("b", 1e-3, 1.0, 0.5))
    assert not rail_matrix(Bank(batteries, Wiring(link_ohm=1.0), ())).any()


@pytest.mark.parametrize(
    ("exponent", "expected_V"), [(0.0, 10.0), (0.77, 10.5497), (1.0, 10.6563), (2.0, 10.9880)]
)
def test_loads_on_a_source_with_resistance(exponent, expected_V):
    # V = E - R P0/Vr^n V^(n - 1): 1500 W at 12.8 V on 13 V behind 20 mohm; n = 0 has the closed
    # form (E + sqrt(E^2 - 4 R P))/2, the others satisfy the equation to the digits printed
    reference_V = 1.0 if exponent == 0.0 else 12.8
    source = affine_battery("a", 0.02, 1e6, 0.5, offset_V=13.0, slope_V=0.0)
    load = steady(1500.0 / reference_V**exponent, exponent)
    found = solve_twin(Bank((source,), Wiring(), (load,), duration_s=1.0))
    assert found.voltage_V(0.0) == pytest.approx(expected_V, abs=6e-5)


def test_collapse_comes_where_power_reaches_its_limit():
    # V = (E + sqrt(E^2 - 4 R P))/2: constant power is possible down to E^2 = 4 R P
    source = affine_battery("a", 0.02, 20.0, 1.0, offset_V=8.0, slope_V=5.0)
    found = solve_twin(Bank((source,), Wiring(), (steady(1500.0, 0.0),), duration_s=9000.0))
    assert found.end_reason == COLLAPSE
    z = found.final_state_of_charge[0]
    assert 8.0 + 5.0 * z == pytest.approx(np.sqrt(4 * 0.02 * 1500.0), rel=1e-6)


def test_delay_runs_from_the_crossing_and_starts_anew():
    rule = Rule(Watch.DISCHARGE_CURRENT, False, 20.0, 30.0)
    battery = string("a", 100.0, 0.5, rules=(rule,))
    times = np.array([0.0, 100.0, 120.0, 200.0])
    pulses = Load("pulses", 1.0, times, np.array([5.0, 25.0, 5.0, 25.0]))
    found = solve_twin(Bank((battery,), Wiring(), (pulses,), duration_s=3600.0))
    assert [trip.time_s for trip in found.trips] == pytest.approx([230.0])
    assert found.end_reason == EMPTY


def test_equal_batteries_cut_out_together():
    pair = (string("a", 20.0, 0.5), string("b", 20.0, 0.5))
    found = solve_twin(Bank(pair, Wiring(), (steady(20.0),), duration_s=9000.0))
    first, second = found.cut_outs
    assert (first.battery, second.battery, first.cell, second.cell) == (0, 1, 4, 4)
    assert first.time_s == second.time_s
    assert first.bus_V == second.bus_V


def test_blocked_charge_leaves_discharge_open():
    # the fuller battery cannot charge the blocked one, whose current stays 0 until it is needed
    rule = Rule(Watch.CHARGE_CURRENT, False, 1.0, 0.0, Blocks.CHARGE)
    low = replace(string("low", 50.0, 0.5, rules=(rule,), z=0.3), diode_drop_V=0.1)
    full = string("full", 50.0, 0.5, rules=(), z=0.9)
    load = Load("late", 1.0, np.array([60.0]), np.array([200.0]))
    found = solve_twin(Bank((low, full), Wiring(), (load,), duration_s=120.0))
    assert [(t.time_s, t.blocks) for t in found.trips] == [(0.0, Blocks.CHARGE)]
    assert found.current_A([30.0])[0] == pytest.approx([0.0, 0.0], abs=1e-9)
    assert (found.current_A([60.0])[0] > 20.0).all()
    assert found.charged_Ah[0] == 0.0


def test_refused_charge_is_dropped_until_the_loads_change():
    rule = Rule(Watch.CHARGE_CURRENT, False, 1.0, 0.0, Blocks.CHARGE)
    alone = string("a", 50.0, 0.5, rules=(rule,), z=0.5)
    profile = Load("profile", 1.0, np.array([0.0, 60.0]), np.array([-5.0, 5.0]))
    found = solve_twin(Bank((alone,), Wiring(), (profile,), duration_s=120.0))
    assert found.refused_s == (0.0,)
    assert found.charged_Ah[0] == 0.0
    assert found.delivered_Ah == pytest.approx([5.0 * 60.0 / 3600.0])


def test_run_goes_on_to_the_end_when_asked():
    small = string("a", 1.0, 0.5)
    bank = Bank((small,), Wiring(), (steady(5.0),), duration_s=3600.0, stop_when_empty=False)
    found = solve_twin(bank)
    assert (found.end_reason, found.end_time_s) == (ALL_OVER, 3600.0)
    assert len(found.cut_outs) == 1


def test_tighter_tolerance_changes_nothing_that_matters():
    bank = nearly_empty(lively_pair())
    usual, tight = solve_twin(bank), solve_twin(bank, rtol=1e-11, atol=1e-12)
    assert usual.delivered_Ah == pytest.approx(tight.delivered_Ah, rel=1e-7)
    times = [[trip.time_s for trip in found.cut_outs] for found in (usual, tight)]
    assert times[0] == pytest.approx(times[1], rel=1e-7)
    assert len(times[0]) == 2


def nearly_empty(bank):
    """The bank shortly before its batteries cut out, with a quarter of its charge."""
    batteries = tuple(
        replace(
            b, cells=tuple(replace(c, state_of_charge=0.25 * c.state_of_charge) for c in b.cells)
        )
        for b in bank.batteries
    )
    return replace(bank, batteries=batteries)


def test_rates_depend_on_no_part_of_the_state_that_only_counts():
    plant = Plant(lively_pair())
    now = Board(plant).switching()
    y = plant.start
    counts = np.setdiff1d(np.arange(y.size), plant.layout.felt)
    assert counts.size == 8  # charge and energy, given and taken, of two batteries
    moved = y.copy()
    moved[counts] += 0.3
    assert np.array_equal(plant.rates(0.0, moved, now), plant.rates(0.0, y, now))
    for place in plant.layout.felt:
        moved = y.copy()
        moved[place] += 1e-3
        assert not np.array_equal(plant.rates(0.0, moved, now), plant.rates(0.0, y, now))


def test_twin_shares_no_code_with_the_solver():
    sources = Path(twin_module.__file__).parent.glob("twin*.py")
    texts = [source.read_text(encoding="utf-8") for source in sources]
    assert len(texts) > 4
    assert not any("bankSim.kernels" in text or "bankSim.sim" in text for text in texts)
