"""Rules that let go: thresholds, delays, needs, several at once, and returns in vain."""

import math
from dataclasses import replace

import pytest
from pytest import approx
from simple_banks import affine, affine_cell, bank_of, battery, run, steady, stepped

from bankSim.kernels.arrays import MOST_FRUITLESS
from bankSim.model.cell import RelaxationPair
from bankSim.model.charger import Charger, Stage, Sun
from bankSim.model.load import CutOff, Schedule
from bankSim.model.rule import Blocks, Needs, Release, Rule, Watch

H = 3600.0


def told(result, *words):
    """Events of the given kinds (all without any) as (time, what, battery or source)."""
    return [
        (event.time_s, event.what, event.battery or event.source)
        for event in result.events
        if not words or event.what in words
    ]


def low_rule(limit=13.0, delay=10.0, **release):
    return Rule(Watch.BATTERY_VOLTAGE, True, limit, delay, Blocks.DISCHARGE, Release(**release))


def lives(*batteries, load=None, hours=2.0, **more):
    more.setdefault("stop_when_empty", False)
    return run(
        bank_of(*batteries, load=load, duration_s=hours * H, **more), relative_tolerance=1e-6
    )


def test_a_rule_lets_go_after_its_delay_at_rest():
    # E = 12.8 + 0.6 z, 10 mohm, 100 Ah, z = 0.6, 30 A: 12.86 V < 13 V from t = 0, trips at 10 s;
    # at rest 13.16 V > 13.05 V, lets go 30 s later, and the load is there again
    one = affine("a", 0.010, z=0.6, rules=[low_rule(threshold=13.05, delay_s=30.0)])
    result = lives(one, load=stepped([0.0, 35.0], [30.0, 0.0]), hours=0.1)
    assert told(result) == [
        (approx(10.0, abs=1e-6), "trip", "a"),
        (approx(40.0, abs=1e-6), "release", "a"),
    ]
    assert result.batteries[0].delivered_Ah == approx(30.0 * 10.0 / H)


def test_a_value_that_falls_back_begins_the_delay_anew():
    # the partner's load pulls the bus down while the first one waits for its release
    rule = low_rule(threshold=13.2, delay_s=100.0, needs=Needs.CHARGING)
    one, two = affine("a", 0.010, z=0.6, rules=[rule]), affine("b", 0.010, z=0.9)
    one = replace(one, diode_drop_V=0.0)
    # without a drop the partner charges it whenever the load is off: 13.34 V against 13.16 V
    load = stepped([0.0, 200.0, 250.0, 300.0], [60.0, 0.0, 60.0, 0.0])
    result = lives(one, two, load=load, hours=0.25)
    back = [event.time_s for event in result.events if event.what == "release"]
    assert back == [approx(400.0, abs=1e-6)]


@pytest.mark.parametrize(
    ("needs", "expected"),
    [(Needs.NOTHING, 40.0), (Needs.LOAD_REMOVED, 630.0), (Needs.HAND, None)],
)
def test_what_a_release_waits_for(needs, expected):
    rule = low_rule(threshold=13.0, delay_s=30.0, needs=needs)
    one = affine("a", 0.010, z=0.6, rules=[rule])
    result = lives(one, load=stepped([0.0, 600.0], [30.0, 0.0]), hours=1.0)
    back = [event.time_s for event in result.events if event.what == "release"]
    assert back[:1] == ([] if expected is None else [approx(expected, abs=1e-6)])


def test_a_release_that_needs_charge_waits_for_the_charger():
    rule = low_rule(threshold=13.0, delay_s=30.0, needs=Needs.CHARGING)
    one = affine("a", 0.010, z=0.6, rules=[rule])
    charger = Charger(
        "c", (Stage(14.4),), limit_A=5.0, schedule=Schedule(active_s=((900.0, 2 * H),))
    )
    result = lives(one, load=stepped([0.0, 600.0], [30.0, 0.0]), chargers=(charger,))
    assert told(result, "release") == [(approx(930.0, abs=1e-6), "release", "a")]
    # while it waits it is charged through the diode
    assert result.bank.energy.diodes_Wh == approx(0.7 * 5.0 * 30.0 / H, rel=1e-6)


def test_a_battery_blocked_both_ways_senses_the_charger():
    rule = replace(low_rule(threshold=13.0, delay_s=30.0, needs=Needs.CHARGING), blocks=Blocks.BOTH)
    one = affine("a", 0.010, z=0.6, rules=[rule])
    charger = Charger(
        "c", (Stage(14.4),), limit_A=5.0, schedule=Schedule(active_s=((900.0, 2 * H),))
    )
    result = lives(one, load=stepped([0.0, 600.0], [30.0, 0.0]), chargers=(charger,))
    assert told(result, "release") == [(approx(930.0, abs=1e-6), "release", "a")]


def test_over_current_lets_go_when_the_load_is_removed_and_not_before():
    # two equal batteries under 90 A trip together at 40 A; the load goes after a minute
    rule = Rule(
        Watch.DISCHARGE_CURRENT,
        False,
        40.0,
        1.0,
        Blocks.DISCHARGE,
        Release(5.0, 2.0, Needs.LOAD_REMOVED),
    )
    pair = [affine(name, 0.010, rules=[rule]) for name in "ab"]
    result = lives(*pair, load=stepped([0.0, 60.0, 120.0], [90.0, 0.0, 50.0]), hours=0.1)
    assert told(result) == [
        (approx(1.0), "trip", "a"), (approx(1.0), "trip", "b"),
        (approx(62.0), "release", "a"), (approx(62.0), "release", "b"),
    ]  # fmt: skip


def test_a_full_battery_sits_out_behind_its_diode_and_comes_back_with_a_surge():
    # by hand: b is at 13.4 V, blocks charge at once and shows 12.7 V; a alone feeds 20 A from
    # E = 13.1 V on. b begins to help when the bus is at 12.7 V, and lets go when its own voltage
    # has fallen to 13.2 V; then the diode is gone and 0.7 V more drive the surge
    full = Rule(Watch.HIGHEST_CELL, False, 13.2, 0.0, Blocks.CHARGE, Release(13.2, 60.0))
    a = affine("a", 0.010, z=0.5)
    b = affine("b", 0.010, z=1.0, rules=[full])
    result = lives(a, b, load=stepped([60.0], [20.0]), hours=8.0)
    table = result.timeline().set_index("time_s")
    first = table.index[table["b.current_A"] > 0.0][0]
    assert table["bank.voltage_V"].loc[first] == approx(12.7, abs=2e-3)
    (back,) = [event for event in result.events if event.what == "release"]
    before, after = back.currents_A, back.currents_after_A
    assert sum(before) == approx(20.0)
    assert after[1] - before[1] == approx(0.7 / 0.020, rel=1e-9)  # 0.7 V around both 10 mohm
    assert after[0] < 0.0  # the full one charges its neighbour


def test_several_rules_act_on_one_battery_and_all_must_let_go():
    cold = Rule(Watch.BATTERY_VOLTAGE, True, 13.0, 5.0, Blocks.DISCHARGE, Release(13.05, 100.0))
    slow = Rule(Watch.LOWEST_CELL, True, 13.0, 5.0, Blocks.DISCHARGE, Release(13.05, 300.0))
    one = affine("a", 0.010, z=0.6, rules=[cold, slow])
    result = lives(one, load=stepped([0.0, 60.0, 200.0], [30.0, 0.0, 1.0]), hours=0.2)
    assert [(e.time_s, e.what) for e in result.events] == [
        (approx(5.0), "trip"), (approx(5.0), "trip"),
        (approx(105.0), "release"), (approx(305.0), "release"),
    ]  # fmt: skip
    assert result.timeline().set_index("time_s")["a.current_A"].loc[240.0] == 0.0


def test_hiccups_are_counted_and_end_after_a_stated_number():
    # R I = 0.3 V: below 13 V under load at once, above 13.05 V at rest at once
    rule = low_rule(delay=2.0, threshold=13.05, delay_s=8.0)
    one = affine("a", 0.010, z=0.6, rules=[rule])
    result = lives(one, load=steady(30.0), hours=2.0)
    outcome = result.batteries[0]
    assert outcome.hiccups == MOST_FRUITLESS
    trips = told(result, "trip")
    assert len(trips) == MOST_FRUITLESS + 1
    assert trips[1][0] - trips[0][0] == approx(10.0, abs=1e-6)
    assert told(result, "stays out") == [(trips[-1][0], "stays out", "a")]
    assert outcome.delivered_Ah == approx(30.0 * 2.0 * (MOST_FRUITLESS + 1) / H, rel=1e-6)


def test_a_rule_without_delays_does_not_run_for_ever():
    rule = low_rule(delay=0.0, threshold=13.05, delay_s=0.0)
    result = lives(affine("a", 0.010, z=0.6, rules=[rule]), load=steady(30.0), hours=1.0)
    assert result.batteries[0].delivered_Ah == 0.0
    assert {time for time, *_ in told(result)} == {0.0}
    assert result.end_reason == "end of duration"


def test_what_stays_out_may_return_when_a_load_switches():
    rule = low_rule(delay=2.0, threshold=13.05, delay_s=8.0)
    one = affine("a", 0.010, z=0.6, rules=[rule])
    result = lives(one, load=stepped([0.0, 1500.0, 2000.0], [30.0, 25.0, 0.0]), hours=1.0)
    held = [when for when, _, _ in told(result, "stays out")]
    assert held == [approx(2.0 + 10.0 * MOST_FRUITLESS, abs=1e-6)]
    assert told(result, "may return") == [(approx(1500.0), "may return", "a")]
    (back,) = [event for event in result.events if event.what == "may return"]
    assert back.currents_after_A == (approx(25.0),)
    # 25 A are the same story, for 2 s in every 10
    assert len([when for when, _, _ in told(result, "trip") if when > 1500.0]) == 50


def test_what_stays_out_comes_back_after_some_charge():
    # the sun, up before the start, feeds the load at last and charges the battery: no edge
    rule = low_rule(delay=2.0, threshold=13.05, delay_s=8.0)
    one = replace(affine("a", 0.010, z=0.6, rules=[rule]), diode_drop_V=0.0)
    sun = Charger("c", (Stage(14.4),), sun=Sun(2000.0, 0.0, 12 * H))
    result = lives(one, load=steady(30.0), chargers=(sun,), hours=4.0)
    ((_, _, who),) = told(result, "may return")
    assert (who, result.batteries[0].charged_Ah > 1.0) == ("a", True)


def test_a_rule_on_both_ways_counts_a_useful_return_as_useful():
    # 150 s at 30 A are 1.25 Ah, more than 0.1 % of 100 Ah, though nothing was charged
    rule = Rule(Watch.BATTERY_VOLTAGE, True, 13.0, 150.0, Blocks.BOTH, Release(13.05, 8.0))
    result = lives(affine("a", 0.010, z=0.6, rules=[rule]), load=steady(30.0), hours=2.0)
    assert len(told(result, "trip")) > 5
    assert result.batteries[0].hiccups == 0


def test_a_charger_that_holds_just_the_limit_does_not_trip_it():
    # four equal cells brought up to 14.6 V by 3.65 V each, from below and never beyond
    full = Rule(Watch.HIGHEST_CELL, False, 3.65, 1.0, Blocks.CHARGE, Release(3.4, 10.0))
    cells = [affine_cell(0.002, 50.0, 0.3, base=3.2, span=0.6) for _ in range(4)]
    one = battery("a", *cells, rules=[full], lead=0.001)
    charger = Charger("c", (Stage(14.6),), limit_A=20.0)
    result = lives(one, chargers=(charger,), hours=40.0)
    assert not told(result)
    assert result.batteries[0].final_state_of_charge[0] == approx(0.75, abs=1e-4)


def test_a_release_feeds_the_loads_again_that_were_dropped():
    # 1500 W are too much for the small one alone (13.16^2 / (4 x 0.05) = 866 W): all loads are
    # dropped until the big one lets go
    rule = low_rule(limit=12.95, delay=5.0, threshold=13.0, delay_s=60.0)
    big = affine("big", 0.010, z=0.6, rules=[rule])
    small = affine("small", 0.050, z=0.6)
    result = lives(big, small, load=steady(1500.0, exponent=0.0), hours=0.05)
    assert [word for _, word, _ in told(result)][:3] == ["trip", "load cannot be fed", "release"]
    release = result.events[2]
    assert sum(release.currents_after_A) > 100.0


def test_a_load_cuts_itself_off_and_restarts():
    # 30 A on 10 mohm: 12.98 V at z = 0.8, 12.9 V when z = 2/3: after 13.33 Ah, and 60 s later the
    # load is off; at rest 13.2 V, so it is on again only above 13.25 V, when the charger came
    cut = CutOff(12.9, 60.0, 13.25)
    load = replace(steady(30.0), cut_off=cut)
    charger = Charger("c", (Stage(14.4),), limit_A=20.0, schedule=Schedule(active_s=((H, 3 * H),)))
    result = lives(affine("a", 0.010, z=0.8), load=load, chargers=(charger,), hours=1.2)
    off, on = told(result, "load cut off", "load restarts")
    assert off == (approx(13.3333333 / 30.0 * H + 60.0, abs=0.1), "load cut off", "load")
    # E + 0.2 V >= 13.25 V as soon as the charger starts: 13.2 - 0.003 + 0.2
    assert on == (approx(H, abs=1e-6), "load restarts", "load")


def test_a_load_that_flutters_without_a_delay_stays_off_in_the_end():
    # its own current makes the difference: 0.3 V between on and off, restart within that
    load = replace(steady(30.0), cut_off=CutOff(12.9, 0.0, 13.0))
    result = lives(affine("a", 0.010, z=0.6), load=load, hours=1.0)
    assert told(result)[-1][1] == "load stays off"
    assert len(told(result, "load cut off")) == MOST_FRUITLESS + 1
    # with a delay it flutters on, 5 s at a time, until the battery rests below 13 V: at z = 1/3,
    # after 26.67 Ah in portions of 30 A x 5 s
    load = replace(load, cut_off=CutOff(12.9, 5.0, 13.0))
    result = lives(affine("a", 0.010, z=0.6), load=load, hours=1.0)
    assert len(told(result, "load cut off")) == 641


def test_a_load_without_restart_stays_off():
    load = replace(steady(30.0), cut_off=CutOff(12.9, 5.0))
    result = lives(affine("a", 0.010, z=0.6), load=load, hours=1.0)
    assert told(result) == [(approx(5.0, abs=1e-6), "load cut off", "load")]


def test_the_order_of_the_batteries_does_not_matter():
    pair = RelaxationPair(0.004, 200.0)

    def one(name, z, ohm):
        full = Rule(Watch.HIGHEST_CELL, False, 13.7, 2.0, Blocks.CHARGE, Release(13.2, 60.0))
        return affine(
            name,
            ohm,
            z=z,
            rules=[full, low_rule(threshold=13.0, delay_s=30.0)],
            span=1.0,
            relaxation=(pair,),
        )

    batteries = [one("a", 0.5, 0.01), one("b", 0.8, 0.007), one("c", 0.9, 0.012)]
    charger = Charger(
        "c",
        (Stage(14.0, tail_A=3.0), Stage(13.5)),
        limit_A=40.0,
        schedule=Schedule(active_s=((0.0, 5 * H),)),
    )
    load = steady(400.0, exponent=0.0, schedule=Schedule(duty_s=(1200.0, 2400.0)))
    forth = lives(*batteries, load=load, chargers=(charger,), hours=16.0)
    back = lives(*batteries[::-1], load=load, chargers=(charger,), hours=16.0)

    def sequence(result):
        return sorted((round(time, 2), what, who) for time, what, who in told(result))

    assert sequence(forth) == sequence(back)
    assert len(sequence(forth)) > 6
    for outcome in forth.batteries:
        (other,) = [b for b in back.batteries if b.name == outcome.name]
        assert other.delivered_Ah == approx(outcome.delivered_Ah, rel=1e-5)
        assert not math.isclose(outcome.delivered_Ah, 0.0)
