"""Chargers, loads that cut themselves off and heaters in sentences, on rows written by hand."""

from dataclasses import replace

import numpy as np
import pytest
from made_results import Course, event, made
from simple_banks import affine, bank_of, steady

from bankSim.model.charger import Charger, Stage
from bankSim.model.upkeep import Heater
from bankSim.show.chapters import HEAVY
from bankSim.show.course import course_of
from bankSim.show.supplies import charger_lines, heater_lines, load_chapters
from bankSim.sim.result import (
    COLLAPSE,
    HEATER_OFF,
    HEATER_ON,
    LOAD_OFF,
    LOAD_ON,
    LOAD_STAYS_OFF,
    REFUSED,
    STAGE,
    ChargerOutcome,
)

H = 3600.0
HOURS = np.arange(0.0, 11.0)


def run_of(amps, *events, given_Ah=None, batteries=None, bus_V=13.0, bank_A=None):
    """Ten hours of chargers "p", "q", ... that give so much in every hour; row by row. [A]"""
    names = "pqrstu"[: len(amps)]
    stages = (Stage(14.4, most_s=2 * H), Stage(13.6))
    chargers = tuple(Charger(name, stages, limit_A=20.0) for name in names)
    bank = bank_of(*(batteries or [affine("a")]), load=steady(1.0), chargers=chargers,
                   duration_s=10 * H)  # fmt: skip
    rows = [np.broadcast_to(np.asarray(one, float), HOURS.shape) for one in amps]
    courses = [Course(A=-sum(rows))] + [Course()] * (len(bank.batteries) - 1)
    result = made(bank, H * HOURS, *courses, charger_A=rows, bus_V=bus_V, events=tuple(events),
                  bank_A=bank_A)  # fmt: skip
    given = given_Ah or [float(np.trapezoid(one)) for one in rows]
    told = [
        ChargerOutcome(name, Ah, 14.0 * Ah, float(one.max()))
        for name, Ah, one in zip(names, given, rows, strict=True)
    ]
    return replace(result, chargers=tuple(told))


def lines(*args, **more):
    result = run_of(*args, **more)
    return charger_lines(result, course_of(result))


def test_a_charger_tells_what_it_gives_and_when():
    # 5 A for five hours, nothing from 6 h on (falling for an hour): 27.5 Ah at 14 V
    fades = np.where(HOURS < 5.5, 5.0, 0.0)
    assert lines([fades]) == [
        'The charger "p" gives 27.5 Ah (0.385 kWh), 5.00 A at most; current flows during 6.00 h; '
        "it never reaches its hold."
    ]


def test_breaks_of_two_hours_part_its_periods():
    # rows at which nothing flows: 3 to 6 h (a break of 3 h), and 3 to 5 h (one of 2 h)
    long, short = (np.where((HOURS >= 3) & (end + 1 > HOURS), 0.0, 4.0) for end in (6, 5))
    assert "current flows during 7.00 h in 2 periods" in lines([long])[0]
    assert "current flows during 8.00 h;" in lines([short])[0]


def test_a_charger_that_gives_nothing():
    assert lines([0.0]) == ['The charger "p" gives nothing.']
    assert lines([0.0], given_Ah=[9e-4]) == ['The charger "p" gives nothing.']
    assert "gives 0.00200 Ah" in lines([0.0002], given_Ah=[0.002])[0]


def test_of_many_chargers_four_are_told():
    assert len(lines([1.0] * 4)) == 4
    assert lines([1.0] * 5)[4:] == ["1 more charger: summary.json."]  # was "1 more chargers"
    assert lines([1.0] * 6)[4:] == ["2 more chargers: summary.json."]


def stage(hour, number, name="p"):
    return event(hour * H, STAGE, source=name, value=number)


def stages_of(*events):
    """What is told of the stages of "p" behind "never reaches its hold"."""
    # the bus stands at 14.4 V: no stage is cut short
    told = lines([2.0], *events, bus_V=14.4)[0]
    return [one.strip(" .") for one in told.split(";")[3:]]


def test_when_later_stages_begin_and_the_last_one_ends():
    assert stages_of() == []
    assert stages_of(stage(5.0, 2.0)) == ["stage 2 begins after 5.00 h"]
    assert stages_of(stage(5.0, 2.0), stage(7.0, 2.0), stage(6.0, 2.0, "q")) == [
        "stage 2 begins after 5.00 h, a later stage 2 times in all"
    ]
    assert stages_of(stage(5.0, 2.0), stage(6.0, 0.0), stage(8.0, 0.0)) == [
        "stage 2 begins after 5.00 h",
        "it ends its last stage after 6.00 h (the first of 2 times)",
    ]
    assert stages_of(stage(6.0, 0.0)) == ["it ends its last stage after 6.00 h"]


def test_a_stage_that_time_ended_before_its_voltage():
    told = lines([2.0], stage(2.0, 2.0))[0]  # 2 h are its limit, and the bus is at 13.0 V
    assert (
        "stage 1 ended by its time limit before its voltage was reached (13.00 of 14.40 V)" in told
    )
    assert "such ends" not in told


def chapters(*events, amps=0.0):
    result = run_of([amps], *events)
    return load_chapters(result, course_of(result))


def off(hour, what=LOAD_OFF, limit=11.5, name="tv"):
    return event(hour * H, what, source=name, threshold=limit)


def test_a_load_that_cuts_itself_off():
    (one,) = chapters(off(3.0))
    assert one.text == (
        'The load "tv" cuts itself off after 3.00 h (below 11.50 V); in the end it stays off.'
    )
    (back,) = chapters(off(3.0), off(4.0, LOAD_ON, 12.5))
    assert back.text == (
        'The load "tv" cuts itself off after 3.00 h (below 11.50 V); it restarts after 4.00 h, at '
        "12.50 V."
    )
    often = [off(3.0), off(4.0, LOAD_ON, 12.5), off(5.0), off(6.0, LOAD_ON, 12.5), off(7.0)]
    (many,) = chapters(*often)
    assert many.text == (
        'The load "tv" cuts itself off after 3.00 h (below 11.50 V), 3 times up to 7.00 h; it '
        "restarts after 4.00 h (the first of 2 times), at 12.50 V; in the end it stays off."
    )
    assert many.time_s == 3.0 * H


def test_a_load_that_stays_off_for_good_though_it_came_back_as_often():
    gone = [off(3.0), off(4.0, LOAD_ON, 12.5), off(5.0, LOAD_STAYS_OFF)]
    assert chapters(*gone)[0].text.endswith("; in the end it stays off.")


@pytest.mark.parametrize(("later_s", "words"), [(0.0004, "at once"), (10.0, "10.0 s later")])
def test_off_and_on_within_seconds(later_s, words):
    both = chapters(off(5.0), off(5.0 + later_s / H, LOAD_ON, 12.5))
    assert f"; it restarts {words}, at 12.50 V." in both[0].text
    twice = chapters(off(5.0), off(5.0 + 10.0 / H))
    assert ", 2 times within 10.0 s" in twice[0].text


def test_what_could_not_be_fed():
    # loads draw what chargers give less what goes into "a": here nothing, so never again
    (one,) = chapters(event(3.0 * H, COLLAPSE))
    assert one.text == "The loads cannot be fed after 3.00 h."
    assert one.weight == HEAVY
    (two,) = chapters(event(3.0 * H, COLLAPSE), event(5.0 * H, COLLAPSE))
    assert two.text == "The loads cannot be fed after 3.00 h, 2 times in all."
    (refused,) = chapters(event(3.0 * H, REFUSED))
    assert refused.text == "Charge is offered that no battery accepts after 3.00 h."


def test_when_current_is_drawn_again_after_that():
    # the bank gives 2 A from 6 h on; loads could not be fed at 3 h
    result = run_of([0.0], event(3.0 * H, COLLAPSE), bank_A=np.where(HOURS >= 6.0, 2.0, 0.0))
    (one,) = load_chapters(result, course_of(result))
    assert one.text == (
        "The loads cannot be fed after 3.00 h; current is drawn again after 5.00 h."
    )
    # what was drawn before is none, and what a charger gives feeds them, too
    before = run_of([0.0], event(3.0 * H, COLLAPSE), bank_A=np.where(HOURS < 2.0, 2.0, 0.0))
    assert "drawn again" not in load_chapters(before, course_of(before))[0].text
    fed = run_of([np.where(HOURS >= 6.0, 2.0, 0.0)], event(3.0 * H, COLLAPSE), bank_A=0.0)
    assert "again after 5.00 h" in load_chapters(fed, course_of(fed))[0].text
    refused = run_of([0.0], event(3.0 * H, REFUSED), bank_A=np.where(HOURS >= 6.0, 2.0, 0.0))
    assert "drawn again" not in load_chapters(refused, course_of(refused))[0].text


def heated(*events, needs_charger=False, amps=0.0, names="ab"):
    warm = [
        replace(affine(name), heater=Heater(30.0, 278.0, 281.0, needs_charger=needs_charger))
        for name in names
    ]
    result = run_of([amps], *events, batteries=warm)
    return heater_lines(result, course_of(result))


def heater(hour, what=HEATER_ON, battery="a"):
    return event(hour * H, what, battery)


def test_how_long_a_heater_is_called_for():
    assert heated() == []
    assert heated(heater(9.0)) == [
        'The heater of "a", 30.0 W, is called for 1 time, 1.00 h in all.'  # until the end, at 10 h
    ]
    twice = [heater(1.0), heater(2.5, HEATER_OFF), heater(4.0), heater(6.0, HEATER_OFF)]
    assert heated(*twice) == ['The heater of "a", 30.0 W, is called for 2 times, 3.50 h in all.']
    assert heated(heater(8.0, battery="b")) == [
        'The heater of "b", 30.0 W, is called for 1 time, 2.00 h in all.'  # that of "a" never is
    ]
    both = heated(heater(9.0), heater(8.0, battery="b"))
    assert both[1] == 'The heater of "b", 30.0 W, is called for 1 time, 2.00 h in all.'


def test_a_heater_that_needs_a_charger_warms_only_while_one_gives():
    # current until 5 h, falling until 6 h: of 3 h to 8 h that are 3 h
    fades = np.where(HOURS < 5.5, 5.0, 0.0)
    (one,) = heated(heater(3.0), heater(8.0, HEATER_OFF), needs_charger=True, amps=fades)
    assert one == (
        'The heater of "a", 30.0 W, is called for 1 time, 5.00 h in all; it warms only while a '
        "charger is on: one gives current during 3.00 h of that."
    )


@pytest.mark.parametrize(("names", "more"), [("abcd", []), ("abcde", [1]), ("abcdef", [2])])
def test_of_many_heaters_four_are_told_and_the_others_counted(names, more):
    told = heated(*(heater(9.0, battery=name) for name in names), names=names)
    words = {1: "1 more heater", 2: "2 more heaters"}
    assert told[4:] == [f"{words[count]}: events.csv." for count in more]
