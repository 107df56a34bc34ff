"""Loads and chargers whose times lie outside the run are remarked on, no others."""

import pytest
from scenario_texts import LFP, read

RUN = '[simulation]\nduration_h = 10\nstarts_at = "08:00"\n'
LOAD, CHARGER = "[[load]]\npower_W = 60\n", "[[charger]]\nlimit_A = 5\nhold_V = 14\n"
PANEL = "[[charger]]\nhold_V = 14\n"
DRAWS = "load[1] has no effect because it never draws in the 10 h of the run: look at "
ON = "charger[1] has no effect because it is never on in the 10 h of the run: look at "


def daily(begin, end):
    return f'daily = [{{ from = "{begin}", to = "{end}" }}]\n'


def remarks(text, folder):
    (folder / "p.csv").write_text("time_h,power_W\n4,0\n12,50\n")
    return [one for one in read(RUN + LFP + text, folder).remarks if "has no effect" in one]


@pytest.mark.parametrize(
    ("text", "remark"),
    [
        (LOAD, None), (LOAD + "active_h = [[9.9, 20]]\n", None),
        (LOAD + "active_h = [[0, 0.0001]]\n", None), (CHARGER + "active_h = [[0, 0.0001]]\n", None),
        (LOAD + "active_h = [[10, 20]]\n", DRAWS + "active_h."),
        # from 08:00 to 18:00
        (LOAD + daily("07:00", "08:01"), None), (LOAD + daily("18:00", "08:00"), DRAWS + "daily."),
        (LOAD + daily("17:59", "06:00"), None),
        # 08:00 to 10:00 is over when the window of the clock begins
        (LOAD + "active_h = [[0, 2]]\n" + daily("11:00", "12:00"), DRAWS + "active_h and daily."),
        (LOAD + "active_h = [[0, 4]]\n" + daily("11:00", "12:00"), None),
        # a duty is on at once, however long its cycle is
        (LOAD + "duty = { on_min = 1, off_min = 900 }\n", None),
        ("[[load]]\npower_W = 0\n", None),
        ('[[load]]\nprofile = "p.csv"\n', DRAWS + "profile."),
        (CHARGER, None), (CHARGER + "active_h = [[10, 20]]\n", ON + "active_h."),
        (CHARGER + daily("19:00", "07:00"), ON + "daily."),
        (PANEL + 'sun = { peak_W = 9, rise = "06:00", set = "09:00" }\n', None),
        (PANEL + 'sun = { peak_W = 9, rise = "05:00", set = "08:00" }\n', ON + "sun."),
        (
            PANEL + 'sun = { peak_W = 9, rise = "06:00", set = "09:00" }\nactive_h = [[1, 5]]\n',
            ON + "active_h and sun.",
        ),
    ],
)  # fmt: skip
def test_times_outside_the_run(text, remark, tmp_path):
    assert remarks(text, tmp_path) == ([] if remark is None else [remark])


def test_a_profile_that_begins_in_the_run_draws(tmp_path):
    (tmp_path / "q.csv").write_text("time_h,current_A\n9.9,-5\n")
    assert remarks('[[load]]\nprofile = "q.csv"\n', tmp_path) == []
    assert remarks("[[load]]\nprofile = 'q.csv'\nactive_h = [[0, 9]]\n", tmp_path) == [
        DRAWS + "active_h and profile."
    ]


def test_each_is_named_by_its_place(tmp_path):
    text = LOAD * 2 + "active_h = [[20, 30]]\n" + CHARGER * 2 + "active_h = [[20, 30]]\n"
    text = text.replace("[[load]]\n", "[[load]]\nname = 'one'\n", 1)
    text = text.replace("[[charger]]\n", "[[charger]]\nname = 'sun'\n", 1)
    told = remarks(text, tmp_path)
    assert [one.partition(" ")[0] for one in told] == ["load[2]", "charger[2]"]


@pytest.mark.parametrize(
    ("rows", "words"),
    [
        # 8 h a row at most, and 4 h without one at the end of 24 h
        ("0,50\n8,300\n12,80\n20,120\n", None),
        ("0,50\n2,300\n4,80\n6,120\n", "6 h and does not begin again: its last value, 120 W,"),
        ("0,50\n8,300\n12,-80.5\n", None),
        ("0,50\n5,300\n12,-80.5\n", None),
        ("0,50\n4,300\n8,-80.5\n", "8 h and does not begin again: its last value, -80.5 W,"),
        # two rows are a step, one is a steady load
        ("0,50\n1,300\n", None), ("0,50\n", None),
    ],
)  # fmt: skip
def test_a_profile_that_ends_long_before_the_run(rows, words, tmp_path):
    (tmp_path / "day.csv").write_text(f"time_h,power_W\n{rows}")
    text = "[simulation]\nduration_h = 24\n" + LFP + '[[load]]\nprofile = "day.csv"\n'
    told = [one for one in read(text, tmp_path).remarks if "profile" in one]
    assert told == ([] if words is None else [
        f"load[1].profile ends after {words} holds for what is left of the 24 h; "
        "where that is meant, a last row at the end of the run says so."
    ])  # fmt: skip


def test_a_profile_of_a_current_is_told_in_amperes(tmp_path):
    (tmp_path / "day.csv").write_text("time_h,current_A\n0,5\n1,6\n2,7\n")
    (told,) = read(LFP + '[[load]]\nprofile = "day.csv"\n', tmp_path).remarks
    assert "its last value, 7 A, holds for what is left of the 240 h;" in told
