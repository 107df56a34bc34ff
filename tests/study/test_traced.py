"""What is read from draws run in full: peaks before a cut-out, steps, lines, cautions; by hand."""

from types import SimpleNamespace

import numpy as np
import pytest
from pytest import approx

from bankSim.kernels.arrays import AFTER, BEFORE, FIXED, GRID, PER_BATTERY
from bankSim.sim.cautions import URGENT
from bankSim.sim.result import Caution
from bankSim.study.traced import (
    _area,
    _chances,
    _edges,
    _fan,
    _first_out,
    _in_steps,
    coarser,
    hardest_before_cut_out,
)


def run_of(rows, *events):
    """A run of batteries "a" and "b" from rows of time, kind, bus voltage, and both currents."""
    trace = np.zeros((len(rows), FIXED + 2 * PER_BATTERY))
    trace[:, [0, 1, 2, FIXED, FIXED + PER_BATTERY]] = rows
    return SimpleNamespace(trace=trace, events=events, batteries=(None, None))


def cut(time_s, battery="a", *, cuts_out=True):
    return SimpleNamespace(time_s=time_s, battery=battery, cuts_out=cuts_out)


ROWS = [
    (0.0, GRID, 12.0, 5.0, 9.0),
    (10.0, BEFORE, 12.0, 20.0, 6.0),
    (10.0, AFTER, 12.0, 0.0, 40.0),
    (20.0, GRID, 12.0, 0.0, 90.0),
]


@pytest.mark.parametrize(
    ("events", "hardest_A"),
    [
        ((cut(10.0),), 20.0),  # the row just before counts, the one just after does not
        ((cut(20.0, "b"), cut(10.0)), 20.0),  # the earliest, in whatever order
        ((cut(5.0),), 9.0),
        ((cut(5.0, cuts_out=False), cut(20.0)), 90.0),
        ((), 90.0),
    ],
)
def test_the_largest_current_until_the_first_cut_out(events, hardest_A):
    assert hardest_before_cut_out(run_of(ROWS, *events)) == hardest_A


def test_a_bank_that_only_takes_in_has_no_largest_current():
    assert hardest_before_cut_out(run_of([(0.0, GRID, 12.0, -5.0, -1.0)])) == 0.0


def test_who_cuts_out_first_may_be_several_at_once():
    def first(*events):
        return _first_out(SimpleNamespace(events=events))

    assert first() == ()
    assert first(cut(5.0, cuts_out=False), cut(9.0, "b"), cut(50.0)) == ("b",)
    assert first(cut(9.0, "b"), cut(9.0), cut(50.0, "c")) == ("b", "a")
    assert first(cut(9.0, None), cut(9.0, "a")) == ("a",)  # the whole bank is nobody


@pytest.mark.parametrize(
    ("duration_s", "every_s", "step_s", "last_s"),
    [
        (100.0, 10.0, 10.0, 110.0),
        (105.0, 10.0, 10.0, 110.0),
        (16_000.0, 10.0, 10.0, 16_010.0),  # 1600 rows are few enough
        (16_010.0, 10.0, 20.0, 16_020.0),
        (32_000.0, 10.0, 20.0, 32_020.0),
        (32_010.0, 10.0, 30.0, 32_040.0),
        (5.0, 10.0, 10.0, 10.0),
    ],
)
def test_even_steps_reach_the_end(duration_s, every_s, step_s, last_s):
    bank = SimpleNamespace(duration_s=duration_s, output_every_s=every_s)
    edges = _edges(SimpleNamespace(scenario=SimpleNamespace(bank=bank)))
    assert edges[0] == 0.0
    assert np.diff(edges) == approx(step_s)
    assert edges[-1] == last_s >= duration_s


def test_each_battery_has_its_own_mean_in_each_step():
    # straight from 5 to 20 A and from 9 to 6 A in 10 s; then 0 A, and from 40 to 90 A
    found = _in_steps(run_of(ROWS), np.array([0.0, 10.0, 20.0, 30.0]))
    assert found[:, :2] == approx(np.array([[12.0, 12.0], [12.5, 0.0], [7.5, 65.0]]))
    assert np.isnan(found[:, 2]).all()


def test_an_area_is_the_sum_of_its_trapezoids():
    time, values = np.array([0.0, 2.0, 2.0, 4.0]), np.array([1.0, 3.0, 10.0, 0.0])
    assert _area(time, values, np.array([0.0, 2.0, 4.0])) == approx([0.0, 4.0, 14.0])


def test_lines_of_twenty_draws_are_the_draws_of_that_rank():
    # voltages 1, 2, ... 20: of 20 draws the next lower one at 5, 25, 50, 75, 95 % (ranks 0.95,
    # 4.75, 9.5, 14.25, 18.05 from 0); currents in a straight line between draws
    draws = np.arange(1.0, 21.0)
    columns = np.full((20, 3, 2), np.nan)  # none runs in the second step: it is left out
    columns[:, :, 0] = np.stack([draws, 10.0 * draws, -draws], axis=1)
    fan = _fan(columns, np.array([0.0, 7200.0, 14_400.0]))
    assert fan.voltage_V[:, 0].tolist() == [1.0, 5.0, 10.0, 15.0, 19.0]
    assert fan.current_A[0, :, 0] == approx([19.5, 57.5, 105.0, 152.5, 190.5])
    assert fan.current_A[1, :, 0] == approx([-19.05, -15.25, -10.5, -5.75, -1.95])
    assert (fan.time_h.tolist(), fan.running.tolist(), fan.draws) == ([1.0], [1.0], 20)


@pytest.mark.parametrize(("running", "shown"), [(11, True), (10, False)])
def test_currents_are_told_while_more_than_half_of_the_draws_run(running, shown):
    # those that have ended count as the lowest voltage: of 20, 9 or 10 stop the 5 and 25 % lines,
    # and 10 the middle one, whose rank from 0 is 9
    columns = np.full((20, 2, 1), 12.0)
    columns[running:] = np.nan
    fan = _fan(columns, np.array([0.0, 60.0]))
    assert np.isfinite(fan.current_A).all() == shown
    assert np.isfinite(fan.voltage_V[:, 0]).tolist() == [False, False, shown, True, True]


def test_no_draw_that_runs_at_all_leaves_one_empty_step():
    means, edges_s = coarser(np.full((2, 3, 5), np.nan), np.arange(6.0))
    assert means.shape == (2, 3, 1)
    assert np.isnan(means).all()
    assert edges_s.tolist() == [0.0, 1.0]


def test_cautions_come_by_severity_then_urgency_then_number():
    def caution(topic, severity):
        return Caution(topic, severity, 1.0, 2.0, "A", f"{topic} as {severity}")

    urgent, later = URGENT[0], URGENT[1]
    raised = [
        (caution("x", "warning"), caution("y", "warning"), caution(later, "danger")),
        (caution("y", "warning"), caution("z", "note"), caution(urgent, "warning")),
        (caution(urgent, "danger"), caution("y", "warning")),
    ]
    told = [(one.topic, one.severity, one.chance.value, one.draw) for one in _chances(raised)]
    third = approx(1.0 / 3.0)
    assert told == [
        (urgent, "danger", third, 2),
        (later, "danger", third, 0),
        (urgent, "warning", third, 1),
        ("y", "warning", 1.0, 0),
        ("x", "warning", third, 0),
        ("z", "note", third, 1),
    ]
