import json

import pytest

from bankSim.show.plan_figure import plan_figure
from bankSim.show.plan_files import plan_summary
from bankSim.show.plan_story import clock, tell_plan
from bankSim.show.plan_words import CHARGING, end_words, least_rest_h, watch_words
from bankSim.show.printing import story_text
from bankSim.show.study_files import summary_text
from bankSim.study.bench_plan import PERCENTS, plan_test
from bankSim.study.bench_scenario import Wanted, of_label
from bankSim.study.blocks import threads


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
    assert "10.5 V of a 12 V battery" in text
    assert "must be within 25 mA of zero" in text  # 0.5 % of 5 A
    assert "the load is steady" in text
    assert "every cell voltage" in text
    assert "licensed" in text


def test_a_load_above_the_label_is_warned_of():
    wanted = Wanted(rated_Ah=100.0, chemistry="LFP", cells=4, load_A=150.0)
    with threads(1) as workers:
        text = told(plan_test(of_label(wanted), workers, draws=20))
    assert "WARNING:" in text
    assert "delivers up to 150 A" in text
    assert "No fuse is given" not in text  # the checklist asks for one anyway
    assert "[ ] Fuse at the battery's own terminal" in text


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
        lead = word in ("AGM", "gel", "flooded")
        assert ("1.75 V" in end_words(word)) == lead
        assert ("lithium" in watch_words(word)) == (not lead)
        assert least_rest_h(word) == (4.0 if lead else 1.0)
        # never above what standards and makers allow: 3.65, 4.2 and 2.47 V a cell (from memory)
        assert CHARGING[word].hold_V <= {"LFP": 3.65, "NMC": 4.2}.get(word, 2.47)
