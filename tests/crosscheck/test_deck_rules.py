"""Rules, releases, body diodes and cut-offs in ngspice against values by hand."""

from dataclasses import replace

import numpy as np
import pytest
from crosscheck_banks import CURVE_V, CURVE_Z, affine_battery, steady, string

from bankSim.crosscheck.spice import LET_GO, SHUT, solve_spice
from bankSim.model.bank import Bank, Wiring
from bankSim.model.charger import Charger, Stage
from bankSim.model.load import CutOff, Load, Schedule
from bankSim.model.rule import Blocks, Needs, Release, Rule, Watch

pytestmark = [pytest.mark.ngspice, pytest.mark.usefixtures("spice")]
LOW = Rule(Watch.BATTERY_VOLTAGE, True, 12.5, 5.0, Blocks.DISCHARGE)


def pulses(*windows, amps=30.0):
    return steady(amps, schedule=Schedule(active_s=windows))


def run(batteries, loads, end_s, **bank):
    return solve_spice(
        Bank(batteries, Wiring(), loads, duration_s=end_s, stop_when_empty=False, **bank), end_s
    )


def currents(found, times):
    return np.column_stack([np.interp(times, found.time_s, column) for column in found.current_A.T])


def test_release_comes_back_after_its_delay_again_and_again():
    # V = 12.8 + 0.6 z - 0.3 at 30 A reaches 12.5 V at z = 0, after 240 s; 5 s later it trips, at
    # rest V is above 12.72 V at once, 60 s later it releases, and 5 s after that it trips again
    rule = replace(LOW, release=Release(12.72, 60.0))
    battery = affine_battery("a", 10e-3, 20.0, 0.1, rules=(rule,))
    found = run((battery,), (steady(30.0),), 1000.0)
    shut, let_go = (found.switchings[0, Blocks.DISCHARGE, step] for step in (SHUT, LET_GO))
    assert shut == pytest.approx(245.0 + 65.0 * np.arange(12), abs=0.1)
    assert let_go == pytest.approx(305.0 + 65.0 * np.arange(11), abs=0.1)


def test_release_waits_for_its_threshold_without_a_break():
    # after the trip the other battery lifts nothing: at rest V = 12.8 + 0.6 z < 12.9 V
    rule = replace(LOW, release=Release(12.9, 1.0))
    battery = affine_battery("a", 10e-3, 20.0, 0.1, rules=(rule,))
    found = run((battery,), (steady(30.0),), 1000.0)
    assert found.switchings[0, Blocks.DISCHARGE, LET_GO].size == 0


@pytest.mark.parametrize(
    ("needs", "expected_s"),
    [(Needs.LOAD_REMOVED, [510.0]), (Needs.CHARGING, [710.0]), (Needs.HAND, [])],
)
def test_what_a_release_needs(needs, expected_s):
    # loads off from 500 s, a charger from 700 s; the release waits 10 s
    rule = replace(LOW, release=Release(12.6, 10.0, needs))
    battery = affine_battery("a", 10e-3, 20.0, 0.1, rules=(rule,))
    late = Charger("m", (Stage(14.0),), limit_A=5.0, schedule=Schedule(active_s=((700.0, 9e9),)))
    found = run((battery,), (pulses((0.0, 500.0)),), 900.0, chargers=(late,))
    let_go = found.switchings[0, Blocks.DISCHARGE, LET_GO]
    assert let_go == pytest.approx(expected_s, abs=0.5)


def test_blocked_charge_lets_charging_be_seen_at_the_rails():
    # both directions blocked; a charger lifts the rails above the battery's own voltage
    full = Rule(Watch.DISCHARGE_CURRENT, False, 20.0, 2.0, Blocks.BOTH)
    rule = replace(full, release=Release(1.0, 10.0, Needs.CHARGING))
    battery = affine_battery("a", 10e-3, 20.0, 0.5, rules=(rule,))
    late = Charger("m", (Stage(14.0),), limit_A=5.0, schedule=Schedule(active_s=((100.0, 9e9),)))
    found = run((battery,), (pulses((0.0, 50.0)),), 200.0, chargers=(late,))
    assert found.cut_out_s == pytest.approx((2.0,), abs=0.1)
    assert found.switchings[0, Blocks.CHARGE, LET_GO] == pytest.approx([110.0], abs=0.5)
    assert currents(found, [150.0])[0] == pytest.approx([-5.0], rel=1e-4)


def test_a_battery_that_blocks_charge_comes_back_through_its_diode():
    # A (z = 0.9) trips at once and stays at E = 13.34; B feeds 30 A alone while E_A - 0.3 V is
    # below the bus: E_B - 0.15 V > 13.04 V. Then both conduct: 5 mohm each, and
    # I_A = (30 + (E_A - 0.3 - E_B) / 5 mohm) / 2
    rule = Rule(Watch.BATTERY_VOLTAGE, False, 13.2, 1.0, Blocks.CHARGE)
    a = affine_battery("a", 5e-3, 50.0, 0.9, rules=(rule,), drop_V=0.3)
    b = affine_battery("b", 5e-3, 50.0, 0.8)
    found = run((a, b), (pulses((60.0, 9e9)),), 3600.0)
    begins_s = 60.0 + (12.8 + 0.6 * found_z(found, 1, 59.0, 0.8) - 13.19) / 0.6 * 50 * 3600 / 30.0
    before, after = begins_s - 20.0, begins_s + 1200.0
    assert currents(found, [before])[0] == pytest.approx([0.0, 30.0], abs=2e-3)
    e_a, e_b = (12.8 + 0.6 * found_z(found, k, after, z) for k, z in ((0, 0.9), (1, 0.8)))
    expected = 0.5 * (30.0 + (e_a - 0.3 - e_b) / 5e-3)
    assert expected > 3.0
    # the diode's own 10 micro-ohm and its bend of 0.1 mV are part of the netlist
    assert currents(found, [after])[0, 0] == pytest.approx(expected, rel=1e-2)


def found_z(found, index, time_s, start):
    net_Ah = found.delivered_Ah[:, index] - found.charged_Ah[:, index]
    return start - float(np.interp(time_s, found.time_s, net_Ah)) / 50.0


def test_discharge_blocked_takes_charge_through_the_diode():
    # at 10 A into the battery: bus = E + R I + drop, on the cells' side no drop
    rule = Rule(Watch.DISCHARGE_CURRENT, False, 20.0, 1.0, Blocks.DISCHARGE)
    battery = affine_battery("a", 5e-3, 500.0, 0.5, rules=(rule,), drop_V=0.45)
    loads = (Load("both", 1.0, np.array([0.0, 60.0]), np.array([30.0, -10.0])),)
    found = run((battery,), loads, 120.0)
    assert currents(found, [30.0, 90.0])[:, 0] == pytest.approx([0.0, -10.0], abs=1e-4)
    assert found.voltage_V(90.0) == pytest.approx(13.1 + 0.05 + 0.45, abs=1e-3)


def test_several_latches_of_one_battery_live_on_their_own():
    # above 20 A for 10 s: blocked until 100 s after the pulse's end; above 25 A for 2 s: until
    # 30 s after; the direction is open only when both let go
    slow = Rule(Watch.DISCHARGE_CURRENT, False, 20.0, 10.0, Blocks.DISCHARGE, Release(5.0, 100.0))
    quick = Rule(Watch.DISCHARGE_CURRENT, False, 25.0, 2.0, Blocks.DISCHARGE, Release(5.0, 30.0))
    battery = affine_battery("a", 5e-3, 500.0, 0.5, rules=(slow, quick))
    loads = (
        pulses((0.0, 15.0), amps=22.0),
        pulses((300.0, 305.0), amps=30.0),
    )
    found = run((battery,), loads, 500.0)
    shut, let_go = (found.switchings[0, Blocks.DISCHARGE, step] for step in (SHUT, LET_GO))
    assert shut == pytest.approx([10.0, 302.0], abs=0.1)
    assert let_go == pytest.approx([110.0, 332.0], abs=0.5)


def test_broken_delay_starts_anew():
    rule = Rule(Watch.DISCHARGE_CURRENT, False, 20.0, 30.0)
    battery = affine_battery("a", 5e-3, 500.0, 0.5, rules=(rule,))
    found = run((battery,), (pulses((100.0, 120.0), (200.0, 9e9)),), 300.0)
    assert found.cut_out_s == pytest.approx((230.0,), abs=0.1)


@pytest.mark.parametrize(("threshold_K", "expected"), [(290.0, None), (305.0, 4.0)])
def test_fixed_temperature_is_watched(threshold_K, expected):
    rule = Rule(Watch.TEMPERATURE, True, threshold_K, 4.0, Blocks.DISCHARGE)
    battery = affine_battery("a", 5e-3, 50.0, 0.5, rules=(rule,))
    found = run((battery,), (steady(1.0),), 60.0)
    assert found.cut_out_s == (expected if expected is None else pytest.approx(expected, abs=0.1),)


@pytest.mark.parametrize(
    ("watch", "amps", "weak_Ah", "limit_V"),
    [(Watch.LOWEST_CELL, 40.0, 5.0, 3.2), (Watch.HIGHEST_CELL, -40.0, 5.0, 3.33)],
)
def test_the_deciding_cell_may_stand_anywhere(watch, amps, weak_Ah, limit_V):
    # four batteries, each with its smallest cell at another place, share the current: 10 A each
    # take the small cell from z = 0.5 to the limit's 0.2 or 0.95, 0.1 mohm and 1 mV per 10 A away
    below = watch is Watch.LOWEST_CELL
    rule = Rule(watch, below, limit_V, 2.0, Blocks.BOTH)
    batteries = []
    for place in range(4):
        whole = string(f"b{place}", 50.0, 0.1, spread=0.0, z=0.5, rules=(rule,))
        cells = [replace(cell, charge_C=50 * 3600.0) for cell in whole.cells]
        cells[place] = replace(cells[place], charge_C=weak_Ah * 3600.0)
        batteries.append(replace(whole, cells=tuple(cells)))
    found = run(tuple(batteries), (steady(amps),), 1000.0)
    way = Blocks.DISCHARGE if below else Blocks.CHARGE
    z = np.interp(limit_V + (1e-3 if below else -1e-3), CURVE_V, CURVE_Z)
    expected_s = abs(z - 0.5) * weak_Ah * 3600.0 / 10.0 + 2.0
    for index in range(4):
        assert found.switchings[index, way, SHUT] == pytest.approx([expected_s], abs=0.5)


def test_load_cuts_itself_off_and_restarts():
    # V = 12.8 + 0.6 z - 0.2 at 20 A falls below 12.65 V at z = 1/12, after 240 s; 10 s later it
    # is off; from 600 s a charger lifts V beyond 12.9 V, and the load comes back beside it
    battery = affine_battery("a", 10e-3, 20.0, 0.15)
    load = Load("l", 1.0, np.zeros(1), np.array([20.0]), cut_off=CutOff(12.65, 10.0, 12.9))
    late = Charger("m", (Stage(14.0),), limit_A=12.0, schedule=Schedule(active_s=((600.0, 9e9),)))
    found = run((battery,), (load,), 1200.0, chargers=(late,))
    times = np.array([248.0, 252.0, 590.0, 610.0])
    assert currents(found, times)[:, 0] == pytest.approx([20.0, 0.0, 0.0, 8.0], abs=2e-3)


def test_load_without_a_restart_stays_off():
    battery = affine_battery("a", 10e-3, 20.0, 0.15)
    load = Load("l", 1.0, np.zeros(1), np.array([20.0]), cut_off=CutOff(12.65, 10.0))
    found = run((battery,), (load,), 1200.0)
    assert currents(found, [252.0, 1100.0])[:, 0] == pytest.approx([0.0, 0.0], abs=2e-3)
