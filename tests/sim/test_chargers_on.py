"""When some charger is switched on, by its hours, the sun and its stages; in hours, by hand."""

import numpy as np
from made_results import Course, event, made
from simple_banks import affine, bank_of

from bankSim.model.charger import Charger, Stage, Sun
from bankSim.model.load import Schedule
from bankSim.sim.chargers_on import any_charger_on
from bankSim.sim.result import STAGE

H = 3600.0
STAGES = (Stage(14.4, most_s=H),)


def mains(*windows_h, name="mains"):
    active = tuple((a * H, b * H) for a, b in windows_h) or None
    return Charger(name, STAGES, limit_A=10.0, schedule=Schedule(active_s=active))


def ends(*times_h, name="mains", value=0.0):
    return [event(at * H, STAGE, source=name, value=value) for at in times_h]


def on_at(times_h, *chargers, events=(), **more):
    bank = bank_of(affine("a"), chargers=chargers, duration_s=48 * H, **more)
    result = made(bank, [0.0, 48 * H], Course(), events=tuple(events))
    return any_charger_on(result, np.array(times_h) * H).tolist()


def test_nobody_and_always():
    assert on_at([0.0, 5.0]) == [False, False]
    assert on_at([0.0, 5.0, 48.0], mains()) == [True] * 3


def test_hours():
    charger = mains((2.0, 4.0), (6.0, 8.0))
    times_h = [0.0, 1.99, 2.0, 3.99, 4.0, 6.0, 8.0]
    assert on_at(times_h, charger) == [False, False, True, True, False, True, False]


def test_past_its_last_stage_it_is_off_until_it_is_switched_on_again():
    charger = mains((2.0, 4.0), (6.0, 8.0))
    times_h = [2.5, 2.99, 3.0, 3.5, 6.0, 7.0]
    assert on_at(times_h, charger, events=ends(3.0)) == [True, True, False, False, True, True]
    both = on_at(times_h, charger, events=ends(3.0, 6.5))
    assert both == [True, True, False, False, True, False]
    # the next stage is no end, and others are others
    going_on = ends(3.0, value=2.0) + ends(3.0, name="x")
    assert on_at(times_h, charger, events=going_on) == [True] * 6


def test_an_end_at_the_very_instant_at_which_it_is_switched_on_is_that_of_before():
    charger = mains((2.0, 4.0), (6.0, 8.0))
    assert on_at([6.0, 7.0], charger, events=ends(6.0)) == [True, True]


def test_the_sun_begins_anew_every_day():
    panel = Charger("panel", STAGES, sun=Sun(400.0, 7 * H, 19 * H))
    times_h = [0.0, 6.99, 7.0, 8.0, 18.99, 19.0, 31.0]
    assert on_at(times_h, panel) == [False, False, True, True, True, False, True]
    done = on_at(times_h, panel, events=ends(8.0, name="panel"))
    assert done == [False, False, True, False, False, False, True]
    # never off in between: the midnight sun
    polar = Charger("panel", STAGES, sun=Sun(400.0, 0.0, 24 * H))
    assert on_at([9.0, 23.0, 24.0], polar, events=ends(8.0, name="panel")) == [False, False, True]
    # by the clock: it is 10:00 at the start
    assert on_at([0.0, 9.0, 21.0], panel, starts_at_s=10 * H) == [True, False, True]


def test_one_of_several_is_enough():
    two = mains((2.0, 4.0)), mains((3.0, 6.0), name="other")
    assert on_at([1.0, 2.0, 5.0, 6.0], *two) == [False, True, True, False]
    assert on_at([3.5], *two, events=ends(3.2)) == [True]
    assert on_at([3.5], *two, events=ends(3.2) + ends(3.3, name="other")) == [False]
