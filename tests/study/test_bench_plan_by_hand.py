"""Parts of a test plan on courses and runs written by hand."""

from types import SimpleNamespace

import numpy as np
import pandas
import pytest
from pytest import approx

from bankSim.study import bench_plan
from bankSim.study.bench_plan import (
    PERCENTS,
    BenchPlan,
    _course,
    _ended_by,
    _finely,
    _knee,
    _never,
    _per_degree,
    _points,
    _start_sd_percent,
    _thin,
    last_fall_s,
    repeats,
)
from bankSim.study.bench_scenario import PlanError

VOLTAGE = "battery voltage"


def is_capacity_test(middle_h=1.0, given_Ah=80.0, ended_by=VOLTAGE):
    """Of a battery of 100 Ah whose draws last so long in the middle."""
    plan = SimpleNamespace(at=lambda percent: {50.0: middle_h}[percent], middle_Ah=given_Ah,
                           capacity_Ah=100.0, ended_by=ended_by)  # fmt: skip
    return BenchPlan.is_capacity_test.fget(plan)


def test_a_capacity_test_lasts_gives_half_and_ends_by_a_voltage():
    assert is_capacity_test(middle_h=0.25)
    assert not is_capacity_test(middle_h=0.24)
    assert is_capacity_test(given_Ah=50.0)
    assert not is_capacity_test(given_Ah=49.9)
    assert is_capacity_test(ended_by="lowest cell voltage")
    assert not is_capacity_test(ended_by="discharge current")
    assert not is_capacity_test(ended_by="")


def test_durations_are_told_by_their_percentage():
    hours = tuple(range(7))
    plan = SimpleNamespace(duration_h=hours)
    assert [BenchPlan.at(plan, one) for one in (0.5, 5.0, 50.0, 99.5)] == [0, 2, 3, 6]
    # 0, 1, ... 1000: the value at p % is 10 p (straight line between draws)
    assert _points(np.arange(1001.0)) == approx([10.0 * one for one in PERCENTS])


def test_of_a_load_that_switches_a_two_hundredth_of_its_on_time_is_safe():
    # off by less than T / a: 0.5 % for T = a / 200
    safe = BenchPlan.safe_interval_s.fget
    assert safe(SimpleNamespace(shortest_on_s=600.0)) == approx(3.0)
    assert safe(SimpleNamespace(shortest_on_s=None)) is None


@pytest.mark.parametrize(("sd", "wanted", "count"), [
    (0.0, 1.0, 1), (1.0, 1.96, 1), (1.0, 1.95, 2), (2.0, 1.96, 4), (1.0, 0.98, 4), (1.0, 0.97, 5),
])  # fmt: skip
def test_repeats_on_both_sides_of_whole_numbers(sd, wanted, count):
    # (1.96 s / p)^2 rounded up; a whole number may not fall to rounding
    assert repeats(sd, wanted) == count


def test_called_full_is_a_triangle_from_98_to_100():
    # peak at its upper end: variance (b - a)^2 / 18
    assert _start_sd_percent() == approx(2.0 / 18.0**0.5)


@pytest.mark.parametrize(("size", "each", "count"), [
    (1, 1, 1), (5999, 1, 5999), (6000, 2, 3001), (6001, 2, 3001), (9001, 3, 3001),
])  # fmt: skip
def test_a_long_course_is_thinned_and_keeps_its_end(size, each, count):
    found = _thin(np.arange(size))
    assert found.size == count
    assert found[-1] == size - 1
    assert (np.diff(found)[:-1] == each).all()


@pytest.mark.parametrize(
    ("volts", "seconds"),
    [
        ([12.0, 11.0, 10.0], 0.01),  # 1 V a second
        ([12.0, 10.004, 10.0], 1.0 + 0.006 * 1.0 / 1.996),  # the crossing lies a row before
        ([10.0, 10.5, 10.0], 0.02),  # only the last fall counts
        ([13.0, 10.5, 10.0], 0.02),  # and of that the last row above
        ([10.0, 9.9, 10.0], 2.0),  # it never was as high: the whole stretch
        ([10.0], 1e-3),
    ],
)
def test_how_long_the_last_10_mV_took(volts, seconds):
    assert last_fall_s(50.0 + np.arange(len(volts)), np.array(volts)) == approx(seconds)


def test_a_knee_is_that_of_the_battery_and_of_its_fastest_cell():
    # on for the last 3 s: the battery falls 5 mV a second, its cells 4 and 1 mV
    time = np.arange(6.0)
    current = np.array([0.0, 20.0, 0.9, 20.0, 20.0, 20.0])
    volts = 12.0 - 0.005 * time
    cells = np.column_stack([3.0 - 0.001 * time, 3.0 - 0.004 * time])
    knee = _knee(None, (time, current, volts, cells))
    assert knee.voltage_V == approx(11.975)
    assert (knee.battery_s, knee.cell_s) == approx(
        (2.0, 2.0)
    )  # no 10 mV in all of the 2 s for a cell
    assert knee.slope_mV_per_min == approx(300.0)
    # a twentieth of the largest current is on: the whole course, 2.5 s for the last 10 mV of a cell
    current[[0, 2]] = 1.0
    assert _knee(None, (time, current, volts, cells)).cell_s == approx(2.5)


def test_a_knee_of_a_load_that_is_always_on_looks_at_all_of_the_course():
    time, current = np.arange(3.0), np.full(3, 20.0)
    volts = np.array([10.008, 10.004, 10.0])
    assert _knee(None, (time, current, volts, volts[:, None])).battery_s == 2.0


def test_a_knee_of_a_load_that_goes_off_at_the_end_looks_at_the_last_two_rows():
    time, current = np.arange(4.0), np.array([20.0, 20.0, 20.0, 0.0])
    volts = np.array([12.0, 11.0, 10.02, 10.0])
    knee = _knee(None, (time, current, volts, volts[:, None]))
    assert knee.battery_s == approx(0.5)  # 20 mV in a second


def run_of(end_s, *, rated_Ah=10.0):
    end = None if end_s is None else SimpleNamespace(time_s=end_s, watches=VOLTAGE)
    battery = SimpleNamespace(name="a", first_cut_out=end)
    return SimpleNamespace(batteries=(battery,), bank=SimpleNamespace(delivered_Ah=rated_Ah))


def test_what_ends_a_test():
    assert _ended_by(run_of(5.0)) == VOLTAGE
    assert _ended_by(run_of(None)) == ""


def test_a_course_ends_with_the_row_just_before_the_cut_out(monkeypatch):
    # two rows at the instant: before and after the battery is taken off
    frame = pandas.DataFrame({
        "time_s": [0.0, 5.0, 9.0, 9.0, 10.0],
        "a.current_A": [5.0, 5.0, 5.0, 0.0, 0.0],
        "a.voltage_V": [13.0, 12.0, 10.0, 11.0, 11.5],
        "a.cell1_V": [6.5, 6.0, 5.1, 5.5, 5.7],
        "a.cell2_V": [6.5, 6.0, 4.9, 5.5, 5.8],
    })  # fmt: skip
    monkeypatch.setattr(bench_plan, "timeline_frame", lambda *_, **__: frame)
    time, current, volts, cells = _course(run_of(9.0))
    assert (time.tolist(), current.tolist()) == ([0.0, 5.0, 9.0], [5.0, 5.0, 5.0])
    assert volts.tolist() == [13.0, 12.0, 10.0]
    assert cells[-1].tolist() == [5.1, 4.9]
    with pytest.raises(PlanError, match="every value in the middle the battery does not cut out"):
        _course(run_of(None))


@pytest.mark.parametrize(
    ("end_s", "longest_s", "every_s", "hours"),
    [
        (36_000.0, 864e3, 1.8, 36_420.0 / 3600.0),  # 20,000 rows; a hundredth and a minute more
        (100.0, 864e3, 0.1, 161.0 / 3600.0),  # no finer than 0.1 s
        (2e6, 2.5e6, 60.0, 2_020_060.0 / 3600.0),  # no coarser than a minute
        (36_000.0, 36_100.0, 1.8, 36_100.0 / 3600.0),  # no longer than the first run
    ],
)
def test_the_fine_run_goes_a_little_past_the_end_of_the_coarse_one(
    end_s, longest_s, every_s, hours, monkeypatch
):
    monkeypatch.setattr(bench_plan, "changed", lambda _, table, values: (table, values))
    monkeypatch.setattr(bench_plan, "simulate", lambda scenario: scenario)
    scenario = SimpleNamespace(bank=SimpleNamespace(duration_s=longest_s))
    table, values = _finely(scenario, SimpleNamespace(end_time_s=end_s))
    assert table == "simulation"
    assert values == {"output_every_s": approx(every_s), "duration_h": approx(hours)}


@pytest.mark.parametrize(("warm_Ah", "cold_Ah", "percent"), [
    (10.0, 9.7, 0.6), (10.0, 10.0, 0.0), (10.0, 10.5, -1.0), (0.5, 0.25, 10.0), (0.0, 0.0, 0.0)
])  # fmt: skip
def test_what_a_kelvin_takes(warm_Ah, cold_Ah, percent, monkeypatch):
    # 3 % in 5 K are 0.6 % each; the colder run is 5 K below the scenario's 25 degC
    asked = []
    monkeypatch.setattr(bench_plan, "changed", lambda *more: asked.append(more[1:]))
    monkeypatch.setattr(bench_plan, "simulate", lambda _: run_of(1.0, rated_Ah=cold_Ah))
    scenario = SimpleNamespace(bank=SimpleNamespace(temperature_K=298.15))
    assert _per_degree(scenario, run_of(1.0, rated_Ah=warm_Ah)) == approx(percent)
    assert asked == ([("surroundings", {"temperature_C": approx(20.0)})] if warm_Ah else [])


@pytest.mark.parametrize(
    ("fed_h", "said"),
    [
        (9.98, "cannot be fed after 9.98 h"),
        (9.995, "does not cut out within 10 h"),
        (10.0, "does not cut out within 10 h"),
    ],
)
def test_why_no_draw_cuts_out(fed_h, said, monkeypatch):
    # 0.1 % short of the whole duration is rounding; the median of the draws decides
    monkeypatch.setattr(bench_plan, "too_large", lambda _: None)
    scenario = SimpleNamespace(bank=SimpleNamespace(duration_s=36_000.0))
    assert said in _never(scenario, np.array([0.0, fed_h, 10.0]))
