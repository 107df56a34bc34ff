import csv
import io
import json
from dataclasses import replace

import numpy as np
import pytest

from bankSim.measured.gauge import Course, judge
from bankSim.measured.gauge_typed import judge_typed
from bankSim.measured.typical_tables import line_table, typical_table
from bankSim.measured.voltage_table import straight_line
from bankSim.show.gauge_figure import gauge_figure
from bankSim.show.gauge_files import course_csv, gauge_summary, typed_summary
from bankSim.show.gauge_story import tell_gauge, tell_typed
from bankSim.show.gauge_why import why
from bankSim.show.printing import story_text
from bankSim.show.study_files import summary_text


@pytest.fixture
def judged():
    """From 90 to 10 % at 10 A behind 5 mohm on V = 12.8 + 0.6 z: 8.33 points too low."""
    left = np.linspace(0.9, 0.1, 81)
    time, current = (0.9 - left) * 36000.0, np.full(81, 10.0)
    volts = 12.8 + 0.6 * left - 0.05
    course = Course(
        "log $x$", time, volts, current, time / 360.0, 100.0 * left, 100.0, 0.005, ("Counted.",)
    )
    return judge(course, straight_line(12.8, 13.4, "a test"))


def flat(text):
    return " ".join(text.split())


def test_the_story_says_how_far_and_why(judged):
    text = flat(story_text(tell_gauge([(judged, None)], ("Something.",))))
    assert "Log $x$: a gauge that knows only the voltage is off by up to 8.3 points" in text
    assert "never too high" in text
    assert "goes from 30 to 80 % within 300 mV, 6.0 mV a point" in text
    assert "a load of C/10 alone takes 50 mV off" in text
    assert "the load pulls the reading down by 8 points through the resistance" in text
    assert "one point is worth 6.0 mV" in text
    assert "Counted." in text
    assert "count ampere-hours" in text


def test_next_to_nothing_left_reads_0(judged):
    # "0.0024 %" was told of a battery that had just been emptied
    for left, told in ((0.0024, "when 0 % is left"), (-0.04, "when 0 % is left"),
                       (0.06, "when 0.060 % is left"), (41.6, "when 42 % is left")):  # fmt: skip
        worst = replace(judged.under, true_percent=left, error_points=-60.0)
        text = flat(story_text(tell_gauge([(replace(judged, under=worst), None)], ())))
        assert told in text


def test_each_chemistry_has_its_own_reasons(judged):
    said = {
        word: " ".join(why(replace(judged, course=replace(judged.course, chemistry=word))))
        for word in ("LFP", "NMC", "AGM")
    }
    assert ["hysteresis)" in said[word] for word in said] == [True, False, False]
    assert ["surface charge" in said[word] for word in said] == [False, False, True]


def test_without_a_resistance_nothing_is_said_of_loads(judged):
    bare = judge(replace(judged.course, ohm=None), judged.table)
    assert "C/10" not in " ".join(why(bare))


def test_the_course_as_csv(judged):
    line = judge(judged.course, straight_line(12.0, 14.0, "a test"))
    rows = list(csv.DictReader(io.StringIO(course_csv(judged, line))))
    assert len(rows) == 81
    assert float(rows[0]["counted_percent"]) == pytest.approx(90.0)
    assert float(rows[0]["error_points"]) == pytest.approx(-25.0 / 3.0)
    assert float(rows[0]["straight_line_percent"]) == pytest.approx(50.0 * (13.29 - 12.0))
    bare = list(csv.DictReader(io.StringIO(course_csv(judged, None))))
    assert bare[0]["straight_line_percent"] == ""


def test_summaries_are_sound_json(judged):
    found = json.loads(summary_text(gauge_summary([(judged, judged)], ["r"])))
    under = found["batteries"][0]["table"]["largest_under"]
    assert under["error_points"] == pytest.approx(-25.0 / 3.0)
    assert set(found) >= {"question", "batteries", "remarks", "version", "safety"}
    typed = judge_typed(13.09, 3.3, typical_table("LFP", 4), line_table("LFP", 4), None, None)
    assert json.loads(summary_text(typed_summary(typed, [])))["drop_V"] is None
    assert "left out" in flat(story_text(tell_typed(typed, ())))


def test_a_charge_lifts_the_typed_voltage():
    table = typical_table("AGM", 6)
    typed = judge_typed(12.4, -5.0, table, line_table("AGM", 6), 0.01, 100.0)
    text = flat(story_text(tell_typed(typed, ["As assumed."])))
    assert "under 5.00 A of charge" in text
    assert "near 12.35 V: the charge adds 50 mV" in text
    assert "As assumed." in text


def test_the_figure_marks_the_largest_error_and_the_band(judged, tmp_path):
    table = typical_table("LFP", 4)
    wide = judge(judged.course, table)
    figure = gauge_figure(wide, judged)
    above, below = figure.axes
    assert above.get_title(loc="left") == "Gauge by voltage and counting: log $x$"
    assert len(above.collections) == 1  # the band
    assert [text.get_text() for text in above.texts] == [
        f"{wide.worst.error_points:+.0f} points at {wide.worst.voltage_V:.2f} V"
    ]
    styles = [line.get_linestyle() for line in above.lines]
    assert len(set(styles)) >= 3  # told apart without colour
    assert below.get_ylabel() == "error [points]"
    figure.savefig(tmp_path / "x.png")
    assert not gauge_figure(judged, None).axes[0].collections


def test_what_goes_back_and_forth_is_drawn_over_time(judged):
    course = judged.course
    again = Course(
        "c", np.concatenate([course.time_s, course.time_s + course.time_s[-1] + 1.0]),
        *(np.concatenate([one, one[::-1]]) for one in (
            course.voltage_V, course.current_A, course.counted_Ah, course.true_percent)),
        100.0,
    )  # fmt: skip
    assert gauge_figure(judged, None).axes[1].get_xlabel() == "charge given [Ah]"
    assert gauge_figure(judge(again, judged.table), None).axes[1].get_xlabel() == "time [h]"
