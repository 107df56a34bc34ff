"""Why something switched, from events written by hand."""

from dataclasses import replace

import pytest
from made_results import Course, event, made
from simple_banks import affine, bank_of

from bankSim.model.cell import ZERO_C_K
from bankSim.model.rule import Blocks, Release, Rule, Watch
from bankSim.model.upkeep import Thermal
from bankSim.show.causes import cause, first_trips
from bankSim.sim.result import RELEASE, TRIP

HOT = Rule(
    Watch.TEMPERATURE, False, 60.0 + ZERO_C_K, 1.0, Blocks.CHARGE, Release(50.0 + ZERO_C_K, 4.0)
)
# the same limit, but discharge goes on for half a minute, and never comes back
LATER = replace(HOT, delay_s=30.0, blocks=Blocks.DISCHARGE, release=None)


def trip(time_s, rule, read_C=60.0, what=TRIP, limit_C=60.0):
    return event(
        time_s, what, "a", watches=rule.watches.value, value=read_C, threshold=limit_C,
        unit="degC", blocks=rule.blocks.name.lower(),
    )  # fmt: skip


def result(*events, rules=(HOT, LATER)):
    one = replace(affine("a", rules=list(rules)), thermal=Thermal(9000.0, 2.0))
    return made(bank_of(one), [0.0, 1000.0], Course(), events=tuple(events))


def test_the_first_of_each_kind_of_trip():
    events = trip(10.0, HOT), trip(39.0, LATER), trip(300.0, HOT), trip(400.0, HOT, limit_C=65.0)
    assert [one.time_s for one in first_trips(result(*events))] == [10.0, 39.0, 400.0]


@pytest.mark.parametrize(
    ("rule", "read_C", "words"),
    [
        (HOT, 60.0, "its temperature stayed above 60.0 degC for 1 s"),
        (LATER, 60.0, "its temperature stayed above 60.0 degC for 30 s"),
        (HOT, 63.2, "its temperature stayed above 60.0 degC for 1 s (read 63.2 degC)"),
    ],
)
def test_two_rules_at_one_limit_have_their_own_delays(rule, read_C, words):
    one = trip(10.0, rule, read_C)
    assert cause(result(one), one) == words


def test_a_release_is_that_of_the_rule_that_lets_go():
    back = trip(99.0, HOT, 50.0, RELEASE, 50.0)
    for rules in ((HOT, LATER), (LATER, HOT), (replace(LATER, blocks=Blocks.CHARGE), HOT)):
        told = cause(result(back, rules=rules), back)
        assert told == "its temperature stayed below 50.0 degC for 4 s"


def test_a_temperature_is_told_to_a_hundredth():
    frost = Rule(Watch.TEMPERATURE, True, ZERO_C_K, 1.0, Blocks.CHARGE)
    one = trip(10.0, frost, -0.000544, limit_C=0.0)
    assert cause(result(one, rules=[frost]), one) == "its temperature stayed below 0 degC for 1 s"


@pytest.mark.parametrize(
    ("cells_V", "told"),
    [
        ((3.4, 3.3, 3.3), "its cell 1 is back at 3.40 V"),
        ((3.4, 3.4, 3.3), "its cells 1 and 2 alike are back at 3.40 V"),
        ((3.4, 3.4, 3.4), "all its cells alike are back at 3.40 V"),
    ],
)
def test_one_cell_is_back_and_several_are(cells_V, told):
    full = Rule(Watch.HIGHEST_CELL, False, 3.6, 1.0, Blocks.CHARGE, Release(3.4))
    back = event(
        10.0, RELEASE, "a", watches=full.watches.value, value=3.4, threshold=3.4, unit="V", cell=1,
        blocks="charge", cell_voltages_V=cells_V,
    )  # fmt: skip
    assert cause(result(back, rules=[full]), back) == told
    # the same where the rule is not known
    assert cause(result(back, rules=[]), back) == told
