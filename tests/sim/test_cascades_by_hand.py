"""Which trips bring others about, from events written by hand: currents in amperes, times in s."""

from dataclasses import replace

import pytest
from made_results import Course, event, made
from simple_banks import affine, bank_of

from bankSim.model.cell import ZERO_C_K
from bankSim.model.rule import Blocks, Release, Rule, Watch
from bankSim.sim.cascades import cascades, chain_events, rule_of
from bankSim.sim.result import RELEASE, TRIP

OUT, INTO, VOLTS = Watch.DISCHARGE_CURRENT, Watch.CHARGE_CURRENT, Watch.BATTERY_VOLTAGE
BELOW = Rule(VOLTS, True, 12.0, 3.0)  # 3 s below 12 V
ABOVE = Rule(OUT, False, 45.0, 2.0)  # 2 s above 45 A
NAMES = "abc"


def trip(time_s, name, rule, before, after, **given):
    """A trip of a battery; currents of all just before and just after."""
    told = {
        "watches": rule.watches.value, "threshold": rule.threshold, "unit": rule.watches.unit,
        "blocks": rule.blocks.name.lower(), "currents_A": before, "currents_after_A": after,
    }  # fmt: skip
    return event(time_s, TRIP, name, **(told | given))


def back(time_s, name, blocks="discharge"):
    return event(time_s, RELEASE, name, blocks=blocks, watches=VOLTS.value, threshold=13.0)


def of(*events, rules=(BELOW, ABOVE), direction="discharge"):
    """Chains as (who went first, who followed) pairs."""
    three = [affine(name, rules=list(rules)) for name in NAMES]
    result = made(bank_of(*three), [0.0, 1.0], *[Course()] * 3, events=tuple(events))
    return cascades(result, direction)


def pairs(*events, **given):
    return [[(o.before.battery, o.event.battery) for o in chain] for chain in of(*events, **given)]


FIRST = trip(100.0, "a", BELOW, (30.0, 30.0, 30.0), (0.0, 40.0, 50.0))


def second(late_s, rule=ABOVE, name="b", at_A=42.0):
    amps = (0.0, at_A, 50.0) if name == "b" else (0.0, 42.0, at_A)
    return trip(100.0 + late_s, name, rule, amps, (0.0, 0.0, 0.0))


def test_a_link_tells_the_current_before_and_at_the_trip():
    ((link,),) = of(FIRST, second(2.0))
    assert (link.before.battery, link.event.battery) == ("a", "b")
    assert (link.from_A, link.to_A) == (30.0, 42.0)


@pytest.mark.parametrize(
    ("rule", "late_s", "follows"),
    [
        # on voltage: its 3 s began with the jump or up to 1 s later
        (BELOW, 2.9, False), (BELOW, 3.0, True), (BELOW, 4.0, True), (BELOW, 4.1, False),
        # on current: up to 60 s after the jump, or its 2 s began within that time
        (ABOVE, 0.0, True), (ABOVE, 2.0, True), (ABOVE, 60.0, True), (ABOVE, 62.0, True),
        (ABOVE, 62.1, False),
    ],
)  # fmt: skip
def test_when_a_trip_comes_of_another(rule, late_s, follows):
    assert pairs(FIRST, second(late_s, rule)) == ([[("a", "b")]] if follows else [])


@pytest.mark.parametrize(("delay_s", "late_s", "follows"),
                         [(100.0, 50.0, True), (100.0, 61.0, False), (100.0, 100.0, True),
                          (100.0, 160.0, True), (100.0, 161.0, False)])  # fmt: skip
def test_a_slow_rule_on_current(delay_s, late_s, follows):
    slow = replace(ABOVE, delay_s=delay_s)
    found = pairs(FIRST, second(late_s, slow), rules=(BELOW, slow))
    assert found == ([[("a", "b")]] if follows else [])


@pytest.mark.parametrize(
    ("from_A", "jumped_A", "to_A", "follows"),
    [
        # a jump of 5 % is the least
        (30.0, 31.4, 31.4, False), (30.0, 31.6, 31.6, True), (30.0, 30.0, 90.0, False),
        # half of the rise comes from it
        (30.0, 40.0, 50.0, True), (30.0, 40.0, 50.1, False),
        # it was charged before: any discharge is a jump
        (-10.0, 1.0, 12.0, True), (-10.0, -1.0, 5.0, False), (0.0, 20.0, 20.0, True),
    ],
)  # fmt: skip
@pytest.mark.parametrize("direction", ["discharge", "charge"])
def test_how_much_of_its_current_came_from_there(from_A, jumped_A, to_A, follows, direction):
    sign, watch = (1.0, OUT) if direction == "discharge" else (-1.0, INTO)
    rule = Rule(watch, False, 20.0, 2.0, Blocks[direction.upper()])
    first = trip(100.0, "a", rule, (9.0, sign * from_A, 0.0), (0.0, sign * jumped_A, 0.0))
    then = trip(102.0, "b", rule, (0.0, sign * to_A, 0.0), (0.0, 0.0, 0.0))
    found = pairs(first, then, rules=(rule,), direction=direction)
    assert found == ([[("a", "b")]] if follows else [])
    other = "charge" if direction == "discharge" else "discharge"
    assert pairs(first, then, rules=(rule,), direction=other) == []


def test_a_rule_that_blocks_both_counts_either_way():
    both = replace(ABOVE, blocks=Blocks.BOTH)
    then = trip(102.0, "b", both, (0.0, 42.0, 50.0), (0.0, 0.0, 0.0))
    assert pairs(FIRST, then, rules=(BELOW, both)) == [[("a", "b")]]


@pytest.mark.parametrize(
    ("releases", "follows"),
    [
        ((back(101.0, "b"),), False), ((back(101.0, "b", "both"),), False),
        ((back(102.0, "b"),), False),
        # any path of its own at the very instant that the other one leaves
        ((back(100.0, "b", "charge"),), False),
        # its other path later, another battery, another time
        ((back(101.0, "b", "charge"),), True), ((back(101.0, "c"),), True),
        ((back(99.0, "b"),), True), ((back(103.0, "b"),), True),
        ((back(99.0, "b"), back(101.0, "b")), False),
    ],
)  # fmt: skip
def test_a_return_of_its_own_in_between(releases, follows):
    events = sorted([FIRST, *releases, second(2.0)], key=lambda one: one.time_s)
    assert pairs(*events) == ([[("a", "b")]] if follows else [])


def test_chains():
    # both follow the first
    third = second(3.0, name="c", at_A=55.0)
    assert pairs(FIRST, second(2.0), third) == [[("a", "b"), ("a", "c")]]
    # one after the other: it is the last of the two that gives it its jump
    two = trip(102.0, "b", ABOVE, (0.0, 42.0, 50.0), (0.0, 0.0, 95.0))
    three = trip(104.0, "c", ABOVE, (0.0, 0.0, 95.0), (0.0, 0.0, 0.0))
    (chain,) = of(FIRST, two, three)
    assert [one.before.battery for one in chain] == ["a", "b"]
    assert [one.battery for one in chain_events(chain)] == ["a", "b", "c"]
    # much later the same again is another chain
    again = [replace(one, time_s=one.time_s + 5000.0) for one in (FIRST, two, three)]
    assert pairs(FIRST, two, three, *again) == [[("a", "b"), ("b", "c")]] * 2


def test_a_battery_is_in_a_chain_once():
    # "a" comes back and trips of what "b" left: that begins a chain of its own
    two = trip(102.0, "b", ABOVE, (0.0, 42.0, 50.0), (20.0, 0.0, 60.0))
    again = trip(104.0, "a", ABOVE, (20.0, 0.0, 60.0), (0.0, 0.0, 80.0))
    two = replace(two, currents_A=(10.0, 42.0, 50.0))
    assert pairs(FIRST, two, again) == [[("a", "b")], [("b", "a")]]


def test_nobody_follows_himself():
    again = trip(102.0, "a", ABOVE, (42.0, 40.0, 50.0), (0.0, 0.0, 0.0))
    first = replace(FIRST, currents_after_A=(40.0, 40.0, 50.0))
    assert pairs(first, again) == []


def rule_for(rules, what=TRIP, name="b", **given):
    bank = bank_of(affine("a", rules=[ABOVE]), affine("b", rules=list(rules)))
    return rule_of(made(bank, [0.0, 1.0], Course(), Course()), event(0.0, what, name, **given))


def test_which_rule_it_was():
    release = Rule(VOLTS, True, 12.0, 5.0, release=Release(13.0, 7.0))
    rules = (ABOVE, BELOW, release)
    told = {"watches": VOLTS.value, "blocks": "discharge"}
    assert rule_for(rules, threshold=12.0, **told) is BELOW
    assert rule_for(rules, threshold=12.0001, **told) is None
    assert rule_for(rules, threshold=12.0, watches=OUT.value, blocks="discharge") is None
    assert rule_for(rules, threshold=12.0, name="a", **told) is None
    # only one of them lets go, and there
    assert rule_for(rules, RELEASE, threshold=13.0, **told) is release
    assert rule_for(rules, RELEASE, threshold=12.0, **told) is None


def test_two_rules_at_one_limit_are_told_apart_by_what_they_block():
    # charge stops at once at 60 degrees C, discharge only after 30 s
    hot = Rule(Watch.TEMPERATURE, False, 60.0 + ZERO_C_K, 1.0, Blocks.CHARGE)
    later = replace(hot, delay_s=30.0, blocks=Blocks.DISCHARGE)
    told = {"watches": Watch.TEMPERATURE.value, "threshold": 60.0}
    for one in (hot, later):
        assert rule_for((hot, later), blocks=one.blocks.name.lower(), **told) is one
