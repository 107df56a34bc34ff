"""Batteries too cold to take charge while a charger is there: counted span by span."""

from dataclasses import replace

import numpy as np
import pytest
from made_results import Course, event, made
from pytest import approx
from simple_banks import affine, bank_of

from bankSim.model.charger import Charger, Stage
from bankSim.model.load import Schedule
from bankSim.model.upkeep import Heater
from bankSim.sim.cautions.cold import heating, of_cold
from bankSim.sim.result import RELEASE, STAGE, TRIP

TIMES_S = np.arange(0.0, 7300.0, 100.0)
WHOLE_RUN_H = 2.0


def trip(time_s=0.0, battery="a", what=TRIP, **given):
    """A rule that blocks charge below 0 degC trips at -1 degC."""
    told = {"watches": "temperature", "value": -1.0, "threshold": 0.0, "blocks": "charge"}
    return event(time_s, what, battery, **(told | given))


def mains(hold_V=13.6, amps=5.0, name="mains", **schedule):
    return Charger(name, (Stage(12.0), Stage(hold_V)), limit_A=amps, schedule=Schedule(**schedule))


def found(*events, times_s=TIMES_S, chargers=(mains(),), others=(), course=Course(V=13.0), **more):
    """The cautions of a battery "a" beside others, as (caution, ...)."""
    names = "bcd"[: len(others)]
    bank = bank_of(*map(affine, ("a", *names)), chargers=tuple(chargers), **more)
    return list(of_cold(made(bank, times_s, course, *others, events=tuple(events))))


def hours(*events, **more):
    """How long "a" is told to be locked out, 0 where it is not. [h]"""
    return sum(one.value for one in found(*events, **more))


# an hour (LONG_S); from the trip to the release, or to the end
@pytest.mark.parametrize(
    ("until_s", "expected_h"),
    [(1000.0 + 3500.0, 0.0), (1000.0 + 3700.0, 3700.0 / 3600.0), (None, 6200.0 / 3600.0)],
)
def test_locked_out_from_trip_to_release(until_s, expected_h):
    release = [] if until_s is None else [trip(until_s, what=RELEASE)]
    cautions = found(trip(1000.0), *release)
    assert [one.value for one in cautions] == approx([expected_h] if expected_h else [])
    for one in cautions:
        assert (one.severity, one.limit, one.unit) == ("warning", 1.0, "h")
        assert one.text.startswith(
            f'"a" is too cold to take charge for {expected_h:.2f} h in which a charger could'
        )
        assert "a heater, a warmer place" in one.advice


def test_several_cold_times_add_up():
    # 2000 s and 3000 s; the second trip in the same frost changes nothing, nor a stray release
    events = [
        trip(0.0, what=RELEASE), trip(500.0), trip(1500.0), trip(2500.0, what=RELEASE),
        trip(2600.0, what=RELEASE), trip(3000.0), trip(6000.0, what=RELEASE),
    ]  # fmt: skip
    assert hours(*events) == approx(5000.0 / 3600.0)


@pytest.mark.parametrize(
    ("given", "locked"),
    [
        ({}, True),
        ({"value": 0.0}, True),
        ({"blocks": "both"}, True),
        ({"blocks": "discharge"}, False),
        ({"value": 60.0, "threshold": 55.0}, False),  # too hot
        ({"watches": "highest cell voltage"}, False),
        ({"value": None}, False),
        ({"threshold": None}, False),
        ({"battery": "b"}, False),
    ],
)
def test_only_a_rule_that_blocks_charge_in_the_cold_counts(given, locked):
    assert hours(trip(**given)) == (WHOLE_RUN_H if locked else 0.0)


# from 95 % on a battery misses nothing (NO_ROOM); a charger must hold more than its own voltage
# and give 0.1 A (CHARGER_ON_A)
@pytest.mark.parametrize(
    ("course", "charger", "locked"),
    [
        (Course(z=0.94), mains(), True),
        (Course(z=0.96), mains(), False),
        (Course(V=13.59), mains(), True),
        (Course(V=13.61), mains(), False),
        (Course(V=[13.59, 13.61] * 36 + [13.59]), mains(), False),
        (Course(V=[13.61, 13.59] * 36 + [13.61]), mains(), False),
        (Course(), mains(amps=0.09), False),
        (Course(), mains(amps=0.11), True),
    ],
)
def test_what_could_be_charged(course, charger, locked):
    assert hours(trip(), course=course, chargers=[charger]) == (WHOLE_RUN_H if locked else 0.0)
    assert hours(trip(), course=course, chargers=[]) == 0.0


def test_room_is_asked_span_by_span():
    # 50 % at first, 97 % from 4950 s on: the mean of span 4900 to 5000 s is 73.5 %
    level = np.where(TIMES_S < 4950.0, 0.5, 0.97)
    assert hours(trip(), course=Course(z=level)) == approx(5000.0 / 3600.0)


def test_a_voltage_above_the_charger_at_either_end_of_a_span_rules_it_out():
    volts = np.where(TIMES_S < 950.0, 13.7, 13.0)
    assert hours(trip(), course=Course(V=volts)) == approx(6200.0 / 3600.0)


def test_the_highest_charger_that_is_on_counts():
    # the higher one is on from 0:30 to 2:00, the run starts at 0:15 on the wall clock
    high = mains(13.8, daily_s=((1800.0, 7200.0),))
    chargers = [high, mains(13.2, name="low")]
    told_h = hours(trip(), course=Course(V=13.7), chargers=chargers, starts_at_s=900.0)
    assert told_h == approx((7200.0 - 1800.0) / 3600.0)


# the frost comes at 2000 s; what had ended its last stage by then is off, what ends it in the
# frost only because nobody takes its charge is still there
@pytest.mark.parametrize(
    ("ended_s", "source", "value", "locked"),
    [
        (1950.0, "mains", 0.0, False),
        (1950.0, "mains", 2.0, True),  # goes on with its second stage
        (1950.0, "other", 0.0, True),
        (2050.0, "mains", 0.0, True),
        (7200.0, "mains", 0.0, True),
    ],
)
def test_a_charger_that_had_ended_its_charge_is_not_there(ended_s, source, value, locked):
    events = [event(ended_s, STAGE, source=source, value=value), trip(2000.0)]
    events.sort(key=lambda one: one.time_s)
    assert hours(*events) == approx(5200.0 / 3600.0 if locked else 0.0)
    # what else is told of a charger without a value is no end
    assert hours(event(100.0, TRIP, source="mains"), trip(2000.0)) == approx(5200.0 / 3600.0)


# beside 7200 s in which it is locked out, others take charge for so long: less than 60 s is next to
# none (NEXT_TO_NO_TIME_S), from a tenth on it is told (CHARGED_PART)
@pytest.mark.parametrize(
    ("others_s", "lone", "several"),
    [
        (50.0, '; "b" is not charged meanwhile.', "; no other is charged meanwhile."),
        (70.0, "could charge it.", "could charge it."),
        (700.0, "could charge it.", "could charge it."),
        (740.0, '; "b" is charged meanwhile.', "; others are charged meanwhile."),
    ],
)
def test_whether_others_are_charged_meanwhile(others_s, lone, several):
    times_s = [0.0, others_s, others_s, 7200.0]
    # more than 0.1 A is charge (CHARGER_ON_A)
    takes, trickle = (Course(A=[-amps, -amps, 0.0, 0.0]) for amps in (0.11, 0.09))
    (one,) = found(trip(), times_s=times_s, others=[takes])
    assert one.text.endswith(lone)
    (one,) = found(trip(), times_s=times_s, others=[trickle, takes, Course(A=5.0)])
    assert one.text.endswith(several)
    (one,) = found(trip(), times_s=times_s, others=[trickle, trickle])
    assert one.text.endswith("; no other is charged meanwhile.")
    # what it takes itself before it is cold is none of theirs
    (one,) = found(trip(), times_s=times_s, others=[Course()], course=Course(A=-9.0))
    assert one.text.endswith('; "b" is not charged meanwhile.')


def test_others_that_are_charged_while_it_is_not_cold_do_not_count():
    # 5 A into the other for 2000 s before the frost
    amps = np.where(TIMES_S < 1950.0, -5.0, 0.0)
    (one,) = found(trip(2000.0), others=[Course(A=amps)])
    assert one.text.endswith('; "b" is not charged meanwhile.')
    # means of rows: 0.09 A
    amps = np.where(np.arange(TIMES_S.size) % 2, -0.15, -0.03)
    (one,) = found(trip(2000.0), others=[Course(A=amps)])
    assert one.text.endswith('; "b" is not charged meanwhile.')


def test_who_has_a_heater_is_told_to_heat_more():
    plain, heated = affine("a"), replace(affine("b"), heater=Heater(20.0, 275.0, 280.0))
    result = made(bank_of(plain, heated), TIMES_S, Course(), Course())
    assert heating(result, 0) == "a heater"
    assert heating(result, 1) == "more power of its heater, or for longer"
