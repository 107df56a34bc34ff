"""Which trips bring others about."""

from pytest import approx
from simple_banks import affine, bank_of, run, steady, stepped

from bankSim.model.charger import Charger, Stage
from bankSim.model.rule import Blocks, Release, Rule, Watch
from bankSim.sim.cascades import cascades

LOW = Rule(Watch.BATTERY_VOLTAGE, True, 13.0, 0.0)


def over(limit_A, delay_s, watch=Watch.DISCHARGE_CURRENT, blocks=Blocks.DISCHARGE):
    return Rule(watch, False, limit_A, delay_s, blocks)


def charged(full_V, rest_A):
    """Charge two with 60 A: "full" blocks above a voltage, "rest" above a current."""
    stop = Rule(Watch.BATTERY_VOLTAGE, False, full_V, 0.0, Blocks.CHARGE)
    limit = over(rest_A, 1.0, Watch.CHARGE_CURRENT, Blocks.CHARGE)
    full = affine("full", 5e-3, 20.0, z=0.5, rules=[stop])
    rest = affine("rest", 5e-3, 200.0, z=0.5, rules=[limit])
    charger = Charger("mains", (Stage(14.4),), limit_A=60.0)
    return run(bank_of(full, rest, chargers=(charger,), duration_s=4 * 3600))


def topics(result):
    return {caution.topic for caution in result.cautions}


def test_a_current_that_creeps_over_its_limit_after_the_jump_is_a_cascade():
    # 600 W: "next" jumps to 46.41 A as "small" leaves, and passes 46.43 A as its voltage falls
    small = affine("small", 5e-3, 20.0, rules=[LOW])
    other = affine("next", 5e-3, 50.0, rules=[over(46.43, 2.0)])
    result = run(bank_of(small, other, load=steady(600.0, 0.0), duration_s=7200))
    ((link,),) = cascades(result)
    assert (link.before.battery, link.event.battery) == ("small", "next")
    assert 1.0 < link.event.time_s - link.before.time_s - 2.0 < 60.0
    assert link.to_A == approx(46.43, rel=1e-4)
    assert "over-current cascade" in topics(result)


def test_a_load_that_grows_later_is_no_cascade():
    small = affine("small", 5e-3, 20.0, rules=[LOW])
    other = affine("next", 5e-3, 50.0, rules=[over(100.0, 2.0)])
    quiet = run(bank_of(small, other, load=steady(46.0), duration_s=7200))
    ((left_s, _),) = [(e.time_s, e.battery) for e in quiet.events if e.what == "trip"]
    load = stepped([0.0, left_s + 30.0], [46.0, 120.0])
    result = run(bank_of(small, other, load=load, duration_s=7200))
    assert [e.battery for e in result.events if e.what == "trip"] == ["small", "next"]
    assert cascades(result) == []
    assert "over-current cascade" not in topics(result)


def test_chargers_make_cascades_too():
    result = charged(13.3, 55.0)
    ((link,),) = cascades(result, "charge")
    assert link.to_A == approx(60.0)
    assert link.from_A < 55.0
    assert cascades(result) == []
    (told,) = [c for c in result.cautions if c.topic == "over-current cascade"]
    assert '"rest" then carried 60.0 A' in told.text
    assert "smaller charger" in told.advice


def test_a_trip_on_current_that_pushes_the_other_over_its_voltage_is_one():
    result = charged(13.4, 45.0)
    ((link,),) = cascades(result, "charge")
    assert (link.before.battery, link.to_A) == ("rest", approx(60.0))
    (told,) = [c for c in result.cautions if c.topic == "over-current cascade"]
    assert "tripped on its battery voltage at the same instant" in told.text


def test_one_that_sags_as_another_leaves_follows_it():
    small = affine("small", 5e-3, 20.0, rules=[LOW])
    weak = affine("weak", 20e-3, 50.0, rules=[Rule(Watch.BATTERY_VOLTAGE, True, 12.6, 3.0)])
    result = run(bank_of(small, weak, load=steady(40.0), duration_s=7200))
    ((link,),) = cascades(result)
    assert (link.before.battery, link.event.battery) == ("small", "weak")
    assert link.event.time_s - link.before.time_s == approx(3.0)
    assert "over-current cascade" not in topics(result)


def test_trips_after_a_return_of_its_own_are_no_cascade():
    # "next" jumps from 33 A to 50 A as "small" leaves, trips after 2 s, and comes back every
    # 5 s with about 50 A, only to trip again: it follows "small" once
    small = affine("small", 5e-3, 200.0, rules=[Rule(Watch.BATTERY_VOLTAGE, True, 13.1, 0.0)])
    limit = Rule(Watch.DISCHARGE_CURRENT, False, 45.0, 2.0, release=Release(10.0, 5.0))
    other, rest = affine("next", 5e-3, 200.0, rules=[limit]), affine("rest", 5e-3, 200.0)
    result = run(bank_of(small, other, rest, load=steady(100.0), duration_s=7200))
    trips = [e.battery for e in result.events if e.what == "trip"]
    assert trips[0] == "small"
    assert trips.count("next") > 5
    ((link,),) = cascades(result)
    assert (link.before.battery, link.event.battery) == ("small", "next")
    (told,) = [c for c in result.cautions if c.topic == "over-current cascade"]
    assert told.text.count('"next" then carried') == 1
