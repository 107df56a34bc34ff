"""What chargers could give by schedule, sun and limit, and where their voltage holds the loads."""

from math import sqrt

import numpy as np
import pytest
from made_results import Course, made
from pytest import approx
from simple_banks import affine, bank_of

from bankSim.model.charger import Charger, Stage, Sun
from bankSim.model.load import Schedule
from bankSim.sim.cautions.chargers_there import could_give_A, held_up, off_after

HOUR_S = 3600.0


@pytest.mark.parametrize(
    ("on", "ends_s", "off"),
    [
        ("111111", [], "000000"),
        # on from the start: what ended stays off to the end
        ("111111", [15.0], "001111"),
        # off at night (30 s), on again at 40 s: that begins anew
        ("111011", [15.0], "001100"),
        # it ends again in the second period
        ("111011", [15.0, 45.0], "001101"),
        # two nights: the first one ends what was off
        ("101101", [5.0], "010000"),
        ("101101", [25.0], "000110"),
    ],
)
def test_off_after_the_last_stage_until_switched_on_anew(on, ends_s, off):
    flags = np.array([mark == "1" for mark in on])
    found = off_after(flags, np.arange(6) * 10.0, ends_s)
    assert "".join("01"[one] for one in found.tolist()) == off


def test_limits_in_amperes_and_watts():
    stages, now = (Stage(14.0), Stage(13.5)), np.array([0.0])
    assert could_give_A(Charger("a", stages, limit_A=7.0), now, 0.0) == approx([7.0])
    # at the highest hold: 280 W / 14 V
    assert could_give_A(Charger("a", stages, limit_W=280.0), now, 0.0) == approx([20.0])


def test_a_schedule_on_the_wall_clock():
    # on from 8 to 9; the run starts at 7:30
    evening = Schedule(daily_s=((8 * HOUR_S, 9 * HOUR_S),))
    charger = Charger("a", (Stage(14.0),), limit_A=7.0, schedule=evening)
    times_s = np.array([0.0, 0.4, 0.6, 1.4, 1.6, 24.6]) * HOUR_S
    assert could_give_A(charger, times_s, 7.5 * HOUR_S).tolist() == [0.0, 0.0, 7.0, 7.0, 0.0, 7.0]


def test_the_sun_is_half_a_sine_from_rise_to_set():
    # 140 W at noon over 14 V; up from 6 to 18; the run starts at 4
    charger = Charger("a", (Stage(14.0),), sun=Sun(140.0, 6 * HOUR_S, 18 * HOUR_S))
    clock_h = np.array([4.0, 5.9, 7.0, 9.0, 12.0, 17.0, 18.5, 23.0, 24.0 + 12.0])
    most = could_give_A(charger, (clock_h - 4.0) * HOUR_S, 4.0 * HOUR_S)
    # sin 15 deg = (sqrt 6 - sqrt 2) / 4 an hour after sunrise and before sunset, sin 45 deg at 9
    hour_A = 10.0 * (sqrt(6.0) - sqrt(2.0)) / 4.0
    assert most == approx([0.0, 0.0, hour_A, 10.0 / sqrt(2.0), 10.0, hour_A, 0.0, 0.0, 10.0])


def test_loads_held_up_by_a_charger_that_is_on():
    # on for the first 50 s; holds 14 V, then 13.5 V; half a millivolt off (AT_HOLD_V) is held
    on = Schedule(active_s=((0.0, 50.0),))
    charger = Charger("a", (Stage(14.0), Stage(13.5)), limit_A=0.5, schedule=on)
    bank = bank_of(affine(), chargers=(charger,))
    loads_V = [14.0, 14.0004, 13.9994, 13.4996, 13.7, 14.0]
    times_s = [0.0, 10.0, 20.0, 30.0, 40.0, 60.0]
    result = made(bank, times_s, Course(), bus_V=14.0, loads_V=loads_V)
    assert held_up(result).tolist() == [True, True, False, True, False, False]
    assert not held_up(made(bank_of(affine()), times_s, Course(), loads_V=loads_V)).any()


def test_the_clock_of_the_run_switches_what_holds():
    # the sun rises at 6; the run starts at 5:59:50
    charger = Charger("a", (Stage(14.0),), sun=Sun(140.0, 6 * HOUR_S, 18 * HOUR_S))
    bank = bank_of(affine(), chargers=(charger,), starts_at_s=6 * HOUR_S - 10.0)
    result = made(bank, [0.0, 20.0], Course(), loads_V=14.0)
    assert held_up(result).tolist() == [False, True]
