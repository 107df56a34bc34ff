"""The rows of the timeline around everything that switches: what stood there before and after.

Currents and voltages by Ohm and Kirchhoff from the voltages without current, E = 12.8 V + 0.6 V z.
"""

from dataclasses import replace

import numpy as np
import pytest
from bridge import bridge
from pytest import approx
from simple_banks import affine, affine_cell, bank_of, battery, steady, stepped

from bankSim.kernels import arrays as k
from bankSim.kernels import log
from bankSim.model.cell import RelaxationPair
from bankSim.model.charger import Charger, Stage, Sun
from bankSim.model.load import Schedule
from bankSim.model.rule import Rule, Watch
from bankSim.model.upkeep import Thermal
from bankSim.sim.engine import Engine
from bankSim.sim.pack import pack_bank, start_run

most_events = bridge(log.most_events)

H = 3600.0
LOW = Rule(Watch.BATTERY_VOLTAGE, True, 13.0, 0.0)
OUT = Rule(Watch.BATTERY_VOLTAGE, True, 14.0, 0.0)
HEAVY = stepped([0.0, 100.0], [20.0, 5000.0], exponent=0.0)


def marched(*batteries, **more):
    """Return the engine at the end, and all rows but the regular ones."""
    engine = Engine(bank_of(*batteries, **more)).finish()
    trace = engine.trace()
    return engine, trace[trace[:, 1] != k.GRID]


def kinds(rows):
    return list(rows[:, 1])


def at(rows, time_s):
    return rows[np.abs(rows[:, 0] - time_s) < 1e-3]


def emf(row, n, place=0):
    return 12.8 + 0.6 * row[5 + 5 * place + 2]


def test_rows_around_a_trip():
    # 40 A on 10 mohm each: the smaller one leaves, the other one carries all of it
    engine, rows = marched(
        affine("a", 0.01, 20.0, rules=[LOW]), affine("b", 0.01), load=steady(40.0), duration_s=2 * H
    )
    (event,) = engine.events
    assert kinds(rows) == [k.BEFORE, k.AFTER, k.END]
    before, after, _ = rows
    assert before[0] == after[0] == event[0]
    both_V = emf(before, 2, 0), emf(before, 2, 1)
    apart_A = (both_V[0] - both_V[1]) / 0.02
    assert before[[5, 10]] == approx([20.0 + apart_A, 20.0 - apart_A])
    assert after[[5, 10]] == approx([0.0, 40.0])
    assert after[2] == approx(both_V[1] - 0.4)
    assert event[6:8] == approx(before[[5, 10]])
    assert event[8:10] == approx(after[[5, 10]])
    assert (before[9], after[9]) == (0.0, k.DISCHARGE_BLOCKED)


def test_the_last_row_of_a_run_that_ends_with_a_trip_is_the_one_before():
    # E - 20 A x 10 mohm = 13 V at z = 2/3: after 4.667 Ah
    engine, rows = marched(affine("a", 0.01, 20.0, rules=[LOW]), load=steady(20.0), duration_s=H)
    assert engine.status == k.EMPTY
    assert kinds(rows) == [k.END, k.AFTER]
    assert rows[:, 0] == approx(840.0)
    assert rows[:, 5] == approx([20.0, 0.0])
    assert rows[:, 2] == approx([13.0, 0.0])
    assert engine.run.clock[0]["fed_until"] == rows[0, 0]
    assert engine.run.extreme[0, k.LOWEST_V] == approx(13.0, abs=1e-8)  # seen before it leaves


def test_rows_around_a_change_of_the_load():
    _, rows = marched(
        affine("a", 0.01), affine("b", 0.02), load=stepped([0.0, 100.0], [20.0, 60.0]),
        duration_s=200.0,
    )  # fmt: skip
    assert kinds(rows) == [k.BEFORE, k.AFTER, k.END]
    for row, load_A in zip(rows, (20.0, 60.0, 60.0), strict=True):
        apart_V = emf(row, 2, 0) - emf(row, 2, 1)
        want = (0.02 * load_A + apart_V) / 0.03, (0.01 * load_A - apart_V) / 0.03
        assert row[[5, 10]] == approx(want)
    assert list(rows[:, 0]) == [100.0, 100.0, 200.0]


def test_no_rows_around_changes_that_are_too_many(monkeypatch):
    monkeypatch.setattr("bankSim.sim.engine.MOST_TRACED_EDGES", 0)
    _, rows = marched(affine("a"), load=stepped([0.0, 100.0], [20.0, 60.0]), duration_s=200.0)
    assert kinds(rows) == [k.END]


@pytest.mark.parametrize("stops", [True, False])
def test_rows_around_a_load_that_cannot_be_fed_from_an_edge_on(stops):
    # 13.34 V behind 20 mohm give 2.2 kW at most: what flowed before is 20 W
    engine, rows = marched(affine("a", 0.02), load=HEAVY, duration_s=200.0, stop_when_empty=stops)
    assert engine.run.clock[0]["fed_until"] == 100.0
    there = at(rows, 100.0)
    assert there[0, 1] == (k.END if stops else k.BEFORE)
    assert there[0, 5] * there[0, 2] == approx(20.0)
    assert kinds(there)[-1] == (k.END if stops else k.AFTER)
    assert there[-1, 5] == approx(there[0, 5] if stops else 0.0)
    assert engine.status == (k.SHORTFALL if stops else k.DURATION)
    assert kinds(rows)[-1] == k.END


@pytest.mark.parametrize("stops", [True, False])
def test_what_flows_once_a_load_at_an_edge_is_dropped(stops):
    # 13.34 V and 13.1 V behind 20 mohm each even out: (E_a - E_b) / 40 mohm
    pair = affine("a", 0.02, 1e4), affine("b", 0.02, 1e4, 0.5)
    load = stepped([0.0, 100.0], [20.0, 9000.0], exponent=0.0)
    engine, _ = marched(*pair, load=load, duration_s=200.0, stop_when_empty=stops)
    (event,) = engine.events
    assert (event[0], event[1]) == (100.0, k.COLLAPSE)
    assert event[8:10] == approx([6.0, -6.0], rel=1e-4)
    assert event[6] + event[7] == approx(20.0 / 13.2, rel=0.01)


def test_a_run_without_rows_ends_with_the_last_trip_as_well():
    bank = bank_of(affine("a", 0.01, 20.0, rules=[LOW]), load=steady(20.0), duration_s=H)
    engine = Engine(bank, keep_trace=False).finish()
    assert (engine.status, engine.trace().size) == (k.EMPTY, 0)
    assert engine.run.clock[0]["time"] == approx(840.0)


@pytest.mark.parametrize("stops", [True, False])
def test_rows_around_a_load_that_can_be_fed_no_longer(stops):
    # until P = E^2 / (4 R), where half of E is left at the terminals
    engine, rows = marched(
        affine("a", 0.02, 10.0), load=steady(2150.0, 0.0), duration_s=900.0, stop_when_empty=stops
    )
    there = at(rows, rows[0, 0])
    assert kinds(there) == ([k.END] if stops else [k.BEFORE, k.AFTER])
    assert there[0, 2] == approx(0.5 * emf(there[0], 1), rel=1e-3)
    if not stops:
        assert (there[1, 2], there[1, 5]) == (approx(emf(there[1], 1)), 0.0)
        assert kinds(rows) == [k.BEFORE, k.AFTER, k.END]
    assert engine.run.clock[0]["fed_until"] == there[0, 0] == engine.events[0][0]


@pytest.mark.parametrize("stops", [True, False])
def test_rows_around_a_bank_that_goes_dark_with_the_sun(stops):
    # 200 W sin(pi t / 12 h) from 8 h on feed 100 W until 10 h; after that they charge the battery
    # through its diode: V I = 100 W at V = E + 0.7 V + 20 mohm I
    sun = Charger("roof", (Stage(14.4),), sun=Sun(200.0, 0.0, 12 * H))
    engine, rows = marched(
        affine("a", 0.02, z=0.2, rules=[OUT]), load=steady(100.0, 0.0), chargers=(sun,),
        starts_at_s=8 * H, duration_s=3 * H, stop_when_empty=stops, output_every_s=H,
    )  # fmt: skip
    there = at(rows, 2 * H)
    assert kinds(there) == ([k.END] if stops else [k.BEFORE, k.AFTER])
    assert list(there[0, [2, 3, 4, 5]]) == [0.0] * 4
    assert engine.status == (k.EMPTY if stops else k.DURATION)
    assert engine.run.clock[0]["fed_until"] == there[0, 0]
    assert len(engine.events) == (1 if stops else 2)  # the trip at the start, and what is dropped
    if not stops:
        ahead_V = emf(there[1], 1) + 0.7
        into_A = (np.sqrt(ahead_V**2 + 4.0 * 0.02 * 100.0) - ahead_V) / 0.04
        assert there[1, 5] == approx(-into_A, rel=1e-6)
        assert engine.events[1][1] == k.COLLAPSE
        assert engine.events[1][7] == approx(-into_A, rel=1e-6)


def test_a_dark_bank_without_a_working_charger_only_waits():
    # the charger feeds 5 A until 1000 s; nobody may discharge, and nothing switches after that
    charger = Charger(
        "mains", (Stage(13.4),), limit_A=9.0, schedule=Schedule(active_s=((0.0, 1000.0),))
    )
    engine, rows = marched(
        affine("a", rules=[OUT]), load=steady(5.0), chargers=(charger,), duration_s=9000.0,
        stop_when_empty=False,
    )  # fmt: skip
    assert kinds(rows) == [k.BEFORE, k.AFTER, k.BEFORE, k.AFTER, k.END]
    assert list(rows[:, 0]) == [0.0, 0.0, 1000.0, 1000.0, 9000.0]
    assert list(rows[2:, 2]) == approx([13.4, 0.0, 0.0])
    assert list(rows[2:, -1]) == approx([5.0, 0.0, 0.0])
    assert engine.run.clock[0]["fed_until"] == 1000.0
    assert [event[1] for event in engine.events] == [k.TRIP]
    assert engine.run.clock[0]["steps"] < 30


def test_a_switching_moves_neither_charge_nor_warmth_nor_what_relaxes():
    # only R0 = 10 mohm answers at once: 20 A more are 0.2 V less, whatever the slow pair holds
    cell = affine_cell(0.01, relaxation=(RelaxationPair(0.02, 300.0),))
    one = replace(battery("a", cell), thermal=Thermal(2000.0, 0.1))
    load = stepped([0.0, 400.0, 700.0], [50.0, 70.0, 0.0])
    _, rows = marched(one, load=load, duration_s=1000.0)
    assert kinds(rows) == [k.BEFORE, k.AFTER, k.BEFORE, k.AFTER, k.END]
    for before, after, more_A in ((rows[0], rows[1], 20.0), (rows[2], rows[3], -70.0)):
        assert after[5] - before[5] == approx(more_A)
        assert after[7] == before[7]
        assert after[8] == before[8] > 298.5
        assert before[6] - after[6] == approx(0.01 * more_A, rel=1e-9)


@pytest.mark.parametrize("tight", ["rows", "events"])
def test_a_log_with_room_for_one_round_only_loses_none(tight):
    # 135 A: "a" leaves by its voltage, 67.5 A are too much for "b", and 135 A for "c"; all at one
    # instant, in three rounds, before each of which the log is full
    def over(limit_A):
        return Rule(Watch.DISCHARGE_CURRENT, False, limit_A, 0.0)

    weak = affine("a", 5e-3, 30.0, 0.5, rules=[Rule(Watch.LOWEST_CELL, True, 12.83, 0.0)])
    rest = affine("b", rules=[over(65.0)]), affine("c", rules=[over(100.0)])
    bank = bank_of(weak, *rest, load=steady(135.0), duration_s=9e3, output_every_s=1e4)
    packed = pack_bank(bank, relative=2e-5, absolute_A=1e-6, every_s=1e4, most_edges=0)
    whole = Engine(bank, prepared=(packed, start_run(bank, packed, rows=1000))).finish()
    run = start_run(bank, packed, rows=1000)
    most = most_events(packed)
    least = {"rows": 4 * most + 8 + 1, "events": 2 * most + 1}[tight]
    run = run._replace(**{tight: np.zeros((least, getattr(run, tight).shape[1]))})
    engine, calls = Engine(bank, prepared=(packed, run)), 0
    while not engine.go_on():
        calls += 1
    assert calls >= 2  # the third round ends the run
    assert [event[1] for event in engine.events] == [k.TRIP] * 3
    assert len({event[0] for event in engine.events}) == 1
    assert np.array_equal(np.array(engine.events), np.array(whole.events))
    assert np.array_equal(engine.trace(), whole.trace())
    assert engine.run.clock.tobytes() == whole.run.clock.tobytes()
