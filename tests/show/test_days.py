"""Marks of the day along a time axis."""

from dataclasses import replace

import made_up
import numpy as np
import pytest
from matplotlib.figure import Figure

from bankSim.show.days import clock_axis, clock_ticks, hour_ticks, mark_midnights
from bankSim.show.looks import FAINT

H = 3600.0


def run_of(end_h, starts_at_h):
    """A made-up run of so many hours that starts at a time of day."""
    result = made_up.pair()
    bank = replace(result.scenario.bank, starts_at_s=starts_at_h * H)
    scenario = replace(result.scenario, bank=bank)
    return replace(result, scenario=scenario, end_time_s=end_h * H)


def midnights(result, factor=H):
    """Where lines are drawn, in the unit of the axis."""
    axes = Figure().subplots()
    mark_midnights(axes, result, factor)
    assert all(line.get_color() == FAINT for line in axes.lines)
    return [line.get_xdata()[0] for line in axes.lines]


def above(result, factor=H):
    """Ticks, their texts and the label of the axis above; None where there is none."""
    axes = Figure().subplots()
    clock_axis(axes, result, factor)
    if not axes.child_axes:
        return None
    (own,) = axes.child_axes
    return list(own.get_xticks()), [t.get_text() for t in own.get_xticklabels()], own.get_xlabel()


@pytest.mark.parametrize(
    ("end_h", "step_h"),
    [
        (0.9, 0.1), (0.91, 0.25), (2.25, 0.25), (2.3, 0.5), (4.5, 0.5), (4.6, 1.0), (9.0, 1.0),
        (9.1, 2.0), (18.0, 2.0), (18.1, 4.0), (36.0, 4.0), (54.0, 6.0), (108.0, 12.0),
        (216.0, 24.0), (432.0, 48.0), (1080.0, 120.0), (8760.0, 2400.0),
    ],
)  # fmt: skip
def test_hours_stand_at_the_smallest_step_that_gives_nine_spaces_at_most(end_h, step_h):
    ticks = hour_ticks(end_h * H)
    assert ticks[0] == 0.0
    np.testing.assert_allclose(np.diff(ticks), step_h)
    assert end_h - step_h < ticks[-1] <= end_h * (1 + 1e-9)


def test_the_last_even_hour_is_kept_in_spite_of_rounding():
    assert hour_ticks(0.3 * H, 3) == pytest.approx([0.0, 0.1, 0.2, 0.3])


def test_fewer_hours_where_fewer_are_asked_for():
    assert hour_ticks(9.0 * H, 3) == [0.0, 4.0, 8.0]


def test_a_run_beyond_all_steps_has_its_end_alone():
    assert hour_ticks(100_000.0 * H) == [0.0, 100_000.0]


def test_midnights_of_a_run_from_the_evening():
    assert midnights(run_of(54.0, 18.0)) == [6.0, 30.0]  # the second day ends at hour 54 itself
    assert midnights(run_of(54.5, 18.0)) == [6.0, 30.0, 54.0]
    assert midnights(run_of(54.0, 18.0), 60.0) == [360.0, 1800.0]  # an axis in minutes


def test_no_midnights_where_no_clock_is_told():
    assert midnights(run_of(54.0, 0.0)) == []


def test_a_month_of_midnights_is_drawn_and_no_more():
    assert len(midnights(run_of(31 * 24.0, 12.0))) == 31
    assert midnights(run_of(32 * 24.0, 12.0)) == []


def test_the_clock_stands_above_at_round_times():
    ticks, texts, label = above(run_of(9.0, 21.5))
    assert texts == [
        "22:00",
        "23:00",
        "day 2",
        "01:00",
        "02:00",
        "03:00",
        "04:00",
        "05:00",
        "06:00",
    ]
    assert ticks == pytest.approx([0.5 + n for n in range(9)])
    assert label == "time of day [h:min]"
    assert above(run_of(9.0, 21.5), 60.0)[0][0] == pytest.approx(30.0)


def test_a_long_run_has_its_days_above():
    ticks, texts, label = above(run_of(10 * 24.0, 12.0))
    assert texts == ["day 3", "day 5", "day 7", "day 9", "day 11"]
    assert ticks == pytest.approx([36.0, 84.0, 132.0, 180.0, 228.0])
    assert label == "day"


def test_nothing_above_where_no_clock_is_told():
    assert above(run_of(9.0, 0.0)) is None


def test_a_run_of_minutes_has_the_clock_above_too():
    # from 12:16 for ten minutes: no quarter of an hour falls into it
    ticks, texts, label = above(run_of(10 / 60, 12 + 16 / 60), 60.0)
    assert texts == ["12:20", "12:25"]
    assert ticks == pytest.approx([4.0, 9.0])
    assert label == "time of day [h:min]"
    assert above(run_of(3 / 60, 12 + 16.5 / 60), 60.0)[1] == ["12:17", "12:18", "12:19"]


def test_nothing_above_where_no_full_minute_falls_into_the_run():
    assert above(run_of(20 / H, 12 + 10 / H), 1.0) is None


def test_a_start_on_a_round_time_is_the_first_tick():
    ticks, texts = clock_ticks(8 * H, 2 * H)
    assert ticks[0] == 0.0
    assert texts == ["08:00", "08:15", "08:30", "08:45", "09:00", "09:15", "09:30", "09:45",
                     "10:00"]  # fmt: skip


def test_a_start_after_the_first_day_names_its_day():
    assert clock_ticks(23.5 * H, 1 * H)[1] == ["23:30", "23:45", "day 2", "00:15", "00:30"]
