"""Parts of the band for a screen, on rows and draws written by hand."""

import threading
from types import SimpleNamespace

import numpy as np
import pytest
from pytest import approx

from bankSim.kernels.arrays import FIXED, PER_BATTERY
from bankSim.study import quick_fan, quick_march
from bankSim.study.quick_fan import _Clock, _known_percentiles, _summed_up, _three, fan_of
from bankSim.study.quick_march import Course, Track, _areas, means_in_steps
from bankSim.study.traced import Fan

STEPS_S = np.array([0.0, 3600.0, 7200.0, 10_800.0])


def course(*rows, charge_Ah=(100.0, 100.0), efficiency=(1.0, 1.0)):
    """Batteries "a" and "b": rows of hour, bus voltage, both currents, both states of charge."""
    trace = np.zeros((len(rows), FIXED + 2 * PER_BATTERY))
    at = [0, 2, FIXED, FIXED + PER_BATTERY, FIXED + 2, FIXED + PER_BATTERY + 2]
    trace[:, at] = np.array(rows, float) * [3600.0, 1, 1, 1, 1, 1]
    return Course(trace, 3600.0 * np.array(charge_Ah), np.array(efficiency))


def test_means_of_each_step_by_hand():
    # "a" gives 10 A for 1.5 h of 100 Ah, "b" takes 4 A; the run ends in the middle of step 2
    rows = [(0.0, 13.0, 10.0, -4.0, 0.9, 0.5), (1.0, 12.6, 10.0, -4.0, 0.8, 0.54),
            (1.5, 12.0, 10.0, -4.0, 0.75, 0.56)]  # fmt: skip
    found = means_in_steps(course(*rows), STEPS_S)
    assert found[0, :2] == approx([12.8, 12.3])
    assert found[1, :2] == approx([10.0, 10.0])
    assert found[2, :2] == approx([-4.0, -4.0])
    assert found[3, :2] == approx([0.85, 0.775])
    assert np.isnan(found[:, 2]).all()


def test_the_voltage_is_a_mean_over_the_time_in_which_the_bus_is_live():
    rows = [(0.0, 12.0, 5.0, 5.0, 0.9, 0.9), (0.5, 12.0, 5.0, 5.0, 0.875, 0.875),
            (0.5, 0.0, 0.0, 0.0, 0.875, 0.875), (2.0, 0.0, 0.0, 0.0, 0.875, 0.875)]  # fmt: skip
    found = means_in_steps(course(*rows), STEPS_S)
    assert found[0, :2] == approx([12.0, 0.0])
    assert found[1, :2] == approx([2.5, 0.0])  # 5 A for half of the step


@pytest.mark.parametrize(
    ("held", "efficiency", "mean_A"),
    [
        ((0.9, 0.81), 1.0, 9.0),  # 9 Ah of 100 in an hour
        ((0.9, 0.75), 1.0, 10.0),  # more than the larger current of both rows: self-discharge
        ((0.9, 0.899), 1.0, 2.0),  # less than the smaller: balancing
        ((0.5, 0.545), 0.9, -5.0),  # 4.5 Ah stored of 5 Ah at 90 %
    ],
)
def test_what_the_cells_have_lost_tells_the_charge_within_both_currents(held, efficiency, mean_A):
    ends = (2.0, 10.0) if mean_A > 0.0 else (-2.0, -10.0)
    rows = [(0.0, 13.0, ends[0], 0.0, held[0], 0.5), (1.0, 13.0, ends[1], 0.0, held[1], 0.5)]
    found = means_in_steps(course(*rows, efficiency=(efficiency, 1.0)), STEPS_S[:2])
    assert found[1, 0] == approx(mean_A)
    assert found[2, 0] == 0.0


def test_areas_between_rows_and_at_jumps():
    time, area = np.array([0.0, 2.0, 2.0, 4.0]), np.array([[0.0], [4.0], [4.0], [5.0]])
    at = np.array([0.0, 1.0, 2.0, 3.0, 4.0])
    assert _areas(time, area, at)[:, 0] == approx([0.0, 2.0, 4.0, 4.5, 5.0])
    assert _areas(time[:1], area[:1], at[:2]).tolist() == [[0.0], [0.0]]  # it ended at once


def steps(duration_s, end_s, points, monkeypatch):
    track = Track.__new__(Track)
    bank = SimpleNamespace(duration_s=duration_s)
    track.ensemble = SimpleNamespace(scenario=SimpleNamespace(bank=bank))
    track._pool = SimpleNamespace(bank=SimpleNamespace(setting=np.zeros(100)))
    monkeypatch.setattr(quick_march, "_marched", lambda *_: np.array([[0.0], [end_s]]))
    return track._even_steps(points)


@pytest.mark.parametrize(
    ("end_s", "step_s", "count"),
    [
        (1000.0, 10.0, 100),  # it lasts to the end: just the duration in so many steps
        (500.0, 5.5, 182),  # a tenth longer than the central run; 1000 / 5.5 = 181.8
        (0.0, 0.011, 90_910),  # it ended at once: a thousandth of the duration counts
        (950.0, 10.0, 100),
    ],
)
def test_steps_suit_a_run_a_tenth_longer_than_the_central_one(end_s, step_s, count, monkeypatch):
    found = steps(1000.0, end_s, 100, monkeypatch)
    assert found[0] == 0.0
    assert np.diff(found) == approx(step_s)
    assert found.size == count + 1
    assert found[-1] >= 1000.0 - 1e-6


def test_percentiles_of_what_is_there():
    # two, one and no draw of three are there; linear between ranks
    columns = np.array([[[1.0, np.nan, np.nan]], [[5.0, 7.0, np.nan]], [[np.nan, np.nan, np.nan]]])
    found = _known_percentiles(columns)
    assert found.shape == (1, 5, 3)
    assert found[0, :, 0] == approx([1.2, 2.0, 3.0, 4.0, 4.8])
    assert found[0, :, 1].tolist() == [7.0] * 5
    assert np.isnan(found[0, :, 2]).all()


def test_a_band_of_draws_that_end_one_after_the_other():
    # four draws, one battery: voltage, current, state of charge; two have ended in step 2
    columns = np.full((4, 3, 2), np.nan)
    columns[:, 0, 0], columns[:, 1, 0], columns[:, 2, 0] = (11, 12, 13, 14), (1, 2, 3, 4), 0.5
    columns[:2, :, 1] = 9.0
    fan = fan_of(columns, np.array([0.0, 3600.0, 7200.0]))
    assert fan.time_h.tolist() == [0.5, 1.5]
    assert (fan.draws, fan.running.tolist()) == (4, [1.0, 0.5])
    # the next lower draw: ranks 0.15, 0.75, 1.5, 2.25, 2.85 from 0
    assert fan.voltage_V[:, 0].tolist() == [11.0, 11.0, 12.0, 13.0, 13.0]
    assert np.isnan(fan.voltage_V[:2, 1]).all()  # the lowest quarter has ended
    assert fan.voltage_V[4, 1] == 9.0
    assert fan.current_A[0, :, 0] == approx([1.15, 1.75, 2.5, 3.25, 3.85])
    assert np.isnan(fan.current_A[:, :, 1]).all()  # only half of them run
    assert fan.state_of_charge[0, :, 0].tolist() == [0.5] * 5


def test_three_points_of_the_numbers_that_are_there():
    assert _three(np.array([np.nan, 0.0, 10.0, np.inf])) == approx([0.5, 5.0, 9.5])
    assert np.isnan(_three(np.array([np.nan]))).all()


def test_chances_of_a_table():
    nothing = np.empty(0)
    names = ("a", "b", "c")
    batteries = tuple(SimpleNamespace(name=name) for name in names)
    scenario = SimpleNamespace(bank=SimpleNamespace(batteries=batteries, loads=(1,)))
    first = np.array([2, 2, 1, 0, -1, 2, 2, 2])
    table = {quick_fan.FIRST: first, "bank.delivered_Ah": np.arange(8.0),
             quick_fan.RUNTIME_H: np.full(8, 5.0)}  # fmt: skip
    for name, out_h in (("a", [4.0, np.nan]), ("b", [6.0, 6.0]), ("c", [np.nan, np.nan])):
        table[f"{name}.cut_out_h"] = np.repeat(out_h, 4)
        table[f"{name}.delivered_Ah"] = table[f"{name}.stranded_Ah"] = np.ones(8)
    fan = Fan(nothing, nothing, nothing, nothing, 8)
    found = _summed_up(scenario, fan, np.array([0.25, 0.125]), table)
    assert found.first == (("b", 0.625), ("a", 0.125))  # the likeliest first, without "c"
    nobody, together = (
        float(np.mean(first == one)) for one in (quick_fan.NOBODY, quick_fan.TOGETHER)
    )
    assert (found.nobody, found.together) == (nobody, together) == (0.125, 0.125)
    assert found.cuts_out == {"a": 0.5, "b": 1.0, "c": 0.0}
    assert {name: three.tolist() for name, three in found.cut_out_h.items()} == {
        "a": [4.0] * 3, "b": [6.0] * 3
    }  # fmt: skip
    assert found.bank_Ah == approx([0.35, 3.5, 6.65])
    assert (found.blocks_charge, found.loses_takers, found.draws) == (0.25, 0.125, 8)


def test_eight_draws_are_made_whatever_the_clock_says():
    stop = threading.Event()
    late, early = _Clock(-1.0, None), _Clock(1e6, stop)
    assert [late.is_over(done) for done in (0, 7, 8)] == [False, False, True]
    assert [early.is_over(done) for done in (7, 8, 500)] == [False, False, False]
    stop.set()
    assert [early.is_over(done) for done in (7, 8)] == [False, True]
