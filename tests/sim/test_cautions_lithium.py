"""Lithium that nothing stops at the top, that is held there, or that never gets near it."""

from dataclasses import replace

import pytest
from made_results import Course, event, made
from pytest import approx
from simple_banks import affine_cell, bank_of, battery

from bankSim.model.charger import Charger, Stage
from bankSim.model.rule import Blocks, Rule, Watch
from bankSim.sim.cautions.lithium import of_lithium
from bankSim.sim.result import STAGE

NO_STOP, HELD, LOW = (
    "no cut-out at high voltage", "held at a high voltage", "charge voltage too low for LFP"
)  # fmt: skip
STOP = Rule(Watch.HIGHEST_CELL, False, 3.65, 0.0, Blocks.CHARGE)


def four(name="a", word="LFP", *rules):
    return battery(name, *[affine_cell(base=3.0, span=0.5)] * 4, rules=rules, chemistry=word)


def mains(hold_V=14.0, tail_A=None, name="mains"):
    return Charger(name, (Stage(hold_V, tail_A),), limit_A=20.0)


def found(*batteries, course=Course(), times_s=(0.0, 10.0), chargers=(), **more):
    bank = bank_of(*batteries, chargers=tuple(chargers))
    result = made(bank, list(times_s), *[course] * len(batteries), **more)
    return {one.topic: one for one in of_lithium(result)}


def test_who_has_no_cut_out_at_high_voltage():
    some = four("a"), four("b", "NMC"), four("c", "LFP", STOP), four("d", "AGM"), four("e", None)
    one = found(*some, chargers=[mains()])[NO_STOP]
    assert (one.severity, one.value, one.limit, one.unit) == ("warning", None, None, "")
    assert one.text.startswith('"a" and "b" have no rule that stops charge at a high voltage;')
    assert found(some[1], chargers=[mains()])[NO_STOP].text.startswith('"b" has no rule')
    assert found(*some[2:], chargers=[mains()]) == {}
    assert found(*some) == {}


TOP = Course(A=0.0, V=14.0, z=0.95)
TWO_H = (0.0, 7300.0)


# for 2 h at 3.5 V a cell, less 5 mV, on the mean (13.98 V of four), 90 % in; charge not blocked
@pytest.mark.parametrize(
    ("word", "change", "lasts_s", "told"),
    [
        ("LFP", {}, 7300.0, True), ("LFP", {}, 7100.0, False), ("NMC", {}, 7300.0, False),
        ("LFP", {"V": 13.981}, 7300.0, True), ("LFP", {"V": 13.979}, 7300.0, False),
        ("LFP", {"cells": (3.4, 3.6, 3.4, 3.59)}, 7300.0, True),
        ("LFP", {"z": 0.91}, 7300.0, True), ("LFP", {"z": 0.89}, 7300.0, False),
        ("LFP", {"mode": 1}, 7300.0, False), ("LFP", {"mode": 3}, 7300.0, False),
        ("LFP", {"mode": 2}, 7300.0, True),
    ],
)  # fmt: skip
def test_how_long_at_the_top(word, change, lasts_s, told):
    cautions = found(
        four("a", word, STOP), course=replace(TOP, **change), times_s=(0.0, lasts_s),
        chargers=[mains()], loads_V=14.0,
    )  # fmt: skip
    assert (HELD in cautions) == told


def test_only_what_a_charger_feeds_or_holds_up_is_held():
    def held(**more):
        return HELD in found(four(), course=TOP, times_s=TWO_H, chargers=[mains()], **more)

    assert held(charger_A=[0.5], loads_V=13.9)
    assert held(charger_A=[0.0], loads_V=14.0)
    assert not held(charger_A=[0.0], loads_V=13.9)


def test_how_it_is_told():
    one = found(four(), course=TOP, times_s=(0.0, 9000.0))[HELD]
    assert (one.severity, one.value, one.limit, one.unit) == ("warning", approx(2.5), 2.0, "h")
    assert 'The cells of "a" are at 3.50 V or above for 2.50 h in all; LFP is full' in one.text
    assert one.advice == (
        "End the charge when its current has fallen (a stage that ends at a tail current), then "
        "hold about 3.35 to 3.40 V a cell or nothing."
    )


# the charger gives 10 A, the battery takes 7 A of them: the loads draw 3 A; before, nothing is held
@pytest.mark.parametrize(
    ("chargers", "events", "by_time"),
    [
        ([mains(tail_A=2.9)], (), True),
        ([mains(tail_A=3.1)], (), False),
        ([mains(tail_A=None)], (), False),
        ([mains(tail_A=2.9)], (event(50.0, STAGE, source="mains"),), False),
        ([mains(tail_A=2.9), mains(name="second")], (), False),
    ],
)
def test_a_tail_below_what_the_loads_draw_never_comes(chargers, events, by_time):
    times_s, amps = (0.0, 100.0, 100.0, 9000.0), [50.0, 50.0, -7.0, -7.0]
    course = replace(TOP, V=[13.0, 13.0, 14.0, 14.0], A=amps)
    charger_A = [[0.0, 0.0, 10.0, 10.0], *([[0.0] * 4] if len(chargers) > 1 else [])]
    one = found(
        four(), course=course, times_s=times_s, chargers=chargers, charger_A=charger_A,
        events=events,
    )[HELD]  # fmt: skip
    assert one.advice.startswith("End the charge by time (at_most_h)") == by_time
    if by_time:
        assert 'of "mains" does not fall to its tail of 2.90 A while it feeds the loads with ' in (
            one.advice
        )
        assert "with 3.00 A, then hold" in one.advice


# below 3.38 V a cell, 13.52 V of four, and never at 90 %, though the charger gives at its hold
@pytest.mark.parametrize(
    ("word", "hold_V", "z", "loads_V", "charger_A", "told"),
    [
        ("LFP", 13.51, 0.89, 13.51, 1.0, True),
        ("LFP", 13.53, 0.89, 13.53, 1.0, False),
        ("LFP", 13.51, 0.91, 13.51, 1.0, False),
        ("NMC", 13.51, 0.89, 13.51, 1.0, False),
        ("LFP", 13.51, 0.89, 13.514, 1.0, True),
        ("LFP", 13.51, 0.89, 13.506, 1.0, True),
        ("LFP", 13.51, 0.89, 13.504, 1.0, False),
        ("LFP", 13.51, 0.89, 13.51, 0.0, False),
    ],
)
def test_a_charge_voltage_at_which_lfp_never_gets_full(word, hold_V, z, loads_V, charger_A, told):
    chargers = [mains(13.0, name="low"), mains(hold_V)]
    cautions = found(
        four("a", word, STOP), course=Course(z=z), chargers=chargers, loads_V=loads_V,
        charger_A=[0.0, charger_A],
    )  # fmt: skip
    assert set(cautions) == ({LOW} if told else set())


def test_how_too_low_a_voltage_is_told():
    one = found(
        four(), course=Course(z=[0.5, 0.8765]), chargers=[mains(13.456)], loads_V=13.456,
        charger_A=[1.0],
    )[LOW]  # fmt: skip
    assert (one.severity, one.value, one.unit) == ("note", 13.456, "V")
    assert one.limit == approx(13.52)
    assert one.text.startswith(
        'No charger holds more than 13.46 V: "a" gets no further than 88 % of its charge,'
    )
    # 3.5 to 3.6 V a cell (FILLS_V)
    assert "14.0 to 14.4 V for 4 cells are usual" in one.advice
