"""Loads that cannot be fed, charge that nobody takes: told once, until some is fed or taken again.

The rule is that of DEVELOPERS.md, "Conventions". What a battery can give at most is E^2 / (4 R):
with 13.3 V behind 20 mohm 2211 W.
"""

import numpy as np
from pytest import approx
from simple_banks import affine, bank_of, run, stepped

from bankSim.model.charger import Charger, Stage
from bankSim.model.rule import Blocks, Release, Rule, Watch
from bankSim.sim.result import COLLAPSE, REFUSED, RELEASE, TRIP

H = 3600.0


def told(battery, load, duration_s=400.0, **more):
    more.setdefault("stop_when_empty", False)
    more.setdefault("output_every_s", duration_s)
    result = run(bank_of(battery, load=load, duration_s=duration_s, **more))
    return [(event.time_s, event.what) for event in result.events]


def test_loads_that_stay_too_large_are_told_once():
    load = stepped([0.0, 100.0, 200.0, 300.0], [5000.0, 6000.0, 100.0, 5000.0], exponent=0.0)
    assert told(affine("a", 0.02), load) == [(0.0, COLLAPSE), (300.0, COLLAPSE)]


def test_a_load_of_nothing_is_no_load_that_was_fed():
    load = stepped([0.0, 100.0, 200.0], [5000.0, 0.0, 5000.0], exponent=0.0)
    assert told(affine("a", 0.02), load) == [(0.0, COLLAPSE)]


def test_a_dark_bank_has_fed_no_load():
    # warmer than 25 degC until 6 h after the warmest hour, when the battery lets go; the edge at
    # 1 h finds nobody who may discharge
    warm = Rule(Watch.TEMPERATURE, False, 298.15, 600.0, Blocks.DISCHARGE, Release(298.15, 0.0))
    load = stepped([0.0, H, 7 * H], [5000.0, 5500.0, 6000.0], exponent=0.0)
    found = told(
        affine("a", 0.02, rules=[warm]), load, 8 * H, swing_K=9.0, warmest_s=0.0,
    )  # fmt: skip
    assert found == [
        (0.0, COLLAPSE), (600.0, TRIP), (approx(6 * H, abs=1e-3), RELEASE),
    ]  # fmt: skip


def test_charge_that_nobody_takes_is_told_once():
    # colder than 25 degC from 6 h to 18 h and from 30 h on: charge is blocked. It is offered at
    # 6, 8, 9 and 11 h, with a rest and a load between, is taken at 19 h, and not at 30.5 h
    cold = Rule(Watch.TEMPERATURE, True, 298.15, 0.0, Blocks.CHARGE, Release(298.15, 0.0))
    hours = np.array([0.0, 5.0, 7.0, 8.0, 9.0, 10.0, 11.0, 12.0, 19.0, 20.0, 30.5])
    load = stepped(hours * H, [5.0, -5.0, 0.0, -5.0, -6.0, 5.0, -5.0, 0.0, -5.0, 0.0, -5.0])
    found = told(affine("a", 0.02, z=0.5, rules=[cold]), load, 31 * H, swing_K=9.0, warmest_s=0.0)
    refused = [time_s for time_s, what in found if what == REFUSED]
    assert refused == approx([6 * H, 30.5 * H], abs=1e-3)


def test_a_dark_bank_that_a_charger_charges_is_told_once():
    # the trip at the start tells as much; 10 A are more than 6 A of load at 2000 s only
    out = Rule(Watch.BATTERY_VOLTAGE, True, 14.0, 0.0)
    load = stepped([0.0, 1000.0, 2000.0, 3000.0, 4000.0], [20.0, 30.0, 6.0, 30.0, 20.0])
    charger = Charger("mains", (Stage(13.4),), limit_A=10.0)
    found = told(affine("a", 0.02, rules=[out]), load, 5000.0, chargers=(charger,))
    assert found == [(0.0, TRIP), (3000.0, COLLAPSE)]
