"""What rules watch and how far they are from acting, on numbers that can be worked out by hand."""

import math
from dataclasses import replace

import numpy as np
import pytest
from bridge import bridge
from pytest import approx
from simple_banks import affine_cell, bank_of, battery

from bankSim.kernels import arrays as k
from bankSim.kernels import rules
from bankSim.model.cell import RelaxationPair
from bankSim.model.charger import Charger, Stage
from bankSim.model.curve import Curve
from bankSim.model.load import CutOff, Load
from bankSim.model.rule import Blocks, Needs, Release, Rule, Watch
from bankSim.sim.pack import pack_bank, start_run

distance_of = bridge(rules.distance_of)
watched_value = bridge(rules.watched_value)
asleep = bridge(rules.asleep)
is_faint = bridge(rules.is_faint)
within_reach = bridge(rules.within_reach)
note_reach = bridge(rules.note_reach)
phase_gap = bridge(rules.phase_gap)

LIMITS = {
    Watch.LOWEST_CELL: (True, 3.1, 3.2),
    Watch.HIGHEST_CELL: (False, 3.5, 3.4),
    Watch.BATTERY_VOLTAGE: (True, 6.2, 6.3),
    Watch.DISCHARGE_CURRENT: (False, 50.0, 40.0),
    Watch.CHARGE_CURRENT: (False, 20.0, 10.0),
    Watch.TEMPERATURE: (True, 273.15, 275.0),
}
PLACE = {watch: place for place, watch in enumerate(LIMITS)}  # as packed, rules come in file order
TAIL = len(PLACE) + 1  # after the load's own cut-off; a charger without a tail has no rule


def packed(bank):
    kernel_bank = pack_bank(bank, relative=1e-4, absolute_A=1e-6, every_s=60.0, most_edges=0)
    return kernel_bank, start_run(bank, kernel_bank, rows=0)


def watched(needs=Needs.NOTHING):
    """Two cells at 3.30 and 3.25 V behind 5 and 6 mohm, 1 mohm inside; a plain battery before."""
    made = [
        Rule(watch, below, limit, 5.0, Blocks.BOTH, Release(back, 5.0, needs))
        for watch, (below, limit, back) in LIMITS.items()
    ]
    plain = battery("plain", affine_cell())
    two = battery("two", affine_cell(), affine_cell(), rules=made)
    load = Load("l", 1.0, np.array([0.0]), np.array([1.0]), cut_off=CutOff(11.0, 1.0, 12.0))
    charger = Charger("c", (Stage(14.0, tail_A=2.0), Stage(13.5)), limit_A=20.0)
    other = Charger("d", (Stage(15.0),), limit_A=9.0)
    bank, run = packed(bank_of(plain, two, load=load, chargers=(other, charger)))
    run.moment[1:, k.CELL_EMF], run.moment[1:, k.CELL_OHM] = (3.30, 3.25), (5e-3, 6e-3)
    run.moment[0, k.CELL_EMF], run.moment[0, k.CELL_OHM] = 1.0, 1.0  # never looked at
    run.now[1, [k.EMF, k.OHM, k.KELVIN]] = 6.55, 0.012, 290.0
    run.now[0, :] = 1.0
    run.source["on"], run.source["stage"] = 1, bank.charger["first"]
    return bank, run


def distance(bank, run, rule):
    return distance_of(bank, run, run.moment, run.now, rule)


@pytest.mark.parametrize("current", [30.0, -30.0])
def test_the_value_that_every_rule_watches(current):
    bank, run = watched()
    run.now[1, k.CURRENT] = current
    cells = 3.30 - 5e-3 * current, 3.25 - 6e-3 * current
    want = {
        Watch.LOWEST_CELL: (min(cells), 1 + cells.index(min(cells))),
        Watch.HIGHEST_CELL: (max(cells), 1 + cells.index(max(cells))),
        Watch.BATTERY_VOLTAGE: (6.55 - 0.012 * current, -1),
        Watch.DISCHARGE_CURRENT: (current, -1),
        Watch.CHARGE_CURRENT: (-current, -1),
        Watch.TEMPERATURE: (290.0, -1),
    }
    for watch, place in PLACE.items():
        seen = watched_value(bank.rule, bank.battery, run.moment, run.now, place)
        assert seen == (approx(want[watch][0], rel=1e-14), want[watch][1])
        below, limit, back = LIMITS[watch]
        value = want[watch][0]
        run.alarm[place]["phase"] = k.ARMED
        assert distance(bank, run, place) == approx(value - limit if below else limit - value)
        run.alarm[place]["phase"] = k.TRIPPED
        assert distance(bank, run, place) == approx(back - value if below else value - back)


def test_the_first_of_equal_cells_is_named():
    bank, run = watched()
    run.moment[1:, k.CELL_EMF] = 3.3
    for watch in (Watch.LOWEST_CELL, Watch.HIGHEST_CELL):
        place = PLACE[watch]
        assert watched_value(bank.rule, bank.battery, run.moment, run.now, place) == (3.3, 1)


def test_a_phase_changes_where_its_distance_runs_out_or_comes_back():
    for phase in (k.ARMED, k.TRIPPED):
        assert phase_gap(0.5, phase) == 0.5
        assert phase_gap(-0.5, phase) == -0.5
    for phase in (k.PENDING, k.RELEASING):  # broken off only beyond what counts as a touch
        assert phase_gap(0.5, phase) == approx(-0.5)
        assert phase_gap(-0.5, phase) == approx(0.5)
        assert phase_gap(0.0, phase) > rules.TOUCH


def test_the_load_watches_its_own_voltage():
    bank, run = watched()
    run.now[2, k.AT_LOADS], run.now[2, k.BUS] = 11.7, 12.5
    place = len(PLACE)
    seen = watched_value(bank.rule, bank.battery, run.moment, run.now, place)
    assert seen == (11.7, -1)
    assert distance(bank, run, place) == approx(0.7)
    run.alarm[place]["phase"] = k.RELEASING
    assert distance(bank, run, place) == approx(0.3)


def test_a_limit_must_be_passed_but_a_release_need_only_be_met():
    bank, run = watched()
    for watch, place, column, sign in (
        (Watch.BATTERY_VOLTAGE, PLACE[Watch.BATTERY_VOLTAGE], k.EMF, 1.0),
        (Watch.DISCHARGE_CURRENT, PLACE[Watch.DISCHARGE_CURRENT], k.CURRENT, -1.0),
        (Watch.TEMPERATURE, PLACE[Watch.TEMPERATURE], k.KELVIN, 1.0),
    ):
        run.now[1, k.CURRENT] = 0.0
        _, limit, back = LIMITS[watch]
        run.now[1, column] = limit
        run.alarm[place]["phase"] = k.ARMED
        assert 0.0 < distance(bank, run, place) < 1e-8
        run.now[1, column] = limit - sign * 1e-8
        assert distance(bank, run, place) < 0.0
        run.now[1, column] = back
        run.alarm[place]["phase"] = k.TRIPPED
        if watch is Watch.TEMPERATURE:  # its steps are less exact: it has to be passed
            assert 0.0 < distance(bank, run, place) < 1e-8
        else:
            assert distance(bank, run, place) == 0.0


@pytest.mark.parametrize(
    ("volts", "amperes", "want"),
    [(14.0, 5.0, 3.0), (14.0, 1.5, -0.5), (13.9, 5.0, 3.1), (13.9, 1.5, 0.1), (14.1, 0.0, -2.0)],
)
def test_a_stage_ends_at_its_hold_below_its_tail(volts, amperes, want):
    bank, run = watched()
    run.now[2, k.AT_LOADS], run.now[4, k.CURRENT] = volts, amperes
    assert distance(bank, run, TAIL) == approx(want)
    seen = watched_value(bank.rule, bank.battery, run.moment, run.now, TAIL)
    assert seen == (amperes, -1)


def test_a_release_that_waits_for_the_loads_to_go():
    bank, run = watched(Needs.LOAD_REMOVED)
    place = PLACE[Watch.BATTERY_VOLTAGE]
    run.alarm["phase"] = k.TRIPPED
    run.now[1, k.CURRENT] = 0.0  # 6.55 V is above 6.3 V
    for drawing, want in ((1, math.inf), (0, -0.25)):
        run.clock[0]["drawing"] = drawing
        seen = distance(bank, run, place)
        assert seen > 1e6 if want == math.inf else seen == approx(want)
    run.clock[0]["drawing"] = 1
    run.alarm["phase"] = k.ARMED
    assert distance(bank, run, place) == approx(0.35)


@pytest.mark.parametrize(
    ("amperes", "volts", "want"),
    [(-5.0, 6.55, -0.31), (-5e-4, 6.55, 5e-4), (3.0, 6.55, 3.001), (-5.0, 6.1, 0.14)],
)
def test_a_release_that_waits_for_a_charging_current(amperes, volts, want):
    bank, run = watched(Needs.CHARGING)
    run.alarm["phase"] = k.TRIPPED
    run.tally[1]["mode"] = k.DISCHARGE_BLOCKED
    run.now[1, k.EMF], run.now[1, k.CURRENT] = volts, amperes
    assert distance(bank, run, PLACE[Watch.BATTERY_VOLTAGE]) == approx(want)


@pytest.mark.parametrize(("bus", "want"), [(7.0, -0.25), (6.5, 0.05), (6.55, 4e-9)])
def test_a_battery_blocked_for_charge_looks_at_the_rails(bus, want):
    # 6.55 V inside, 6.3 V let it go: the rails must be above its own voltage as well
    bank, run = watched(Needs.CHARGING)
    run.alarm["phase"], run.tally["mode"] = k.TRIPPED, k.BOTH_BLOCKED
    run.now[1, k.CURRENT], run.now[2, k.BUS] = 0.0, bus
    seen = distance(bank, run, PLACE[Watch.BATTERY_VOLTAGE])
    assert seen == approx(want, abs=1e-8)
    assert bool(seen > 0.0) is (want > 0.0)


def test_rules_that_cannot_change_sleep():
    bank, run = watched()
    low = PLACE[Watch.LOWEST_CELL]
    assert not asleep(bank, run, low)
    for phase in (k.TRIPPED, k.RELEASING):
        run.alarm[low]["phase"] = phase
        bank.rule[low]["releases"], run.alarm[low]["stuck"] = 1, 0
        assert not asleep(bank, run, low)
        bank.rule[low]["releases"] = 0
        assert asleep(bank, run, low)
        bank.rule[low]["releases"], run.alarm[low]["stuck"] = 1, 1
        assert asleep(bank, run, low)
    run.alarm[low]["phase"] = k.PENDING
    assert not asleep(bank, run, low)
    assert not asleep(bank, run, TAIL)
    run.source[1]["stage"] += 1  # has no tail
    assert asleep(bank, run, TAIL)
    run.source[1]["stage"], run.source[1]["on"] = bank.charger[1]["first"], 0
    assert asleep(bank, run, TAIL)
    bank.stage[bank.charger[1]["first"], k.TAIL], run.source[1]["on"] = (
        0.0,
        1,
    )  # down to nothing is a tail, too
    assert not asleep(bank, run, TAIL)


@pytest.mark.parametrize(
    ("phase", "before", "after", "dt", "want"),
    [
        (k.ARMED, 5e-7, 4e-7, 60.0, True),
        (k.ARMED, -5e-7, -4e-7, 60.0, True),
        (k.PENDING, 5e-7, 4e-7, 60.0, False),
        (k.ARMED, 2e-6, 9e-7, 600.0, False),
        (k.ARMED, 9e-7, 2e-6, 600.0, False),
        (k.ARMED, 9e-7, -2e-6, 600.0, False),
        (k.ARMED, 9e-7, -9e-7, 60.0, False),
        (k.ARMED, -9e-7, 9e-7, 60.0, False),
        (k.ARMED, 9e-7, -9e-7, 600.0, True),
    ],
)
def test_a_trace_beyond_the_limit_counts_only_while_it_moves(phase, before, after, dt, want):
    _, run = watched()
    run.alarm[0]["phase"] = phase
    assert is_faint(run.alarm[0], before, after, dt) == want


@pytest.mark.parametrize("sign", [1.0, -1.0])
@pytest.mark.parametrize("needs", [Needs.NOTHING, Needs.CHARGING])
def test_what_may_be_crossed_inside_a_step(sign, needs):
    # as much as it moves between the ends is always looked at, ten times as much is not
    bank, run = watched(needs)
    load = len(PLACE)
    run.now[1:] = 5.0
    moves = [
        (PLACE[Watch.TEMPERATURE], 1, k.KELVIN),
        (PLACE[Watch.DISCHARGE_CURRENT], 1, k.CURRENT),
        (PLACE[Watch.CHARGE_CURRENT], 1, k.CURRENT),
        (load, 2, k.AT_LOADS),
        (TAIL, 2, k.AT_LOADS),
        (TAIL, 4, k.CURRENT),
    ]
    for place, row, column in moves:
        then = run.now.copy()
        then[row, column] += 0.3 * sign
        tally = run.tally
        assert within_reach(bank.rule, tally, run.now, then, place, k.ARMED, 0.3)
        assert within_reach(bank.rule, tally, then, run.now, place, k.ARMED, 0.3)
        assert not within_reach(bank.rule, tally, run.now, then, place, k.ARMED, 3.0)
        assert not within_reach(bank.rule, tally, run.now, run.now, place, k.ARMED, 1e-6)
    low, then = PLACE[Watch.LOWEST_CELL], run.now.copy()
    then[1, k.CURRENT] += 0.3 * sign
    run.tally["reach"] = 9.0, 0.1
    assert within_reach(bank.rule, run.tally, run.now, run.now, low, k.ARMED, 0.1)
    assert not within_reach(bank.rule, run.tally, run.now, then, low, k.ARMED, 0.11)
    waits = needs is Needs.CHARGING  # then the current counts as well
    assert within_reach(bank.rule, run.tally, run.now, then, low, k.TRIPPED, 0.4) == waits
    assert within_reach(bank.rule, run.tally, then, run.now, low, k.TRIPPED, 0.4) == waits
    assert not within_reach(bank.rule, run.tally, run.now, then, low, k.TRIPPED, 3.0)
    warm = PLACE[Watch.TEMPERATURE]
    assert within_reach(bank.rule, run.tally, run.now, run.now, warm, k.TRIPPED, 0.1) == waits


def reach_of(cell, start, end, z, then, *, internal=0.0, **more):
    """Most that the voltage of one battery may stray in a step from z to `then`."""
    bank, run = packed(bank_of(battery("other", affine_cell()), battery("a", cell, **more)))
    ohm = internal + 5e-3
    for now, moment, current, level in (
        (run.now, run.moment, start, z), (run.trial_now, run.trial, end, then)
    ):  # fmt: skip
        now[1, [k.CURRENT, k.OHM, k.FACTOR, k.USABLE]] = current, ohm, 1.0, 1.0
        now[0, [k.FACTOR, k.USABLE]] = 1.0, 1.0
        moment[1, [k.SOC, k.LEVEL]] = level, level
    run.weight[1, :, 0] = 0.75  # keep
    return bank, run


def noted(bank, run):
    note_reach(bank, run)
    return run.tally[1]["reach"]


@pytest.mark.parametrize(("start", "end"), [(20.0, 20.0), (20.0, 50.0), (50.0, -20.0)])
@pytest.mark.parametrize(("z", "then"), [(0.6, 0.5), (0.5, 0.6), (0.5, 0.5)])
def test_a_straight_cell_strays_by_its_slope_and_its_resistance(start, end, z, then):
    bank, run = reach_of(affine_cell(span=0.6), start, end, z, then)
    assert noted(bank, run) == approx(0.6 * abs(z - then) + 5e-3 * abs(end - start))
    run.trial_now[1, k.OHM] = 8e-3  # the larger of both ends
    assert noted(bank, run) == approx(0.6 * abs(z - then) + 8e-3 * abs(end - start))


def test_a_cold_battery_uses_less_of_its_curve_up_and_down():
    # R0 rises by 1 mohm for 0.1 of the usable charge: 1 - (1 - z) / 0.8, twice as high when cold
    cell = affine_cell(span=0.0)
    steep = replace(cell, ohmic_ohm=Curve.linear([0.0, 1.0], [15e-3, 5e-3]))
    bank, run = reach_of(steep, 10.0, -30.0, 0.76, 0.68)
    fixed = 5e-3 * 40.0
    assert noted(bank, run) == approx(fixed + 30.0 * 0.08 * 10e-3)
    for now in (run.now, run.trial_now):
        now[1, k.USABLE] = 0.8
    assert noted(bank, run) == approx(fixed + 30.0 * 0.10 * 10e-3)
    run.now[1, k.CURRENT], run.trial_now[1, k.CURRENT] = -30.0, 10.0
    assert noted(bank, run) == approx(fixed + 30.0 * 0.10 * 10e-3)
    run.trial_now[1, k.FACTOR] = 2.0
    bank.cell[1]["ohm_scale"] = 1.5
    assert noted(bank, run) == approx(fixed + 30.0 * 0.10 * 10e-3 * 2.0 * 1.5)


@pytest.mark.parametrize(("start", "end", "z", "then", "way"), [
    # on charge at both ends R0 is read at 0.3 or above it, else where the cell stands
    (-10.0, -30.0, 0.05, 0.10, 0.0), (-10.0, -30.0, 0.25, 0.35, 0.05),
    (-10.0, -30.0, 0.40, 0.50, 0.10), (10.0, 30.0, 0.10, 0.05, 0.05),
    (-10.0, 30.0, 0.05, 0.10, 0.05), (10.0, -30.0, 0.05, 0.10, 0.05),
    (0.0, -30.0, 0.05, 0.10, 0.05), (-30.0, 0.0, 0.05, 0.10, 0.05),
    (-0.5, -30.0, 0.05, 0.10, 0.0), (-30.0, -0.5, 0.05, 0.10, 0.0), (0.5, -30.0, 0.05, 0.10, 0.05),
    (-30.0, 0.5, 0.05, 0.10, 0.05),
])  # fmt: skip
def test_a_resistance_that_rises_near_empty_counts_for_discharge_only(start, end, z, then, way):
    # 1 mohm for 0.1 of charge, of which the part that is passed moves the voltage by I R
    curve = Curve.linear([0.0, 1.0], [15e-3, 5e-3])
    steep = replace(affine_cell(span=0.0), ohmic_ohm=curve, charge_ohm_from=0.3)
    bank, run = reach_of(steep, start, end, z, then)
    most = max(abs(start), abs(end))
    assert noted(bank, run) == approx(5e-3 * abs(end - start) + most * way * 10e-3)


def test_relaxation_and_hysteresis_can_add_their_whole_way():
    pairs = (RelaxationPair(2e-3, 10.0), RelaxationPair(4e-3, 100.0))
    cell = affine_cell(span=0.0, relaxation=pairs)
    bank, run = reach_of(cell, 10.0, 30.0, 0.5, 0.5)
    run.moment[1, [k.PAIR, k.PAIR + 1]] = 0.05, 0.10
    # a quarter of the way to R I: from 0.05 V to 0.02 or 0.06 V, from 0.10 V to 0.04 or 0.12 V
    assert noted(bank, run) == approx(5e-3 * 20.0 + 0.25 * (0.03 + 0.06))
    run.trial_now[1, k.FACTOR] = 3.0  # to 0.06 or 0.18 V, to 0.12 or 0.36 V
    assert noted(bank, run) == approx(5e-3 * 20.0 + 0.25 * (0.13 + 0.26))
    for start, end in ((30.0, -10.0), (-10.0, 30.0)):  # down to -0.02 V, or to -0.04 V
        bank, run = reach_of(cell, start, end, 0.5, 0.5)
        run.moment[1, [k.PAIR, k.PAIR + 1]] = 0.05, 0.10
        assert noted(bank, run) == approx(5e-3 * 40.0 + 0.25 * (0.07 + 0.14))
    lagging = affine_cell(span=0.0, hysteresis_V=0.02, hysteresis_rate=50.0)
    for z, way in ((0.499, 2 * 50 * 0.001), (0.501, 2 * 50 * 0.001), (0.3, 2.0)):
        bank, run = reach_of(lagging, 10.0, 10.0, 0.5, z)
        assert noted(bank, run) == approx(0.02 * way)


@pytest.mark.parametrize("sign", [1.0, -1.0])
def test_two_wells_stray_by_what_may_flow_between_them(sign):
    # a quarter of the way from the well's difference to R I, the larger current counts
    cell = affine_cell(span=0.6, available_fraction=0.6, well_rate_per_s=1e-3)
    bank, run = reach_of(cell, 10.0 * sign, 40.0 * sign, 0.60, 0.55)
    run.moment[1, k.WELL] = -0.02
    drive = 40.0 / (1e-3 * 0.6 * 360_000.0)
    stray = 0.4 * 0.25 * (0.02 + drive)
    assert noted(bank, run) == approx(5e-3 * 30.0 + 0.6 * (0.05 + 2.0 * stray))


def test_cells_and_batteries_are_kept_apart():
    two = battery("two", affine_cell(span=0.3), affine_cell(span=0.5))
    bank, run = packed(bank_of(two, battery("one", affine_cell(span=0.7))))
    for now, moment, level in ((run.now, run.moment, 0.8), (run.trial_now, run.trial, 0.7)):
        now[:, [k.FACTOR, k.USABLE]] = 1.0, 1.0
        moment[:, [k.SOC, k.LEVEL]] = level, level
    note_reach(bank, run)
    assert run.tally["reach"] == approx([0.1 * 0.8, 0.1 * 0.7])
