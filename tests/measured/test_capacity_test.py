import math
from dataclasses import replace

import numpy as np
import pytest
from capacity_logs import make_log
from pytest import approx

from bankSim.errors import ParameterError
from bankSim.measured.capacity_test import Question, evaluate_tests
from bankSim.measured.correct import Wanted
from bankSim.measured.count import Instrument
from bankSim.measured.discharge import Ending
from bankSim.measured.log import Log, LogError
from bankSim.measured.verdict import Word


def ask(*logs, units=None, **words):
    return evaluate_tests(logs, units or ["a"] * len(logs), Question(**words))[0]


def test_a_hundred_ampere_hours():
    answer = ask(make_log(hours=5.0), rated_Ah=98.0)
    assert answer.measured.together.value == approx(100.0)
    assert answer.measured.together.word is Word.MET
    assert answer.corrected is None


@pytest.mark.parametrize(
    ("rated", "word"), [(95.0, Word.MET), (100.0, Word.UNDECIDED), (105.0, Word.NOT_MET)]
)
def test_verdicts_on_both_sides(rated, word):
    logs = [make_log(hours=hours) for hours in (4.98, 5.0, 5.02)]
    assert ask(*logs, rated_Ah=rated).measured.together.word is word


def test_a_worse_meter_cannot_decide_what_a_good_one_can():
    logs = [make_log(hours=hours) for hours in (5.05, 5.06, 5.07, 5.06)]
    good = ask(*logs, rated_Ah=100.0, instrument=Instrument(0.2, 0.01))
    bad = ask(*logs, rated_Ah=100.0, instrument=Instrument(2.0, 0.2))
    assert good.measured.together.word is Word.MET
    assert bad.measured.together.word is Word.UNDECIDED


def test_a_higher_confidence_needs_more():
    log = make_log(hours=5.06)
    guards = [
        ask(log, rated_Ah=100.0, confidence=part).measured.together.guard
        for part in (0.8, 0.95, 0.99)
    ]
    assert guards == sorted(guards)


def test_the_largest_discharge_is_taken_and_the_others_told():
    log = make_log(hours=5.0, pauses=[(1.0, 4000.0, -5.0)])
    (trial,) = ask(log).trials
    assert trial.counted.Ah.value == approx(80.0)
    assert trial.others_Ah == approx((20.0,))


def test_a_paused_test_is_one_test():
    # the same 20 A for 5 h with and without a rest of an hour: 100 Ah
    for each in (False, True):
        answer = ask(make_log(pauses=[(2.0, 3600.0, 0.0)]), rated_Ah=98.0, each=each)
        (trial,) = answer.trials
        assert trial.counted.Ah.value == approx(100.0)
        assert trial.whole
        assert answer.measured.together.word is Word.MET


def test_each_large_discharge_as_a_repeat():
    log = make_log(hours=5.0, pauses=[(2.4, 4000.0, -5.0)])
    answer = ask(log, each=True)
    assert [one.counted.Ah.value for one in answer.trials] == approx([48.0, 52.0])
    assert answer.trials[0].ending is Ending.BY_HAND
    assert answer.measured.units[0].left_out == 1  # broken off
    # 48 Ah drawn, 5 A x 4000 s = 5.6 Ah put back, trapezoids at the steps: 42.5 Ah
    assert "42.5 Ah drawn before it and not put back" in answer.trials[1].not_full
    assert answer.measured.together.at_least


def test_what_was_charged_back_before_counts_as_full():
    log = make_log(hours=5.0, pauses=[(2.4, 9000.0, -20.0)])  # 48 Ah given, 50 Ah put back
    second = ask(log, each=True).trials[1]
    assert second.not_full == ""
    assert second.whole


def test_a_charge_stopped_at_its_full_current_leaves_the_start_open():
    # 20 A to the end of the charge at 13.5 V; the same with a taper to 2 A is full
    tapered = make_log(hours=4.0, charge=(7200.0, 2.0))
    charging = tapered.current_A < 0.0
    current = np.where(charging, -20.0, tapered.current_A)
    for volts, word in ((13.5, Word.UNDECIDED), (14.2, Word.NOT_MET)):  # 3.55 V a cell is full
        voltage = np.where(charging, volts, tapered.voltage_V)
        short = replace(tapered, current_A=current, voltage_V=voltage)
        answer = ask(short, rated_Ah=100.0)
        assert answer.measured.together.word is word
        stopped = "stopped at its full current (20.0 A at 13.50 V)"
        assert (stopped in answer.trials[0].not_full) is (volts < 14.0)
    assert ask(tapered, rated_Ah=100.0).measured.together.word is Word.NOT_MET


def test_no_verdict_against_a_battery_that_cannot_have_been_full():
    # an LFP cell stands near 3.30 V at 70 % (13.2 V for 4), above 3.34 V when full
    part = make_log(hours=2.5, rest_before_s=1800.0)
    low = replace(part, voltage_V=np.where(part.voltage_V == 13.4, 13.15, part.voltage_V))
    for chemistry in ("LFP", None):  # 13 V in the middle is no other
        wanted = Wanted((), chemistry)
        full = ask(part, rated_Ah=100.0, wanted=wanted)
        answer = ask(low, rated_Ah=100.0, wanted=wanted)
        assert full.measured.together.word is Word.NOT_MET
        assert answer.measured.together.word is Word.UNDECIDED
        told = answer.trials[0].not_full
        assert "it starts at 13.15 V at rest, and a full LFP battery of 4 cells" in told
        assert ("(taken from its voltage)" in told) is (chemistry is None)
    good = ask(low, rated_Ah=100.0, instrument=Instrument(voltage_percent=5.0))
    assert good.measured.together.word is Word.NOT_MET  # a meter this bad cannot tell


def test_cell_voltages_tell_what_a_battery_is():
    # 8 cells in two 12 V blocks: 3.25 V a cell in the middle is LFP; at rest 3.29 V is not full
    part = make_log(hours=2.5, rest_before_s=1800.0)
    low = replace(part, voltage_V=2.0 * np.where(part.voltage_V == 13.4, 13.15, part.voltage_V))
    cells = np.repeat(low.voltage_V[:, None] / 8.0, 8, axis=1)
    assert "battery of 8 cells" in ask(replace(low, cells_V=cells)).trials[0].not_full
    lost = replace(low, cells_V=np.full_like(cells, math.nan))
    assert ask(lost).trials[0].not_full == ""
    steep = replace(low, cells_V=cells + 0.5)  # some other lithium
    assert ask(steep).trials[0].not_full == ""


def lead_log(rest_V):
    """50 Ah of a 12 V lead-acid battery: at rest for half an hour, then 10 A down to 10.5 V."""
    rest, load = 180, 1800
    left = 1.0 - np.arange(1, load + 1) / load
    voltage = np.concatenate(
        [np.full(rest, rest_V), 11.6 + 0.8 * left - 1.1 * np.exp(-left / 0.02)]
    )
    current = np.concatenate([np.zeros(rest), np.full(load, 10.0)])
    idle = np.full(60, 11.8)
    voltage, current = np.concatenate([voltage, idle]), np.concatenate([current, 0.0 * idle])
    return Log("lead.csv", 10.0 * np.arange(current.size), voltage, current)


@pytest.mark.parametrize(
    ("rest_V", "word"),
    # tables of AGM at rest (from memory): 12.7 to 13.0 V at full, 12.2 to 12.3 V at half
    [(12.25, Word.UNDECIDED), (12.45, Word.UNDECIDED), (12.7, Word.NOT_MET), (12.9, Word.NOT_MET)],
)
def test_lead_acid_at_rest_tells_only_what_is_sure(rest_V, word):
    answer = ask(lead_log(rest_V), rated_Ah=100.0, wanted=Wanted((), "AGM"))
    assert answer.measured.together.word is word


def test_without_a_rest_the_first_load_tells():
    # a full LFP battery of 4 cells under C/5 stands near 13.2 V and above; 12.95 V is no full one
    log = make_log(hours=2.5, rest_before_s=0.0)
    low = replace(log, voltage_V=log.voltage_V - 0.25)
    assert ask(log, rated_Ah=100.0).trials[0].not_full == ""
    answer = ask(low, rated_Ah=100.0, wanted=Wanted((), "LFP"))
    assert "under 20.0 A, and a full LFP battery" in answer.trials[0].not_full


def test_a_second_discharge_after_a_hidden_stop_proves_nothing_against_a_label():
    # stopped by hand, the logger off for 2 h, then 40 Ah down to the cut-out
    first, second = make_log(hours=2.0, after="stop"), make_log(hours=3.0, rest_before_s=600.0)
    time = np.concatenate([first.time_s, second.time_s + first.time_s[-1] + 7200.0])
    joined = Log(
        "x.csv", time, np.concatenate([first.voltage_V, second.voltage_V]),
        np.concatenate([first.current_A, second.current_A]),
    )  # fmt: skip
    answer = ask(joined, rated_Ah=100.0)
    assert "does not show whether the battery was charged in between" in answer.trials[0].not_full
    assert answer.measured.together.word is Word.UNDECIDED


def test_charge_given_later_may_have_met_the_label():
    # 60 Ah to a collapse, 20 Ah more after a night of rest: a load with a limit of its own?
    first = make_log(hours=3.0, after="rebound", after_s=30_000.0)
    voltage = np.concatenate([first.voltage_V, np.full(360, 12.0)])
    current = np.concatenate([first.current_A, np.full(360, 20.0)])
    log = Log("x.csv", 10.0 * np.arange(current.size), voltage, current)
    for rated, word in ((70.0, Word.UNDECIDED), (90.0, Word.NOT_MET)):
        answer = ask(log, rated_Ah=rated)
        assert answer.trials[0].later_Ah == approx(20.0, abs=0.1)
        assert answer.measured.together.word is word


def test_temperature_of_the_log_and_given():
    log = make_log()
    warm = replace(log, temperature_C=np.where(log.current_A > 0.0, 30.0, 10.0))
    assert ask(warm).trials[0].temperature_C == (30.0, 30.0, 30.0)
    assert ask(warm, temperature_C=20.0).trials[0].temperature_C == (20.0, 20.0, 20.0)
    lost = replace(log, temperature_C=np.full(log.count, math.nan))
    assert ask(lost).trials[0].temperature_C is None


def test_the_weakest_cell_at_the_end():
    log = make_log()
    cells = np.full((log.count, 4), 3.2)
    cells[:, 2] = 2.4
    (trial,) = ask(replace(log, cells_V=cells)).trials
    assert trial.weakest == (3, 2.4, approx(0.6))


def test_corrections_never_touch_what_was_measured():
    log = make_log(hours=5.0)
    wanted = Wanted(("temperature", "rate"), "AGM")
    plain = ask(log, rated_Ah=100.0)
    fixed = ask(log, rated_Ah=100.0, temperature_C=10.0, wanted=wanted)
    assert fixed.trials[0].counted == plain.trials[0].counted
    assert fixed.corrected.together.value > fixed.measured.together.value
    assert [one.name for one in fixed.trials[0].corrections] == ["temperature", "rate"]


def test_courses_reach_the_charge_delivered():
    answer, (course,) = evaluate_tests([make_log()], ["a"], Question())
    assert course.charge_Ah[-1] == approx(answer.trials[0].counted.Ah.value, rel=2e-3)


def test_any_odd_log_gives_an_answer_or_one_clear_line():
    rng = np.random.default_rng(4)
    for _ in range(150):
        count = int(rng.integers(1, 12))
        time = np.cumsum(rng.integers(0, 3, count) * 60.0)
        current = rng.choice([0.0, 5.0, -5.0, 20.0], count)
        voltage = rng.choice([0.0, 10.0, 12.0, 13.0], count)
        end_V = None if rng.random() < 0.5 else 11.0
        log = Log("odd.csv", time, voltage, current)
        told = None
        try:
            answer = ask(log, end_V=end_V, rated_Ah=1.0)
        except LogError as error:
            told = str(error)
        assert "odd.csv: " in told if told else answer.measured.together.value > 0.0


def test_one_word_a_log():
    with pytest.raises(LogError, match="--units names 1 logs; expected 2"):
        evaluate_tests([make_log(), make_log()], ["a"], Question())


@pytest.mark.parametrize(
    "words",
    [
        {"rated_Ah": 0.0},
        {"end_V": -1.0},
        {"start_A": math.nan},
        {"confidence": 1.0},
        {"confidence": 95.0},
        {"temperature_C": 300.0},
    ],
)
def test_nonsense_is_refused(words):
    with pytest.raises(ParameterError, match=next(iter(words))):
        Question(**words)
