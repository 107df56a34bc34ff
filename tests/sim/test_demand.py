"""Loads as segments: schedules, profiles, and sums of loads."""

import numpy as np
import pytest
from pytest import approx
from simple_banks import affine, stepped

from bankSim.model.bank import Bank, Wiring
from bankSim.model.charger import Charger, Stage, Sun
from bankSim.model.load import CutOff, Load, Schedule
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


def charged(*chargers, hours=48.0, starts_at_h=0.0):
    bank = Bank(
        (affine(),), Wiring(), (), duration_s=hours * H, starts_at_s=starts_at_h * H,
        chargers=chargers,
    )  # fmt: skip
    edge, level, _ = build_demand(bank)
    return edge / H, level[:, -len(chargers) :] / H  # the last columns: when it began, NaN: off


def test_the_hours_of_a_charger_are_segments():
    hours = Schedule(active_s=((2.0 * H, 5.0 * H), (47.0 * H, 90.0 * H)))
    edge_h, begun_h = charged(Charger("mains", (Stage(14.4),), 10.0, schedule=hours))
    assert edge_h == approx([0.0, 2.0, 5.0, 47.0, 48.0])
    assert begun_h[:, 0] == approx([np.nan, 0.0, np.nan, 0.0], nan_ok=True)


@pytest.mark.parametrize(
    ("starts_at_h", "edges_h", "rises_h"),
    [
        (0.0, [0, 7, 19, 31, 43, 48], [None, 7, None, 31, None]),
        # it is 10:00 already: the sun of that day rose three hours before the start
        (10.0, [0, 9, 21, 33, 45, 48], [-3, None, 21, None, 45]),
        (19.0, [0, 12, 24, 36, 48], [None, 12, None, 36]),
        (7.0, [0, 12, 24, 36, 48], [0, None, 24, None]),
    ],
)
def test_every_sunrise_is_told(starts_at_h, edges_h, rises_h):
    panel = Charger("panel", (Stage(14.4),), sun=Sun(400.0, 7.0 * H, 19.0 * H))
    edge_h, begun_h = charged(panel, starts_at_h=starts_at_h)
    assert edge_h == approx(edges_h)
    told = [np.nan if one is None else one for one in rises_h]
    assert begun_h[:, 0] == approx(told, nan_ok=True)


def test_a_panel_that_is_switched_off_has_no_sun():
    # connected from 10:00 to 12:00, and from 18:00 to 20:00, an hour after sunset
    sun = Sun(400.0, 7.0 * H, 19.0 * H)
    hours = Schedule(daily_s=((10 * H, 12 * H), (18 * H, 20 * H)))
    edge_h, begun_h = charged(Charger("panel", (Stage(14.4),), sun=sun, schedule=hours), hours=24.0)
    assert edge_h == approx([0, 10, 12, 18, 19, 24])
    assert begun_h[:, 0] == approx([np.nan, 7.0, np.nan, 7.0, np.nan], nan_ok=True)


def test_each_charger_has_its_own_column():
    first = Charger("a", (Stage(14.4),), 10.0, schedule=Schedule(active_s=((0.0, 2 * H),)))
    second = Charger("b", (Stage(14.4),), 10.0, schedule=Schedule(active_s=((H, 3 * H),)))
    edge_h, begun_h = charged(first, second, hours=3.0)
    assert edge_h == approx([0, 1, 2, 3])
    assert np.isnan(begun_h).tolist() == [[False, True], [False, False], [True, False]]


def test_loads_that_cut_themselves_off_stand_apart():
    own = Load("own", 1.0, np.array([0.0]), np.array([3.0]), cut_off=CutOff(12.0))
    power = Load("p", 0.0, np.array([0.0]), np.array([50.0]), cut_off=CutOff(11.0))
    plain = Load("plain", 1.0, np.array([0.0, H]), np.array([-2.0, 7.0]))
    _, level, _ = demand(own, plain, power, hours=2.0)
    # P, I, G of plain ones, of each other; whether a plain one draws (-2 A charges)
    tail = [0.0, 3.0, 0.0, 50.0, 0.0, 0.0]
    assert level.tolist() == [[0.0, -2.0, 0.0, *tail, 0.0], [0.0, 7.0, 0.0, *tail, 1.0]]


def test_loads_that_swap_are_told_apart():
    # one goes as another one comes: the sum stays, yet draws may move one of them alone
    day, night = ((0.0, H),), ((H, 2 * H),)
    edge, level, _ = demand(scheduled(active_s=day), scheduled(active_s=night), hours=2.0)
    assert edge == approx([0.0, H, 2 * H])
    assert level[:, 1].tolist() == [7.0, 7.0]


@pytest.mark.parametrize(
    ("amounts", "draws"),
    [
        ((0.0,), 0.0),
        ((0.5,), 1.0),
        ((-3.0,), 0.0),
        ((0.0, 0.5), 1.0),
        ((-3.0, 0.5), 1.0),
        ((), 0.0),
    ],
)
def test_whether_any_load_draws(amounts, draws):
    # a release that waits for loads to be removed sees this, not the sum
    loads = [Load(f"l{n}", 1.0, np.array([0.0]), np.array([one])) for n, one in enumerate(amounts)]
    _, level, _ = demand(*loads, hours=1.0)
    assert level[:, -1].tolist() == [draws]
