"""Chargers against closed forms: constant current, then constant voltage, stages, sun, sharing."""

import math
from dataclasses import replace

import numpy as np
import pytest
from pytest import approx
from simple_banks import affine, bank_of, run, steady

from bankSim.model.bank import Wiring
from bankSim.model.charger import Charger, Stage, Sun
from bankSim.model.load import Schedule
from bankSim.model.rule import Blocks, Rule, Watch

H = 3600.0
# E = 12.8 V + 0.6 V z behind 10 mohm, 100 Ah, from z = 0.2, charged with 20 A up to 13.4 V:
# constant current until 12.8 + 0.6 z + 0.2 = 13.4, so z = 2/3 after 46.667 Ah / 20 A; then the
# current falls with the time constant R Q / a (closed form, Kirchhoff)
HELD_AFTER_S = (2.0 / 3.0 - 0.2) * 100.0 / 20.0 * H
FALL_S = 0.010 * 100.0 * H / 0.6


def charged(*chargers, load=None, hours=8.0, battery=None, **more):
    """Run one battery with chargers to the end of the time."""
    one = battery or affine("a", 0.010, z=0.2)
    more.setdefault("stop_when_empty", False)
    bank = bank_of(one, load=load, duration_s=hours * H, chargers=chargers, **more)
    return run(bank, relative_tolerance=1e-6)


def mains(*stages, **more):
    more.setdefault("limit_A", 20.0)
    return Charger("mains", stages or (Stage(13.4),), **more)


def stages_of(result):
    return [(event.time_s, event.value) for event in result.events if event.what == "charger stage"]


def test_constant_current_then_constant_voltage():
    result = charged(mains())
    table = result.timeline()
    times = table["time_s"].to_numpy()
    after = np.maximum(times - HELD_AFTER_S, 0.0)
    assert table["a.current_A"].to_numpy() == approx(-20.0 * np.exp(-after / FALL_S), abs=2e-3)
    held = times > HELD_AFTER_S + 1.0
    assert table["bank.voltage_V"].to_numpy()[held] == approx(13.4, rel=1e-12)
    taken = 46.6666667 + 20.0 * FALL_S / H * (1.0 - math.exp(-(8 * H - HELD_AFTER_S) / FALL_S))
    assert result.batteries[0].charged_Ah == approx(taken, rel=1e-5)
    assert result.chargers[0].delivered_Ah == approx(taken, rel=1e-5)


def test_a_stage_ends_at_its_tail_and_the_next_begins_there():
    tail = HELD_AFTER_S + FALL_S * math.log(20.0 / 5.0)
    result = charged(mains(Stage(13.4, tail_A=5.0), Stage(13.3)))
    assert stages_of(result) == [(approx(tail, abs=1.0), 2.0)]
    # at 13.3 V the battery takes 5 A - 0.1 V / 10 mohm < 0: nothing, until it has sunk
    after = result.timeline().set_index("time_s")["a.current_A"].loc[tail + 120.0 :]
    assert np.all(after == 0.0)


def test_a_stage_ends_after_its_longest_time_and_the_charger_after_its_last():
    result = charged(mains(Stage(13.4, most_s=1800.0), Stage(13.2, most_s=600.0)))
    assert stages_of(result) == [(approx(1800.0, abs=1e-6), 2.0), (approx(2400.0, abs=1e-6), 0.0)]
    assert result.batteries[0].charged_Ah == approx(20.0 * 2400.0 / H, rel=1e-9)


def test_a_schedule_begins_anew_with_the_first_stage():
    schedule = Schedule(active_s=((0.0, H), (2 * H, 3 * H)))
    result = charged(mains(Stage(13.4, most_s=600.0), schedule=schedule), hours=4.0)
    assert stages_of(result) == [(approx(600.0), 0.0), (approx(2 * H + 600.0), 0.0)]


def test_watts_fall_as_the_voltage_rises():
    # P = V I with V = E + R I: I = (-E + sqrt(E^2 + 4 R P)) / (2 R)
    result = charged(mains(limit_A=None, limit_W=260.0), hours=0.001)
    start = (-12.92 + math.sqrt(12.92**2 + 4 * 0.010 * 260.0)) / 0.02
    assert result.batteries[0].peak_charge_A == approx(start, rel=1e-6)
    assert result.chargers[0].delivered_Wh == approx(260.0 * 0.001, rel=1e-9)


def test_a_sunny_day_gives_two_over_pi_of_its_peak():
    sun = Sun(300.0, 6 * H, 18 * H)
    charger = Charger("roof", (Stage(16.0),), sun=sun)
    big = affine("a", 0.010, Ah=1000.0, z=0.2)
    result = charged(charger, hours=48.0, battery=big)
    assert result.chargers[0].delivered_Wh == approx(2 * 300.0 * 12.0 * 2.0 / math.pi, rel=1e-4)
    assert result.chargers[0].peak_A == approx(300.0 / 13.0, rel=0.02)


def test_chargers_of_one_voltage_share_by_their_limits():
    pair = (mains(limit_A=30.0), replace(mains(limit_A=10.0), name="second"))
    result = charged(*pair, load=steady(5.0))
    one, two = result.chargers
    assert one.delivered_Ah == approx(3.0 * two.delivered_Ah, rel=1e-9)
    assert result.bank.charged_Ah == approx(one.delivered_Ah + two.delivered_Ah - 40.0, rel=1e-6)


def test_the_higher_voltage_goes_on_alone():
    # the second one stops at 13.0 V; the first one brings the rest
    pair = (mains(limit_A=10.0), Charger("low", (Stage(13.0),), limit_A=10.0))
    table = charged(*pair, hours=6.0).timeline()
    above = table["bank.voltage_V"] > 13.0 + 1e-6
    assert np.all(table["low.current_A"][above] == 0.0)
    assert table["low.current_A"].iloc[0] == approx(0.0)  # 12.92 V + 10 mohm x 10 A > 13.0 V
    assert table["mains.current_A"].iloc[0] == approx(10.0)


def test_a_load_is_fed_before_the_battery():
    table = charged(mains(), load=steady(26.8, exponent=0.0), hours=1.0).timeline()
    drawn = 26.8 / (table["bank.voltage_V"])
    assert table["a.current_A"].to_numpy() == approx((drawn - 20.0).to_numpy(), rel=1e-9)


def test_chargers_feed_the_loads_alone_when_nobody_takes_part():
    rule = Rule(Watch.BATTERY_VOLTAGE, False, 12.0, blocks=Blocks.BOTH)
    result = charged(
        mains(), load=steady(60.0, exponent=0.0), battery=affine("a", 0.01, rules=[rule])
    )
    table = result.timeline()
    assert table["bank.voltage_V"].to_numpy() == approx(13.4)
    assert table["mains.current_A"].to_numpy() == approx(60.0 / 13.4)
    assert not table["a.current_A"].any()


def test_chargers_that_cannot_feed_the_loads_alone_leave_them_dark():
    rule = Rule(Watch.BATTERY_VOLTAGE, False, 12.0, blocks=Blocks.BOTH)
    one = affine("a", 0.01, rules=[rule])
    result = charged(mains(limit_A=2.0), load=steady(60.0, exponent=0.0), battery=one)
    # by hand: 2 A at 13.4 V are not 60 W; the loads are dropped and nothing flows
    assert not result.timeline()["mains.current_A"].any()
    assert result.bank.runtime_s == 0.0
    ended = charged(
        mains(limit_A=2.0), load=steady(60.0, exponent=0.0), battery=one, stop_when_empty=True
    )
    assert (ended.end_reason, ended.end_time_s) == ("bank empty", 0.0)


def test_a_charged_bank_does_not_end_while_its_charger_covers_the_loads():
    rule = Rule(Watch.LOWEST_CELL, True, 14.0, blocks=Blocks.DISCHARGE)
    one = affine("a", 0.01, z=0.2, rules=[rule])
    result = charged(mains(), load=steady(5.0), battery=one, stop_when_empty=True, hours=2.0)
    assert result.end_reason == "end of duration"
    # the diode stands between: by hand 13.4 V - 0.7 V < 12.92 V, nothing flows
    assert result.batteries[0].charged_Ah == 0.0


@pytest.mark.parametrize("drop", [0.0, 0.3])
def test_a_discharge_blocked_battery_is_charged_through_its_diode(drop):
    # by hand: (13.4 V - drop - 12.92 V) / 20 mohm, or the charger's 20 A
    rule = Rule(Watch.LOWEST_CELL, True, 14.0, blocks=Blocks.DISCHARGE)
    one = replace(affine("a", 0.02, z=0.2, rules=[rule]), diode_drop_V=drop)
    result = charged(mains(), load=steady(0.0), battery=one, hours=1.0)
    assert result.batteries[0].peak_charge_A == approx(min(20.0, (13.4 - drop - 12.92) / 0.02))
    assert result.bank.energy.diodes_Wh == approx(drop * result.batteries[0].charged_Ah, rel=1e-6)


def test_the_hold_is_kept_where_the_loads_are():
    result = charged(mains(), wiring=Wiring(main_ohm=0.005))
    table = result.timeline()
    held = table["mains.current_A"] < 19.9
    at_charger = table["bank.voltage_V"] + 0.005 * table["mains.current_A"]
    assert at_charger[held].to_numpy() == approx(13.4, rel=1e-9)
