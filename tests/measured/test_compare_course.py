"""What is read off a course of voltage and currents: rows and rectangles, by hand."""

import math

import numpy as np
import pytest
from pytest import approx

from bankSim.measured.compare_course import (
    Course,
    course_of_trace,
    delivered_Ah,
    delivered_Wh,
    floor_of,
    shares_at_start,
    starts_s,
    stops_s,
)


def course(time_s, amperes, volts=12.0, batteries=()):
    time = np.asarray(time_s, float)
    whole = [np.broadcast_to(np.asarray(one, float), time.shape) for one in (volts, amperes)]
    rows = np.array([np.broadcast_to(np.asarray(one, float), time.shape) for one in batteries])
    return Course(time, *whole, rows if len(batteries) else np.empty((0, time.size)))


@pytest.mark.parametrize(("end_s", "rows"), [(-5.0, 1), (0.0, 1), (9.9, 1), (10.0, 3), (99.0, 4)])
def test_the_part_up_to_an_instant(end_s, rows):
    one = course([0, 10, 10, 20], [1, 2, 3, 4], [13, 12, 11, 10], [[5, 6, 7, 8]]).until(end_s)
    assert one.time_s.tolist() == [0.0, 10.0, 10.0, 20.0][:rows]
    assert one.voltage_V.tolist() == [13.0, 12.0, 11.0, 10.0][:rows]
    assert one.current_A.tolist() == [1.0, 2.0, 3.0, 4.0][:rows]
    assert one.batteries_A.tolist() == [[5.0, 6.0, 7.0, 8.0][:rows]]
    assert one.end_s == one.time_s[-1]


def test_meters_of_another_gain():
    one = course([0, 10], 10.0, 12.0, [4.0, 6.0]).scaled(current=1.5, voltage=1.25)
    assert (one.voltage_V[0], one.current_A[0], one.batteries_A[:, 0].tolist()) == (15, 15, [6, 9])
    same = course([0, 10], 10.0, 12.0, [4.0]).scaled()
    assert (same.voltage_V[0], same.current_A[0], same.batteries_A[0, 0]) == (12.0, 10.0, 4.0)


def test_columns_of_a_trace():
    # time, kind, bus voltage, current, load voltage; then current, voltage, charge, temperature,
    # blocked directions of each battery (DEVELOPERS.md, `kernels/arrays.py`)
    trace = np.arange(30.0).reshape(2, 15)
    one = course_of_trace(trace, 2)
    assert one.time_s.tolist() == [0.0, 15.0]
    assert one.voltage_V.tolist() == [2.0, 17.0]
    assert one.current_A.tolist() == [3.0, 18.0]
    assert one.batteries_A.tolist() == [[5.0, 20.0], [10.0, 25.0]]
    trace[:] = -1.0
    assert one.time_s.tolist() == [0.0, 15.0]  # a copy
    assert one.known == (0, 1)
    one.batteries_A[0, 1] = np.nan
    assert one.known == (1,)


@pytest.mark.parametrize(
    ("amperes", "floor_A"),
    [
        ([10.0] * 19 + [99.0], 0.02 * (10.0 + 0.05 * 89.0)),  # 95th percentile of 20: place 18.05
        ([10.0] * 5 + [0.0] * 95, 0.2), ([0.5] * 5, 0.02), ([-9.0] * 5, 0.02),
    ],
)  # fmt: skip
def test_below_which_nothing_flows(amperes, floor_A):
    assert floor_of(np.array(amperes)) == approx(floor_A)


@pytest.mark.parametrize(
    ("amperes", "start_s"),
    [
        ([0, 0, 5, 5, 0], 15.0), ([5, 5, 0, 0, 0], 0.0), ([0, 5, 0, 5, 5], 25.0),
        ([0, 0, 0, 0, 5], 35.0), ([0, 0.1, 0.1, 0, 0], None), ([0, 5, 0, 0, 0], None),
    ],
)  # fmt: skip
def test_a_current_starts_half_an_interval_before_it_lasts(amperes, start_s):
    assert starts_s(course([0, 10, 20, 30, 40], amperes), 0.1) == start_s


@pytest.mark.parametrize(
    ("amperes", "stop_s"), [([0, 5, 0, 5, 0.1], 30.0), ([5, 5, 5, 5, 5], 40.0), ([0] * 5, 0.0)]
)
def test_a_current_stops_with_its_last_sample(amperes, stop_s):
    time = np.array([0.0, 10.0, 20.0, 30.0, 40.0])
    assert stops_s(time, np.array(amperes, float), 0.1) == stop_s


def shared(change_s, end_s):
    """After 100 s of rest 2 and 8 A, from an instant on 8 and 2 A."""
    time = [0, 100, 100, change_s, change_s, end_s]
    one, other = np.array([0, 0, 2, 2, 8, 8.0]), np.array([0, 0, 8, 8, 2, 2.0])
    return course(time, one + other, batteries=[one, other])


@pytest.mark.parametrize(
    ("change_s", "end_s", "first"),
    [
        # ten minutes of long courses: 2 A all along; 2 A for 300 s and 8 A for 300 s
        (700.0, 20_100.0, 0.2), (400.0, 20_100.0, 0.5),
        # a twentieth of short ones, 50 s of 1000 s
        (150.0, 1100.0, 0.2), (125.0, 1100.0, 0.5),
    ],
)  # fmt: skip
def test_shares_are_those_of_ten_minutes_or_a_twentieth(change_s, end_s, first):
    assert shares_at_start(shared(change_s, end_s), 0.5) == approx([first, 1.0 - first])


def test_without_current_there_are_no_shares():
    found = shares_at_start(course([0, 3600], 0.0, batteries=[1.0, -1.0]), 0.5)
    assert all(math.isnan(one) for one in found)
    assert found.size == 2
    small = shares_at_start(course([0, 10], 1.0, batteries=[0.25, 0.75]), 0.5)  # 0.5 As
    assert small == approx([0.25, 0.75])


def test_charge_and_energy_that_are_given():
    # 10 A for an hour, then 5 A taken: 10 Ah; at 12 V 120 Wh
    one = course([0, 3600, 3600, 7200], [10, 10, -5, -5])
    assert delivered_Ah(one.time_s, one.current_A) == approx(10.0)
    assert delivered_Wh(one) == approx(120.0)
    weak = course([0, 3600], 0.5)
    assert delivered_Ah(weak.time_s, weak.current_A) == approx(0.5)
