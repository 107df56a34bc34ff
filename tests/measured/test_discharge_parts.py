"""Where a discharge ends and what belongs to it: both sides of every limit, on small made-up logs.

A sample a minute; the load is 12 V and 20 A unless it is said otherwise.
"""

import math

import numpy as np
import pytest
from pytest import approx

from bankSim.measured.count import Instrument, count
from bankSim.measured.discharge import Discharge, Ending, find_discharges, sees_end, trace
from bankSim.measured.log import Gap, Log, LogError

MINUTE_S = 60.0


def log_of(*stretches, gaps=(), cells_V=None):
    """A log of stretches of (samples, amperes, volts)."""
    current, voltage = (
        np.concatenate([np.full(int(one[0]), float(one[k])) for one in stretches]) for k in (1, 2)
    )
    more = {} if cells_V is None else {"cells_V": np.asarray(cells_V, float)}
    time = MINUTE_S * np.arange(current.size)
    return Log("x", time, voltage, current, gaps=gaps, **more)


def samples_of(current, voltage, **more):
    """A log of samples."""
    time = MINUTE_S * np.arange(len(current))
    return Log("x", time, np.asarray(voltage, float), np.asarray(current, float), **more)


def only(log, **words):
    (one,) = find_discharges(log, **words)
    return one


def spans(log, **words):
    return [(one.first, one.last) for one in find_discharges(log, **words)]


@pytest.mark.parametrize(
    ("amperes", "on_A"),
    [
        ([10.0] * 5 + [0.02] * 50, 0.5),  # 5 % of 10 A; what is not above 20 mA says nothing
        ([0.1] * 5, 0.02),  # never below 20 mA
        ([0.03] * 5, 0.02),
    ],
)
def test_the_load_is_on_above_a_twentieth_of_the_usual_current(amperes, on_A):
    one = only(samples_of(amperes, [12.0] * len(amperes)))
    assert (one.on_A, one.first, one.last) == (approx(on_A), 0, 4)


def test_the_usual_current_is_what_a_tenth_exceeds():
    # 19 of 20 samples at 10 A, a surge of 400 A: the 90th percentile is 10 A, so 1 A is on
    amperes = [10.0] * 19 + [400.0, 1.0]
    assert only(samples_of(amperes, [12.0] * 21)).last == 20


def test_a_current_at_the_threshold_is_not_on():
    log = samples_of([0.0, 5.0, 6.0, 5.0], [12.0] * 4)
    assert spans(log, start_A=5.0) == [(2, 2)]
    with pytest.raises(LogError, match=r"no discharge above 0\.02 A"):
        find_discharges(samples_of([0.02] * 4, [12.0] * 4))


def part(first, last, end_s=math.nan):
    return Discharge(first, last, 1.0, Ending.BY_HAND, end_s, ())


def test_the_trace_takes_the_outer_samples_as_0():
    log = samples_of([0.5, 9, 8, 7, 0.6, 0.7], [13, 12, 11, 10, 12, 13])
    time, current, voltage = trace(log, part(1, 3))
    assert time.tolist() == [0.0, 60.0, 120.0, 180.0, 240.0]
    assert current.tolist() == [0.0, 9.0, 8.0, 7.0, 0.0]
    assert voltage.tolist() == [13.0, 12.0, 11.0, 10.0, 12.0]
    assert log.current_A.tolist() == [0.5, 9.0, 8.0, 7.0, 0.6, 0.7]  # the log stays as it is


def test_the_trace_of_a_log_that_begins_and_ends_under_load():
    log = samples_of([9, 8, 7], [12, 11, 10])
    assert trace(log, part(0, 2))[1].tolist() == [9.0, 8.0, 7.0]
    assert trace(log, part(0, 1))[1].tolist() == [9.0, 8.0, 0.0]
    assert [sees_end(log, part(0, last)) for last in (0, 1, 2)] == [True, True, False]


def test_a_gap_behind_the_last_sample_counts_as_nothing():
    log = samples_of([9, 8, 7, 0, 0], [12] * 5, gaps=(Gap(2, 60.0, 1.0),))
    assert trace(log, part(0, 2))[1].tolist() == [9.0, 8.0, 7.0]
    assert [sees_end(log, part(0, last)) for last in (1, 2, 3)] == [True, False, True]


def test_the_trace_ends_between_samples_where_a_voltage_ends_it():
    # a quarter of the way from 12 to 10 V and from 8 to 4 A
    log = samples_of([0.5, 9, 8, 4], [13, 12.5, 12, 10])
    time, current, voltage = trace(log, part(1, 2, 135.0))
    assert time.tolist() == [0.0, 60.0, 120.0, 135.0]
    assert current.tolist() == [0.0, 9.0, 8.0, 7.0]
    assert voltage.tolist() == [13.0, 12.5, 12.0, 11.5]


REST = (20, 0.0, 13.0)
HOUR = (60, 20.0, 12.0)  # 59 intervals of 20 A: 19.667 Ah


@pytest.mark.parametrize(("charge_A", "discharges"), [(2.3, 1), (2.4, 2)])
def test_a_hundredth_put_back_ends_a_discharge(charge_A, discharges):
    # 1 % of 19.667 Ah are 0.1967 Ah; six samples are 5 minutes: 0.1917 and 0.2 Ah. What was
    # charged before the discharge does not count
    log = log_of((30, -20.0, 13.0), REST, HOUR, (6, -charge_A, 12.5), HOUR)
    found = find_discharges(log)
    assert len(found) == discharges
    if discharges == 1:
        assert found[0].pauses[0].returned_Ah == approx(2.3 * 300.0 / 3600.0)


def test_a_hundredth_is_that_of_all_given_so_far():
    # 19.667 Ah, a minute of load, then 0.12 Ah put back: less than 1 % of all, more than 1 % of
    # that minute
    one = only(log_of(REST, HOUR, (3, 0.0, 12.5), (2, 20.0, 12.0), (6, -1.4, 12.5), HOUR))
    assert [pause.returned_Ah for pause in one.pauses] == approx([0.0, 1.4 / 12.0])
    # a small battery: 0.333 Ah given, 0.0083 Ah put back
    assert len(find_discharges(log_of(REST, (2, 20.0, 12.0), (6, -1.1, 12.5), HOUR))) == 2


COLLAPSING = (57, 20.0, 12.0), (3, 20.0, 11.0)


@pytest.mark.parametrize(("rest", "discharges"), [(29, 1), (30, 2)])
def test_after_a_collapse_half_an_hour_of_rest_ends_it(rest, discharges):
    # 11 V are 92 % of the mean; 30 minutes from load to load still belong to the test
    assert len(find_discharges(log_of(REST, *COLLAPSING, (rest, 0.0, 12.2), HOUR))) == discharges


@pytest.mark.parametrize(("last_V", "discharges"), [(11.45, 1), (11.25, 2)])
def test_a_collapse_is_a_twentieth_below_the_mean(last_V, discharges):
    # mean of 57 x 12 V and 3 of the last: 11.97 and 11.96 V; 95 % are 11.37 and 11.36 V
    log = log_of(REST, (57, 20.0, 12.0), (3, 20.0, last_V), (40, 0.0, 12.2), (60, 20.0, 11.2))
    assert len(find_discharges(log)) == discharges


def test_the_mean_is_that_of_this_discharge_under_load():
    # an earlier one at 13 V, parted by a charge; then 10.5 V and 10.2 V (97 %) before the rest
    early = (60, 20.0, 13.0), (30, -20.0, 13.5)
    log = log_of(*early, REST, (57, 20.0, 10.5), (3, 20.0, 10.2), (40, 0.0, 11.5), (60, 20.0, 10.2))
    assert [one.first for one in find_discharges(log)] == [0, 110]


@pytest.mark.parametrize(("pulses", "discharges"), [(2, 2), (3, 1)])
def test_three_pulses_are_a_test_whose_rests_may_be_long(pulses, discharges):
    before = [(60, 20.0, 12.0), (5, 0.0, 12.2)] * (pulses - 1)
    log = log_of(REST, *before, *COLLAPSING, (40, 0.0, 12.2), HOUR)
    assert len(find_discharges(log)) == discharges


@pytest.mark.parametrize(("samples", "discharges"), [(6, 2), (8, 1)])
def test_a_twitch_after_a_collapse_is_no_more_of_the_test(samples, discharges):
    # a tenth of 59 minutes: 5 minutes are less, 7 are more
    log = log_of(REST, *COLLAPSING, (5, 0.0, 12.2), (samples, 20.0, 12.0))
    assert len(find_discharges(log)) == discharges


def test_the_usual_run_is_that_of_the_last_25():
    # 26 runs of 59 minutes, 25 of one minute, the last of them collapsing; then one more minute
    long = [(60, 20.0, 12.0), (3, 0.0, 12.2)] * 26
    short = [(2, 20.0, 12.0), (3, 0.0, 12.2)] * 24
    log = log_of(REST, *long, *short, (2, 20.0, 11.0), (3, 0.0, 12.2), (2, 20.0, 11.9))
    assert len(only(log).pauses) == 51


def test_pulses_of_one_sample_are_alike():
    # no time passes within a sample: none of them is shorter than a tenth of the others
    pulses = [(1, 20.0, 12.0), (3, 0.0, 12.2)] * 4
    assert len(only(log_of(REST, *pulses, (1, 20.0, 11.0), (3, 0.0, 12.2), (1, 20.0, 11.9))).pauses)


@pytest.mark.parametrize(
    ("after_V", "ending"), [((12.0, 6.1), Ending.EMPTY), ((12.0, 5.9), Ending.CUT_OUT),
                            ((5.9, 12.0), Ending.CUT_OUT)]
)  # fmt: skip
def test_a_voltage_that_vanishes_falls_below_half_of_that_before_the_last(after_V, ending):
    # 12 V one sample before the last, which had sagged to 5 V itself
    volts = [12.0] * 10 + [5.0, *after_V]
    assert only(samples_of([20.0] * 11 + [0.0, 0.0], volts)).ending is ending
    # a single sample stands for itself
    assert only(samples_of([20, 0, 0], [12.0, *after_V])).ending in (ending, Ending.BY_HAND)


def test_only_rest_shows_a_cut_out():
    # 1 A of charge is below the threshold (5 % of 20 A is 1 A), 1.1 A is a charge
    volts = [12.0] * 5 + [12.0, 12.0, 1.0, 12.0]
    for charge_A, ending in ((1.0, Ending.CUT_OUT), (1.1, Ending.BY_HAND)):
        log = samples_of([20.0] * 5 + [0.0, -charge_A, 0.0, 0.0], volts)
        assert only(log).ending is ending
    # the first sample of a charge is no rest either
    log = samples_of([20.0] * 5 + [0.0, -9.0, -9.0], [12.0] * 6 + [1.0, 12.0])
    assert only(log).ending is Ending.BY_HAND


@pytest.mark.parametrize(("last_V", "ending"), [(11.45, Ending.BY_HAND), (11.3, Ending.EMPTY)])
@pytest.mark.parametrize("amperes", [0.5, 20.0])
def test_a_knee_is_a_twentieth_below_the_mean_under_load(last_V, ending, amperes):
    # of 100 x 12 V and one of the last: 11.99 V, 95 % are 11.39 V; 9 V in the pause do not count
    log = log_of(
        (50, amperes, 12.0), (9, 0.0, 9.0), (50, amperes, 12.0), (1, amperes, last_V), (5, 0, 12.5)
    )
    assert only(log).ending is ending
    assert only(log.part(0, 110)).ending is (
        Ending.LOG_ENDED if ending is Ending.BY_HAND else Ending.WITH_LOG
    )


def test_an_end_voltage_that_was_not_reached():
    for last_V, after, ending in (
        (11.3, [(5, 0.0, 12.5)], Ending.ABOVE_END_V),
        (11.3, [], Ending.LOG_ENDED),
        (12.0, [(5, 0.0, 12.5)], Ending.BY_HAND),
        (11.3, [(5, 0.0, 1.0)], Ending.CUT_OUT),
    ):
        log = log_of((50, 20.0, 12.0), (1, 20.0, last_V), *after)
        assert only(log, end_V=10.0).ending is ending


@pytest.mark.parametrize("third_V", [11.0, 10.9])
def test_an_end_voltage_is_reached_where_it_is_met(third_V):
    # 12, 11.5 and 11.0 V: 11 V at the third sample; 10.9 V: 5 / 6 of a minute after the second
    one = only(samples_of([20.0] * 4, [12.0, 11.5, third_V, 10.5]), end_V=11.0)
    assert (one.ending, one.last) == (Ending.END_V, 1)
    assert one.end_s == approx(120.0 if third_V == 11.0 else 60.0 + 60.0 * 5.0 / 6.0)


def test_pauses_before_an_end_voltage_are_its_own():
    # crossed in the second of three runs: half way from 12 to 10 V
    log = samples_of([20, 20, 0, 20, 20, 0, 20, 20], [12, 12, 12.2, 12, 10, 12, 12, 11.9])
    one = only(log, end_V=11.0)
    assert (one.first, one.last, one.end_s) == (0, 3, approx(210.0))
    assert [(pause.at_s, pause.length_s) for pause in one.pauses] == [(60.0, 120.0)]


def test_a_load_that_comes_back_below_the_end_voltage_has_ended_in_the_pause():
    # on for 10 minutes, and half a minute at the edge; 6 minutes of pause are not on
    log = samples_of([20.0] * 11 + [0.0] * 5 + [20.0] * 3, [12.0] * 11 + [12.2] * 5 + [9.0] * 3)
    one = only(log, end_V=10.0)
    assert (one.ending, one.last, one.end_s) == (Ending.END_V, 15, 16 * MINUTE_S)
    assert [(pause.at_s, pause.length_s) for pause in one.pauses] == [(600.0, 360.0)]
    assert count(log, one, Instrument(), 10.0).hours_on == approx(600.0 / 3600.0)


def test_a_load_that_begins_below_the_end_voltage_ends_at_once():
    log = samples_of([0.0, 20.0, 20.0, 0.0], [12.0, 9.9, 9.8, 11.0])
    one = only(log, end_V=10.0)
    assert (one.first, one.last, one.end_s, one.pauses) == (1, 1, 60.0, ())


def silence(*, before=(60, 20.0, 12.0), after=(60, 20.0, 12.0), rows=3, cells_V=None):
    """Both readings are 0 for some rows inside a test."""
    return log_of(REST, before, (rows, 0.0, 0.0), after, cells_V=cells_V)


@pytest.mark.parametrize(
    ("after", "goes_on"),
    [
        ((60, 20.0, 12.17), True), ((60, 20.0, 12.19), False),  # 1.5 % are 0.18 V
        ((60, 20.0, 11.83), True), ((60, 20.0, 11.81), False),
        ((60, 22.9, 12.0), True), ((60, 23.1, 12.0), False),  # 15 % are 3 A
        ((60, 17.1, 12.0), True), ((60, 16.9, 12.0), False),
        ((7, 20.0, 12.0), True), ((6, 20.0, 12.0), False),  # a tenth of 59 minutes
    ],
)  # fmt: skip
def test_a_silence_goes_on_where_load_and_voltage_are_as_before(after, goes_on):
    found = find_discharges(silence(after=after))
    assert len(found) == (1 if goes_on else 2)
    if goes_on:
        assert [pause.silent for pause in found[0].pauses] == [True]
    else:
        assert found[0].ending is Ending.CUT_OUT


@pytest.mark.parametrize(("rows", "goes_on"), [(29, True), (30, False)])
def test_a_silence_lasts_half_an_hour_at_most(rows, goes_on):
    assert (len(find_discharges(silence(rows=rows))) == 1) is goes_on


@pytest.mark.parametrize(("odd", "goes_on"), [(1, True), (2, False)])
@pytest.mark.parametrize("side", ["before", "after"])
def test_a_silence_is_judged_by_three_samples_on_each_side(odd, goes_on, side):
    log = silence()
    at = slice(80 - odd, 80) if side == "before" else slice(83, 83 + odd)
    log.voltage_V[at] = 11.7  # 2.5 % lower
    assert (len(find_discharges(log)) == 1) is goes_on


def test_a_run_of_one_sample_is_judged_by_itself():
    # the two samples before it are rest
    assert len(only(silence(before=(1, 20.0, 12.0))).pauses) == 1


@pytest.mark.parametrize(("seen_V", "goes_on"), [(1.6, True), (1.7, False), (math.nan, True)])
@pytest.mark.parametrize("row", [80, 82])
def test_cells_that_are_seen_behind_dead_terminals_tell_a_cut_out(seen_V, goes_on, row):
    # half of the 3.3 V before are 1.65 V; a cell that is not read shows nothing
    cells = np.full((143, 4), 3.3)
    cells[80:83] = 0.0
    cells[row, 2] = seen_V
    cells[79, 1] = math.nan
    assert (len(find_discharges(silence(cells_V=cells))) == 1) is goes_on
