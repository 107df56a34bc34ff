"""What chargers hold and who idles, on rows written by hand: one an hour, at the loads."""

import numpy as np
import pytest
from made_results import Course, event, made
from simple_banks import affine, bank_of, steady

from bankSim.model.charger import Charger, Stage
from bankSim.model.load import Schedule
from bankSim.show.charger_stages import holds_words, idle_words, spans_at_hold, stage_holds_V
from bankSim.show.course import course_of
from bankSim.sim.result import STAGE

H = 3600.0


def run_of(volts, *amps, holds=((14.4,), (14.4,)), modes=0, events=(), hours=None, times_h=None):
    """Chargers "p" and "q" that give so much; the voltage at the loads, row by row."""
    times = np.arange(len(volts)) if times_h is None else np.asarray(times_h)
    windows = None if hours is None else tuple((a * H, b * H) for a, b in hours)
    chargers = tuple(
        Charger(name, tuple(Stage(hold) for hold in own), limit_A=20.0,
                schedule=Schedule(active_s=windows if name == "p" else None))
        for name, own, _ in zip("pq", holds, amps, strict=False)
    )  # fmt: skip
    bank = bank_of(affine("a"), load=steady(1.0), chargers=chargers, duration_s=H * times[-1])
    rows = [np.broadcast_to(np.asarray(one, float), times.shape) for one in amps]
    result = made(bank, H * times, Course(A=-sum(rows), mode=modes), charger_A=rows, bus_V=13.0,
                  loads_V=np.asarray(volts, float), events=tuple(events))  # fmt: skip
    return result, course_of(result)


def held(volts, *amps, number=0, **more):
    result, course = run_of(volts, *amps, **more)
    holds_V = stage_holds_V(result, course, result.scenario.bank.chargers[number])
    return spans_at_hold(result, course, holds_V, number).tolist()


def test_at_its_hold_from_end_to_end_it_holds():
    # at both ends of an hour, to 0.1 mV, while it gives
    assert held([14.0, 14.4, 14.4, 14.4, 14.0], 5.0) == [False, True, True, False]
    assert held([14.40009, 14.39991], 5.0) == [True]
    assert held([14.40011, 14.4], 5.0) == [False]
    assert held([14.4, 14.3998], 5.0) == [False]


def test_where_nobody_gives_the_bus_rests_at_the_hold_while_a_battery_takes():
    volts = [14.4, 14.4004]  # half a millivolt is near enough then
    assert held(volts, 0.0) == [True]
    assert held(volts, [5.0, 0.0]) == [True]
    assert held(volts, 5.0) == [False]
    assert held([14.4, 14.4006], 0.0) == [False]
    assert held(volts, 0.0, modes=1) == [False]  # its charge is blocked: at the hold alone
    assert held(volts, 0.0, modes=2) == [True]
    # another one gives: it, not this one, holds
    assert held(volts, 0.0, 5.0, holds=((14.4,), (14.4004,))) == [False]
    assert held([14.4, 14.4], 0.0, 5.0) == [False]
    assert held([14.4, 14.4], 0.0, 5.0, number=1) == [True]


def holds_of(*args, number=0, **more):
    return holds_words(*run_of(*args, **more), number)


def test_how_long_each_voltage_is_held():
    volts = [14.4, 14.4, 14.4, 14.0, 13.6, 13.6]
    later = [event(3 * H, STAGE, source="p", value=2.0)]
    two = {"holds": ((14.4, 13.6),), "events": later}
    assert holds_of(volts, 5.0, **two) == "it holds 14.40 V for 2.00 h and 13.60 V for 1.00 h"
    assert holds_of([14.0] * 4, 5.0, holds=((14.4,),)) == "it never reaches its hold"
    assert holds_of([14.0] * 4, 0.0, holds=((14.4,),)) == ""
    # without its second stage the 13.6 V are below what it would hold
    assert holds_of(volts, 5.0, holds=((14.4, 13.6),)) == "it holds 14.40 V for 2.00 h"


def test_a_stage_begins_anew_when_a_charger_is_switched_on():
    later = [event(1 * H, STAGE, source="p", value=2.0)]
    result, course = run_of([14.0] * 7, 5.0, holds=((14.4, 13.6),), events=later,
                            hours=((0.0, 3.0), (4.0, 6.0)))  # fmt: skip
    holds_V = stage_holds_V(result, course, result.scenario.bank.chargers[0])
    assert holds_V.tolist()[:3] == [14.4, 13.6, 13.6]
    assert np.isnan(holds_V[3])
    assert holds_V.tolist()[4:] == [14.4, 14.4]


def idle(*args, number=0, **more):
    return idle_words(*run_of(*args, **more), number)


IDLES = {"holds": ((13.6,), (14.4,))}


def test_who_leaves_a_charger_idle():
    assert idle([14.0, 14.2, 14.4], 0.0, 5.0, **IDLES) == (
        'it idles for 2.00 h in its stage of 13.60 V, while "q" keeps the voltage above that, at '
        "up to 14.30 V"
    )
    assert idle([14.0, 14.2, 14.4], 0.0, 5.0, number=1, **IDLES) == ""
    assert idle([14.0, 14.2, 14.4], 0.0, 0.0, **IDLES) == ""  # nobody gives
    assert idle([14.0, 14.2, 14.4], 5.0, 5.0, **IDLES) == ""  # it gives itself
    told = holds_of([14.0, 14.2, 14.4], 0.0, 5.0, **IDLES)
    assert told.startswith("it idles for 2.00 h")
    given = holds_of([13.0, 13.0, 14.0, 14.2], [5.0, 5.0, 0.0, 0.0], 5.0, **IDLES)
    assert given.startswith("it never holds the bus itself; it idles for 1.00 h")


@pytest.mark.parametrize(("above_V", "told"), [(1.9e-3, False), (2.1e-3, True)])
def test_two_millivolts_above_its_hold_leave_it_idle(above_V, told):
    assert bool(idle([13.6 + above_V] * 3, 0.0, 5.0, **IDLES)) == told


@pytest.mark.parametrize(("minutes", "told"), [(9.9, False), (10.1, True)])
def test_ten_minutes_are_worth_a_word(minutes, told):
    volts, times = [14.0, 14.0, 13.0, 13.0], [0.0, minutes / 60.0, minutes / 60.0 + 1e-9, 5.0]
    assert bool(idle(volts, 0.0, 5.0, times_h=times, **IDLES)) == told
