from dataclasses import replace

import numpy as np
import pytest
from pytest import approx
from simple_banks import affine, affine_cell, bank_of, battery, run, steady

from bankSim import read_scenario, simulate
from bankSim.measured.gauge import Course, judge
from bankSim.measured.gauge_courses import course_of_log, course_of_run
from bankSim.measured.gauge_typed import judge_typed
from bankSim.measured.log import WARNING, Finding, Log, LogError
from bankSim.measured.typical_tables import line_table, typical_resistance, typical_table
from bankSim.measured.voltage_table import straight_line
from bankSim.model.cell import RelaxationPair
from bankSim.model.charge_lag import ChargeLag

# An affine battery: V = 12.8 + 0.6 z - I R with R = 5 mohm
TABLE = straight_line(12.8, 13.4, "test")


def affine_log(current_A, ohm=0.005, hours=8.0, capacity_Ah=100.0):
    time = np.linspace(0.0, hours * 3600.0, 481)
    current = np.full(time.size, current_A)
    left = 1.0 - current_A * time / 3600.0 / capacity_Ah
    return Log("affine.csv", time, 12.8 + 0.6 * left - ohm * current, current)


def test_on_a_straight_curve_the_error_is_current_times_resistance_over_slope():
    # closed form: -I R / b = -10 A x 5 mohm / (0.6 V / 100 points) = -8.333 points throughout
    judged = judge(course_of_log(affine_log(10.0), 100.0, 100.0, 0.005), TABLE)
    assert judged.error_points == approx(-8.0 - 1.0 / 3.0)
    assert judged.within_10_points == approx(1.0)
    assert judged.mean_points == approx(8.0 + 1.0 / 3.0)
    # C/10 is this very load; 10 mV are 10 / 6 points
    assert judged.worst.points_per_C10 == approx(8.0 + 1.0 / 3.0)
    assert judged.worst.points_per_10mV == approx(10.0 / 6.0)
    assert judged.worst.points_by_current == approx(-8.0 - 1.0 / 3.0)


def test_charging_makes_it_read_too_high_by_as_much():
    log = affine_log(-10.0)
    judged = judge(course_of_log(log, 200.0, 50.0, None), straight_line(12.8, 14.0, "test"))
    # voltages of a 100 Ah battery starting full, read by a table of twice the span: 12.8 + 1.2 y;
    # first sample: 13.45 V shows 54.17 % while 50 % are counted
    assert judged.error_points[0] == approx(100.0 * 0.65 / 1.2 - 50.0)
    assert judged.worst.points_per_C10 is None


def test_the_larger_resistance_to_charge_of_lead_acid_is_its_own_part_of_the_error():
    # Ohm, by hand: long after the first pair has set in, 5 A through 5 mohm, 20 mohm of the pair
    # and 30 mohm that only a charge meets lift by 0.275 V; 0.6 V are 100 points
    pair = RelaxationPair(0.02, 60.0)
    one = battery("a", affine_cell(z=0.3, relaxation=(pair,), charge_lag=ChargeLag(0.03)))
    for amps, volts in ((-5.0, 0.275), (5.0, -0.125)):
        result = run(bank_of(one, load=steady(amps), duration_s=3600.0))
        judged = judge(course_of_run(result, 0), TABLE)
        place = judged.over if amps < 0.0 else judged.under
        assert place.points_by_current == approx(100.0 * volts / 0.6, rel=1e-3)
        assert place.error_points == approx(place.points_by_current, rel=1e-2)


def test_share_of_the_time_is_weighted_by_time():
    # first hour 5 points off, then three hours 20 points off; few samples in the long part
    time = np.array([0.0, 1800.0, 3599.0, 3601.0, 14400.0])
    shown = np.array([55.0, 55.0, 55.0, 70.0, 70.0])
    course = Course(
        "c", time, 12.8 + 0.006 * shown, np.zeros(5), np.zeros(5), np.full(5, 50.0), 100.0
    )
    judged = judge(course, TABLE)
    assert judged.within_10_points == approx(0.25, abs=1e-4)
    assert judged.rests
    assert (judged.over.error_points, judged.under.error_points) == (approx(20.0), approx(5.0))


def test_a_simulated_run_agrees_with_the_closed_form():
    # the same affine battery marched by the solver: error -I R / b, its bus behind the lead
    cell = affine(z=0.9, lead=0.002)
    result = run(bank_of(cell, load=steady(6.0), duration_s=4 * 3600.0))
    judged = judge(course_of_run(result, 0), TABLE)
    assert judged.error_points == approx(-6.0 * 0.007 / 0.006, abs=0.01)
    assert judged.course.true_percent[0] == approx(90.0)
    assert judged.course.counted_Ah[-1] == approx(24.0, rel=1e-4)
    assert judged.course.ohm == approx(0.007)


STORED = """
title = "an alarm in winter"
[simulation]
duration_h = 1440
stop = "end"
output_every_s = 3600
[[battery]]
name = "AGM"
chemistry = "AGM"
cells_in_series = 6
rated_capacity_Ah = 90
[[load]]
name = "alarm"
current_A = 0.02
"""


def test_what_goes_inside_is_not_given_at_the_terminals(tmp_path):
    file = tmp_path / "stored.toml"
    file.write_text(STORED)
    result = simulate(read_scenario(file))
    course = course_of_run(result, 0)
    # closed form: 20 mA for 1440 h are 28.8 Ah, at every instant I t
    assert course.counted_Ah == approx(0.02 * course.time_s / 3600.0, abs=1e-3)
    # what a counter cannot see is what the run's own ledger lost inside
    assert course.inside_Ah == approx(result.batteries[0].self_discharge_Ah, abs=1e-3)
    assert course.inside_Ah > 3.0
    assert not course.counts_all
    # 100 % is the label (given in 20 h); both wells hold 1.0816 times that, and 7 % stay in them
    assert course.capacity_Ah == approx(90.0)
    held = result.batteries[0].final_state_of_charge[0]
    assert course.true_percent[-1] == approx(100.0 * (1.0816 * held - 0.0816), abs=0.01)
    shown = course.counter_percent(float(course.counted_Ah[-1]))
    assert shown == approx(100.0 - 100.0 * 28.8 / 90.0, abs=0.01)
    text = " ".join(course.basis)
    assert "100 % is 90.0 Ah, what it gives from full in 20 h at 25 degrees C" in text
    assert "97.3 Ah in both wells" in text
    assert "28.8 Ah given less 0 Ah taken" in text
    assert f"it would show {shown:.0f} % at the end" in text


def test_without_a_label_the_log_is_taken_from_full_to_empty():
    course = course_of_log(affine_log(10.0), None, 100.0, None)
    assert course.capacity_Ah == approx(80.0)
    assert course.true_percent[-1] == approx(0.0, abs=1e-9)
    assert "taken to end empty" in " ".join(course.basis)


def test_impossible_counting_is_warned_of():
    course = course_of_log(affine_log(10.0), 40.0, 100.0, None)
    assert any(line.startswith("WARNING") for line in course.basis)


def test_a_log_that_gives_nothing_or_stands_still_is_refused():
    with pytest.raises(LogError, match="gives no charge"):
        course_of_log(affine_log(-10.0), None, 100.0, None)
    still = Log("x.csv", np.zeros(2), np.full(2, 13.0), np.zeros(2))
    with pytest.raises(LogError, match="one instant"):
        judge(course_of_log(still, 100.0, 100.0, None), TABLE)


def test_85_percent_shown_when_35_are_left():
    # common practice, no source: at about 13.09 V under C/30 a voltage-only gauge showed 85 % when
    # the counted remainder was 35 % (4 LFP cells)
    ohm = typical_resistance("LFP", 4, 100.0)
    table, line = typical_table("LFP", 4), line_table("LFP", 4)
    typed = judge_typed(13.09, 100.0 / 30.0, table, line, ohm, 100.0)
    assert typed.line_percent == approx(85.0, abs=3.0)
    assert typed.low_percent < 35.0 < typed.high_percent
    assert not typed.low_percent < 85.0 < typed.high_percent


def test_typed_voltage_on_a_straight_table():
    # 12.95 V under 10 A behind 5 mohm is 13.0 V at rest; V = 12.8 + 0.6 z: 33.3 +- 1.67 points
    typed = judge_typed(12.95, 10.0, TABLE, None, 0.005, 100.0)
    assert typed.rest_V == approx(13.0)
    assert typed.reading_percent == approx(25.0)
    assert (typed.low_percent, typed.high_percent) == (
        approx(100.0 / 3.0 - 10.0 / 6.0),
        approx(100.0 / 3.0 + 10.0 / 6.0),
    )
    with pytest.raises(LogError, match=r"--typed-voltage = 26; expected near 12\.8 to 13\.4 V"):
        judge_typed(26.0, 0.0, TABLE, None, None, None)


@pytest.mark.parametrize(
    ("volts", "read"), [(10.23, False), (10.25, True), (16.07, True), (16.09, False)]
)
def test_a_typed_voltage_lies_within_a_fifth_of_the_table(volts, read):
    # 0.8 x 12.8 = 10.24 V, 1.2 x 13.4 = 16.08 V
    if read:
        judge_typed(volts, 0.0, TABLE, None, None, None)
        return
    with pytest.raises(LogError, match="does --cells-in-series fit"):
        judge_typed(volts, 0.0, TABLE, None, None, None)


def test_a_typed_voltage_moves_by_meter_and_load():
    # 10 mV of 0.6 V; C/10 of 100 Ah is 10 A behind 5 mohm: 50 mV
    typed = judge_typed(13.1, 10.0, TABLE, TABLE, 0.005, 100.0)
    assert typed.points_per_10mV == approx(10.0 / 6.0)
    assert typed.points_per_C10 == approx(50.0 / 6.0)
    assert (typed.drop_V, typed.line_percent) == (approx(0.05), approx(50.0))
    bare = judge_typed(13.1, 10.0, TABLE, None, None, None)
    assert (bare.drop_V, bare.rest_V, bare.points_per_C10) == (None, 13.1, None)
    assert (bare.line, bare.line_percent) == ("", None)


def test_a_log_whose_count_is_wrong_is_refused_with_the_reason():
    wrong = Finding("Row 9: a wrong sign.", (9,), severity=WARNING, spoils=True)
    log = replace(affine_log(10.0), findings=(wrong,))
    with pytest.raises(
        LogError, match=r"affine.csv: nothing can be counted .* Row 9: a wrong sign"
    ):
        course_of_log(log, 100.0, 100.0, None)


def off_by(*points, current_A=0.0, capacity_Ah=100.0, **more):
    """A course of an hour a sample, read so many points above its count of 50 %."""
    count = len(points)
    current = np.broadcast_to(np.asarray(current_A, float), count)
    return Course(
        "c", 3600.0 * np.arange(float(count)), 12.8 + 0.006 * (50.0 + np.array(points)), current,
        np.zeros(count), np.full(count, 50.0), capacity_Ah, **more,
    )  # fmt: skip


def test_near_is_within_ten_points():
    # samples stand for 1/2, 1, 1 and 1/2 h of 3 h
    judged = judge(off_by(9.0, -9.0, 11.0, -11.0), TABLE)
    assert judged.within_10_points == approx(0.5)
    assert judged.mean_points == approx((4.5 + 9.0 + 11.0 + 5.5) / 3.0)


@pytest.mark.parametrize("points", [(5.0, -8.0), (8.0, -5.0)])
def test_the_worst_error_is_the_larger_one_of_either_sign(points):
    assert abs(judge(off_by(*points), TABLE).worst.error_points) == approx(8.0)


@pytest.mark.parametrize(
    ("current_A", "rests"),
    [((0.45, -0.45, 9.0), True), ((0.55, 0.45, 9.0), False), ((0.55, -0.55, 9.0), False)],
)
def test_rest_is_two_samples_below_a_two_hundredth_of_the_capacity(current_A, rests):
    # of 100 Ah: 0.5 A, either way
    assert judge(off_by(0.0, 0.0, 0.0, current_A=current_A), TABLE).rests is rests


@pytest.mark.parametrize(
    ("inside_Ah", "counts"), [(0.9, True), (1.1, False), (-0.9, True), (-1.1, False)]
)
def test_a_counter_sees_all_but_a_hundredth(inside_Ah, counts):
    assert off_by(0.0, inside_Ah=inside_Ah).counts_all is counts


def test_what_a_charge_meets_is_part_of_what_the_current_does():
    # 5 A of charge through 5 mohm and 60 mV besides: the rest stands 85 mV lower, 14.17 points
    course = off_by(0.0, 0.0, current_A=-5.0, ohm=0.005, charge_V=np.array([0.06, 0.06]))
    assert judge(course, TABLE).over.points_by_current == approx(0.085 / 0.006)


def test_a_course_without_length_is_refused():
    with pytest.raises(LogError, match="stand still at one instant"):
        judge(off_by(0.0), TABLE)
    short = replace(off_by(0.0, 20.0), time_s=np.array([0.0, 0.5]))
    assert judge(short, TABLE).within_10_points == approx(0.5)
