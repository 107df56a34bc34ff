"""How a log lies in the band of a prediction, and where its currents stop: by hand."""

import math
from dataclasses import astuple
from types import SimpleNamespace

import numpy as np
import pytest
from pytest import approx

from bankSim.measured.compare_course import Course, area, in_steps
from bankSim.measured.compare_found import MEASURED, SCENARIO, Lines, Settings, Stop
from bankSim.measured.compare_frame import Meter
from bankSim.measured.compare_horizon import horizon_of, looks_cut_off
from bankSim.measured.compare_lines import inside_of, lines_of, residual_of
from bankSim.measured.compare_stops import order_of, stops_of
from bankSim.sim.result import ALL_OVER

HOUR_S = 3600.0


def lines(measured, *, low=None, high=None, predicted=None):
    """Rows of a log, and a band."""
    seen = np.asarray(measured, float)
    none = np.zeros(seen.shape)
    return Lines(
        0.5 + np.arange(float(seen.shape[1])),
        none if predicted is None else np.asarray(predicted, float), seen,
        none if low is None else np.asarray(low, float),
        none if high is None else np.asarray(high, float),
    )  # fmt: skip


@pytest.mark.parametrize(
    ("off_V", "part"), [(0.05, 1.0), (0.053, 0.75), (-0.05, 1.0), (-0.053, 0.75)]
)
def test_a_voltage_lies_in_its_band_within_two_deviations_of_the_meter(off_V, part):
    # 0.2 % of the largest reading, 13 V, twice: 52 mV beside a band from 12 to 12 V
    rows = [[12.0, 12.0 + off_V, 12.0, 13.0]]
    band = [[12.0, 12.0, 12.0, 13.0]]
    assert inside_of(lines(rows, low=band, high=band), Meter(9.0, 0.2)) == [approx(part)]


@pytest.mark.parametrize(
    ("off_A", "percent", "part"),
    [(0.19, 1.0, 1.0), (0.21, 1.0, 0.5), (0.09, 0.1, 1.0), (0.11, 0.1, 0.5)],
)
def test_a_current_has_a_hundredth_of_slack_at_least(off_A, percent, part):
    # twice 1 % of 10 A; with a meter of 0.1 % one hundredth, 0.1 A
    rows = [[12.0, 12.0], [5.0 + off_A, 10.0]]
    band = [[12.0, 12.0], [5.0, 10.0]]
    assert inside_of(lines(rows, low=band, high=band), Meter(percent, 0.2)) == [1.0, approx(part)]


def test_only_what_was_measured_is_held_against_the_band():
    rows = [[12.0, np.nan, 11.0, np.nan], [np.nan] * 4]
    band = np.array([[12.0] * 4, [5.0] * 4])
    voltage, current = inside_of(lines(rows, low=band, high=band), Meter())
    assert voltage == approx(0.5)
    assert math.isnan(current)


def test_measured_less_predicted():
    # +3, -4 and 0 V; two steps that only one of them has
    rows = [[13.0, 8.0, 12.0, np.nan, 12.0]]
    found = residual_of(lines(rows, predicted=[[10.0, 12.0, 12.0, 12.0, np.nan]]))
    assert found.rms_V == approx(math.sqrt(25.0 / 3.0))
    assert (found.largest_V, found.largest_at_h) == (-4.0, 1.5)
    assert found.thirds_V == approx((3.0, -4.0, 0.0))
    few = residual_of(lines([[13.0, 12.0]], predicted=[[10.0, 12.0]]))
    assert few.thirds_V == ()
    six = residual_of(lines([[1.0, 3.0, 5.0, 5.0, -1.0, -3.0]], predicted=[[0.0] * 6]))
    assert six.thirds_V == approx((2.0, 5.0, -2.0))


def course(hours, amperes, volts=13.0, batteries=()):
    time = HOUR_S * np.asarray(hours, float)
    current = np.broadcast_to(np.asarray(amperes, float), time.shape)
    return Course(time, np.broadcast_to(np.asarray(volts, float), time.shape), current,
                  np.array([np.asarray(one, float) for one in batteries]))  # fmt: skip


def frame(interval_s=60.0, names=("a", "b")):
    return SimpleNamespace(
        known=tuple(range(len(names))), names=names, floors_A=np.full(len(names), 0.1),
        interval_s=interval_s, ended=lambda one: one,
    )  # fmt: skip


@pytest.mark.parametrize(
    ("interval_s", "stop_h", "told"),
    [
        (60.0, 9.96, True), (60.0, 9.98, False),  # a minute and a half are 0.025 h
        (3.0, 9.97, True), (3.0, 9.99, False),  # 0.2 % of 10 h are 0.02 h
    ],
)  # fmt: skip
def test_a_battery_stops_while_the_bank_goes_on(interval_s, stop_h, told):
    log = course([0, 5, stop_h, 9.995, 10], 20.0, [13, 12, 11.5, 11, 10.5],
                 [[10, 10, 10, 0.05, 0], [10, 10, 10, 20, 20]])  # fmt: skip
    first, second = stops_of(frame(interval_s), log, log)
    assert (first.battery, first.predicted_h, first.predicted_V) == (
        ("a", approx(stop_h), 11.5) if told else ("a", None, None)
    )
    assert astuple(second) == ("b", None, None, None, None)


def test_prediction_and_log_stop_each_at_its_own_time():
    predicted = course([0, 2, 4, 10], 20.0, [13, 12, 11, 10], [[5, 5, 0, 0]])
    measured = course([0, 3, 4, 10], 20.0, [13, 12.5, 11, 10], [[5, 5, 0, 0]])
    (stop,) = stops_of(frame(names=("a",)), predicted, measured)
    assert astuple(stop) == ("a", approx(2.0), approx(3.0), 12.0, 12.5)


def test_the_order_of_the_stops():
    def stop(name, predicted_h, measured_h=None):
        return Stop(name, predicted_h, measured_h, None, None)

    # samples of 60 s: a minute and a half apart is together, more is not
    stops = (stop("late", None, 1.0), stop("b", 5.03, 2.0), stop("a", 5.0, 3.0),
             stop("c", 5.05, 2.02), stop("last", None))  # fmt: skip
    ahead = order_of(stops, measured=False, frame=frame())
    assert ahead == (("a",), ("b", "c"), ("late", "last"))
    seen = order_of(stops, measured=True, frame=frame())
    assert seen == (("late",), ("b", "c"), ("a",), ("last",))


def result(reason="", end_h=8.0):
    return SimpleNamespace(end_reason=reason, end_time_s=end_h * HOUR_S)


def test_how_far_both_are_compared():
    under, over = course([0, 10], [20.0, 1.1]), course([0, 10], [20.0, 0.9])  # ten times 0.1 A
    plain = horizon_of(Settings(), result(), over, 0.1)
    assert (plain.end_s, plain.told, plain.under_load) == (math.inf, (), False)
    loaded = horizon_of(Settings(), result(), under, 0.1)
    assert (loaded.end_s, loaded.under_load) == (math.inf, True)
    assert "that counts as the end of the bank" in loaded.told[0]
    early = horizon_of(Settings(stopped_early=True), result(), under, 0.1)
    assert (early.end_s, early.under_load) == (10 * HOUR_S, False)
    assert "nothing after the end of the log" in early.told[0]


@pytest.mark.parametrize(
    ("load", "early", "end_h"),
    [
        (SCENARIO, False, 8.0),
        (SCENARIO, True, 8.0),
        (MEASURED, False, math.inf),
        (MEASURED, True, 10.0),
    ],
)
def test_a_scenario_that_ends_by_its_duration_ends_the_comparison(load, early, end_h):
    log = course([0, 10], [20.0, 0.0])
    found = horizon_of(Settings(load=load, stopped_early=early), result(ALL_OVER), log, 0.1)
    assert found.end_s == end_h * HOUR_S
    assert ("ends by its duration" in "".join(found.told)) is (load == SCENARIO)


@pytest.mark.parametrize(("last_V", "told"), [(12.05, True), (11.95, False)])
def test_a_log_that_ends_far_above_the_prediction_looks_cut_off(last_V, told):
    # 1.04 x 11.5 V are 11.96 V; the prediction stands higher where nothing flows any more
    central = course([0, 9, 9.5, 12], [20, 20, 20, 0], [13, 12, 11.5, 12.5])
    log = course([0, 9, 9.5, 10], 20.0, [13.0, last_V, last_V, last_V])
    assert bool(looks_cut_off(central, log, 0.1)) is told


@pytest.mark.parametrize(("step_V", "told"), [(0.1, True), (0.3, False)])
def test_where_the_next_sample_would_have_been_counts(step_V, told):
    # 12.2 V, and the steeper of the last two steps once more: 12.1 and 11.9 V
    central = course([0, 9, 9.5], 20.0, [13, 12, 11.5])
    log = course([0, 8, 9, 10], 20.0, [15.0, 12.2 + step_V, 12.2, 12.2])
    assert bool(looks_cut_off(central, log, 0.1)) is told


def test_a_prediction_that_goes_on_has_no_end_to_compare_with():
    going_on = course([0, 12], 20.0, [13, 11.5])
    log = course([0, 9, 10], 20.0, [13, 11.4, 11.0])
    (told,) = looks_cut_off(going_on, log, 0.1)
    assert "the prediction goes on after it" in told
    shorter = course([0, 10], 20.0, [13, 11.5])  # no longer than the log
    assert looks_cut_off(shorter, log, 0.1) == ()
    assert looks_cut_off(course([0, 12], 0.0), log, 0.1) == ()  # it feeds nothing


def test_both_courses_and_the_band_over_even_steps():
    # 2 h falling from 13 to 12 V, a log of 1 h at 12.5 V; 20 draws at 10 to 29 V and 5 to 24 A, of
    # which the two last end after an hour
    central, measured = course([0, 2], 20.0, [13, 12]), course([0, 1], 19.0, 12.5)
    drawn = [course([0, 2 if k < 18 else 1], 5.0 + k, 10.0 + k) for k in range(20)]
    found = lines_of(frame(), central, measured, drawn)
    assert found.time_h == approx((0.5 + np.arange(120)) / 60.0)  # a step is a sample of 60 s
    assert found.predicted[0] == approx(13.0 - 0.5 * found.time_h)
    assert found.predicted[1] == approx(20.0)
    first, second = found.time_h < 1.0, found.time_h > 1.0
    assert found.measured[:, first] == approx(np.broadcast_to([[12.5], [19.0]], (2, 60)))
    assert np.isnan(found.measured[:, second]).all()
    # 5 and 95 % of 20 values, rounded outwards: the first and the last
    assert [set(one[row, first]) for one in (found.low, found.high) for row in (0, 1)] == [
        {10.0}, {5.0}, {29.0}, {24.0},
    ]  # fmt: skip
    # then a voltage that has ended lies below all others, and its current is 0
    assert [set(one[row, second]) for one in (found.low, found.high) for row in (0, 1)] == [
        {-math.inf}, {0.0}, {27.0}, {22.0},
    ]  # fmt: skip


def test_a_band_leaves_a_twentieth_out_on_each_side():
    drawn = [course([0, 1], 1.0 + k, 10.0 + k) for k in range(41)]
    found = lines_of(frame(), course([0, 1], 1.0), course([0, 1], 1.0), drawn)
    assert (found.low[0, 0], found.high[0, 0]) == (approx(12.0), approx(48.0))  # 2 of 40 steps


def test_long_courses_have_400_steps():
    long = course([0, 100], 20.0)  # steps of a quarter of an hour
    found = lines_of(frame(), course([0, 1], 20.0), long, [long])
    assert found.time_h.size == 400
    assert found.time_h[:2] == approx([0.125, 0.375])


def test_the_area_below_a_line_between_its_rows():
    # a ramp from 0 to 2 in 2 s, then 2 to 6 in a moment, 6 to 4 in 4 s: t^2 / 2; 2 + 6 t - t^2 / 4
    time, values = np.array([0.0, 2.0, 2.0, 6.0]), np.array([0.0, 2.0, 6.0, 4.0])
    at = np.array([-1.0, 0.0, 1.0, 2.0, 3.0, 4.0, 6.0, 9.0])
    assert area(time, values, at) == approx([0, 0, 0.5, 2.0, 7.75, 13.0, 22.0, 22.0])
    closed = area(np.array([0.0, 2.0, 2.0]), np.array([1.0, 1.0, 9.0]), np.array([1.0, 2.0]))
    assert closed == approx([1.0, 2.0])
    assert area(np.array([5.0]), np.array([3.0]), np.array([4.0, 5.0, 6.0])) == approx([0, 0, 0])


def test_means_of_steps_within_one_row():
    # 13 V to 12 V in a straight line over 2 h
    means = in_steps(course([0, 2], 20.0, [13, 12]), HOUR_S * np.array([0.0, 0.5, 1.0, 2.0]))
    assert means[0] == approx([12.875, 12.625, 12.25])
