"""A sign that changes while the voltage does not: both sides of every limit, by Ohm's law."""

import numpy as np
import pytest
from pytest import approx

from bankSim.measured.flipped import Flipped, find_flipped, flipped_finding
from bankSim.measured.log import WARNING

SIDE = 40


def falling(volts_a_sample=0.004, *, leap_V=0.0, after_A=-5.0, sides=(SIDE, SIDE)):
    """5 A and then the other way; the voltage falls on as in one discharge."""
    amps = np.repeat([5.0, after_A], sides)
    volts = 12.3 - volts_a_sample * np.arange(amps.size)
    volts[sides[0] :] += leap_V
    return np.arange(float(amps.size)), volts, amps


@pytest.mark.parametrize(("slope", "course"), [(0.004, "falling"), (-0.004, "rising")])
@pytest.mark.parametrize("way", [1.0, -1.0])
def test_a_voltage_that_goes_on_where_the_current_turns(slope, course, way):
    time, volts, amps = falling(slope)
    found = find_flipped(time, volts, way * amps)
    assert (found.at, found.count, found.course) == (SIDE, 1, course)
    assert (found.before_A, found.after_A) == (way * 5.0, -way * 5.0)


@pytest.mark.parametrize(("slope", "told"), [(0.0016, False), (0.0018, True)])
def test_it_must_move_by_a_two_hundredth_on_both_sides(slope, told):
    # 39 samples on each side, medians of three at their ends: 36 steps, 58 and 65 mV; 0.5 % of
    # 12.2 V are 61 mV
    assert (find_flipped(*falling(slope)) is not None) is told


@pytest.mark.parametrize(("leap_V", "told"), [(0.07, True), (0.09, False), (-0.07, False)])
def test_a_leap_of_a_two_hundredth_is_an_answer(leap_V, told):
    # five steps of 4 mV lie between the medians: 50, 70 and -90 mV; 0.5 % are 61 mV
    assert (find_flipped(*falling(leap_V=leap_V)) is not None) is told


@pytest.mark.parametrize(
    ("after_A", "told"), [(-3.8, True), (-3.7, False), (-6.6, True), (-6.8, False)]
)
def test_before_and_after_differ_by_a_quarter_at_most(after_A, told):
    # of the larger one
    assert (find_flipped(*falling(after_A=after_A)) is not None) is told


def test_each_turn_counts():
    time, amps = np.arange(120.0), np.repeat([5.0, -5.0, 5.0], 40)
    found = find_flipped(time, 12.3 - 0.004 * time, amps)
    assert (found.at, found.count) == (40, 2)
    told = flipped_finding(found, np.arange(2, 200))
    assert (told.rows, told.count, told.spoils) == ((42,), 2, True)
    assert "Row 42: the direction of the current changes, from 5.00 to -5.00 A" in told.text
    assert "goes on falling" in told.text
    assert " 1 more like it." in told.text


@pytest.mark.parametrize(("rows", "told"), [(1, True), (2, False)])
def test_a_current_may_pass_through_zero_in_one_sample(rows, told):
    amps = np.repeat([5.0, 0.0, -5.0], [40, rows, 40])
    time = np.arange(float(amps.size))
    assert (find_flipped(time, 12.3 - 0.004 * time, amps) is not None) is told


@pytest.mark.parametrize(("gap_s", "told"), [(55.0, True), (65.0, False)])
def test_across_a_gap_a_current_may_turn(gap_s, told):
    # samples of 10 s: three times two of them are 60 s
    time, volts, amps = falling()
    time = 10.0 * time
    time[SIDE:] += gap_s - 10.0
    assert (find_flipped(time, volts, amps) is not None) is told


@pytest.mark.parametrize(("surge_A", "told"), [(45.0, True), (55.0, False)])
def test_a_tenth_of_the_largest_current_flows(surge_A, told):
    time, volts, amps = falling()
    amps[-1] = -surge_A
    assert (find_flipped(time, volts, amps) is not None) is told


def stepped(leap_V=0.0, *, noise_V=0.0, sides=(SIDE, SIDE), ohm=0.02):
    """Rest, 5 A, the other way, rest: the steps from and to rest answer with 0.1 V."""
    amps = np.repeat([0.0, 5.0, -5.0, 0.0], [12, *sides, 12])
    loaded_V = 13.0 - ohm * 5.0
    volts = np.repeat([13.0, loaded_V, loaded_V + leap_V, loaded_V + leap_V - ohm * 5.0],
                      [12, *sides, 12])  # fmt: skip
    volts[:10:2] += noise_V
    return np.arange(float(amps.size)), volts, amps


@pytest.mark.parametrize(
    ("leap_V", "told"), [(0.0, True), (0.04, True), (0.06, False), (0.2, False), (-0.04, True)]
)
def test_a_turn_is_answered_as_other_steps_are(leap_V, told):
    # 20 mohm: 10 A are 0.2 V, of which a quarter must come
    found = find_flipped(*stepped(leap_V, noise_V=0.01))
    assert (found is not None) is told
    if told:
        assert (found.at, found.course) == (12 + SIDE, "as before")


@pytest.mark.parametrize(("noise_V", "told"), [(0.03, True), (0.04, False)])
def test_an_answer_must_be_six_times_the_usual_change(noise_V, told):
    # 0.18 and 0.24 V against 0.2 V
    assert (find_flipped(*stepped(noise_V=noise_V)) is not None) is told


@pytest.mark.parametrize(("ohm", "told"), [(0.9e-3, True), (0.7e-3, False)])
def test_a_voltage_that_stands_still_is_read_to_a_ten_thousandth(ohm, told):
    # 6 x 1.3 mV of 13 V are 7.8 mV; 10 A through 0.9 and 0.7 mohm are 9 and 7 mV
    assert (find_flipped(*stepped(ohm=ohm)) is not None) is told


@pytest.mark.parametrize(
    ("sides", "told"),
    [((4, SIDE), True), ((3, SIDE), False), ((SIDE, 4), True), ((SIDE, 3), False)],
)
def test_three_samples_on_each_side_are_looked_at(sides, told):
    assert (find_flipped(*stepped(sides=sides)) is not None) is told


def test_a_dead_voltage_answers_nothing():
    time, volts, amps = stepped()
    volts[12 + SIDE + 10 :] = 0.0
    assert find_flipped(time, volts, amps) is None


def test_a_current_that_was_not_steady_tells_no_course():
    # from 5 A to 12 A in the stretch before: its fall says nothing
    time, volts, amps = falling()
    amps[:20] = 12.0
    assert find_flipped(time, volts, amps) is None
    assert find_flipped(time, volts, np.abs(amps)) is None


def test_the_size_before_is_that_of_the_last_three_samples():
    time, volts, amps = stepped()
    amps[12 + SIDE - 4 : 12 + SIDE - 1] = 4.5
    assert find_flipped(time, volts, amps).before_A == approx(4.5)


@pytest.mark.parametrize(
    ("count", "more"), [(1, ""), (2, " 1 more like it."), (3, " 2 more like it.")]
)
def test_what_is_told_of_a_flipped_sign(count, more):
    (rows, at) = np.arange(100) + 2, 40
    found = flipped_finding(Flipped(at, 10.0, -9.5, "falling", count), rows)
    assert found.text == (
        "Row 42: the direction of the current changes, from 10.0 to -9.50 A in the file, but the "
        "voltage does not leap as it would and goes on falling: a part of the log has the wrong "
        f"sign, and Ah and Wh are wrong.{more} Look at how it was logged, and turn the sign of the "
        "one part."
    )
    assert (found.rows, found.count, found.severity, found.spoils) == ((42,), count, WARNING, True)
