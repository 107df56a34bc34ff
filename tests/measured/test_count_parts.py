"""What makes the Ah of one discharge uncertain, line by line, on logs of a few uneven samples.

Expected values are sums of trapezoids by hand (docs/theory.md, eq. 26.1, 26.2); limits are divided
by the root of 3 (eq. 26.3).
"""

import math

import numpy as np
import pytest
from pytest import approx

from bankSim.measured.count import Instrument, count
from bankSim.measured.current_spikes import Spikes
from bankSim.measured.discharge import Discharge, Ending, Pause
from bankSim.measured.log import Gap, Log
from bankSim.measured.uncertainty import Shape
from bankSim.measured.zero import Zero

PERFECT = Instrument(0.0, 0.0, 0.0, 0.0)
ON_A = 1.0
ROOT = math.sqrt(3.0)
APART, EDGES = "samples too far apart", "moment of start and end"
SILENT, LEAPS, GAPS = (
    "readings of 0 inside the test",
    "lone leaps of the current",
    "gaps in the log",
)


def log_of(time, current, voltage=12.0, gaps=()):
    """A log of these samples."""
    current = np.asarray(current, float)
    volts = np.broadcast_to(np.asarray(voltage, float), current.shape).copy()
    return Log("x", np.asarray(time, float), volts, current, gaps=gaps)


def steady(count, amperes=20.0):
    """A sample each 10 s."""
    return log_of(10.0 * np.arange(count), np.full(count, amperes))


def part(first, last, pauses=(), end_s=math.nan):
    """The samples of a log that are its discharge."""
    ending = Ending.BY_HAND if math.isnan(end_s) else Ending.END_V
    return Discharge(first, last, ON_A, ending, end_s, tuple(pauses))


def line(budget, name):
    return next(one for one in budget.contributions if one.name == name)


def names(did):
    return [one.name for one in did.Ah.contributions]


def test_typical_limits_where_nothing_is_given():
    # our own choice: 0.5 % and 50 mA of the current, 0.5 % and 20 mV of the voltage; 10 s are on
    did = count(log_of([0, 360, 720, 1080], [10.0] * 4, [13, 12, 11, 10]), part(0, 3), Instrument(),
                10.0)  # fmt: skip
    widths = {one.name: one.width for one in did.Ah.contributions if one.shared}
    assert widths == {
        "shunt gain": 0.5, "shunt offset": 0.05, "end voltage, gain": 0.5,
        "end voltage, offset": 0.02,
    }  # fmt: skip
    assert line(did.Wh, "voltage gain").width == 0.5
    assert line(did.Wh, "voltage offset").width == 0.02


@pytest.mark.parametrize(
    ("instrument", "limit_A"),
    [
        (Instrument(), 0.05),
        (Instrument(shunt_offset_A=0.1), 0.1),
        (Instrument(shunt_offset_A=0.1, shape=Shape.NORMAL), 0.2),
    ],
)
@pytest.mark.parametrize("mean_A", [0.3, -0.3])
def test_a_zero_widens_the_offset_by_its_size_whatever_its_sign(instrument, limit_A, mean_A):
    # a standard uncertainty counts twice as a limit; 1080 s are 0.3 h
    log = log_of([0, 360, 720, 1080], [10.0] * 4)
    offset = line(count(log, part(0, 3), instrument, None, Zero(mean_A, 0, 60, 1)).Ah,
                  "shunt offset")  # fmt: skip
    assert offset.width == approx(0.3 + limit_A)
    assert offset.share == approx((0.3 + limit_A) * 0.3 / ROOT)
    assert (offset.shape, offset.assumed, offset.shared) == (Shape.RECTANGULAR, False, True)


def test_lines_of_the_current_reach_the_energy_times_the_mean_voltage():
    # 0.3 h at 10 A: 3 Ah; 13 to 10 V in a straight line: 34.5 Wh, 11.5 V
    log = log_of([0, 360, 720, 1080], [10.0] * 4, [13, 12, 11, 10])
    did = count(log, part(0, 3), Instrument(1.0, 0.2, 2.0, 0.5), None)
    assert (did.Wh.value, did.mean_V) == (approx(34.5), approx(11.5))
    shares = {one.name: one.share * ROOT for one in did.Wh.contributions}
    assert shares["shunt gain"] == approx(0.345)
    assert shares["shunt offset"] == approx(0.2 * 0.3 * 11.5)
    assert shares["voltage gain"] == approx(0.69)
    assert shares["voltage offset"] == approx(1.5)
    assert shares["rounding of the current"] == approx(0.01 * 0.3 * 11.5)  # 0.1 % of 10 A


def test_the_load_is_on_for_all_but_pauses_and_half_the_edges():
    # 0 to 600 s; on somewhere in the first 100 s, off somewhere in the last 200 s
    log = log_of([0, 100, 200, 300, 400, 600], [0, 9, 9, 9, 9, 0])
    rest = Pause(150.0, 60.0, 0.02), Pause(250.0, 30.0, 0.03)
    did = count(log, part(1, 4, rest), PERFECT, None)
    assert did.hours_on == approx((600.0 - 90.0 - 50.0 - 100.0) / 3600.0)
    assert did.returned_Ah == approx(0.05)
    # 9 A for 300 s and two triangles, of 100 s and of 200 s
    assert did.Ah.value == approx(9.0 * (300.0 + 50.0 + 100.0) / 3600.0)
    assert line(did.Ah, EDGES).share == approx(9.0 * (50.0 + 100.0) / 3600.0 / ROOT)


def test_a_log_that_begins_or_ends_under_load_has_no_such_edge():
    time = [0, 100, 200, 300, 400, 600]
    from_start = count(log_of(time, [9, 9, 9, 9, 9, 0]), part(0, 4), PERFECT, None)
    assert from_start.hours_on == approx(500.0 / 3600.0)
    assert line(from_start.Ah, EDGES).width == approx(9.0 * 100.0 / 3600.0)
    to_end = count(log_of(time, [0, 9, 9, 9, 9, 9]), part(1, 5), PERFECT, None)
    assert to_end.hours_on == approx(550.0 / 3600.0)
    assert line(to_end.Ah, EDGES).width == approx(9.0 * 50.0 / 3600.0)


def test_each_edge_has_the_current_of_its_own_side():
    # triangles of 100 s and 5 A, 200 s and 11 A
    log = log_of([0, 100, 200, 300, 400, 600], [0, 5, 9, 9, 11, 0])
    did = count(log, part(1, 4), PERFECT, None)
    assert line(did.Ah, EDGES).width == approx((5.0 * 50.0 + 11.0 * 100.0) / 3600.0)


def test_an_end_by_voltage_leaves_no_time_off_behind_it():
    log = log_of([0, 100, 200, 300, 400], [0, 9, 9, 9, 9], [13, 12.5, 12, 11, 10])
    did = count(log, part(1, 3, end_s=350.0), PERFECT, 10.5)
    assert did.hours_on == approx((350.0 - 50.0) / 3600.0)
    assert (did.start_V, did.end_V) == (12.5, approx(10.5))
    assert count(log, part(1, 3), PERFECT, None).end_V == 11.0  # the last under load


def test_the_mean_current_is_that_between_samples_under_load():
    # 100 s from 10 to 20 A, 300 s from 20 to 30 A: 1500 + 7500 As in 400 s; 1 A is not above 1 A
    log = log_of([0, 50, 150, 450, 460, 500], [0, 10, 20, 30, 1, 30])
    assert count(log, part(1, 5), PERFECT, None).mean_A == approx(22.5)
    late = log_of([0, 50, 60, 160, 460], [0, 10, 1, 20, 30])
    assert count(late, part(1, 4), PERFECT, None).mean_A == approx(25.0)


def test_the_mean_current_of_lone_samples_is_no_more_than_the_largest():
    # two lone samples of 20 A: 400 As. Without the pause (20 s) and half the edges 10 s are on,
    # which would make 40 A
    log = log_of([0, 10, 20, 30, 40], [0, 20, 0, 20, 0])
    assert count(log, part(1, 3, [Pause(10, 20, 0)]), PERFECT, None).mean_A == approx(20.0)
    # one sample above 1 A: 10 s x 10 A + 30 s x 10.5 A, over all but half of the first interval
    uneven = log_of([0, 10, 40], [0, 20, 1])
    assert count(uneven, part(1, 2), PERFECT, None).mean_A == approx((100 + 315) / 35.0)


def test_a_single_sample_gives_nothing():
    did = count(log_of([0.0], [20.0]), part(0, 0), PERFECT, 10.0)
    assert (did.Ah.value, did.Wh.value, did.mean_V, did.hours_on) == (0.0, 0.0, 0.0, 0.0)
    assert math.isnan(did.mean_A)


UNEVEN_S = np.cumsum([0, 100, 200, 300, 400, 500, 600, 700])
UNEVEN_A = [10, 12, 20, 16, 10, 30, 20, 20]


def test_every_second_sample_left_out():
    # samples 1 to 3: 500 x 28 - (200 x 32 + 300 x 36) = -3200; samples 3 to 5:
    # 900 x 46 - (400 x 26 + 500 x 40) = 11000; half of their sum in Ah
    did = count(log_of(UNEVEN_S, UNEVEN_A), part(0, 7), PERFECT, None)
    assert line(did.Ah, APART).width == approx((11_000 - 3200) / 7200.0)
    assert line(did.Ah, APART).share == approx((11_000 - 3200) / 7200.0 / ROOT)


@pytest.mark.parametrize(("before", "left"), [(1, 11_000), (2, 11_000), (3, 3200), (4, 3200)])
def test_gaps_are_no_samples_too_far_apart(before, left):
    gaps = (Gap(before, 1.0, 1.0),)
    did = count(log_of(UNEVEN_S, UNEVEN_A, gaps=gaps), part(0, 7), PERFECT, None)
    assert line(did.Ah, APART).width == approx(left / 7200.0)


def test_a_gap_holds_between_nothing_and_the_largest_current():
    # 4 A were bridged over 300 s, 20 A may have run: 0.333 and 1.667 Ah
    time = [0, 10, 20, 320, 330, 340]
    log = log_of(time, [8, 20, 4, 4, 4, 8], gaps=(Gap(2, 300.0, 10.0),))
    did = count(log, part(0, 5), PERFECT, None)
    assert did.bridged_Ah == approx(1200.0 / 3600.0)
    assert line(did.Ah, GAPS).share == approx((6000.0 - 1200.0) / 3600.0 / ROOT)
    assert did.Ah.value == approx(1560.0 / 3600.0)
    assert did.most_Ah == approx((1560.0 - 1200.0 + 6000.0) / 3600.0)


def test_gaps_outside_the_discharge_do_not_count():
    # samples 2 to 4 under load: the intervals from 1 on are its own, that behind 4 is no more
    time = [0, 100, 200, 300, 400, 500, 600]
    amperes = [0, 0, 9, 9, 9, 0, 0]
    for before, bridged in ((0, 0.0), (1, 450.0), (2, 900.0), (4, 0.0), (5, 0.0)):
        log = log_of(time, amperes, gaps=(Gap(before, 100.0, 10.0),))
        did = count(log, part(2, 4), PERFECT, None)
        assert did.bridged_Ah == approx(bridged / 3600.0), before
        assert (GAPS in names(did)) is (bridged > 0.0), before
        # an edge inside a gap is told with the gap; behind a gap no edge is seen
        edges = 900.0 - (450.0 if before in (1, 4) else 0.0)
        assert line(did.Ah, EDGES).width == approx(edges / 3600.0), before


def test_readings_of_0_may_have_been_the_largest_current():
    # 90 s that read 0, of a current up to 20 A: up to 0.5 Ah more; a rest beside it is none
    pauses = Pause(10.0, 90.0, 0.0, silent=True), Pause(120.0, 1000.0, 0.0)
    did = count(steady(6), part(0, 5, pauses), PERFECT, None)
    assert line(did.Ah, SILENT).share == approx(0.5 / ROOT)
    assert did.most_Ah == approx(did.Ah.value + 0.5)
    without = count(steady(6), part(0, 5, pauses[1:]), PERFECT, None)
    assert not {SILENT, LEAPS} & set(names(without))
    assert without.most_Ah == approx(without.Ah.value)


@pytest.mark.parametrize(("at", "inside"), [(0, False), (1, True), (4, True), (5, False)])
def test_leaps_count_from_the_first_to_the_last_sample(at, inside):
    log = steady(6)
    spikes = Spikes(np.array([at]), log.current_A, np.array([0.3]))
    did = count(log, part(1, 4), PERFECT, None, spikes=spikes)
    assert (LEAPS in names(did)) is inside
    if inside:
        assert line(did.Ah, LEAPS).share == approx(0.3 / ROOT)


@pytest.mark.parametrize("at", [1, 3])
def test_rounding_looks_at_all_readings_under_load(at):
    # readings that hardly differ: 0.1 % of the largest, 30 A; 50 A are outside
    amperes = [50.0, 10.0, 10.0, 10.0, 50.0]
    amperes[at] = 30.0
    did = count(log_of(10.0 * np.arange(5), amperes), part(1, 3), PERFECT, None)
    assert line(did.Ah, "rounding of the current").width == approx(0.03)


def test_the_slope_at_the_end_is_that_of_the_last_three_intervals():
    # from 60 s (12 V) to 85 s (10.9 V) 10 A give 250 As: 250 / 1.1 As for a volt
    volts = [13, 13, 13, 13, 13, 13, 12.0, 11.8, 11.4, 10.4]
    log = log_of(10.0 * np.arange(10), np.full(10, 10.0), volts)
    did = count(log, part(0, 8, end_s=85.0), Instrument(0.0, 0.0, 1.0, 0.1), 10.9)
    per_volt = 250.0 / 1.1 / 3600.0
    assert line(did.Ah, "end voltage, offset").share == approx(0.1 * per_volt / ROOT)
    assert line(did.Ah, "end voltage, gain").share == approx(0.109 * per_volt / ROOT)


@pytest.mark.parametrize(
    ("volts", "told"),
    [
        ([12.0, 11.0], False),  # too short
        ([12.0, 11.5, 11.0], True),
        ([12.0, 11.5, 11.25, 11.0], True),
        ([12.0, 11.0, 12.0], False),  # stands as high as before
        ([11.0, 11.5, 12.0], False),
    ],
)
def test_an_end_has_a_slope_where_the_voltage_falls(volts, told):
    log = log_of(10.0 * np.arange(len(volts)), np.full(len(volts), 10.0), volts)
    did = count(log, part(0, len(volts) - 1), Instrument(0.0, 0.0, 0.0, 0.1), 11.0)
    assert ("end voltage, offset" in names(did)) is told
    if told:  # all samples are looked at: 1 V in 10 s each
        assert line(did.Ah, "end voltage, offset").sensitivity == approx(
            10.0 * 10.0 * (len(volts) - 1) / 3600.0
        )
