import numpy as np
import pytest
from capacity_logs import make_log
from pytest import approx

from bankSim.measured.around import after
from bankSim.measured.count import Instrument, count
from bankSim.measured.discharge import Ending, find_discharges, trace
from bankSim.measured.log import Log, LogError


def only(log, **words):
    (one,) = find_discharges(log, **words)
    return one


@pytest.mark.parametrize(
    ("kind", "ending", "complete"),
    [
        ("vanish", Ending.CUT_OUT, True),
        ("rebound", Ending.EMPTY, True),
        ("stop", Ending.BY_HAND, False),
        ("end", Ending.WITH_LOG, True),
    ],
)
def test_why_it_ended(kind, ending, complete):
    one = only(make_log(after=kind))
    assert (one.ending, one.complete) == (ending, complete)


def test_a_log_that_ends_on_the_plateau():
    log = make_log()
    one = only(log.part(0, 1000))
    assert one.ending is Ending.LOG_ENDED
    assert not one.complete


def test_first_and_last_sample_of_the_load():
    one = only(make_log(hours=1.0, step_s=10.0, rest_before_s=600.0))
    assert (one.first, one.last) == (60, 60 + 360 - 1)
    assert one.on_A == approx(1.0)  # 5 % of 20 A


def test_a_rest_inside_is_an_interruption_not_an_end():
    one = only(make_log(pauses=[(1.0, 600.0, 0.0), (2.0, 300.0, 0.0)]))
    assert [pause.length_s for pause in one.pauses] == approx([610.0, 310.0])
    assert [pause.returned_Ah for pause in one.pauses] == [0.0, 0.0]


def test_charge_inside_is_seen_and_much_of_it_ends_the_discharge():
    little = only(make_log(pauses=[(2.5, 120.0, -5.0)]))
    assert little.pauses[0].returned_Ah == approx(5.0 * 110.0 / 3600.0)
    two = find_discharges(make_log(pauses=[(2.5, 1200.0, -20.0)]))
    assert len(two) == 2


@pytest.mark.parametrize("rest_s", [1700.0, 1900.0, 3600.0, 72_000.0])
def test_a_rest_of_any_length_is_no_end(rest_s):
    # closed form: 20 A for 5 h are 100 Ah, wherever the load paused
    log = make_log(pauses=[(2.0, rest_s, 0.0)])
    one = only(log)
    assert [pause.length_s for pause in one.pauses] == approx([rest_s + 10.0])
    assert count(log, one, Instrument(), None).Ah.value == approx(100.0)
    assert count(log, one, Instrument(), None).hours_on == approx(5.0, abs=0.01)


def test_noise_and_a_zero_that_is_off_are_no_charge():
    # 20 h of rest at -0.03 A on average, noise of 0.05 A: a shunt, no charger
    log = make_log(pauses=[(2.0, 72_000.0, 0.0)])
    noise = np.random.default_rng(1).normal(-0.03, 0.05, log.count)
    one = only(Log("x", log.time_s, log.voltage_V, log.current_A + noise))
    assert one.pauses[0].returned_Ah == 0.0


def test_a_trickle_over_a_night_is_charge():
    # 0.3 A for 10 h are 3 Ah of 40 Ah given, more than 1 %
    assert len(find_discharges(make_log(pauses=[(2.0, 36_000.0, -0.3)]))) == 2


def test_what_a_log_does_not_show_may_be_a_charge():
    log = make_log(pauses=[(2.0, 7200.0, 0.0)])
    rest = (log.current_A == 0.0) & (log.time_s > 4000.0) & (log.time_s < 20_000.0)
    kept = ~rest
    blind = Log(
        "x", log.time_s[kept], log.voltage_V[kept], np.where(kept, log.current_A, 0.0)[kept]
    )
    edge = np.flatnonzero(np.diff(blind.time_s) > 1800.0)[0]
    current = blind.current_A.copy()
    current[edge] = 0.0  # the load was off when the logger stopped
    assert len(find_discharges(Log("x", blind.time_s, blind.voltage_V, current))) == 2
    raised = np.where(rest, 14.2, log.voltage_V)  # a charger beside the shunt; 13.4 V before
    assert len(find_discharges(Log("x", log.time_s, raised, log.current_A))) == 2


def test_after_a_collapse_and_a_long_rest_it_is_over():
    # emptied in 3 h, then an hour more after a night: what the rest gave back is no capacity
    first, again = make_log(hours=3.0, after="rebound", after_s=30_000.0), make_log(hours=1.0)
    voltage = np.concatenate([first.voltage_V, np.full(360, 12.0)])
    current = np.concatenate([first.current_A, again.current_A[360:720]])
    found = find_discharges(Log("x", 10.0 * np.arange(current.size), voltage, current))
    assert [one.ending for one in found] == [Ending.EMPTY, Ending.LOG_ENDED]


def test_pulses_with_long_rests_are_one_test_down_to_the_end():
    # 10 pulses of half an hour with hours of rest between: 20 A x 5 h
    log = make_log(pauses=[(0.5 * k, 7200.0, 0.0) for k in range(1, 10)])
    one = only(log)
    assert len(one.pauses) == 9
    assert one.ending is Ending.CUT_OUT


def test_what_comes_after_a_cut_out_is_another_discharge():
    log = make_log(hours=2.0, after_s=60.0)
    extra = 30
    again = Log(
        "x",
        np.arange(log.count + extra) * 10.0,
        np.concatenate([log.voltage_V, np.full(extra, 12.0)]),
        np.concatenate([log.current_A, np.full(extra, 20.0)]),
    )
    first, second = find_discharges(again)
    assert first.ending is Ending.CUT_OUT
    assert second.first == log.count
    assert after(again, first).more_Ah == approx(20.0 * 295.0 / 3600.0, rel=0.02)


def test_an_end_voltage_is_crossed_between_samples():
    # voltage falls in a straight line by 1 mV/s from 13 V: 11.995 V is reached after 1005 s
    time = 10.0 * np.arange(200)
    log = Log("x", time, 13.0 - 1e-3 * time, np.full(200, 10.0))
    one = only(log, end_V=11.995)
    assert one.ending is Ending.END_V
    assert one.end_s == approx(1005.0)
    times, _, voltage = trace(log, one)
    assert (times[-1], voltage[-1]) == (approx(1005.0), approx(11.995))


def test_a_load_that_stops_above_the_end_voltage_is_no_complete_test():
    log = make_log(after="rebound", knee_V=2.0)
    one = only(log, end_V=10.0)
    assert one.ending is Ending.ABOVE_END_V
    assert not one.complete
    assert only(make_log(after="vanish", knee_V=2.0), end_V=10.0).complete


def test_a_load_that_switches_ten_thousand_times_is_one_discharge():
    count = 200_000
    time = 10.0 * np.arange(count)
    current = np.where(np.arange(count) % 20 < 10, 20.0, 0.0)
    one = only(Log("x", time, np.linspace(13.2, 12.9, count), current))
    assert len(one.pauses) == count // 20 - 1
    assert one.ending is Ending.BY_HAND


def test_what_vanishes_after_a_charge_is_not_of_this_discharge():
    # stopped by hand, charged, then a second discharge to the cut-out
    first, second = make_log(hours=2.0, after="stop"), make_log(hours=3.0, rest_before_s=0.0)
    charge = np.full(60, -20.0)
    current = np.concatenate([first.current_A, charge, second.current_A])
    voltage = np.concatenate([first.voltage_V, np.full(60, 14.0), second.voltage_V])
    found = find_discharges(Log("x", 10.0 * np.arange(current.size), voltage, current))
    assert [one.ending for one in found] == [Ending.BY_HAND, Ending.CUT_OUT]


def test_a_log_without_discharge_is_refused():
    time = np.arange(10.0)
    with pytest.raises(LogError, match=r"idle.csv: no discharge .*read as discharge.*--sign"):
        find_discharges(Log("idle.csv", time, np.full(10, 13.0), np.full(10, -5.0)))
