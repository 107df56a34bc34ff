"""Schedules and profiles of loads against a walk through the day by hand."""

import numpy as np

from bankSim.model.load import Load, Schedule

HOUR = 3600.0


def on_hours(schedule, starts_at_h=0.0, hours=48, per_hour=4):
    """Return the quarters of an hour, counted in hours, at whose start the schedule is on."""
    time_s = np.arange(hours * per_hour) * HOUR / per_hour
    return list(time_s[schedule.is_on(time_s, starts_at_h * HOUR) > 0.0] / HOUR)


def test_always_on_without_parts():
    assert len(on_hours(Schedule())) == 192
    assert Schedule().edges_s(1e6, 0.0).size == 0


def test_duty_is_on_first():
    schedule = Schedule(duty_s=(0.5 * HOUR, 1.5 * HOUR))
    assert on_hours(schedule, hours=5) == [0.0, 0.25, 2.0, 2.25, 4.0, 4.25]
    assert list(schedule.edges_s(5 * HOUR, 0.0) / HOUR) == [0.5, 2.0, 2.5, 4.0, 4.5]


def test_active_windows_exclude_their_end():
    schedule = Schedule(active_s=((HOUR, 1.5 * HOUR), (3 * HOUR, 3.25 * HOUR)))
    assert on_hours(schedule) == [1.0, 1.25, 3.0]
    assert list(schedule.edges_s(1e6, 0.0) / HOUR) == [1.0, 1.5, 3.0, 3.25]


def test_daily_window_past_midnight_on_the_wall_clock():
    # starts at 21:00; on from 22:00 to 01:00
    schedule = Schedule(daily_s=((22 * HOUR, 1 * HOUR),))
    on = on_hours(schedule, starts_at_h=21.0, per_hour=1)
    assert on == [1.0, 2.0, 3.0, 25.0, 26.0, 27.0]
    edges = schedule.edges_s(48 * HOUR, 21 * HOUR) / HOUR
    assert {1.0, 4.0, 25.0, 28.0} <= set(edges)


def test_daily_window_until_midnight():
    schedule = Schedule(daily_s=((23 * HOUR, 24 * HOUR),))
    assert on_hours(schedule, per_hour=1) == [23.0, 47.0]
    assert list(schedule.edges_s(48 * HOUR, 0.0) / HOUR) == [23.0, 24.0, 47.0]


def test_all_parts_must_agree():
    schedule = Schedule(
        duty_s=(HOUR, HOUR), active_s=((0.0, 7 * HOUR),), daily_s=((3 * HOUR, 9 * HOUR),)
    )
    assert on_hours(schedule, per_hour=1) == [4.0, 6.0]


def test_every_switching_is_an_edge():
    schedule = Schedule(
        duty_s=(420.0, 660.0), active_s=((100.0, 50_000.0),), daily_s=((80_000.0, 3_000.0),)
    )
    starts_at_s, duration_s = 40_000.0, 90_000.0
    edges = schedule.edges_s(duration_s, starts_at_s)
    time_s = np.arange(0.0, duration_s, 20.0)
    switched = time_s[1:][np.diff(schedule.is_on(time_s, starts_at_s)) != 0.0]
    assert switched.size > 10
    assert np.isin(switched, edges).all()


def test_profile_holds_from_row_to_row():
    load = Load("x", 1.0, np.array([10.0, 20.0]), np.array([3.0, -1.0]))
    at = load.amount(np.array([0.0, 9.9, 10.0, 19.9, 20.0, 1e9]), 0.0)
    assert list(at) == [0.0, 0.0, 3.0, 3.0, -1.0, -1.0]
    assert list(load.edges_s(15.0, 0.0)) == [10.0]


def test_a_duty_switches_exactly_at_its_edges():
    # minutes that are no round numbers of seconds, for days: off and on in turn, off first
    for on_min, off_min in ((0.33, 0.2), (0.5, 0.13), (12.7, 0.13), (10.0, 20.0), (1 / 7, 1 / 3)):
        schedule = Schedule(duty_s=(on_min * 60.0, off_min * 60.0))
        edges_s = schedule.edges_s(3 * 24 * HOUR, 0.0)
        assert schedule.is_on(edges_s, 0.0).tolist() == [k % 2 == 1 for k in range(edges_s.size)]
