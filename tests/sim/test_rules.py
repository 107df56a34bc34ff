"""Rules in whole runs: when they act, on what, in which order, and that none is missed."""

import math

import numpy as np
import pytest
from pytest import approx
from simple_banks import affine, affine_cell, bank_of, battery, run, steady, stepped

from bankSim.model.cell import RelaxationPair
from bankSim.model.rule import Blocks, Rule, Watch
from bankSim.sim.result import ALL_OVER, COLLAPSE, EMPTY, REFUSED, TRIP

LOW = Watch.LOWEST_CELL


def below(volts, delay=0.0, watches=LOW, blocks=Blocks.DISCHARGE):
    return Rule(watches, True, volts, delay, blocks)


def above(limit, delay=0.0, watches=Watch.DISCHARGE_CURRENT, blocks=Blocks.DISCHARGE):
    return Rule(watches, False, limit, delay, blocks)


def one(rule, load, *, duration_s=7200.0, **cell):
    return run(bank_of(affine("a", rules=[rule], **cell), load=load, duration_s=duration_s))


def test_lowest_cell_is_located_exactly():
    # 12.8 + 0.6 (0.9 - I t / Q) - I R = 13.0 at t = Q (0.9 - (0.2 + I R)/0.6) / I
    result = one(below(13.0), steady(50.0))
    exact = 360_000.0 * (0.9 - (0.2 + 0.25) / 0.6) / 50.0
    (event,) = result.events
    assert event.time_s == approx(exact, abs=1e-6)
    assert event.cell == 1
    assert event.value == approx(13.0, abs=1e-8)
    assert event.cell_voltages_V == approx((13.0,), abs=1e-8)
    assert event.currents_A == approx((50.0,))
    assert event.currents_after_A == (0.0,)
    assert result.end_reason == EMPTY
    assert result.end_time_s == event.time_s


def test_delay_runs_from_the_crossing():
    early = one(below(13.0), steady(50.0)).events[0].time_s
    late = one(below(13.0, delay=30.0), steady(50.0)).events[0]
    assert late.time_s == approx(early + 30.0, abs=1e-6)
    assert late.value < 13.0


def test_a_condition_that_ends_before_the_delay_does_not_trip():
    # below 13.0 V only while 100 A flows, for 20 s; the delay is 30 s, then 15 s
    load = stepped([0, 600, 620], [1, 100, 1])
    assert not one(below(13.0, delay=30.0), load, duration_s=1200).events
    tripped = one(below(13.0, delay=15.0), load, duration_s=1200).events
    assert [event.time_s for event in tripped] == approx([615.0])


def test_two_short_dips_do_not_add_up():
    load = stepped([0, 600, 620, 630, 650], [1, 100, 1, 100, 1])
    assert not one(below(13.0, delay=25.0), load, duration_s=1200).events


def test_a_delay_that_ends_with_the_load_change_acts_first():
    # due at 620 s, just when the load falls: protection comes before the load's change
    load = stepped([0, 600, 620], [1, 100, 1])
    (event,) = one(below(13.0, delay=20.0), load, duration_s=1200).events
    assert event.time_s == approx(620.0)
    assert event.currents_A == approx((100.0,))


def test_battery_voltage_is_watched_at_its_own_terminals():
    # inside: 0.005 + 0.004 ohm; the lead's 0.002 ohm must not count:
    # 12.8 + 0.6 z - 50 A x 0.009 ohm = 12.8 V at z = 0.75
    rules = [below(12.8, watches=Watch.BATTERY_VOLTAGE)]
    one_battery = battery("a", affine_cell(), rules=rules, internal=4e-3, lead=2e-3)
    (event,) = run(bank_of(one_battery, load=steady(50.0), duration_s=9e3)).events
    assert event.battery_voltage_V == approx(12.8, abs=1e-8)
    assert event.bus_voltage_V == approx(12.8 - 50.0 * 2e-3, abs=1e-8)
    assert event.time_s == approx(360_000.0 * (0.9 - 0.75) / 50.0, abs=1e-6)


def test_discharge_current_jump_trips_after_its_delay():
    load = stepped([0, 100], [10, 90])
    (event,) = one(above(60.0, delay=1.5), load).events
    assert event.time_s == approx(101.5)
    assert event.unit == "A"
    assert event.cell is None


def test_charge_current_and_highest_cell_block_charge_only():
    rule = above(13.49, watches=Watch.HIGHEST_CELL, blocks=Blocks.CHARGE)
    load = stepped([0, 7200], [-20, 20])
    result = one(rule, load, z=0.9, duration_s=10_800)
    trip, refused = result.events
    # 12.8 + 0.6 z + 20 A x 5 mohm = 13.49 V while charging
    assert trip.time_s == approx(360_000 * ((13.49 - 12.8 - 0.1) / 0.6 - 0.9) / 20, abs=1e-6)
    assert trip.blocks == "charge"
    assert not trip.cuts_out
    assert refused.what == REFUSED
    assert result.batteries[0].delivered_Ah == approx(20.0, rel=1e-6)
    assert result.batteries[0].first_cut_out is None
    assert result.end_reason == ALL_OVER
    (event,) = one(
        above(15.0, watches=Watch.CHARGE_CURRENT, blocks=Blocks.CHARGE), steady(-20.0)
    ).events[:1]
    assert event.time_s == 0.0
    assert event.value == approx(20.0)


def test_temperature_rule_acts_at_once_at_a_fixed_temperature():
    rule = Rule(Watch.TEMPERATURE, True, 273.15, 1.0, Blocks.CHARGE)
    bank = bank_of(affine("a", rules=[rule]), load=steady(-5.0), temperature_K=263.15)
    trip = run(bank).events[0]
    assert (trip.time_s, trip.unit) == (approx(1.0), "degC")
    assert trip.value == approx(-10.0)
    warm = bank_of(affine("a", rules=[rule]), load=steady(-5.0), temperature_K=283.15)
    assert not run(warm).events


def test_both_directions():
    rule = below(13.0, blocks=Blocks.BOTH)
    assert one(rule, steady(50.0)).events[0].blocks == "both"


def test_the_weakest_cell_decides():
    cells = [affine_cell(0.0, 50.0, z, base=3.0, span=0.4) for z in (0.6, 0.55, 0.5, 0.6)]
    weak = battery("a", *cells, rules=[below(3.1)], internal=4e-3)
    (event,) = run(bank_of(weak, load=steady(5.0), duration_s=9e4)).events
    assert event.cell == 3
    assert event.cell_voltages_V == approx((3.14, 3.12, 3.1, 3.14), abs=1e-8)
    assert event.time_s == approx(0.25 * 50 * 3600 / 5.0, abs=1e-6)


@pytest.mark.slow
def test_a_crossing_and_its_return_inside_one_step_is_seen():
    # the slow pair of b makes a's current rise at first, the charge makes it fall later: its peak
    # lies inside a long step, and a limit just under the peak is crossed and left again
    slow = (RelaxationPair(0.02, 600.0),)

    def peak_bank(rules):
        a = affine("a", 0.010, 40.0, 0.9, span=3.0, rules=rules)
        b = battery("b", affine_cell(0.005, 400.0, 0.9, span=3.0, relaxation=slow))
        return bank_of(a, b, load=steady(60.0), duration_s=3600, output_every_s=1.0)

    table = run(peak_bank([]), relative_tolerance=1e-9).timeline()
    current = table["a.current_A"]
    top, at = current.max(), table["time_s"][current.idxmax()]
    assert 30.0 < at < 3000.0
    limit = top - 1e-4 * top
    want = table["time_s"][current >= limit].iloc[0]
    for tolerance in (1e-9, 1e-6, 1e-5, 1e-4):
        (event,) = run(peak_bank([above(limit)]), relative_tolerance=tolerance).events[:1]
        assert event.battery == "a"
        assert event.time_s == approx(want, abs=30.0)


def test_equal_batteries_leave_together():
    twins = [affine(name, rules=[below(13.0, delay=2.0)]) for name in "abc"]
    result = run(bank_of(*twins, load=steady(90.0), duration_s=9e3))
    assert [event.battery for event in result.events] == ["a", "b", "c"]
    assert len({event.time_s for event in result.events}) == 1
    assert len({event.currents_A for event in result.events}) == 1
    assert result.end_reason == EMPTY


def test_a_cut_out_can_pull_down_the_next_at_the_same_instant():
    # 135 A over 3 batteries; a leaves by voltage, then 67.5 A each trip b and c at once
    weak = affine("a", 5e-3, 30.0, 0.5, rules=[below(12.83)])
    rest = [affine(n, 5e-3, 100.0, rules=[above(65.0)]) for n in "bc"]
    result = run(bank_of(weak, *rest, load=steady(135.0), duration_s=9e3))
    names = [event.battery for event in result.events]
    assert names == ["a", "b", "c"]
    assert result.events[0].time_s == result.events[1].time_s == result.events[2].time_s
    assert result.events[1].currents_A[0] == 0.0
    assert result.summary()["bank"]["cut_out_order"] == names


def test_two_rules_of_one_battery_due_together_are_both_recorded_in_file_order():
    rules = [below(13.0, 10.0), below(13.0, 10.0, watches=Watch.BATTERY_VOLTAGE)]
    result = run(bank_of(affine("a", rules=rules), load=steady(50.0), duration_s=9e3))
    assert [e.watches for e in result.events] == ["lowest cell voltage", "battery voltage"]
    assert result.batteries[0].first_cut_out is result.events[0]


def test_a_rule_fires_once_for_one_crossing():
    pair = [affine("a", 5e-3, 30.0, rules=[below(13.0)]), affine("b", 5e-3, 100.0)]
    result = run(bank_of(*pair, load=steady(30.0), duration_s=9e3))
    assert [event.battery for event in result.events] == ["a"]


def test_a_battery_that_left_stays_out_and_only_rests():
    pair = [affine("a", 5e-3, 30.0, rules=[below(13.0)]), affine("b", 5e-3, 300.0)]
    table = run(bank_of(*pair, load=steady(30.0), duration_s=2e4)).timeline()
    out = table[table["a.current_A"] == 0.0]
    assert len(out) > 90
    assert out["a.state_of_charge"].nunique() == 1
    assert np.allclose(out["b.current_A"], 30.0, rtol=1e-12)


def test_condition_already_true_at_the_start():
    (event,) = one(below(13.5, delay=3.0), steady(10.0)).events
    assert event.time_s == approx(3.0)
    (event,) = one(below(13.5), steady(10.0)).events
    assert event.time_s == 0.0


def test_power_that_the_bank_cannot_give_ends_the_run_with_its_own_words():
    # P = E^2 / (4 R): E = 12.8 + 0.6 z falls until 4 R P = E^2; z from that, t from the energy
    result = run(bank_of(affine("a", 0.02, 10.0), load=steady(2150.0, 0.0), duration_s=9e3))
    assert result.end_reason == COLLAPSE
    (event,) = result.events
    assert event.what == COLLAPSE
    assert "more than the bank can give" in event.text
    limit_V = math.sqrt(4 * 0.02 * 2150.0)
    z = result.batteries[0].final_state_of_charge[0]
    assert 12.8 + 0.6 * z == approx(limit_V, abs=1e-4)
    assert all(math.isfinite(v) for v in result.timeline().to_numpy().ravel())


def test_what_flows_after_a_cut_out_that_leaves_the_loads_unfed():
    # three can give E^2 / (4 R) = 2.2 kW each, two of them not the 5 kW asked: the loads go, and
    # by Kirchhoff (E_b - E_c) / (R_b + R_c) = 0.6 x 0.4 V / 40 mohm flows from b to c, 0 from a
    rule = below(13.0, delay=3.0, watches=Watch.BATTERY_VOLTAGE)
    three = affine("a", 0.02, rules=[rule]), affine("b", 0.02), affine("c", 0.02, z=0.5)
    result = run(bank_of(*three, load=steady(5000.0, 0.0)))
    assert result.end_reason == COLLAPSE
    for event in result.events:
        assert event.currents_A[0] > 50.0
        assert event.currents_after_A == approx((0.0, 6.0, -6.0), abs=0.05)
    assert [event.what for event in result.events] == [TRIP, COLLAPSE]


@pytest.mark.parametrize("stays", [7.0, 9.0])
def test_a_rule_that_is_pending_when_the_loads_are_dropped_lets_go(stays):
    # below `stays` V for the last moments before the loads are dropped; 13 V after that
    cell = {"ohm": 0.02, "Ah": 10.0, "z": 0.9}
    rule = below(stays, delay=600.0, watches=Watch.BATTERY_VOLTAGE)
    bank = bank_of(affine("a", **cell, rules=[rule]), load=steady(2150.0, 0.0), duration_s=3600,
                   stop_when_empty=False)  # fmt: skip
    result = run(bank)
    assert [event.what for event in result.events] == [COLLAPSE]
    seen = result.batteries[0].lowest_cell_voltage_V
    assert seen < stays


def test_power_asked_too_high_from_the_first_instant():
    result = run(bank_of(affine("a", 0.02), load=steady(5000.0, 0.0)))
    assert (result.end_reason, result.end_time_s) == (COLLAPSE, 0.0)
    assert result.bank.delivered_Ah == 0.0


def test_whole_duration_is_run_when_asked_for():
    load = stepped([0, 1000, 2000], [5000.0, 100.0, 5000.0], exponent=0.0)
    bank = bank_of(affine("a", 0.02), load=load, duration_s=3000, stop_when_empty=False)
    result = run(bank)
    assert result.end_reason == ALL_OVER
    assert [event.time_s for event in result.events] == [0.0, 2000.0]
    assert result.bank.runtime_s == 0.0
    assert result.bank.delivered_Wh == approx(100.0 * 1000 / 3600, rel=1e-9)
    gone = bank_of(affine("a", rules=[below(13.0)]), load=steady(50.0), duration_s=9e3,
                   stop_when_empty=False)  # fmt: skip
    result = run(gone)
    assert result.end_time_s == 9e3
    assert result.bank.runtime_s == result.events[0].time_s
    assert result.timeline()["bank.voltage_V"].iloc[-1] == 0.0


@pytest.mark.parametrize("seed", range(5))
def test_trips_do_not_depend_on_how_the_march_is_cut_into_calls(seed):
    from bankSim.sim.engine import Engine

    rng = np.random.default_rng(seed)
    batteries = [
        affine(f"b{i}", rng.uniform(3e-3, 1e-2), rng.uniform(20, 60), rng.uniform(0.7, 1),
               rules=[below(12.95, rng.uniform(0, 5)), above(60.0, 1.0)])
        for i in range(3)
    ]  # fmt: skip
    bank = bank_of(*batteries, load=stepped([0, 400, 900], [60, 150, 40]), duration_s=9e3)
    whole, parts = Engine(bank).finish(), Engine(bank)
    while not parts.go_on(3):
        pass
    assert np.array_equal(whole.trace(), parts.trace())
    assert np.array_equal(np.array(whole.events), np.array(parts.events))
    assert whole.run.tally.tobytes() == parts.run.tally.tobytes()
