"""The twin's chargers against closed forms, derived beside each check."""

import numpy as np
from pytest import approx
from twin_banks import amperes, between, happened, solved, wide

from bankSim.crosscheck.twin_result import STAGE
from bankSim.model.charger import Charger, Stage, Sun
from bankSim.model.load import Schedule

# E = 12 + 1.6 z behind 50 mohm, 20 A until V = 14: z there is (14 - 20 R - 12)/1.6
OHM, AH, START, LIMIT_A, HOLD_V = 0.05, 100.0, 0.3, 20.0, 14.0
HELD_Z = (HOLD_V - LIMIT_A * OHM - 12.0) / 1.6
HELD_S = (HELD_Z - START) * AH / LIMIT_A * 3600.0
TAU_S = OHM * AH * 3600.0 / 1.6  # then I = (hold - E)/R, so dI/dt = -I a/(R Q)


def slow_battery(**more):
    return wide(ohm=OHM, Ah=AH, z=START, **more)


def test_constant_current_then_constant_voltage():
    found = solved(slow_battery(), hours=12.0, chargers=(amperes(LIMIT_A, HOLD_V),))
    times = np.array([0.0, HELD_S - 1.0, HELD_S + 1.0, HELD_S + TAU_S, HELD_S + 3 * TAU_S])
    expected = LIMIT_A * np.exp(-np.maximum(times - HELD_S, 0.0) / TAU_S)
    assert found.charger_A(times)[:, 0] == approx(expected, rel=1e-6)
    assert found.voltage_V(times[2:]) == approx(np.full(3, HOLD_V))
    end = 12.0 * 3600.0 - HELD_S
    charge = LIMIT_A * (HELD_S + TAU_S * (1 - np.exp(-end / TAU_S))) / 3600.0
    assert found.charger_Ah == approx([charge], rel=1e-7)
    assert found.charged_Ah == approx([charge], rel=1e-7)


def test_stage_ends_at_its_tail_and_the_next_follows():
    stages = (Stage(HOLD_V, tail_A=4.0), Stage(13.0, most_s=1000.0))
    found = solved(slow_battery(), hours=12.0, chargers=(amperes(LIMIT_A, *stages),))
    tail_s = HELD_S + TAU_S * np.log(LIMIT_A / 4.0)
    assert happened(found) == [(approx(tail_s, abs=1e-3), STAGE), (approx(tail_s + 1000.0), STAGE)]
    assert [event.value for event in found.events] == [2.0, 0.0]
    assert [event.charger for event in found.events] == [0, 0]
    assert found.events[0].current_A == approx([-4.0])
    assert found.events[0].after_A == approx([0.0])  # rests above 13 V
    assert found.charger_A([tail_s + 500.0, tail_s + 2000.0]) == approx(0.0)


def test_time_limit_ends_a_stage_that_does_not_taper():
    found = solved(slow_battery(), chargers=(amperes(5.0, Stage(HOLD_V, 1.0, 600.0)),))
    assert happened(found) == [(600.0, STAGE)]
    assert found.charger_Ah == approx([5.0 / 6.0])


def test_schedule_begins_with_the_first_stage_again():
    windows = Schedule(active_s=((100.0, 200.0), (500.0, 2000.0)))
    charger = amperes(5.0, Stage(HOLD_V, None, 250.0), schedule=windows)
    found = solved(slow_battery(), chargers=(charger,))
    assert happened(found) == [(100.0, STAGE), (500.0, STAGE), (750.0, STAGE)]
    assert [event.value for event in found.events] == [1.0, 1.0, 0.0]
    assert found.charger_Ah == approx([5.0 * 350.0 / 3600.0])


def test_charger_feeds_the_load_first():
    found = solved(
        slow_battery(), loads=[between("load", 26.0, 0.0, 1e6)], chargers=(amperes(20.0, HOLD_V),)
    )
    assert found.delivered_Ah == approx([6.0])
    assert found.charged_Ah == approx([0.0])


def test_sunny_day():
    # half a sine of P between 6 and 18 h holds 2/pi x 12 h x P; into a stiff 13 V: / 13 V
    stiff = wide(ohm=1e-6, z=0.5, cell={"offset_V": 13.0, "slope_V": 0.0})
    sun = Charger("sun", (Stage(15.0),), sun=Sun(300.0, 6 * 3600.0, 18 * 3600.0))
    found = solved(stiff, hours=28.5, chargers=(sun,), starts_at_s=2 * 3600.0)
    day_Wh = 2 / np.pi * 12.0 * 300.0
    early_Wh = 0.5 * day_Wh * (1 - np.cos(np.pi * 0.5 / 12.0))  # the first half hour of the next
    assert found.charger_Ah == approx([(day_Wh + early_Wh) / 13.0], rel=1e-5)
    assert found.taken_Wh == approx([day_Wh + early_Wh], rel=1e-5)
    assert happened(found) == [(4 * 3600.0, STAGE), (28 * 3600.0, STAGE)]
    quarter = found.charger_A([(9 - 2) * 3600.0])
    assert quarter[0] == approx([300.0 / 13.0 * np.sin(np.pi / 4)], rel=1e-5)


def test_efficiency_and_energy_of_a_charge():
    # 10 A for an hour into 13 V behind 10 mohm with 90 % stored
    lossy = wide(
        ohm=0.01, z=0.5, cell={"offset_V": 13.0, "slope_V": 0.0, "coulombic_efficiency": 0.9}
    )
    found = solved(lossy, chargers=(amperes(10.0, 15.0),))
    assert found.final_state_of_charge == approx([0.59])
    assert found.taken_Wh == approx([131.0])
    assert found.delivered_Wh == approx([0.0])
