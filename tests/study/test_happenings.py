"""Loads that cut themselves off, charge that is blocked, how long charging takes: in closed form.

A cell of 100 Ah rests at 2.5 V + 1 V x its state of charge (tests/study/straight_banks.py).
"""

import numpy as np
import pytest
from pytest import approx
from straight_banks import battery, load, scenario

from bankSim.study.blocks import threads
from bankSim.study.happenings import charging_hours, is_still_charging
from bankSim.study.plan import make_plan
from bankSim.study.spread import Precision, study_spread

CHARGER = """
[[charger]]
name = "shed"
limit_A = {limit}
stages = [{{ hold_V = 3.6 }}]
"""
FULL = """
[[battery.protection]]
watches = "highest cell voltage"
trips_above = 3.3
after_s = 0.0
blocks = "charge"
"""
EMPTY = "lead_mohm = 0.0\nstate_of_charge = 0.1\n"


def spread(found, **more):
    with threads(1) as workers:
        return study_spread(make_plan(found), workers, most=40, traced=20, **more)


def charged(folder, limit, hours):
    around = (
        f'[simulation]\nduration_h = {hours}\nstop = "end"\n[surroundings]\ntemperature_C = 25\n'
    )
    capacity = "{ value = 100.0, sd = 3.0 }"
    return scenario(
        folder, battery("a", capacity, more=EMPTY, below=FULL), CHARGER.format(limit=limit),
        around=around,
    )  # fmt: skip


def test_a_load_cuts_itself_off_where_its_voltage_says(tmp_path):
    # 6 A from 3.5 V at 1 V for 100 Ah: 3.0 V is reached after half of it, 8.3 h
    cutting = load() + "cut_off_V = 3.0\ncut_off_after_s = 0.0\n"
    more = load("1.0", "always")
    found = spread(scenario(tmp_path, battery(more="lead_mohm = 0.0\n"), cutting, more))
    (own,) = found.traced.happenings.own_cut_offs
    assert own.name == "lamp"
    assert own.chance.value == 1.0
    assert own.hours == approx(50.0 / 6.0, rel=0.1)  # a typical spread of capacity and load


@pytest.mark.parametrize("back", [False, True])
def test_a_load_that_stays_off_is_told_from_one_that_comes_back(tmp_path, back):
    # as above it is off after 8 h or so; charged from 12 h on at 20 A it is back at 3.2 V
    cutting = load() + "cut_off_V = 3.0\ncut_off_after_s = 0.0\nrestart_V = 3.2\n"
    charger = CHARGER.format(limit=20.0) + "active_h = [[12, 20]]\n" if back else ""
    around = '[simulation]\nduration_h = 21.0\nstop = "end"\n[surroundings]\ntemperature_C = 25\n'
    found = spread(scenario(tmp_path, battery(), cutting, charger, around=around))
    happenings = found.traced.happenings
    assert happenings.own_cut_offs[0].chance.value == 1.0
    (own,) = happenings.off_for_good
    assert own.chance.value == (0.0 if back else 1.0)
    first_h = happenings.own_cut_offs[0].hours
    assert happenings.until_off_h == approx(np.full(20, 21.0) if back else first_h)


def test_a_battery_blocks_its_charge_at_its_limit(tmp_path):
    # from 0.1 to 0.8 (3.3 V) at 10 A: 0.7 of the capacity, 7 h in the middle
    found = spread(charged(tmp_path, 10.0, 20.0))
    (own,) = found.traced.happenings.charge_blocks
    assert own.chance.value == 1.0
    taken_Ah = found.draws.column("a.charged_Ah").astype(float)[:20]
    assert 10.0 * own.hours == approx(taken_Ah, rel=2e-3)
    assert found.traced.happenings.still_charging.value == 0.0
    assert found.traced.happenings.charging_h == approx(0.95 * own.hours, rel=2e-3)
    assert found.main is found.charged


def test_a_run_that_ends_too_early_is_still_charging(tmp_path):
    found = spread(charged(tmp_path, 10.0, 3.0))
    assert found.traced.happenings.still_charging.value == 1.0
    assert found.charged.percentiles[2].value == approx(30.0, rel=1e-3)


def test_precision_is_asked_of_the_charge_taken_in(tmp_path):
    # some 70 Ah give or take 3 %: 40 draws cannot know the ends of that to 0.01 %
    found = spread(charged(tmp_path, 10.0, 20.0), precision=Precision(1e-4, 1.0))
    assert not found.reached
    rough = spread(charged(tmp_path, 10.0, 20.0), precision=Precision(0.5, 1.0))
    assert rough.reached


@pytest.mark.parametrize(
    ("into", "hours"),
    [
        ([10.0, 10.0, 10.0], 1.9),  # even: 95 % of the time
        ([10.0, 0.0, 0.0], 1.0 - np.sqrt(0.05)),  # a triangle: its rest is (1 - t)^2
        ([0.0, 0.0, 0.0], 0.0),
    ],
)
def test_hours_until_nearly_all_is_in(into, hours):
    # dense rows, as straight lines between them make the charge only as exact as they are
    time = np.linspace(0.0, 2.0, 20001)
    found = charging_hours(3600.0 * time, np.interp(time, [0.0, 1.0, 2.0], into))
    assert found == approx(hours, abs=1e-4)


def test_a_tail_is_no_charging():
    assert is_still_charging(np.array([10.0, 5.0, 1.1]))
    assert not is_still_charging(np.array([10.0, 5.0, 0.9]))
    assert not is_still_charging(np.zeros(3))
