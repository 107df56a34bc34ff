"""Loads that cut themselves off, charge that is blocked, how long charging takes: in closed form.

A cell of 100 Ah rests at 2.5 V + 1 V x its state of charge (tests/study/straight_banks.py).
"""

from types import SimpleNamespace

import numpy as np
import pytest
from pytest import approx
from straight_banks import battery, load, scenario

from bankSim.kernels.arrays import FIXED, PER_BATTERY
from bankSim.sim.result import LOAD_OFF, LOAD_ON, RELEASE, TRIP
from bankSim.study.blocks import threads
from bankSim.study.happenings import (
    Happenings,
    charging_hours,
    gathered,
    happened,
    is_still_charging,
)
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


def event(hours, what, *, source=None, of=None, blocks=None):
    return SimpleNamespace(
        time_s=3600.0 * hours, what=what, source=source, battery=of, blocks=blocks
    )


def result_of(*events, runtime_h=9.0, into_A=((0.0, 0.0), (0.0, 0.0)), loads_Wh=None):
    """A run of 10 h; "lamp" and "pump" can cut themselves off; what enters "a" and "b"."""
    trace = np.zeros((len(into_A), FIXED + 2 * PER_BATTERY))
    trace[:, 0] = np.linspace(0.0, 36_000.0, len(into_A))
    trace[:, [FIXED, FIXED + PER_BATTERY]] = -np.array(into_A)
    loads = [
        SimpleNamespace(name=n, cut_off=c) for n, c in (("lamp", 1), ("on", None), ("pump", 1))
    ]
    batteries = [SimpleNamespace(name=name) for name in "ab"]
    energy = None if loads_Wh is None else SimpleNamespace(loads_Wh=loads_Wh)
    return SimpleNamespace(
        scenario=SimpleNamespace(bank=SimpleNamespace(loads=loads, batteries=batteries)),
        bank=SimpleNamespace(runtime_s=3600.0 * runtime_h, energy=energy),
        batteries=batteries,
        trace=trace,
        events=events,
    )


def off(hours, name="lamp"):
    return event(hours, LOAD_OFF, source=name)


def on(hours, name="lamp"):
    return event(hours, LOAD_ON, source=name)


NEVER = float("nan")


@pytest.mark.parametrize(
    ("events", "first", "for_good", "until"),
    [
        ([], (NEVER, NEVER), (NEVER, NEVER), 9.0),
        ([off(2), on(3)], (2.0, NEVER), (NEVER, NEVER), 9.0),  # it comes back
        ([off(2), on(3), off(5)], (2.0, NEVER), (5.0, NEVER), 5.0),
        ([off(4), off(6, "pump")], (4.0, 6.0), (4.0, 6.0), 4.0),
        ([off(4), off(6, "pump"), on(7)], (4.0, 6.0), (NEVER, 6.0), 6.0),
        ([off(9.5)], (9.5, NEVER), (9.5, NEVER), 9.0),  # the loads were unfed before
    ],
)
def test_loads_off_and_off_for_good(events, first, for_good, until):
    found = happened(result_of(*events))
    assert found.own_cut_offs_h == approx(first, nan_ok=True)
    assert found.off_for_good_h == approx(for_good, nan_ok=True)
    assert found.until_off_h == until


def test_blocked_charge_is_that_of_trips_in_that_direction():
    trips = [
        event(1, TRIP, of="a", blocks="discharge"),
        event(2, RELEASE, of="a", blocks="charge"),
        event(4, TRIP, of="a", blocks="both"),
        event(5, TRIP, of="a", blocks="charge"),
        event(3, TRIP, of="b", blocks="charge"),
    ]
    assert happened(result_of(*trips)).charge_blocks_h == (4.0, 3.0)
    assert happened(result_of(trips[0])).charge_blocks_h == approx((NEVER, NEVER), nan_ok=True)


def test_what_enters_is_that_of_all_batteries_together():
    # 12 A into "a" less 2 A out of "b", steady: 95 % after 9.5 of 10 h, and no tail
    found = happened(result_of(into_A=((12.0, -2.0), (12.0, -2.0)), loads_Wh=7.0))
    assert (found.charging_h, found.still_charging) == (approx(9.5), True)
    assert found.loads_Wh == 7.0
    # what flows out is not charge: 5 A of "a" into "b" and the load
    found = happened(result_of(into_A=((-8.0, 3.0), (-8.0, 3.0))))
    assert (found.charging_h, found.still_charging, found.loads_Wh) == (0.0, False, 0.0)


@pytest.mark.parametrize(("ampere_seconds", "hours"), [(3.5, 0.0), (3.7, 0.95)])
def test_a_milliampere_hour_is_the_least_that_counts_as_charge(ampere_seconds, hours):
    into = np.full(2, ampere_seconds / 3600.0)
    assert charging_hours(np.array([0.0, 3600.0]), into) == approx(hours)


def test_draws_are_gathered_by_load_and_battery():
    some = happened(result_of(off(2), event(3, TRIP, of="b", blocks="charge"), loads_Wh=5.0))
    none = happened(result_of(into_A=((1.0, 0.0), (1.0, 0.0))))
    found = gathered(("lamp", "pump"), ("a", "b"), (some, none, none, none))
    assert [one.name for one in found.own_cut_offs] == ["lamp", "pump"]
    assert [one.chance.value for one in found.own_cut_offs] == [0.25, 0.0]
    assert [(one.name, one.chance.value) for one in found.charge_blocks] == [
        ("a", 0.0),
        ("b", 0.25),
    ]
    assert found.off_for_good[0].hours == approx([2.0, NEVER, NEVER, NEVER], nan_ok=True)
    assert found.still_charging.value == 0.75
    assert found.until_off_h.tolist() == [2.0, 9.0, 9.0, 9.0]
    assert found.loads_Wh.tolist() == [5.0, 0.0, 0.0, 0.0]
    assert found.charging_h == approx([0.0, 9.5, 9.5, 9.5])


def test_without_draws_run_in_full_a_chance_may_be_anything():
    unseen = Happenings().still_charging
    assert (unseen.low, unseen.high) == (0.0, 1.0)
