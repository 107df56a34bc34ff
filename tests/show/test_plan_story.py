import json
from dataclasses import replace
from pathlib import Path

import made_up
import pytest

from bankSim.model.chemistry import odd_cells
from bankSim.scenario.read import parse_scenario
from bankSim.show.plan_figure import plan_figure
from bankSim.show.plan_files import plan_summary
from bankSim.show.plan_story import _again, _logging, _round_down, any_at_night, clock, tell_plan
from bankSim.show.plan_words import CHARGING, end_words, least_rest_h, watch_words
from bankSim.show.printing import story_text
from bankSim.show.study_files import summary_text
from bankSim.study.bench_plan import PERCENTS, plan_test
from bankSim.study.bench_scenario import Wanted, of_label, of_scenario
from bankSim.study.blocks import threads
from bankSim.study.sampling import SamplingError


@pytest.fixture(scope="module")
def plan():
    wanted = Wanted(rated_Ah=100.0, chemistry="AGM", cells=6, load_A=5.0, starts_at="20:00")
    with threads(1) as workers:
        return plan_test(of_label(wanted), workers, draws=40)


def told(plan, **more):
    return " ".join(story_text(tell_plan(plan, 1.0, **more)).split())


def test_the_checklist_holds_what_a_tester_needs(plan):
    text = told(plan)
    assert "started at 20:00" in text
    assert "hold until the current is below 0.50 A" in text  # C/200, from memory
    assert "[ ] Let it rest 7.4 h at least" in text  # 5 time constants of 1 / 0.677 h
    assert "at 1.75 V a cell (10.5 V of this battery), as is usual for lead-acid; never go" in text
    assert "must be within 25 mA of zero" in text  # 0.5 % of 5 A
    assert "the load is steady" in text
    assert "licensed" in text


def test_the_shunt_bears_the_largest_current(plan):
    # a quarter more than 200 A that flow early on, whatever flows on average and at the end
    pulsed = replace(plan, mean_A=20.0, peak_A=200.0, end_A=15.0)
    assert (
        "[ ] Shunt for at least 250 A; with no current its reading must be within 100 mA"
        in told(pulsed)
    )
    assert "[ ] Shunt for at least 6.2 A;" in told(plan)  # 5 A all the time


@pytest.mark.parametrize(("peak_A", "words"), [(25.0, "is steady"), (25.1, "is never off")])
def test_a_load_that_changes_is_not_called_steady(plan, peak_A, words):
    # a steady power draws up to a quarter more than on average
    text = told(replace(plan, mean_A=20.0, peak_A=peak_A))
    assert f"would do, as the load {words}; the end asks for more." in text


def test_lead_acid_is_stopped_by_hand_and_its_cells_are_out_of_reach(plan):
    text = told(plan)
    assert "will reach 10.5 V, where you stop it by hand, after about" in text
    assert "[ ] Take the load off by hand at 10.5 V; better, let a low-voltage cut-off" in text
    assert "Write down at the end: battery voltage, current" in text
    assert "REMARK" not in text
    for word in ("cut out", "cut-out", "cell voltage", "cells every"):
        assert word not in text
    labels = [one.get_label() for one in plan_figure(plan).axes[0].patches]
    assert labels == ["end in 99 of 100 cases", "end in 90 of 100 cases"]


def test_lead_acid_with_a_switch_of_its_own_is_not_stopped_by_hand():
    text = """
    [[battery]]
    name = "flat"
    chemistry = "AGM"
    cells_in_series = 4
    rated_capacity_Ah = 20.0
    [[battery.protection]]
    watches = "battery voltage"
    trips_below = 7.4
    after_s = 30
    blocks = "discharge"
    """
    scenario = parse_scenario(text, Path(), "flat.toml")
    (remark,) = scenario.remarks
    assert remark.startswith("battery[1]: 4 cells in series are unusual for lead-acid")
    assert "1, 3, 6, 12 or 24" in remark
    with threads(1) as workers:
        found = told(plan_test(of_scenario(scenario, Wanted(load_A=5.0)), workers, draws=20))
    assert "will reach 7.4 V, where its protection stops it, after about" in found
    assert "by hand" not in found
    assert "has no electronics" not in found
    assert (
        "The test ends where its protection stops it, or at 1.75 V a cell (7 V of this battery) if "
        "that comes first; never go below" in found
    )
    assert "Be there at the end: where its protection fails, somebody must take the load" in found
    assert "REMARK: 4 cells in series are unusual" in found


@pytest.mark.parametrize("cells", [1, 3, 6, 12, 24])
def test_usual_numbers_of_cells_are_not_remarked_on(cells):
    assert odd_cells("flooded", cells) == ""
    assert odd_cells("LFP", cells + 1) == ""
    assert odd_cells("gel", cells + 1)


def test_a_load_above_the_label_is_warned_of():
    wanted = Wanted(rated_Ah=100.0, chemistry="LFP", cells=4, load_A=150.0)
    with threads(1) as workers:
        text = told(plan_test(of_label(wanted), workers, draws=20))
    assert "WARNING:" in text
    assert "delivers up to 150 A" in text
    assert "No fuse is given" not in text  # the checklist asks for one anyway
    assert "[ ] Fuse at the battery's own terminal" in text


def test_a_test_that_ends_by_its_current_is_told_to_be_none():
    # 60 A, above the 50 A of the only rule, from 0.5 h on: 2 A x 0.5 h are given by then, 1 Ah
    text = """
    [[battery]]
    name = "quick"
    chemistry = "LFP"
    cells_in_series = 4
    rated_capacity_Ah = 80.0
    [[battery.protection]]
    watches = "discharge current"
    trips_above = 50.0
    after_s = 1.0
    blocks = "discharge"
    [[load]]
    current_A = 2.0
    [[load]]
    current_A = 58.0
    active_h = [[0.5, 2.0]]
    """
    scenario = parse_scenario(text, Path(), "quick.toml")
    with threads(1) as workers:
        found = plan_test(of_scenario(scenario, Wanted()), workers, draws=20)
        steady = plan_test(of_label(Wanted(None, 80.0, "LFP", 4, load_A=16.0)), workers, draws=20)
    assert (found.ended_by, found.is_capacity_test) == ("discharge current", False)
    assert found.middle_Ah == pytest.approx(1.0, abs=0.05)
    text = told(found)
    first = text.split("Beware")[0]
    assert "That is no capacity test" in first
    assert "by its rule against too much current after about 30.0 min at 60.0 A" in first
    assert "A steady load of 16 A (its label in 5 h) would be one." in first
    for word in ("be there", "read Ah to", "Shunt", "each degree"):
        assert word not in text
    assert (steady.ended_by, steady.is_capacity_test) == ("lowest cell voltage", True)


def test_the_load_that_would_do_stays_below_the_rule():
    text = """
    [[battery]]
    name = "weak"
    chemistry = "LFP"
    cells_in_series = 4
    rated_capacity_Ah = 100.0
    [[battery.protection]]
    watches = "discharge current"
    trips_above = 20.0
    blocks = "discharge"
    """
    scenario = parse_scenario(text, Path(), "weak.toml")
    with threads(1) as workers:
        found = plan_test(of_scenario(scenario, Wanted(load_A=30.0)), workers, draws=20)
    # 0.8 of 20 A, own choice
    assert "A steady load of 16 A would be one." in told(found)


def test_briefly_leaves_the_sources_out(plan):
    assert "Taken for granted" in told(plan)
    brief = told(plan, briefly=True)
    assert "Taken for granted" not in brief
    assert "story.txt" in brief


def test_the_clock_runs_over_midnight(plan):
    assert clock(plan, 0.0) == "20:00"
    assert clock(plan, 4.0) == "00:00 (day 2)"
    assert clock(plan, 28.51) == "00:31 (day 3)"
    assert clock(plan, 1.999) == "22:00"
    assert clock(plan, 1.999, early=True) == "21:59"


@pytest.mark.parametrize(
    ("from_h", "to_h", "night"),
    [
        (21.4, 26.97, True),  # 21:24 to 02:58
        (27.0, 28.0, True),
        (24.0, 24.1, True),
        (29.9, 33.0, True),
        (6.0, 23.9, False),
        (30.0, 33.0, False),
        (40.0, 54.5, True),  # over the second night
    ],
)
def test_any_of_it_at_night_counts(from_h, to_h, night):
    assert any_at_night(from_h, to_h) is night


def test_the_summary_has_points_by_their_percent(plan):
    found = json.loads(summary_text(plan_summary(plan, 2.0)))
    assert found["duration_h"] == {
        f"{one:g}": value for one, value in zip(PERCENTS, plan.duration_h, strict=True)
    }
    assert found["starts_at"] == "20:00"
    assert found["wanted_percent"] == 2.0
    assert found["repeats"] >= 1
    assert found["knee"]["battery_s"] > 0.0


def test_the_figure_shows_the_course_and_both_windows(plan, tmp_path):
    figure = plan_figure(plan)
    (axes,) = figure.axes
    spans = [patch.get_x() for patch in axes.patches]
    assert spans == [pytest.approx(plan.at(0.5)), pytest.approx(plan.at(5.0))]
    assert axes.lines[0].get_xdata()[-1] == pytest.approx(plan.middle_h)
    assert axes.texts[0].get_text().startswith("10.5")
    figure.savefig(tmp_path / "x.png")


def test_every_chemistry_has_words():
    for word in CHARGING:
        one = replace(made_up.battery("a"), chemistry=word)
        lead = word in ("AGM", "gel", "flooded")
        assert ("1.75 V" in end_words(one)) == lead
        assert ("lithium" in watch_words(one)) == (not lead)
        assert least_rest_h(word) == (4.0 if lead else 1.0)
        # never above what standards and makers allow: 3.65, 4.2 and 2.47 V a cell (from memory)
        assert CHARGING[word].hold_V <= {"LFP": 3.65, "NMC": 4.2}.get(word, 2.47)


def test_a_battery_that_may_not_be_cut_out_in_time_is_told(plan):
    some = replace(plan, cut_out_part=0.975)
    assert "In 2.5 of 100 cases it does not reach 10.5 V within 240 h." in told(some)
    assert "within 240 h" not in told(plan)


@pytest.mark.parametrize(
    ("seconds", "told_s"),
    [(0.05, 0.1), (0.1, 0.1), (0.99, 0.5), (1.0, 1.0), (59.0, 30.0), (1e4, 60.0)],
)
def test_an_interval_is_a_usual_one_that_is_not_longer(seconds, told_s):
    assert _round_down(seconds) == told_s


def test_one_test_is_enough_but_two_are_made(plan):
    # (1.96 x 0.5 / 1)^2 is less than one; with 2 % four are asked for: 3.92^2 = 15.4
    one, many = (" ".join(_again(replace(plan, repeat_sd_percent=sd), 1.0).lines)
                 for sd in (0.5, 2.0))  # fmt: skip
    assert "a mean within 1.0 % in 95 of 100 cases 1 test will do." in one
    assert "Do two all the same" in one
    assert "16 tests will do." in many
    assert "Do two" not in many


@pytest.mark.parametrize(
    ("starts_h", "from_h", "until_h", "night"),
    [(8.0, 12.0, 14.0, False), (8.0, 14.0, 17.0, True), (20.0, 12.0, 15.0, False),
     (2.0, 2.0, 3.5, True), (2.0, 4.5, 6.0, False)],
)  # fmt: skip
def test_who_would_have_to_be_there_at_night_is_told(plan, starts_h, from_h, until_h, night):
    hours = tuple(from_h if percent < 50.0 else until_h for percent in PERCENTS)
    bank = replace(plan.scenario.bank, starts_at_s=starts_h * 3600.0)
    made = replace(plan, duration_h=hours, scenario=replace(plan.scenario, bank=bank))
    assert ("That is at night: start earlier or later" in told(made)) == night


def test_a_load_that_switches_asks_for_samples_by_its_on_time(plan):
    errors = (SamplingError(60.0, 0.123), SamplingError(600.0, 4.5))
    # a two hundredth of 600 s
    switched = replace(plan, shortest_on_s=600.0, interval_s=60.0, sampling=errors)
    text = told(switched)
    assert "log every 1.0 min at most: the load switches" in text
    assert "Safe whatever the rhythm: 3.0 s, that part of its shortest on-time of 10 min" in text
    assert _logging(switched).grid.rows == (("1.0 min", "0.12"), ("10 min", "4.5"))
    assert _logging(replace(plan, sampling=errors)).grid is None  # a steady load
    none = told(replace(plan, interval_s=None))
    assert "not even a sample a second is enough" in none


def test_cold_and_warm_batteries(plan):
    assert "a degree colder hardly changes" in told(replace(plan, per_degree_percent=0.0099))
    assert "each degree colder costs 0.010 %" in told(replace(plan, per_degree_percent=0.0101))


def test_lithium_is_not_charged_below_freezing(plan):
    def at(celsius, chemistry):
        bank = plan.scenario.bank
        one = replace(bank.batteries[0], chemistry=chemistry)
        cold = replace(bank, batteries=(one,), temperature_K=273.15 + celsius)
        made = replace(plan, scenario=replace(plan.scenario, bank=cold))
        return "never charge lithium cells below 0 degC" in told(made)

    found = [at(-1, "LFP"), at(-1, "NMC"), at(0, "LFP"), at(-1, "AGM")]
    assert found == [True, True, False, False]


def test_a_battery_without_usual_values_is_charged_as_its_maker_says(plan):
    bank = plan.scenario.bank
    bare = replace(bank, batteries=(replace(bank.batteries[0], chemistry=None),))
    text = told(replace(plan, scenario=replace(plan.scenario, bank=bare)))
    assert "Charge it full as its maker says; write down voltage and last current" in text
    # 6 cells of 2.40 V, from memory
    assert "Charge to 14.4 V and hold until the current is below 0.50 A, at least 4.0 h" in told(
        plan
    )
