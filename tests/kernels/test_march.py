"""The bookkeeping of the march: steps, rows, charge and energy, on banks that can be worked out."""

import math
from dataclasses import replace

import numpy as np
import pytest
from bridge import bridge
from pytest import approx
from simple_banks import affine, affine_cell, bank_of, battery, steady, stepped

from bankSim.kernels import arrays as k
from bankSim.kernels import march
from bankSim.model.cell import RelaxationPair
from bankSim.model.charger import Charger, Stage, Sun
from bankSim.model.rule import Blocks, Release, Rule, Watch
from bankSim.model.upkeep import Thermal
from bankSim.sim.engine import Engine
from bankSim.sim.pack import pack_bank, start_run

H = 3600.0
part_above = bridge(march.part_above)
add_energy = bridge(march.add_energy)
choose_step = bridge(march.choose_step)
goes_dark = bridge(march.goes_dark)
next_target = bridge(march.next_target)
add_charge = bridge(march.add_charge)


def packed(bank, rows=0):
    kernel_bank = pack_bank(bank, relative=1e-4, absolute_A=1e-6, every_s=60.0, most_edges=0)
    return kernel_bank, start_run(bank, kernel_bank, rows=rows)


@pytest.mark.parametrize(
    ("start", "end", "want"),
    [(1, 2, 0.0), (4, 5, 1.0), (2, 6, 0.75), (6, 2, 0.75), (3, 3, 0.0), (3, 5, 1.0), (-3, 5, 0.25),
     (5, 3, 1.0), (2, 3, 0.0), (-5, -6, 0.0)],
)  # fmt: skip
def test_part_of_a_straight_way_above_a_limit(start, end, want):
    assert part_above(float(start), float(end), 3.0) == approx(want)


def test_energy_is_the_trapezium_between_both_powers_and_the_end_becomes_the_start():
    ledger = np.zeros((3, 2, k.LEDGER_COLUMNS))
    ledger[0], ledger[1], ledger[2] = 2.0, 6.0, 100.0
    ledger[1, 1, 9] = 10.0
    add_energy(ledger, 5.0)
    want = np.full((2, k.LEDGER_COLUMNS), 120.0)
    want[1, 9] = 130.0
    assert ledger[2] == approx(want)
    assert np.array_equal(ledger[0], ledger[1])
    assert ledger[0, 1, 9] == 10.0


@pytest.mark.parametrize(("kelvin", "cold_C"), [(273.15, 0.0), (273.14, 125.0), (300.0, 0.0)])
def test_charge_and_time_above_the_label_limits(kelvin, cold_C):
    # from 10 A to -50 A within 12 s: 2 s out, 10 A s, of which 1 s above 5 A; 10 s into, 250 A s,
    # of which 8 s above 10 A; and the same way back
    one = replace(affine("a"), continuous_discharge_A=5.0, continuous_charge_A=10.0)
    bank, run = packed(bank_of(affine("other"), one))
    run.now[1, k.KELVIN] = kelvin
    add_charge(bank, run, 1, 10.0, -50.0, 12.0)
    add_charge(bank, run, 1, -50.0, 10.0, 12.0)
    tally = run.tally[1]
    assert (tally["out"], tally["into"]) == (approx(20.0), approx(500.0))
    assert (tally["above_out"], tally["above_into"]) == (approx(2.0), approx(16.0))
    assert tally["cold_into"] == approx(4.0 * cold_C)
    assert run.tally[0]["out"] == run.tally[0]["into"] == 0.0


@pytest.mark.parametrize(("wished", "left", "want"), [
    (10.0, 100.0, 10.0), (60.0, 100.0, 50.0), (100.0, 100.0, 100.0), (500.0, 100.0, 100.0),
    (50.0, 100.0, 50.0), (1e9, 1e8, 900.0), (1e9, 1000.0, 500.0),
])  # fmt: skip
def test_the_next_step_fits_into_what_is_left(wished, left, want):
    # never more than a set charge in one step, and no short rest before the target
    bank, run = packed(bank_of(affine("a"), affine("b")))
    run.clock[0]["step"] = wished
    bank.battery["stride"] = 9000.0
    run.now[:2, k.CURRENT] = 0.0, -10.0
    assert choose_step(bank, run, left) == approx(want)
    run.now[:2, k.CURRENT] = 10.0, 1.0
    assert choose_step(bank, run, left) == approx(want)


def test_steps_are_shorter_than_the_swing_of_the_day():
    bank, run = packed(bank_of(affine("a")))
    run.clock[0]["step"] = 1e5
    assert choose_step(bank, run, 1e6) == 1e5
    bank.setting[k.SWING_K] = 0.5
    assert choose_step(bank, run, 1e6) == march.LONGEST_IN_SWING_S


def test_steps_follow_the_sun_where_no_battery_tells_how_exact_they_are():
    # a straight line from a to b misses h^2 / 12 of the second derivative: for a half sine of
    # 12 h the part 1e-4 with h = 12 h sqrt(12e-4) / pi; half of that for 6 h
    names = {"day": Sun(300.0, 6 * H, 18 * H), "noon": Sun(300.0, 9 * H, 15 * H)}
    suns = [Charger(name, (Stage(14.0),), sun=sun) for name, sun in names.items()]
    steady_one = Charger("mains", (Stage(14.0),), limit_A=5.0)
    bank, run = packed(bank_of(affine("a"), affine("b"), chargers=(*suns, steady_one)))
    run.clock[0]["step"], run.source["on"], run.source["stage"] = 1e5, 1, (0, 1, 2)
    day_s = 12 * H * math.sqrt(12e-4) / math.pi
    assert choose_step(bank, run, 1e6) == approx(0.5 * day_s)
    run.source[1]["stage"] = -1
    assert choose_step(bank, run, 1e6) == approx(day_s)
    run.source[1]["on"], run.source[1]["stage"] = 0, 0
    assert choose_step(bank, run, 1e6) == approx(day_s)
    run.clock[0]["step"] = 10.0
    assert choose_step(bank, run, 1e6) == 10.0
    run.clock[0]["step"], run.now[1, k.CURRENT] = 1e5, -1e-3
    assert choose_step(bank, run, 1e6) == 1e5
    run.now[1, k.CURRENT], run.source[0]["on"] = 0.0, 0
    assert choose_step(bank, run, 1e6) == 1e5


def test_a_step_goes_dark_from_loads_that_are_fed_to_loads_that_are_not():
    charger = Charger("c", (Stage(14.0),), limit_A=1.0)
    bank, run = packed(bank_of(affine("a"), load=steady(5.0), chargers=(charger,)))
    run.tally["mode"], run.level[1] = k.DISCHARGE_BLOCKED, 5.0
    for start_V, end_V, dark in (
        (13.0, 0.0, True), (13.0, 12.0, False), (0.0, 0.0, False), (0.0, 13.0, False),
    ):  # fmt: skip
        run.now[1, k.AT_LOADS], run.trial_now[1, k.AT_LOADS] = start_V, end_V
        assert goes_dark(bank, run) == dark
    run.now[1, k.AT_LOADS], run.trial_now[1, k.AT_LOADS], run.tally["mode"] = 13.0, 0.0, 0
    assert not goes_dark(bank, run)


def test_a_step_ends_at_the_next_edge_delay_or_stage():
    # edges of the load at 0, 500 s, 900 s; a delay of 30 s; a stage of at most 200 s
    rule = Rule(Watch.BATTERY_VOLTAGE, True, 1.0, 30.0, Blocks.DISCHARGE, Release(2.0, 70.0))
    charger = Charger("c", (Stage(14.0, most_s=200.0),), limit_A=1.0)
    load = stepped([0.0, 500.0], [1.0, 2.0])
    bank, run = packed(
        bank_of(affine("a", rules=[rule, rule]), load=load, chargers=(charger,), duration_s=900.0)
    )
    run.clock[0]["segment"] = 0
    assert next_target(bank, run) == 500.0
    run.source["on"], run.source["stage"], run.source["since"] = 1, 0, 250.0
    assert next_target(bank, run) == 450.0
    run.alarm[1]["phase"], run.alarm[1]["since"] = k.PENDING, 400.0
    assert next_target(bank, run) == 430.0
    run.alarm[0]["phase"], run.alarm[0]["since"] = k.RELEASING, 300.0
    assert next_target(bank, run) == 370.0
    run.source["on"], run.alarm["phase"], run.clock[0]["segment"] = 0, k.ARMED, 1
    assert next_target(bank, run) == 900.0


def test_rows_stand_at_every_whole_multiple_and_show_the_course():
    # 12.8 V + 0.6 V z behind 5 mohm under 36 A: z falls by 1e-4 each second
    bank = bank_of(affine("a"), load=steady(36.0), duration_s=1000.0, output_every_s=7.0)
    trace = Engine(bank).finish().trace()
    grid = trace[trace[:, 1] == k.GRID]
    assert grid[:, 0] == approx(7.0 * np.arange(143), abs=1e-9)
    assert grid[:, 2] == approx(12.8 + 0.6 * (0.9 - 1e-4 * grid[:, 0]) - 0.18, abs=1e-9)
    assert list(trace[trace[:, 1] == k.END][:, 0]) == [1000.0]
    assert np.all(np.diff(trace[:, 0]) >= 0.0)


def test_a_row_is_due_also_at_the_very_instant_of_an_edge():
    load = stepped([0.0, 60.0, 90.0], [36.0, 0.0, 36.0])
    bank = bank_of(affine("a"), load=load, duration_s=120.0, output_every_s=30.0)
    trace = Engine(bank).finish().trace()
    grid = trace[trace[:, 1] == k.GRID]
    assert list(grid[:, 0]) == [0.0, 30.0, 60.0, 90.0]  # the end has a row of its own
    assert list(grid[:, 3]) == [36.0, 36.0, 0.0, 36.0]


def test_charge_and_energy_of_a_load_and_of_two_chargers():
    # 18 A out for 1 h, then 36 A from two chargers for 1 h: E = 12.8 + 0.6 z behind 10 mohm, 100 Ah
    chargers = Charger("c", (Stage(20.0),), limit_A=27.0), Charger("d", (Stage(20.0),), limit_A=9.0)
    load = stepped([0.0, H], [54.0, 0.0])
    one = affine("a", 0.010, z=0.7)
    run = Engine(bank_of(one, load=load, chargers=chargers, duration_s=2 * H)).finish().run
    tally, clock = run.tally[0], run.clock[0]
    assert (tally["out"], tally["into"]) == (approx(18.0 * H), approx(36.0 * H))
    assert (clock["bank_out"], clock["bank_into"]) == (approx(18.0 * H), approx(36.0 * H))
    assert run.source["out"] == approx([54.0 * H, 18.0 * H])
    # mean of z: 0.7 to 0.52, then 0.52 to 0.88
    first, second = 12.8 + 0.6 * 0.61 - 0.18, 12.8 + 0.6 * 0.70 + 0.36
    assert run.source["energy"] == approx(np.array([27.0, 9.0]) * H * (first + second))
    energy = run.ledger[2]
    assert energy[0, k.GIVEN] == approx(18.0 * H * first)
    assert energy[0, k.TAKEN] == approx(36.0 * H * second)
    assert energy[0, k.OHMIC] == approx(0.010 * H * (18.0**2 + 36.0**2))
    assert energy[1, k.TO_LOADS] == approx(54.0 * H * first)
    assert energy[1, k.FROM_CHARGERS] == approx(36.0 * H * (first + second))
    # lowest where the load ends, highest at the end
    assert (tally["peak_out"], tally["peak_into"]) == (approx(18.0), approx(36.0))
    want = [0.52, 0.88, 12.8 + 0.6 * 0.52 - 0.18, 12.8 + 0.6 * 0.88 + 0.36]
    assert run.extreme[0] == approx(want)
    assert clock["rejected"] == 0
    assert math.isfinite(clock["time"])


def test_the_march_stops_within_its_budget_and_counts_its_steps():
    engine = Engine(bank_of(affine("a"), affine("b", 8e-3), load=steady(30.0), duration_s=9e3))
    for steps in range(1, 6):
        assert not engine.go_on(1)
        assert engine.run.clock[0]["steps"] == steps
    engine.finish()
    clock = engine.run.clock[0]
    assert clock["time"] == 9e3
    assert clock["steps"] < 60
    assert clock["forced"] == 0


def test_a_crossing_cuts_the_step_and_what_is_added_up():
    # equal batteries of 100 and 50 Ah on 10 mohm share like currents at first; the smaller one
    # is cut out at 12.9 V: charge by Faraday, energy in = energy out + heat in both
    rule = Rule(Watch.BATTERY_VOLTAGE, True, 12.9, 0.0)
    pair = [affine("a", 0.01), affine("b", 0.01, 50.0, rules=[rule])]
    engine = Engine(bank_of(*pair, load=steady(60.0), duration_s=4e3)).finish()
    (event,), run = engine.events, engine.run
    assert event[1] == k.TRIP
    assert event[4] == approx(12.9, abs=1e-8)
    assert run.now[:2, k.CURRENT] == approx([60.0, 0.0])
    lost = (0.9 - run.moment[:, k.SOC]) * np.array([100.0, 50.0]) * H
    assert run.tally["out"] - run.tally["into"] == approx(lost, rel=1e-9)
    assert run.clock[0]["bank_out"] == approx(60.0 * 4e3)
    energy = run.ledger[2]
    given = energy[:2, k.GIVEN] - energy[:2, k.TAKEN]
    assert energy[:2, k.CHEMICAL] == approx(given + energy[:2, k.OHMIC], rel=1e-6)
    assert given.sum() == approx(energy[2, k.TO_LOADS], rel=1e-6)


def test_edges_are_met_to_the_last_digit():
    times = np.array([0.0, 0.1 + 0.2, 100.0 / 3.0, 700.0 / 9.0, 200.0 + 1.0 / 7.0])
    load = stepped(times, [10.0, 40.0, 20.0, 40.0, 10.0])
    pair = [affine("a"), affine("b", 8e-3)]
    trace = Engine(bank_of(*pair, load=load, duration_s=1000.0 / 3.0)).finish().trace()
    assert list(trace[trace[:, 1] == k.BEFORE][:, 0]) == list(times[1:])
    assert list(trace[trace[:, 1] == k.AFTER][:, 0]) == list(times[1:])
    assert trace[-1, 0] == 1000.0 / 3.0
    net = np.interp(trace[:, 0], trace[:, 0], trace[:, 3])
    assert set(np.round(net, 9)) == {10.0, 20.0, 40.0}


def test_a_run_without_rows_adds_up_the_same():
    bank = bank_of(affine("a"), affine("b", 8e-3, 60.0), load=steady(40.0), duration_s=5e3)
    one, two = Engine(bank).finish().run, Engine(bank, keep_trace=False).finish().run
    assert np.array_equal(one.tally["out"], two.tally["out"])
    assert one.clock[0]["steps"] == two.clock[0]["steps"]
    assert two.used[0] == 0


def test_a_run_without_rows_needs_no_room_for_them():
    # nothing is kept, though a spacing is given: the same steps, and the charge of Faraday
    bank = bank_of(affine("a"), load=steady(3.6), duration_s=3000.0, output_every_s=60.0)
    none, kept = (Engine(bank, prepared=packed(bank, rows)).finish().run for rows in (0, 500))
    assert none.clock[0]["steps"] == kept.clock[0]["steps"]
    assert none.tally[0]["out"] == approx(3.6 * 3000.0)


def test_a_small_log_is_emptied_in_time(monkeypatch):
    # far more rows than the log holds, also within one step; the charge stays that of Faraday
    monkeypatch.setattr("bankSim.sim.engine.MOST_ROWS", 1)
    bank = bank_of(affine("a"), load=steady(3.6), duration_s=3000.0, output_every_s=1.0)
    engine = Engine(bank).finish()
    grid = engine.trace()[engine.trace()[:, 1] == k.GRID]
    assert grid[:, 0] == approx(np.arange(3000.0))
    assert grid[:, 2] == approx(12.8 + 0.6 * (0.9 - 1e-5 * grid[:, 0]) - 0.018, abs=1e-9)
    assert engine.run.tally[0]["out"] == approx(3.6 * 3000.0)


def test_a_log_that_is_filled_to_its_last_row_loses_none(monkeypatch):
    # steps begin half-way between two rows and are as long as the log: it is full to the last row
    monkeypatch.setattr("bankSim.sim.engine.MOST_ROWS", 1)
    load = stepped([0.0, 0.5], [7.2, 3.6])
    bank = bank_of(affine("a"), load=load, duration_s=3000.0, output_every_s=1.0)
    engine = Engine(bank).finish()
    assert max(len(rows) for rows in engine.rows) == engine.run.rows.shape[0]
    grid = engine.trace()[engine.trace()[:, 1] == k.GRID]
    assert grid[:, 0] == approx(np.arange(3000.0))
    drawn_C = 3.6 * (grid[1:, 0] + 0.5)
    assert grid[1:, 2] == approx(12.8 + 0.6 * (0.9 - drawn_C / 360_000.0) - 0.018, abs=1e-9)


def test_a_small_log_does_not_change_the_steps(monkeypatch):
    # 640 rows are the least that two batteries get; no step is longer than that
    pair = [affine("a"), affine("b", 8e-3, 60.0)]
    bank = bank_of(*pair, load=steady(40.0), duration_s=1500.0, output_every_s=1.0)
    wide = Engine(bank).finish().run
    monkeypatch.setattr("bankSim.sim.engine.MOST_ROWS", 1)
    small = Engine(bank).finish().run
    assert small.rows.shape[0] < 700
    assert small.clock[0]["steps"] == wide.clock[0]["steps"]
    assert np.array_equal(small.tally["out"], wide.tally["out"])


def asked_for(bank, row_s, rows):
    """Run with timeline rows at some instants, and room for so many of them at a time."""
    kernel_bank, _ = packed(bank)
    kernel_bank = kernel_bank._replace(row_s=np.array(row_s))
    prepared = kernel_bank, start_run(bank, kernel_bank, rows=rows)
    return Engine(bank, prepared=prepared).finish()


def test_rows_stand_where_they_are_asked_for():
    # the last one is beyond the end; 12.8 + 0.6 z less 18 mV, as above
    bank = bank_of(affine("a"), load=steady(3.6), duration_s=3000.0)
    at_s = np.array([0.0, 10.0, 10.5, 1234.5, 2999.0, 4000.0])
    engine = asked_for(bank, at_s, 4096)
    grid = engine.trace()[engine.trace()[:, 1] == k.GRID]
    assert grid[:, 0].tolist() == at_s[:-1].tolist()
    assert grid[:, 2] == approx(12.8 + 0.6 * (0.9 - 1e-5 * at_s[:-1]) - 0.018, abs=1e-9)
    assert engine.run.clock[0]["steps"] == asked_for(bank, [], 0).run.clock[0]["steps"]


@pytest.mark.parametrize("begin_s", [0.0, 0.5])
def test_a_small_log_loses_no_row_that_is_asked_for(begin_s):
    # a row a second, many times what the log holds, and steps that begin on or between rows
    load = stepped([0.0, 0.5], [7.2, 3.6]) if begin_s else steady(3.6)
    bank = bank_of(affine("a"), load=load, duration_s=3000.0)
    at_s = np.arange(3000.0)
    engine = asked_for(bank, at_s, 1)
    grid = engine.trace()[engine.trace()[:, 1] == k.GRID]
    assert max(len(rows) for rows in engine.rows) <= engine.run.rows.shape[0] < 500
    assert grid[:, 0].tolist() == at_s.tolist()
    drawn_C = 3.6 * (at_s[1:] + begin_s)
    assert grid[1:, 2] == approx(12.8 + 0.6 * (0.9 - drawn_C / 360_000.0) - 0.018, abs=1e-9)


def test_loads_that_cannot_be_fed_any_more_leave_nothing_flowing():
    # E = 12.8 + 0.6 z behind 20 mohm gives at most E^2 / (4 R); after that the battery is at rest
    load = steady(2150.0, 0.0)
    bank = bank_of(affine("a", 0.02, 10.0), load=load, duration_s=900.0, stop_when_empty=False)
    engine = Engine(bank).finish()
    (event,) = np.array(engine.events)
    volts = 12.8 + 0.6 * engine.run.moment[0, k.SOC]
    assert volts == approx(math.sqrt(4.0 * 0.02 * 2150.0), abs=1e-7)
    before, after = event[6], event[7]
    assert before == approx(2.0 * 2150.0 / volts, rel=0.05)
    assert after == 0.0
    assert engine.run.now[0, k.CURRENT] == 0.0
    assert engine.run.clock[0]["time"] == 900.0


def test_what_flows_just_after_the_loads_are_dropped_is_told():
    # two batteries apart in charge even out behind the dropped loads: (E1 - E2) / (R1 + R2)
    pair = [affine("a", 0.02, 10.0), affine("b", 0.03, 60.0)]
    load = steady(3000.0, 0.0)
    bank = bank_of(*pair, load=load, duration_s=1800.0, stop_when_empty=False)
    event = Engine(bank).finish().events[0]
    assert event[1] == k.COLLAPSE
    before, after, terminals = event[6:8], event[8:10], event[10:12]
    assert before.sum() > 200.0
    volts = terminals + np.array([0.02, 0.03]) * before
    even_A = (volts[0] - volts[1]) / 0.05
    assert abs(even_A) > 0.1
    assert after == approx([even_A, -even_A], rel=1e-6)


def test_a_rule_without_delay_acts_before_anything_flows():
    # 10 A for 100 s; the jump to 90 A is above 50 A and is cut off at that very instant
    rule = Rule(Watch.DISCHARGE_CURRENT, False, 50.0, 0.0)
    load = stepped([0.0, 100.0], [10.0, 90.0])
    engine = Engine(bank_of(affine("a", rules=[rule]), load=load, duration_s=200.0)).finish()
    (event,) = engine.events
    assert (event[0], event[1], event[4]) == (100.0, k.TRIP, approx(90.0))
    assert engine.run.tally[0]["peak_out"] == approx(10.0)
    assert engine.run.tally[0]["out"] == approx(1000.0, rel=1e-12)


def test_a_step_that_errs_too_much_is_refused_counted_and_tried_shorter():
    # 5 s come first; a pair of 2 s beside none is far from straight over them: a fifth is next
    quick = replace(affine("a").cells[0], relaxation=(RelaxationPair(0.01, 2.0),))
    pair = [battery("a", quick), affine("b")]
    bank = bank_of(*pair, load=steady(40.0), duration_s=60.0)
    engine, refused = Engine(bank, relative_tolerance=1e-6), 0
    clock, done = engine.run.clock, False
    while not done:
        time = clock[0]["time"]
        done = engine.go_on(1)
        if clock[0]["time"] == time and not done:
            refused += 1
            assert refused > 1 or clock[0]["step"] == approx(1.0)
    assert clock[0]["rejected"] == refused > 1
    assert clock[0]["forced"] == 0
    assert clock[0]["steps"] < 1000


def test_a_step_that_is_cut_warms_over_what_is_left_of_it():
    # 1 W by R0 at once, 4 W more with 300 s, on 500 J/K: C dT/dt = 1 + 4 (1 - exp(-t / 300 s))
    cell = affine_cell(0.01, Ah=1000.0, relaxation=(RelaxationPair(0.04, 300.0),))
    rule = Rule(Watch.TEMPERATURE, False, 298.15 + 2.0, 0.0)
    one = replace(battery("a", cell, rules=[rule]), thermal=Thermal(500.0, 1e-3))
    bank = bank_of(one, load=steady(10.0), duration_s=1000.0, stop_when_empty=False)
    engine = Engine(bank, relative_tolerance=3e-4)
    while not engine.events:
        engine.go_on(1)
    time_s = engine.events[0][0]
    want_K = (5.0 * time_s - 4.0 * 300.0 * (1.0 - math.exp(-time_s / 300.0))) / 500.0
    assert engine.run.now[0, k.KELVIN] - 298.15 == approx(want_K, abs=0.01)


def test_rules_look_at_once_at_the_voltage_without_the_dropped_loads():
    # nearly all that 13.3 V and 20 mohm can give: far below 12 V, and far above with nothing on
    rule = Rule(Watch.BATTERY_VOLTAGE, False, 12.0, 0.0, Blocks.CHARGE)
    one, load = affine("a", 0.02, 10.0, rules=[rule]), steady(2150.0, 0.0)
    bank = bank_of(one, load=load, duration_s=900.0, stop_when_empty=False)
    dropped, tripped = Engine(bank).finish().events[:2]
    assert (dropped[1], tripped[1]) == (k.COLLAPSE, k.TRIP)
    assert tripped[0] == dropped[0]
    assert tripped[4] > 12.8
