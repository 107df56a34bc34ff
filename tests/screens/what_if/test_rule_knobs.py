"""Sliders of a battery's own rules."""

from types import SimpleNamespace

import pytest

from bankSim.model.rule import Blocks, Needs, Release, Rule, Watch
from bankSim.screens.what_if.rule_knobs import rule_knobs, written_rule

LOW = Rule(Watch.LOWEST_CELL, True, 2.5, 5.0, Blocks.DISCHARGE, Release(2.9, 30.0, Needs.CHARGING))
HIGH = Rule(Watch.HIGHEST_CELL, False, 3.65, 1.0, Blocks.CHARGE, Release(3.45, 2.0))
COLD = Rule(Watch.TEMPERATURE, True, 273.15, 1.0, Blocks.CHARGE)
CURRENT = Rule(Watch.DISCHARGE_CURRENT, False, 150.0, 3.0, Blocks.BOTH)
WHOLE = Rule(Watch.BATTERY_VOLTAGE, True, 10.5, 90.0, Blocks.DISCHARGE)


def knobs(*rules, implied=False):
    keys = SimpleNamespace(protection=None if implied else [])
    battery = SimpleNamespace(name="old", rules=rules)
    return {one.key: one for one in rule_knobs(keys, battery, 1)}


def reach(rule):
    one = knobs(rule)["limit/1/0"]
    return one.low, one.start, one.high, one.step, one.unit


@pytest.mark.parametrize(
    ("rule", "found"),
    [
        (LOW, (2.0, 2.5, 2.9, 0.05, "V")),  # not above its release
        (HIGH, (3.45, 3.65, 4.15, 0.05, "V")),  # not below it
        (COLD, (-20.0, 0.0, 20.0, 1.0, "°C")),
        (CURRENT, (30.0, 150.0, 300.0, 3.0, "A")),
        (WHOLE, (8.5, 10.5, 12.5, 0.1, "V")),
    ],
)
def test_limits_reach_to_either_side_and_stay_on_the_side_of_their_release(rule, found):
    *numbers, unit = reach(rule)
    assert numbers == pytest.approx(found[:4])
    assert unit == found[4]


def test_a_voltage_is_never_below_nothing():
    low, *_ = reach(Rule(Watch.BATTERY_VOLTAGE, True, 1.0, 1.0))
    assert low == 0.0


def test_delays_reach_a_minute_or_twice_what_they_are():
    found = knobs(LOW, WHOLE)
    assert (found["delay/1/0"].start, found["delay/1/0"].high) == (5.0, 60.0)
    assert (found["delay/1/1"].start, found["delay/1/1"].high) == (90.0, 180.0)
    assert found["delay/1/1"].moves[0].path == ("battery", 1, "protection", 1, "after_s")


def test_labels_tell_what_trips():
    found = knobs(LOW, HIGH, COLD, CURRENT, WHOLE)
    labels = [found[f"limit/1/{n}"].words for n in range(5)]
    assert labels == [
        'Trip of "old": lowest cell below',
        'Trip of "old": highest cell above',
        'Trip of "old": temperature below',
        'Trip of "old": discharge current above',
        'Trip of "old": voltage below',
    ]
    assert found["delay/1/2"].words == 'Delay of the trip of "old": temperature below'
    assert found["limit/1/3"].help.startswith("Blocks both ways when the discharge current stays")
    assert "stays below it for the delay" in found["limit/1/0"].help


def test_the_first_low_voltage_is_always_in_view():
    charge = Rule(Watch.LOWEST_CELL, True, 1.0, 1.0, Blocks.CHARGE)
    found = knobs(charge, HIGH, WHOLE, LOW)
    assert [key for key, one in found.items() if one.main] == ["limit/1/2"]


def test_eight_rules_have_sliders():
    assert len(knobs(*[LOW] * 9)) == 2 * 8


def test_rules_that_the_chemistry_implies_are_written_out_first():
    assert knobs(LOW)["limit/1/0"].first == ()
    (path, rules), = knobs(LOW, COLD, implied=True)["delay/1/1"].first  # fmt: skip
    assert path == ("battery", 1, "protection")
    assert rules == [written_rule(LOW), written_rule(COLD)]


def test_a_rule_as_the_file_writes_it():
    assert written_rule(LOW) == {
        "watches": "lowest cell voltage", "trips_below": 2.5, "after_s": 5.0,
        "blocks": "discharge", "releases_above": 2.9, "release_after_s": 30.0,
        "release_needs": "charging",
    }  # fmt: skip
    assert written_rule(HIGH)["releases_below"] == 3.45
    assert written_rule(COLD) == {
        "watches": "temperature", "trips_below": 0.0, "after_s": 1.0, "blocks": "charge",
    }  # fmt: skip
    assert written_rule(CURRENT)["blocks"] == "both"
