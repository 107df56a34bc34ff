import json
from dataclasses import replace

import numpy as np
import pytest
from capacity_logs import make_log

from bankSim.measured.capacity_test import Question, evaluate_tests
from bankSim.measured.correct import Wanted
from bankSim.measured.count import Instrument
from bankSim.measured.log import WARNING, Finding
from bankSim.show.bench_figure import charge_figure, course_figure
from bankSim.show.bench_story import tell_tests
from bankSim.show.bench_summary import test_summary as summary_of
from bankSim.show.bench_words import rounded, sure
from bankSim.show.printing import story_text
from bankSim.show.study_files import summary_text


def ask(*logs, units=None, **words):
    return evaluate_tests(logs, units or [""] * len(logs), Question(**words))


def told(*logs, briefly=False, **words):
    story = tell_tests(ask(*logs, **words)[0], briefly=briefly)
    return " ".join(story_text(story).split())


def test_the_verdict_comes_first():
    text = told(make_log(hours=5.5), rated_Ah=100.0)
    assert text.startswith("Capacity: 1 test of 1 unit This unit gave 110.0 +- ")
    assert "As measured, 100 Ah is met (110.0 Ah, guard " in text
    assert "one-sided at 95 %" in text


@pytest.mark.parametrize(
    ("hours", "words"), [(4.0, "100 Ah is not met"), (5.0, "100 Ah cannot be decided")]
)
def test_the_other_verdicts(hours, words):
    assert words in told(make_log(hours=hours), rated_Ah=100.0)


def test_a_claim_that_is_not_met_says_on_what_that_rests():
    plain = told(make_log(hours=4.0), rated_Ah=100.0)
    assert "That holds if the battery was full at the start" in plain
    shown = told(make_log(hours=4.0, charge=(3600.0, 2.0)), rated_Ah=100.0)
    assert "That holds if" not in shown
    doubtful = told(make_log(hours=4.0, charge=(3600.0, 2.0), after="rebound"), rated_Ah=100.0)
    assert "That holds if it was the battery that stopped" in doubtful
    assert "That holds if" not in told(make_log(hours=5.5), rated_Ah=100.0)
    both = told(make_log(hours=4.0, after="rebound"), rated_Ah=100.0)
    assert (
        "That holds if the battery was full at the start (which the logs do not show) and if it "
        "was the battery that stopped, not the load by a limit of its own."
    ) in both


def test_tests_that_are_no_repeats_are_told():
    slow = make_log(hours=10.0, amperes=10.0)
    both = told(make_log(), slow)
    assert "mean currents from 10.0 to 20.0 A" in both
    assert "so no mean of them is told (--correct rate" in both
    assert "no mean of tests at such different currents" in both
    assert "label (" not in both
    assert "the label" not in both.split("Each test")[0]
    assert "What makes the Ah uncertain" not in both
    held = told(make_log(), slow, rated_Ah=100.0)
    assert "no mean of them is told or held against the label" in held
    assert "100 Ah cannot be decided" not in held
    answer, _ = ask(make_log(), slow, rated_Ah=100.0)
    assert summary_of(answer)["rates_alike_enough_for_a_mean"]["measured"] is False
    near = told(make_log(), make_log(hours=5.0, amperes=16.0))
    assert "mean currents from 16.0 to 20.0 A" in near
    assert "no mean of them" not in near
    assert "Beware" not in told(make_log(), make_log(hours=5.1))
    cold = replace(slow, temperature_C=np.full(slow.count, 5.0))
    warm = replace(slow, temperature_C=np.full(slow.count, 25.0))
    assert "mean temperatures from 5.0 to 25.0 degC" in told(cold, warm)


def test_only_whole_tests_count_for_the_rates():
    # 40 Ah at 10 A were stopped by hand; 80 Ah at 20 A are the one whole test: its verdict stands
    part = make_log(hours=4.0, amperes=10.0, after="stop")
    text = told(make_log(hours=4.0), part, rated_Ah=100.0)
    head = text.split("Each test")[0]
    assert "no mean of them" not in head
    assert "100 Ah is not met" in head
    assert head.index("100 Ah is not met") < head.index("That holds if")
    apart = told(make_log(hours=4.0), make_log(hours=7.0, amperes=10.0), rated_Ah=100.0)
    assert "That holds" not in apart
    assert "is not met" not in apart


def test_how_the_logs_were_read():
    finding = Finding("7 samples go back in time; dropped.", severity=WARNING)
    note = Finding("A note.")
    log = replace(make_log(), findings=(finding, note), sign_reason="by its voltage")
    text = told(log)
    assert '"bench": read as discharge positive (by its voltage).' in text
    assert 'Beware, "bench": 7 samples go back in time' in text
    assert "A note." not in text
    assert "different directions" not in text
    other = replace(make_log(), sign="charge positive")
    assert "different directions of current" in told(log, other)


def test_without_a_label_there_is_no_verdict():
    text = told(make_log())
    assert "No label to hold it against" in text
    assert "claim is met" not in text
    assert "guard" not in text


def test_a_test_broken_off_is_a_lower_bound():
    text = told(make_log(hours=3.0, after="stop"), rated_Ah=100.0)
    assert "gave at least 60.0" in text
    assert "by hand" in text
    assert "the test did not run from full to its end" in text


def two_rates():
    return make_log(20.0, 5.0, step_s=60.0), make_log(20.0 * 0.2**1.2, 25.0)


def test_the_exponent_of_the_tests_themselves_is_told():
    agm = Wanted((), "AGM")
    text = told(*two_rates(), wanted=agm)
    assert (
        "2 complete tests at 5.00 to 25.0 A by themselves give a Peukert exponent of 1.20" in text
    )
    assert "usual for AGM: 1.21). --correct rate uses it." in text
    text = told(*two_rates(), wanted=replace(agm, names=("rate",)))
    assert "It is used below." in text
    assert "that they agree is no proof" in text
    text = told(*two_rates(), wanted=replace(agm, names=("rate",), exponent=1.1))
    assert "The 1.10 that was given is used." in text
    assert "no proof" not in text
    odd = told(two_rates()[0], make_log(5.0, 25.0), wanted=agm)
    assert "No battery has that" in odd
    assert "Peukert exponent" not in told(make_log(), make_log(hours=5.1))


def test_a_long_pause_is_told_above():
    text = told(make_log(pauses=[(2.0, 3600.0, 0.0)]), rated_Ah=90.0)
    assert "This unit gave 100.0" in text
    assert '"bench" was paused for 1.0 h (the log shows no charge): what it gave' in text
    assert "one discharge, 5.00 h under load at a mean of 20.0 A" in text
    assert "not counted" not in text
    assert "was paused" not in told(make_log(pauses=[(2.0, 600.0, 0.0)]))
    little = told(make_log(pauses=[(2.0, 3600.0, -0.2)]))  # 0.2 Ah of 40 Ah
    assert "was paused for 1.0 h (hardly charged)" in little
    twice = told(make_log(pauses=[(1.0, 3600.0, 0.0), (2.0, 3600.0, 0.0)]))
    assert '"bench" was paused 2 times, for 2.0 h in all (the log shows no charge)' in twice


def test_what_did_not_start_full_is_told_above():
    log = make_log(hours=2.0, rest_before_s=0.0)
    low = replace(log, voltage_V=log.voltage_V - 0.3)
    text = told(low, rated_Ah=100.0, wanted=Wanted((), "LFP"))
    assert "gave at least 39.97 " in text
    assert '"bench" is no full test: it starts at 12.90 V under 20.0 A, and a full' in text
    assert "is not met" not in text


def test_charge_given_later_is_told():
    first = make_log(hours=3.0, after="rebound", after_s=30_000.0)
    log = replace(
        first,
        time_s=10.0 * np.arange(first.count + 360),
        voltage_V=np.concatenate([first.voltage_V, np.full(360, 12.0)]),
        current_A=np.concatenate([first.current_A, np.full(360, 20.0)]),
    )
    text = told(log, rated_Ah=70.0)
    assert '"bench" gave 20.0 Ah more later, after a rest and without a charge' in text


def test_start_end_and_interruptions_are_told():
    log = make_log(charge=(3600.0, 2.0), after="rebound", pauses=[(1.0, 600.0, 0.0)])
    text = told(log)
    assert "at rest for 1.0 h before (13.40 V), full by its tail: the charge before ended" in text
    assert "interrupted 1 time, 10 min in all" in text
    assert "it came back by 2.4" in text
    assert "--end-V fixes the criterion" in text


@pytest.mark.parametrize(
    ("later_V", "said"), [(-0.07, "it fell by another 0.07 V"), (0.0, "it stayed there"),
                          (0.4, "it came back by 0.40 V")],
)  # fmt: skip
def test_a_voltage_that_does_not_come_back_is_not_said_to(later_V, said):
    log = make_log(after="rebound")
    last = int(np.flatnonzero(log.current_A > 10.0)[-1])
    voltage = log.voltage_V.copy()
    voltage[last + 1 :] = voltage[last] + later_V
    text = told(replace(log, voltage_V=voltage))
    assert f"; {said} within 10 min" in text
    assert "by -" not in text
    assert ("and the voltage came back" in text) is (later_V > 0.0)


def test_the_weakest_cell_is_named():
    log = make_log()
    cells = np.full((log.count, 4), 3.2)
    cells[:, 2] = 2.4
    assert "cell 3 was lowest with 2.400 V, 0.600 V below the mean" in told(
        replace(log, cells_V=cells)
    )


def test_corrections_stand_apart_with_their_source():
    wanted = Wanted(("temperature",), "AGM")
    text = told(make_log(), rated_Ah=100.0, temperature_C=15.0, wanted=wanted)
    assert "Not part of what was measured; asked for with --correct." in text
    assert "L 0.006 a kelvin at 10 h" in text
    assert "As measured: is the claim met?" in text
    assert "Corrected: is the claim met?" in text
    assert "Temperature correction: 50 % of it, rectangular (half of the correction" in text
    assert "Corrected: " not in told(make_log(), rated_Ah=100.0)


def test_what_was_assumed_is_listed_and_what_was_given_is_not():
    assert "Shunt gain: 0.5 %, rectangular (typical, our own choice)." in told(make_log())
    text = told(make_log(), instrument=Instrument(0.1, 0.01, 0.1, 0.01))
    assert "Shunt gain: " not in text
    assert "shunt gain B rectangular given 0.1 %" in text


def test_several_units_tell_of_the_product():
    logs = [make_log(hours=hours) for hours in (5.0, 5.1, 5.2)]
    text = told(*logs, units=["A", "B", "C"], rated_Ah=90.0)
    assert "The mean of these 3 units gave 102" in text
    assert 'The unit "B": 90 Ah is met' in text
    assert "The next unit like these: 90 Ah" in text
    assert "Nine of ten such units give more than" in text
    assert "one unit says nothing" not in text


def test_small_print_and_safety():
    text = told(make_log())
    for words in ("One rate:", "Temperature: not in the log", "The start:", "The end:", "Age:",
                  "one unit says nothing", "Never bypass a protection"):  # fmt: skip
        assert words in text


def test_the_brief_story_is_shorter():
    log = make_log()
    assert len(told(log, briefly=True)) < len(told(log))
    assert "Small print" in told(log, briefly=True)


def test_the_summary_is_plain_json():
    answer, _ = ask(make_log(), rated_Ah=90.0)
    summary = json.loads(summary_text(summary_of(answer)))
    assert summary["question"] == "test"
    assert summary["asked"]["rated_Ah"] == 90.0
    assert summary["measured"]["together"]["word"] == "met"
    budget = summary["budgets"]["measured"]
    squares = sum(one["standard"] ** 2 for one in budget["contributions"])
    assert budget["combined_standard"] == pytest.approx(squares**0.5)
    assert budget["expanded"] == pytest.approx(budget["factor"] * budget["combined_standard"])
    assert {one["type"] for one in budget["contributions"]} <= {"A", "B"}
    assert "safety" in summary


def test_figures_hold_every_test_and_the_label():
    logs = [make_log(file="a.csv"), make_log(hours=3.0, after="stop", file="$b$.csv")]
    answer, courses = ask(*logs, units=["A", "B"], rated_Ah=100.0)
    top, bottom = course_figure(answer, courses).axes
    assert len(bottom.lines) == 3  # two tests and the label
    assert len(top.lines) == 5  # and two ends
    figure = charge_figure(answer)
    figure.canvas.draw()
    names = [tick.get_text() for tick in figure.axes[0].get_yticklabels()]
    assert names == ["a", "$b$ (at least)", "unit A", "unit B (at least)",
                     "all 2 units (at least)"]  # fmt: skip


def test_digits_follow_the_uncertainty():
    # JCGM 100, 7.2.6: two digits of the uncertainty at most
    assert rounded(102.3456, 0.8) == "102.35"
    assert rounded(102.3456, 4.5) == "102.3"
    assert rounded(102.3456, 45.0) == "102"
    assert rounded(102.3456, 0.0) == "102.35"
    assert sure(0.95) == "95 %"
