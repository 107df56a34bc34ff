"""The twin's rules that block, wait and let go, against closed forms for straight batteries."""

import numpy as np
import pytest
from pytest import approx
from scipy.optimize import brentq
from twin_banks import (
    amperes,
    battery_above,
    battery_below,
    between,
    happened,
    lets_go,
    solved,
    wide,
)

from bankSim.crosscheck.twin import ALL_OVER, EMPTY
from bankSim.crosscheck.twin_result import COLLAPSE, RELEASE, STAYS_OUT, TRIP
from bankSim.model.load import Schedule
from bankSim.model.rule import Blocks, Needs, Rule, Watch

OHM, AH, LOAD_A, DROP_V = 5e-3, 100.0, 40.0, 0.7
START_Z = 0.95
START_V = 12.0 + 1.6 * START_Z


def pair_with_one_at_full(delay_s=0.0):
    """Two equal batteries; the first blocks charge at once and lets go 20 mV below its start."""
    full = battery_above(START_V - 1e-6, Blocks.CHARGE, 0.0, lets_go(START_V - 0.02, delay_s))
    batteries = (wide("a", OHM, AH, START_Z, rules=[full]), wide("b", OHM, AH, START_Z))
    # the first trips under charge alone, before the load comes
    return solved(*batteries, loads=[between("load", LOAD_A, 1.0, 1e6)], hours=2.0)


def sits_out_until_s():
    """The bus is E_b - R I; the diode of a conducts from E_a - drop on."""
    conducting_z = (START_V - DROP_V + OHM * LOAD_A - 12.0) / 1.6
    return 1.0 + (START_Z - conducting_z) * AH / LOAD_A * 3600.0


def through_the_diode(seconds):
    """Current and charge (Ah) of a from then on: half the load, after tau = R Q/a."""
    tau = OHM * AH * 3600.0 / 1.6
    grown = 1 - np.exp(-seconds / tau)
    return LOAD_A / 2 * grown, LOAD_A / 2 * (seconds - tau * grown) / 3600.0


def test_blocked_battery_sits_out_until_the_bus_is_a_diode_below_it():
    found = pair_with_one_at_full(delay_s=1e5)
    start_s = sits_out_until_s()
    assert found.current_A([1.0, start_s - 1.0])[:, 0] == approx([0.0, 0.0])
    seconds = np.array([50.0, 400.0, 1500.0])
    expected = through_the_diode(seconds)[0]
    assert found.current_A(start_s + seconds)[:, 0] == approx(expected, rel=1e-6)


@pytest.mark.parametrize("delay_s", [0.0, 30.0])
def test_it_comes_back_with_a_surge(delay_s):
    def still_above_V(seconds):
        current, charge = through_the_diode(seconds)
        return 0.02 - 1.6 * charge / AH - OHM * current

    found = pair_with_one_at_full(delay_s)
    seconds = brentq(still_above_V, 0.0, 1e4) + delay_s
    (_, trip), (back_s, release) = happened(found, TRIP, RELEASE)
    assert (trip, release) == (TRIP, RELEASE)
    assert back_s == approx(sits_out_until_s() + seconds, abs=1e-3)
    current, charge = through_the_diode(seconds)
    given_b = LOAD_A * (back_s - 1.0) / 3600.0 - charge
    apart_V = 1.6 * (given_b - charge) / AH  # E_a - E_b
    after = LOAD_A / 2 + apart_V / (2 * OHM)
    event = found.events[1]
    assert event.current_A == approx([current, LOAD_A - current], rel=1e-6)
    assert event.after_A == approx([after, LOAD_A - after], rel=1e-6)
    assert event.bus_V == approx(START_V - 1.6 * charge / AH - OHM * current - DROP_V, rel=1e-9)


def test_release_that_is_broken_off_starts_anew():
    # 10 A through 50 mohm: 12.3 V on load, 12.8 V at rest; rests of 20 s are too short for 30 s
    low = battery_below(12.5, Blocks.DISCHARGE, 0.0, lets_go(12.7, 30.0))
    weak, strong = wide("a", 0.05, 1e6, 0.5, rules=[low]), wide("b", 0.05, 1e6, 0.5)
    source = between("source", -30.0, 0.0, 1e6)  # both take charge: 12.8 + 0.05 x 15
    duty = between("load", 60.0, 0.0, 1e6)
    duty = type(duty)("load", 1.0, duty.profile_s, duty.profile_amount, Schedule((40.0, 20.0)))
    short = solved(weak, strong, loads=[duty, source], hours=0.1)
    assert happened(short, RELEASE)[0][0] == approx(30.0)  # at rest while b feeds


def test_needs_charging():
    # blocked for discharge at once; charge flows from 100 s on, the load goes on
    low = battery_below(13.0, Blocks.DISCHARGE, 0.0, lets_go(13.1, 5.0, needs=Needs.CHARGING))
    source = between("source", -20.0, 100.0, 400.0)
    found = solved(wide(ohm=0.02, rules=[low]), loads=[source], hours=0.2)
    # 12.8 + 20 A x 20 mohm = 13.2 V
    assert happened(found, TRIP, RELEASE)[:2] == [(0.0, TRIP), (approx(105.0), RELEASE)]


def test_needs_charging_where_charge_is_blocked_looks_at_the_rails():
    # the charger lifts b to 13.96 V and more, so the rails are above the 12.8 V of a
    back = lets_go(1.0, 5.0, needs=Needs.CHARGING)
    heavy = Rule(Watch.DISCHARGE_CURRENT, False, 20.0, 0.0, Blocks.BOTH, back)
    charger = amperes(90.0, 14.0, schedule=Schedule(active_s=((100.0, 1e6),)))
    lower = wide("b", 0.02, 1e4, 0.1)
    found = solved(wide(rules=[heavy]), lower, chargers=(charger,), hours=0.1)
    assert found.events[0].value == approx(1.6 * 0.4 / 0.025)  # the two even out
    assert happened(found, TRIP, RELEASE)[:2] == [(0.0, TRIP), (approx(105.0), RELEASE)]


def test_needs_the_load_removed():
    heavy = Rule(
        Watch.DISCHARGE_CURRENT, False, 50.0, 2.0, Blocks.DISCHARGE,
        lets_go(1.0, 10.0, needs=Needs.LOAD_REMOVED),
    )  # fmt: skip
    loads = [between("load", 60.0, 10.0, 100.0), between("source", -1.0, 0.0, 1e6)]
    found = solved(wide(rules=[heavy], diode_drop_V=0.2), wide("b", 0.2), loads=loads, hours=0.1)
    assert happened(found, TRIP, RELEASE) == [(approx(12.0), TRIP), (approx(110.0), RELEASE)]


def test_by_hand_means_never():
    low = battery_below(13.0, Blocks.BOTH, 0.0, lets_go(13.0, needs=Needs.HAND))
    found = solved(wide(rules=[low]), hours=1.0)
    assert happened(found) == [(0.0, TRIP)]


def hiccup(delay_s, hours, *, chargers=()):
    """Below 12 V on 10 A through 100 mohm, above 12.5 V at rest: on for a delay, off for 10 s."""
    low = battery_below(12.0, Blocks.DISCHARGE, delay_s, lets_go(12.5, 10.0))
    battery = wide(ohm=0.1, z=0.5, rules=[low], cell={"slope_V": 1e-6, "offset_V": 12.7})
    load = between("load", 10.0, 0.0, 1e6)
    return solved(battery, loads=[load], hours=hours, chargers=chargers)


def test_after_a_hundred_vain_reconnections_it_stays_out():
    # trips at 2 s and every 12 s; 20 C a time are less than 0.1 % of 100 Ah
    found = hiccup(2.0, 0.5)
    trips = [t for t, _ in happened(found, TRIP)]
    assert trips == approx(2.0 + 12.0 * np.arange(101))
    assert happened(found, STAYS_OUT) == [(approx(1202.0), STAYS_OUT)]
    assert happened(found, RELEASE)[-1] == (approx(1212.0), RELEASE)
    assert found.delivered_Ah == approx([101 * 20.0 / 3600.0], rel=1e-6)
    assert found.end_reason == ALL_OVER


def test_it_is_let_in_again_when_a_charger_switches():
    # at 2000 s: 5 A + 5 A feed the load
    charger = amperes(5.0, 15.0, schedule=Schedule(active_s=((2000.0, 1e6),)))
    found = hiccup(2.0, 0.8, chargers=(charger,))
    assert found.current_A([1999.0, 2001.0])[:, 0] == approx([0.0, 5.0])
    assert not happened(found, COLLAPSE)


def test_reconnections_that_brought_something_do_not_count():
    # 60 s x 10 A are more than 360 C
    found = hiccup(60.0, 2.5)
    assert len(happened(found, TRIP)) == 128  # at 60 s and every 70 s up to 9000 s
    assert not happened(found, STAYS_OUT)


def test_temperature_rule_wants_more_than_its_threshold():
    cold = Rule(Watch.TEMPERATURE, True, 298.15, 0.0, Blocks.CHARGE)
    assert not solved(wide(rules=[cold]), temperature_K=298.15).events
    assert solved(wide(rules=[cold]), temperature_K=298.14).events


def test_blocked_batteries_rules_go_on_living():
    # 100 A blocks discharge; the rule on the voltage trips while it rests
    heavy = Rule(Watch.DISCHARGE_CURRENT, False, 50.0, 0.0, Blocks.DISCHARGE)
    rest = battery_above(12.79, Blocks.CHARGE, 30.0)
    found = solved(wide(rules=[heavy, rest]), loads=[between("load", 100.0, 5.0, 50.0)], hours=0.1)
    assert happened(found, TRIP) == [(5.0, TRIP), (approx(35.0), TRIP)]


def test_bank_is_empty_only_when_chargers_cannot_help():
    low = battery_below(13.0, Blocks.DISCHARGE)
    load, charger = between("load", 5.0, 0.0, 1e6), amperes(10.0, 13.4)
    alone = solved(wide(rules=[low]), loads=[load], stop_when_empty=True)
    assert (alone.end_reason, alone.end_time_s) == (EMPTY, 0.0)
    charger = amperes(10.0, 13.4, schedule=Schedule(active_s=((0.0, 600.0),)))
    fed = solved(wide(rules=[low]), loads=[load], chargers=(charger,), stop_when_empty=True)
    assert (fed.end_reason, fed.end_time_s) == (EMPTY, 600.0)


def test_batteries_in_another_order_give_the_same_story():
    full = battery_above(13.5, Blocks.CHARGE, 3.0, lets_go(13.3, 7.0))
    low = battery_below(12.4, Blocks.DISCHARGE, 2.0, lets_go(12.6, 15.0))
    batteries = [
        wide(n, ohm, Ah, z, rules=[full, low])
        for n, ohm, Ah, z in (
            ("a", 5e-3, 50.0, 0.9),
            ("b", 8e-3, 70.0, 0.5),
            ("c", 6e-3, 30.0, 0.7),
        )
    ]
    load = between("load", 60.0, 3000.0, 7000.0)
    chargers = (amperes(50.0, 13.9, schedule=Schedule(active_s=((0.0, 3000.0), (7000.0, 1e6)))),)
    one = solved(*batteries, loads=[load], chargers=chargers, hours=4.0)
    other = solved(*batteries[::-1], loads=[load], chargers=chargers, hours=4.0)
    assert len(one.events) > 5
    mirrored = [(t, w) for t, w in happened(other)]
    assert sorted(happened(one)) == [(approx(t, abs=1e-3), w) for t, w in sorted(mirrored)]
    assert one.delivered_Ah == approx(other.delivered_Ah[::-1], rel=1e-6)
