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
    log = make_log(hours=5.0, pauses=[(1.0, 4000.0, 0.0)])
    (trial,) = ask(log).trials
    assert trial.counted.Ah.value == approx(80.0)
    assert trial.others_Ah == approx((20.0,))


def test_each_large_discharge_as_a_repeat():
    log = make_log(hours=5.0, pauses=[(2.4, 4000.0, -5.0)])
    answer = ask(log, each=True)
    assert [one.counted.Ah.value for one in answer.trials] == approx([48.0, 52.0])
    assert answer.trials[0].ending is Ending.BY_HAND
    assert answer.measured.units[0].left_out == 1  # broken off


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
