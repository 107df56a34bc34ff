"""Chargers whose batteries all block their charge while they feed: load dump."""

from dataclasses import replace

import pytest
from pytest import approx
from simple_banks import affine, bank_of, run, steady
from test_cautions_life import typical

from bankSim.model.charger import Charger, Stage, Sun
from bankSim.model.load import Schedule
from bankSim.model.rule import Blocks, Rule, Watch
from bankSim.scenario.record import Scenario
from bankSim.show.headline import headline
from bankSim.sim.cautions.lost_takers import LOSES_TAKERS
from bankSim.sim.lost_takers import worst_loss
from bankSim.study.quick_fan import quick_spread
from bankSim.study.traced import _chances

HOUR_S = 3600.0


def stops(volts):
    return [Rule(Watch.BATTERY_VOLTAGE, False, volts, 0.0, Blocks.CHARGE)]


def charged(limit_A, *, load_A=None, rules=True, **more):
    """Two batteries that block charge at about 13.2 V, fed by one charger until after that."""
    ends = (stops(13.2), stops(13.22)) if rules else ([], [])
    batteries = [affine(n, 2e-3, 50.0, 0.5, rules=r) for n, r in zip("ab", ends, strict=True)]
    feeds = Charger("alternator", (Stage(14.4),), limit_A=limit_A, **more)
    load = None if load_A is None else steady(load_A)
    return bank_of(*batteries, load=load, chargers=(feeds,), duration_s=4 * HOUR_S)


# 20 A: what an alternator gives, not a small mains charger (common practice, no source)
@pytest.mark.parametrize(
    ("limit_A", "severity"), [(25.0, "danger"), (15.0, "warning"), (8.0, None)]
)
def test_large_currents_are_a_danger_and_come_first(limit_A, severity):
    result = run(charged(limit_A))
    found = [one for one in result.cautions if one.topic == LOSES_TAKERS]
    assert [one.severity for one in found] == ([severity] if severity else [])
    if severity:
        assert found[0].value == approx(limit_A)  # all of it flows into the last battery
        same = [one for one in result.cautions if one.severity == severity]
        assert same[0] == found[0]
        told = " ".join(headline(result))
        assert ("load dump" in told) == (severity == "danger")


def test_what_the_loads_go_on_taking_is_not_lost():
    # Kirchhoff: 30 A, of which 12 A go into the load before and after
    (found,) = [
        one for one in run(charged(30.0, load_A=12.0)).cautions if one.topic == LOSES_TAKERS
    ]
    assert (found.value, found.severity) == (approx(18.0, rel=1e-3), "warning")
    assert "18.0 A more than the loads take" in found.text


def test_a_solar_regulator_is_no_alternator():
    noon = Charger("roof", (Stage(14.4),), sun=Sun(600.0, 0.0, 24 * HOUR_S))
    bank = replace(charged(1.0), chargers=(noon,), starts_at_s=10 * HOUR_S)
    (found,) = [one for one in run(bank).cautions if one.topic == LOSES_TAKERS]
    assert found.value > 20.0
    assert found.severity == "warning"
    assert "alternator" not in found.text
    assert "solar regulators" in found.text


def test_a_charger_that_is_switched_off_loses_nobody():
    schedule = Schedule(active_s=((0.0, 0.1 * HOUR_S),))
    result = run(charged(30.0, rules=False, schedule=schedule))
    assert worst_loss(result.trace, result.scenario.bank) is None
    assert LOSES_TAKERS not in {one.topic for one in result.cautions}


def test_it_is_named_beside_the_first_other_danger():
    # lithium above what its chemistry accepts is a danger of its own, which stays told
    one = replace(typical("LFP", "a", 0.9), rules=tuple(stops(13.9)))
    feeds = Charger("alternator", (Stage(15.6),), limit_A=60.0)
    result = run(bank_of(one, chargers=(feeds,), duration_s=2 * HOUR_S))
    topics = {one.topic for one in result.cautions if one.severity == "danger"}
    assert {LOSES_TAKERS, "charge voltage too high"} <= topics
    told = " ".join(headline(result))
    assert "load dump" in told
    assert "usually accepted" in told


def test_a_study_tells_it_first_of_its_kind():
    result = run(charged(15.0))
    found = _chances(
        [result.cautions, *[tuple(c for c in result.cautions if c.topic != LOSES_TAKERS)] * 3]
    )
    warnings = [one.topic for one in found if one.severity == "warning"]
    assert len(warnings) > 1
    assert warnings[0] == LOSES_TAKERS


def test_the_quick_band_counts_it():
    calm, dumped = (
        quick_spread(Scenario("t", charged(amps)), draws=8, table_draws=8) for amps in (5.0, 30.0)
    )
    assert (dumped.blocks_charge, dumped.loses_takers) == (1.0, 1.0)
    assert (calm.blocks_charge, calm.loses_takers) == (1.0, 0.0)


@pytest.mark.parametrize(("kelvin", "told"), [(268.15, False), (298.15, True)])
def test_batteries_too_cold_from_the_start_are_lost_by_nobody(kelvin, told):
    # electronics block in such a cold before a charger is on; only the delay lets charge in
    cold = Rule(Watch.TEMPERATURE, True, 273.15, 1.0, Blocks.CHARGE)
    bank = charged(30.0)
    members = tuple(replace(one, rules=(*one.rules, cold)) for one in bank.batteries)
    result = run(replace(bank, batteries=members, temperature_K=kelvin))
    assert result.chargers[0].delivered_Ah > 0.0
    assert any(one.topic == LOSES_TAKERS for one in result.cautions) == told


def frozen(charger_A, load_A, **more):
    """Two batteries too cold to be charged, an alternator from 1 h on, a load until 2 h."""
    cold = (Rule(Watch.TEMPERATURE, True, 273.15, 1.0, Blocks.CHARGE),)
    batteries = [affine(name, 2e-3, 50.0, 0.9, rules=cold) for name in "ab"]
    more.setdefault("schedule", Schedule(active_s=((HOUR_S, 3.0 * HOUR_S),)))
    feeds = Charger("alternator", (Stage(14.4),), limit_A=charger_A, **more)
    load = steady(load_A, schedule=Schedule(active_s=((0.0, 2.0 * HOUR_S),)))
    bank = bank_of(*batteries, load=load, chargers=(feeds,), duration_s=4.0 * HOUR_S)
    return replace(bank, temperature_K=263.15)


@pytest.mark.parametrize(("load_A", "severity"), [(25.0, "danger"), (15.0, "warning"), (8.0, None)])
def test_a_charger_that_feeds_loads_alone_has_nobody_to_catch_what_is_left(load_A, severity):
    # Kirchhoff: nobody takes charge, so it gives what the load takes, all of it lost at 2 h
    result = run(frozen(60.0, load_A))
    found = [one for one in result.cautions if one.topic == LOSES_TAKERS]
    assert [one.severity for one in found] == ([severity] if severity else [])
    if found:
        assert found[0].value == approx(load_A, rel=1e-6)
        assert "every battery blocks its charge" in found[0].text
        assert '"alternator" gives the loads' in found[0].text
        assert worst_loss(result.trace, result.scenario.bank) is None


def test_while_one_battery_takes_charge_nobody_is_lost():
    bank = frozen(60.0, 25.0)
    one, other = bank.batteries
    result = run(replace(bank, batteries=(one, replace(other, rules=()))))
    assert result.chargers[0].delivered_Ah > 10.0
    assert LOSES_TAKERS not in {one.topic for one in result.cautions}


def test_a_charger_that_is_off_while_nobody_takes_charge_is_in_no_danger():
    result = run(frozen(60.0, 25.0, schedule=Schedule(active_s=((3.0 * HOUR_S, 4.0 * HOUR_S),))))
    assert LOSES_TAKERS not in {one.topic for one in result.cautions}


def test_two_chargers_that_feed_loads_alone_are_both_named():
    bank = frozen(15.0, 25.0)
    (feeds,) = bank.chargers
    result = run(replace(bank, chargers=(feeds, replace(feeds, name="second"))))
    (found,) = [one for one in result.cautions if one.topic == LOSES_TAKERS]
    # both hold the same and share alike
    assert found.value == approx(25.0, rel=1e-6)
    assert '"alternator" and "second" give the loads 25.0 A' in found.text


def test_the_graver_of_both_is_told():
    # 12 A are lost as the last battery blocks, 25 A later, while a load is fed alone
    bank = charged(12.0)
    (feeds,) = bank.chargers
    later = Schedule(active_s=((2.0 * HOUR_S, 4.0 * HOUR_S),))
    strong = replace(feeds, name="strong", limit_A=80.0, schedule=later)
    bank = replace(bank, chargers=(feeds, strong), loads=(steady(25.0, schedule=later),))
    result = run(bank)
    lost = worst_loss(result.trace, result.scenario.bank)
    (found,) = [one for one in result.cautions if one.topic == LOSES_TAKERS]
    assert lost.dumped_A == approx(12.0, rel=0.05)
    assert (found.severity, found.value) == ("danger", approx(25.0, rel=1e-6))


def test_the_quick_band_counts_those_who_feed_loads_alone():
    calm, alone = (
        quick_spread(Scenario("t", frozen(60.0, amps)), draws=8, table_draws=8)
        for amps in (5.0, 30.0)
    )
    assert (calm.loses_takers, alone.loses_takers) == (0.0, 1.0)


@pytest.mark.parametrize("name", ["{}", "{0} 230 V {mains}", "}{"])
def test_braces_in_a_name_stay_as_they_are(name):
    for bank in (charged(30.0), frozen(60.0, 25.0)):
        (feeds,) = bank.chargers
        result = run(replace(bank, chargers=(replace(feeds, name=name),)))
        (found,) = [one for one in result.cautions if one.topic == LOSES_TAKERS]
        assert f'"{name}" gives' in found.text
        assert found.text.count("load dump") == 1
