"""What a charger holds is told by its stage, and who leaves it idle."""

from dataclasses import replace

import numpy as np
from pytest import approx
from simple_banks import affine, bank_of, run, steady

from bankSim.model.battery import Battery
from bankSim.model.charger import Charger, Stage, Sun
from bankSim.model.chemistry import LFP
from bankSim.model.load import Schedule
from bankSim.model.rule import Blocks, Rule, Watch
from bankSim.show.charger_stages import holds_words, stage_holds_V
from bankSim.show.course import course_of
from bankSim.show.supplies import charger_lines
from bankSim.sim.cautions.chargers_there import could_give_A
from bankSim.sim.stages import cut_short

HOUR_S = 3600.0


def charger(name, *stages, amps=10.0, hours=None):
    windows = None if hours is None else tuple((a * HOUR_S, b * HOUR_S) for a, b in hours)
    return Charger(name, stages, limit_A=amps, schedule=Schedule(active_s=windows))


def told(*chargers, hours=8.0, z=0.5, Ah=100.0, **more):
    bank = bank_of(
        affine("a", 1e-3, Ah, z), chargers=chargers, duration_s=hours * HOUR_S,
        output_every_s=120.0, stop_when_empty=False, **more,
    )  # fmt: skip
    return run(bank)


def test_a_voltage_passed_on_the_way_up_is_not_held():
    # by hand: 13.11 V rises by 0.6 V / 10 h; for four minutes it is within 2 mV of 13.50 V
    result = told(charger("mains", Stage(14.6, most_s=9 * HOUR_S), Stage(13.5)))
    (line,) = charger_lines(result, course_of(result))
    assert "it never reaches its hold" in line
    assert "13.50 V" not in line


def test_a_charger_that_another_one_leaves_idle_is_told_so():
    # "mains" holds 13.60 V from 2 h to 6 h; the float of "panel" is below that all this time
    mains = charger("mains", Stage(13.6), amps=60.0, hours=((2.0, 6.0),))
    panel = charger("panel", Stage(14.2, most_s=1.0 * HOUR_S), Stage(13.3), amps=3.0)
    result = told(mains, panel, z=0.95, load=steady(4.0))
    lines = charger_lines(result, course_of(result))
    assert "idles" not in lines[0]
    assert 'in its stage of 13.30 V, while "mains" keeps the voltage above that' in lines[1]
    assert "it idles for 4.00 h" in lines[1]
    assert "at up to 13.60 V" in lines[1]


def test_one_that_never_gets_to_hold_is_not_said_never_to_reach_it():
    mains = charger("mains", Stage(13.8), amps=60.0)
    panel = charger("panel", Stage(13.0), amps=3.0)
    result = told(mains, panel, z=0.2, load=steady(1.0))
    line = charger_lines(result, course_of(result))[1]
    assert "it holds 13.00 V" not in line
    assert "it never holds the bus itself; it idles for 7.93 h in its stage of 13.00 V" in line
    assert 'while "mains" keeps the voltage above that' in line


def test_a_charger_of_the_sun_does_not_idle_at_night():
    # sunset at 16 h, while "mains" goes on to 20 h: it idled there "for 4 hours more"
    sun = Sun(400.0, 8 * HOUR_S, 16 * HOUR_S)
    panel = Charger("panel", (Stage(13.0),), sun=sun)
    mains = charger("mains", Stage(13.8), amps=60.0, hours=((0.0, 20.0),))
    result = told(mains, panel, hours=24.0, z=0.9, load=steady(1.0))
    at_night_s = np.array([0.0, 7.99, 16.0, 18.0, 23.9]) * HOUR_S
    assert (could_give_A(panel, at_night_s, 0.0) == 0.0).all()
    assert could_give_A(panel, np.array([12.0 * HOUR_S]), 0.0) == approx(400.0 / 13.0)
    words = charger_lines(result, course_of(result))[1]
    assert "idles for 8.00 h" in words or "idles for 7.9" in words


def test_a_battery_above_the_hold_is_nobodys_fault():
    result = told(charger("panel", Stage(13.2)), z=0.95, load=steady(1.0))
    words = holds_words(result, course_of(result), 0)
    assert "idles" not in words


def test_every_sunrise_begins_with_the_first_stage():
    sun = Sun(400.0, 8 * HOUR_S, 16 * HOUR_S)
    panel = Charger(
        "panel", (Stage(13.4, most_s=2 * HOUR_S), Stage(13.1, most_s=3 * HOUR_S)), sun=sun
    )
    result = told(panel, hours=48.0, load=steady(2.0), Ah=40.0)
    course = course_of(result)
    clock = (course.start_s + 0.5 * course.length_s) / HOUR_S % 24.0
    holds = stage_holds_V(result, course, panel)
    begun = [e.time_s / HOUR_S for e in result.events if e.source == "panel"]
    assert len(begun) == 4  # twice to the second stage, twice to the end
    assert holds[(clock > 8.01) & (clock < begun[0])] == approx(13.4)
    assert holds[(clock > begun[0]) & (clock < begun[1])] == approx(13.1)
    assert np.isnan(holds[(clock > begun[1]) | (clock < 8.0)]).all()


def short(limit_h, hours=None):
    """Ends its first stage by the clock; the first 13.11 V rise by 0.6 V in 10 h (by hand)."""
    stages = (Stage(13.4, tail_A=1.0, most_s=limit_h * HOUR_S), Stage(13.3))
    return told(charger("mains", *stages, hours=hours), hours=24.0)


def test_a_stage_that_ran_out_of_time_is_told_with_its_voltage():
    result = short(2.0, hours=((0.0, 2.5), (12.0, 13.0)))
    # 12.8 + 0.6 (0.5 + 20/100) + 10 A 1 mohm = 13.23 V
    (one, *others) = cut_short(result, 0)
    assert (one.time_s, one.reached_V) == (approx(2 * HOUR_S), approx(13.23, abs=1e-3))
    assert others == []
    (line,) = charger_lines(result, course_of(result))
    assert (
        "stage 1 ended by its time limit before its voltage was reached (13.23 of 13.40 V)" in line
    )
    (found,) = [one for one in result.cautions if one.topic == "stage ended below its voltage"]
    assert found.severity == "note"
    words = "time limit of 2.00 h after 2.00 h, before its voltage was reached (13.23 of 13.40 V)"
    assert words in found.text
    assert "longer at_most_h" in found.advice


def test_each_charger_is_told_once_with_a_count():
    result = short(1.0, hours=((0.0, 2.0), (6.0, 8.0)))
    (found,) = [one for one in result.cautions if one.topic == "stage ended below its voltage"]
    assert "the first of 2 times" in found.text


def test_a_stage_that_ends_at_its_voltage_is_not_told():
    # it holds 13.40 V from 4.7 h on, and runs out of time there
    for hours in (6.0, 1000.0):
        result = short(hours)
        assert cut_short(result, 0) == []
        assert "stage ended below its voltage" not in {one.topic for one in result.cautions}


def test_a_week_at_one_voltage_is_one_hold_though_next_to_nothing_flows():
    # from 90 %, 20 A reach 14.4 V within 10 Ah, half an hour, at the latest; from then on it holds.
    # What flows then (2 % a month of 100 Ah: 2.8 mA) was told as 17 periods of 60 h in all
    mains = charger("mains", Stage(14.4), amps=20.0)
    cell = replace(LFP.typical_cell(100.0, 100.0 * HOUR_S), state_of_charge=0.9)
    one = Battery("a", (cell,) * 4, 1.5e-3, 1e-3, (), 100.0 * HOUR_S, chemistry="LFP")
    bank = bank_of(
        one, chargers=(mains,), duration_s=168 * HOUR_S, output_every_s=60.0,
        stop_when_empty=False,
    )  # fmt: skip
    result = run(bank)
    (line,) = charger_lines(result, course_of(result))
    assert "current flows during 168 h; it holds 14.40 V for 168 h" in line
    (found,) = [one for one in result.cautions if one.topic == "held at a high voltage"]
    assert 167.5 < found.value < 168.0


def test_a_bus_at_the_hold_of_a_battery_that_takes_no_charge_is_no_hold_of_it():
    # 14.6 V: it blocks charge at 3.6 V a cell for good, then nothing flows at 14.6 V on the bus
    mains = charger("mains", Stage(14.6), amps=20.0)
    cell = replace(LFP.typical_cell(100.0, 100.0 * HOUR_S), state_of_charge=0.9)
    stop = Rule(Watch.HIGHEST_CELL, False, 3.6, 1.0, Blocks.CHARGE)
    one = Battery("a", (cell,) * 4, 1.5e-3, 1e-3, (stop,), 100.0 * HOUR_S, chemistry="LFP")
    bank = bank_of(one, chargers=(mains,), duration_s=48 * HOUR_S, stop_when_empty=False)
    result = run(bank)
    (line,) = charger_lines(result, course_of(result))
    assert "it never reaches its hold" in line
    assert "current flows during 2" in line  # 10 Ah at 20 A: half an hour at most
    assert " min; " in line
    assert "held at a high voltage" not in {one.topic for one in result.cautions}


def test_a_charger_above_which_a_battery_rests_does_not_hold():
    # by hand: 12.8 + 0.6 z = 13.112 V at rest, 12 mV above what the charger holds
    result = told(charger("mains", Stage(13.1)), z=0.52)
    assert "it holds" not in holds_words(result, course_of(result), 0)
