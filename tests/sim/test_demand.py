"""Loads as segments: schedules, profiles, and sums of loads."""

import numpy as np
import pytest
from pytest import approx
from simple_banks import affine, stepped

from bankSim.model.bank import Bank, Wiring
from bankSim.model.load import Load, Schedule
from bankSim.sim.demand import build_demand

H = 3600.0


def demand(*loads, hours=48.0, starts_at_h=0.0):
    return build_demand(
        Bank((affine(),), Wiring(), loads, duration_s=hours * H, starts_at_s=starts_at_h * H)
    )


def scheduled(**parts):
    return Load("x", 1.0, np.array([0.0]), np.array([7.0]), Schedule(**parts))


def brute(load, times, starts_at_s):
    """Read the schedule off second by second, straight from its words."""
    out = []
    s = load.schedule
    for t in times:
        on = True
        if s.duty_s:
            on = on and (t % (s.duty_s[0] + s.duty_s[1])) < s.duty_s[0]
        if s.active_s:
            on = on and any(a <= t < b for a, b in s.active_s)
        if s.daily_s:
            clock = (t + starts_at_s) % 86_400
            on = on and any(
                (a <= clock < b) if a < b else (clock >= a or clock < b) for a, b in s.daily_s
            )
        out.append(7.0 if on else 0.0)
    return np.array(out)


@pytest.mark.parametrize(
    "parts",
    [
        {"duty_s": (720.0, 1080.0)},
        {"active_s": ((0.0, 5 * H), (9 * H, 30 * H))},
        {"daily_s": ((18 * H, 22.5 * H),)},
        {"daily_s": ((22 * H, 6 * H), (12 * H, 13 * H))},
        {"duty_s": (100.0, 333.0), "active_s": ((H, 40 * H),), "daily_s": ((20 * H, 7 * H),)},
    ],
)
@pytest.mark.parametrize("starts_at_h", [0.0, 7.0, 23.5])
def test_schedules_agree_with_a_clock_read_every_half_minute(parts, starts_at_h):
    load = scheduled(**parts)
    edge, level, _ = demand(load, starts_at_h=starts_at_h)
    times = np.arange(15.5, 48 * H, 30.0)
    segment = np.searchsorted(edge, times, side="right") - 1
    assert np.array_equal(level[segment, 1], brute(load, times, starts_at_h * H))
    assert np.all(np.diff(edge) > 0)


def test_periods_that_are_no_round_numbers_do_not_slip():
    edge, level, _ = demand(scheduled(duty_s=(0.1 * 60, 0.2 * 60)), hours=10.0)
    on = level[:, 1] > 0
    lengths = np.diff(edge)
    assert lengths[on] == approx(6.0, abs=1e-6)
    assert lengths[~on] == approx(12.0, abs=1e-6)
    assert np.array_equal(on, np.arange(on.size) % 2 == 0)


def test_profile_is_held_between_rows_zero_before_and_held_after():
    edge, level, _ = demand(stepped([H, 2 * H, 3 * H], [5.0, -2.0, 4.0]), hours=5.0)
    assert edge == approx(np.array([0, 1, 2, 3, 5]) * H)
    assert level[:, 1] == approx([0.0, 5.0, -2.0, 4.0])


def test_loads_of_all_kinds_add_up_in_their_columns():
    loads = [
        Load("power", 0.0, np.array([0.0]), np.array([100.0])),
        Load("more power", 0.0, np.array([0.0]), np.array([20.0])),
        Load("current", 1.0, np.array([0.0]), np.array([3.0])),
        Load("resistance", 2.0, np.array([0.0]), np.array([0.25])),
        Load("motor", 1.5, np.array([0.0]), np.array([0.8])),
        Load("odd", 0.7, np.array([0.0]), np.array([9.0])),
    ]
    _, level, exponent = demand(*loads, hours=1.0)
    assert exponent.tolist() == [0.7, 1.5]
    assert level.tolist() == [[120.0, 3.0, 0.25, 9.0, 0.8, 1.0]]


def test_rows_that_change_nothing_are_no_edges():
    edge, _, _ = demand(stepped([0, H, 2 * H], [5.0, 5.0, 6.0]), hours=3.0)
    assert edge == approx([0.0, 2 * H, 3 * H])
