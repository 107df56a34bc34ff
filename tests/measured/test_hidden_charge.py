"""Charges that the log does not show: the truth is that of the battery the log was made from."""

import numpy as np
import pytest

from bankSim.measured.capacity_test import Question, evaluate_tests
from bankSim.measured.discharge import find_discharges
from bankSim.measured.log import Gap, Log
from bankSim.measured.replay import Course, replay
from bankSim.measured.uncertainty import Budget
from bankSim.measured.verdict import Word, judge, within_proof
from bankSim.model.lead_acid import AGM
from bankSim.model.lfp import LFP

BOX = {"LFP": (LFP, 4, 2.5), "AGM": (AGM, 6, 1.75)}


def paused(chemistry, true_Ah, amperes, hours, rest_h, hidden_A=0.0):
    """Return the log of a full battery: load, rest of `rest_h` h, load down to its end.

    `hidden_A` flows into it all through the rest, beside the shunt: the log shows 0 A.
    """
    kind, count, cut_V = BOX[chemistry]
    cell = kind.typical_cell(true_Ah, 3600.0 * true_Ah)
    time = np.arange(0.0, 3600.0 * (2.0 * true_Ah / amperes + rest_h), 30.0)
    on = (time >= 1800.0) & ~((time >= 1800.0 + 3600.0 * hours) & (time < _again(hours, rest_h)))
    resting = (time >= 1800.0 + 3600.0 * hours) & ~on
    real = np.where(on, amperes, np.where(resting, -hidden_A, 0.0))
    volts = _volts(cell, time, real)
    cut = int(np.argmax((volts <= cut_V) & on))
    stop = cut + 60
    real[cut:], on[cut:] = 0.0, False
    volts = count * _volts(cell, time[:stop], real[:stop])
    noise = np.random.default_rng(4).normal(0.0, 0.003, stop)
    return Log("bench", time[:stop], volts + noise, np.where(on, amperes, 0.0)[:stop])


def _again(hours, rest_h):
    return 1800.0 + 3600.0 * (hours + rest_h)


def _volts(cell, time, current):
    flow = Log("flow", time, np.full(time.size, 2.0), current)
    return replay((cell,), Course.of(flow, 25.0), time)[:, 0]


def ask(log, rated_Ah):
    return evaluate_tests([log], [""], Question(rated_Ah=rated_Ah))[0]


@pytest.mark.parametrize(
    ("chemistry", "amperes", "hours", "rest_h", "hidden_A"),
    [("LFP", 20.0, 3.0, 2.0, 12.0), ("LFP", 20.0, 3.0, 4.0, 10.0), ("AGM", 5.0, 6.0, 4.0, 6.0)],
)
def test_a_charge_beside_the_shunt_proves_no_label(chemistry, amperes, hours, rest_h, hidden_A):
    # the truth: 85 Ah, and 24 or 40 Ah charged unseen
    log = paused(chemistry, 85.0, amperes, hours, rest_h, hidden_A)
    assert len(find_discharges(log)) == 2
    answer = ask(log, 95.0)
    assert answer.measured.together.word is Word.UNDECIDED
    assert answer.measured.together.at_least
    (trial,) = answer.trials
    assert trial.parted_s > 0.0 or "whether the battery was charged in between" in trial.not_full


def test_a_small_charge_beside_the_shunt_leaves_a_label_open():
    # the truth: 85 Ah, and 12 Ah charged unseen; too little to part the test
    log = paused("LFP", 85.0, 20.0, 3.0, 1.0, 12.0)
    answer = ask(log, 90.0)
    (trial,) = answer.trials
    assert trial.counted.Ah.value > 92.0
    assert 10.0 < trial.regained_Ah < 25.0
    verdict = answer.measured.together
    assert verdict.word is Word.UNDECIDED
    assert verdict.sure_Ah is not None
    assert verdict.sure_Ah[0] < 87.0


@pytest.mark.parametrize(
    ("chemistry", "amperes", "hours", "rest_h"),
    [("LFP", 20.0, 3.0, 2.0), ("LFP", 50.0, 0.5, 12.0), ("AGM", 5.0, 5.0, 3.0),
     ("AGM", 20.0, 1.0, 12.0), ("AGM", 40.0, 0.4, 12.0)],
)  # fmt: skip
def test_what_a_rest_gives_back_parts_no_test(chemistry, amperes, hours, rest_h):
    # the truth: 85 Ah and nothing charged; lead-acid rises under load after its rest
    (one,) = find_discharges(paused(chemistry, 85.0, amperes, hours, rest_h))
    (pause,) = one.pauses
    assert (pause.regained_Ah > 1.0) is (chemistry == "AGM")


@pytest.mark.parametrize("hidden_A", [2.0, 4.0, 8.0, 12.0])
def test_what_is_sure_is_no_more_than_the_truth(hidden_A):
    # 84.5 Ah to 10 V at 20 A, and 1 to 6 Ah charged unseen after half an hour of load
    truth = ask(paused("LFP", 85.0, 20.0, 1.0, 0.0), 80.0).measured.together.value
    log = paused("LFP", 85.0, 20.0, 0.5, 0.5, hidden_A)
    (trial,) = ask(log, 80.0).trials
    assert trial.counted.Ah.value == pytest.approx(truth + 0.5 * hidden_A, abs=0.3)
    assert trial.proven[0] * trial.counted.Ah.value < 1.01 * truth
    assert ask(log, 86.0).measured.together.word is not Word.MET


def test_a_hidden_charge_to_nearly_full_begins_a_test_of_its_own():
    # 10 of 84.5 Ah drawn and 8 charged unseen: its voltage shows that charge, and what is counted
    # is what comes after it
    truth = ask(paused("LFP", 85.0, 20.0, 1.0, 0.0), 80.0).measured.together.value
    (trial,) = ask(paused("LFP", 85.0, 20.0, 0.5, 0.5, 16.0), 80.0).trials
    assert trial.counted.Ah.value == pytest.approx(truth - 10.0 + 8.0, abs=0.3)


def test_an_honest_rest_takes_no_verdict_from_lfp():
    log = paused("LFP", 85.0, 20.0, 3.0, 2.0)
    assert ask(log, 80.0).measured.together.word is Word.MET
    assert ask(log, 90.0).measured.together.word is Word.NOT_MET


def gapped(length_s, at_s):
    """The same battery without a pause, its clock put forward at `at_s`."""
    log = paused("LFP", 85.0, 20.0, 1.0, 0.0)
    place = int(np.searchsorted(log.time_s, at_s))
    time = np.where(np.arange(log.count) > place, log.time_s + length_s, log.time_s)
    return Log("x", time, log.voltage_V, log.current_A, gaps=(Gap(place, length_s + 30.0, 30.0),))


def test_a_gap_proves_nothing():
    # the truth: 85 Ah; an hour of 20 A that never was makes 105 Ah of them
    log = gapped(3600.0, 7200.0)
    verdict = ask(log, 85.2).measured.together  # its guard alone would call this met
    assert verdict.low > 85.2
    assert verdict.value == pytest.approx(105.0, abs=2.0)
    assert verdict.word is Word.UNDECIDED
    assert verdict.sure_Ah is not None
    assert verdict.sure_Ah[0] == pytest.approx(85.0, abs=2.0)
    assert ask(log, 80.0).measured.together.word is Word.MET  # proven without the gap


def test_a_gap_disproves_nothing():
    # 84.5 Ah, of which 4 lie in a gap; with 20 A all through it they might have been 96
    budget = Budget(84.5, "Ah", ())
    poor = judge("it", budget, 95.0, 0.95)
    assert poor.word is Word.NOT_MET
    assert within_proof(poor, 80.5, 94.0, 95.0).word is Word.NOT_MET
    assert within_proof(poor, 80.5, 96.0, 95.0).word is Word.UNDECIDED


def test_a_logger_that_dies_with_the_cut_out_adds_nothing():
    # the truth: 85 Ah; nothing was logged for a day after the collapse
    log = paused("LFP", 85.0, 20.0, 1.0, 0.0)
    last = int(np.flatnonzero(log.current_A > 1.0)[-1])
    dead = gapped(86_400.0, float(log.time_s[last]))
    answer = ask(dead, 100.0)
    assert answer.measured.together.value == pytest.approx(
        ask(log, 100.0).measured.together.value, abs=0.2
    )
    assert answer.measured.together.word is Word.NOT_MET


@pytest.mark.parametrize("hidden_Ah", [0.0, 20.0])
def test_the_load_after_a_pause_is_held_against_one_like_it(hidden_Ah):
    # in closed form: 13.3 V less 10 mV per Ah drawn and 10 mohm, 2 mohm more when settled;
    # 5 A for 3 h, 50 A for 6 min, a rest of 2 h, 5 A for 8 h
    step_s = 20.0
    current = np.repeat([0.0, 5.0, 50.0, 0.0, 5.0], np.array([90, 540, 18, 360, 1440]))
    drawn = np.cumsum(current) * step_s / 3600.0
    drawn = drawn - np.where(np.arange(current.size) >= 1008, hidden_Ah, 0.0)
    settled = np.where(current == 50.0, 0.002 * 50.0, 0.0)
    volts = 13.3 - 0.01 * drawn - 0.01 * current - settled
    found = find_discharges(Log("x", step_s * np.arange(current.size), volts, current))
    regained = [pause.regained_Ah for one in found for pause in one.pauses]
    if hidden_Ah:  # more than 0.3 of the 20 Ah before the pause, and 0.2 of all 60
        assert len(found) == 2
    else:
        assert regained == [0.0]
