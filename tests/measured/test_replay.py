"""The solver under the current of a log, against closed forms."""

import numpy as np
import pytest
from pytest import approx

from bankSim.measured import replay as module
from bankSim.measured.log import Log
from bankSim.measured.replay import Course, follow, follow_each, replay
from bankSim.model.cell import Cell, RelaxationPair
from bankSim.model.curve import Curve
from bankSim.model.lead_acid import AGM
from bankSim.model.upkeep import Thermal

SLOPED = Curve.linear([0.0, 1.0], [3.0, 3.4])


def log_of(time_s, current_A):
    time_s, current_A = np.asarray(time_s, float), np.asarray(current_A, float)
    return Log("made.csv", time_s, np.full(time_s.size, 3.2), current_A)


def test_voltage_under_a_constant_current():
    # closed form: V = U(1 - I t / Q) - I R - I Rp (1 - exp(-t / tau))
    cell = Cell(SLOPED, Curve.constant(2e-3), 36_000.0, relaxation=(RelaxationPair(3e-3, 50.0),))
    time = np.linspace(0.0, 3600.0, 200)
    found = replay((cell,), Course.of(log_of(time, np.full(200, 5.0)), 25.0), time)[:, 0]
    z = 1.0 - 5.0 * time / 36_000.0
    expected = 3.0 + 0.4 * z - 5.0 * 2e-3 - 5.0 * 3e-3 * (1.0 - np.exp(-time / 50.0))
    assert found[1:] == approx(expected[1:], abs=5e-5)


def test_cells_in_series_show_their_own_voltages():
    cells = tuple(Cell(SLOPED, Curve.constant(ohm), 36_000.0) for ohm in (1e-3, 4e-3))
    time = np.array([0.0, 600.0])
    found = replay(cells, Course.of(log_of(time, [10.0, 10.0]), 25.0), np.array([300.0]))
    assert found[0, 0] - found[0, 1] == approx(10.0 * 3e-3, rel=1e-6)


def test_steps_keep_the_charge_counted_by_trapezoids():
    rng = np.random.default_rng(4)
    time = np.concatenate([[0.0], np.cumsum(rng.uniform(0.0, 20.0, 300))])
    current = np.repeat(rng.normal(5.0, 20.0, 43), 7)
    log = log_of(time, current)
    course = Course.of(log, 25.0)
    lengths = np.diff(np.append(course.edges_s, course.end_s))
    assert course.current_A @ lengths / 3600.0 == approx(log.counted_Ah()[-1], rel=1e-12)
    assert course.edges_s.size < time.size


def test_nearly_equal_samples_share_a_step():
    time = np.arange(100.0)
    current = 10.0 + 0.01 * np.sin(time)
    assert Course.of(log_of(time, current), 25.0).edges_s.size == 1


def test_last_current_may_flow_on():
    cell = Cell(SLOPED, Curve.constant(0.0), 36_000.0)
    course = Course.of(log_of([0.0, 60.0], [10.0, 10.0]), 25.0)
    found = replay((cell,), course, np.array([1000.0]), longer_s=2000.0)
    assert found[0, 0] == approx(3.4 - 0.4 * 10_000.0 / 36_000.0, abs=1e-6)


def test_what_is_seen_does_not_depend_on_what_else_is_asked():
    # only rows of the timeline next to the times are written: those between them change nothing
    cell = AGM.typical_cell(100.0, 97.3 * 3600.0)
    time = np.arange(0.0, 4.0 * 3600.0, 7.0)
    course = Course.of(log_of(time, np.where(time // 900.0 % 2, 25.0, 3.0)), 25.0)
    everywhere, here_and_there = replay((cell,), course, time), replay((cell,), course, time[5::97])
    assert np.array_equal(everywhere[5::97], here_and_there)


@pytest.mark.parametrize("thermal", [None, Thermal(80.0, 0.02)])
@pytest.mark.parametrize("most", [1, 100_000])
def test_batteries_that_run_together_show_what_each_shows_alone(thermal, most, monkeypatch):
    # the last falls below 0 V by far, where a load would draw nothing any more
    monkeypatch.setattr(module, "MOST_NUMBERS", most)
    cells = [AGM.typical_cell(100.0, Ah * 3600.0, ageing) for Ah, ageing in
             ((97.3, 1.0), (110.0, 1.5), (90.0, 2.5), (20.0, 1.0))]  # fmt: skip
    time = np.arange(0.0, 2.0 * 3600.0, 60.0)
    course = Course.of(log_of(time, np.full(time.size, 25.0)), 25.0, thermal)
    batteries = [(one, cells[0]) for one in cells]
    together = follow_each(batteries, course, time)
    for cells_of_one, seen in zip(batteries, together, strict=True):
        alone = follow(cells_of_one, course, time)
        assert seen.cells_V == approx(alone.cells_V, abs=1e-7)
        # what each lost by itself, full or empty, is shared out alike
        assert seen.state == approx(alone.state, abs=3e-4)
        assert seen.temperature_K == approx(alone.temperature_K, abs=1e-6)
        assert seen.current_A == approx(np.full(time.size, 25.0))
    assert together[-1].cells_V[:, 0].min() < -1.0
