"""A bank in which no battery may discharge: what its bus shows, and who feeds the loads."""

from dataclasses import replace

import numpy as np
import pytest
from pytest import approx
from simple_banks import affine, bank_of, run, steady, stepped

from bankSim.model.charger import Charger, Stage
from bankSim.model.load import CutOff, Load, Schedule
from bankSim.model.rule import Blocks, Release, Rule, Watch

H = 3600.0


def lives(*batteries, loads=(), chargers=(), hours=1.0, **more):
    bank = bank_of(
        *batteries, duration_s=hours * H, stop_when_empty=False, chargers=chargers, **more
    )  # fmt: skip
    return run(replace(bank, loads=tuple(loads)))


def told(result, *kinds):
    found = [(event.time_s, event.what) for event in result.events]
    return [one for one in found if not kinds or one[1] in kinds]


def out(at_s=0.0):
    """Discharge blocked from then on: its voltage is always below that limit."""
    return Rule(Watch.BATTERY_VOLTAGE, True, 14.0, at_s)


def mains(hold_V, limit_A=10.0, **more):
    return Charger("mains", (Stage(hold_V),), limit_A=limit_A, **more)


def test_a_battery_that_may_not_discharge_holds_up_no_bus():
    # neither before nor after the trip does anything flow; the diode points the other way
    load = replace(steady(0.0), cut_off=CutOff(12.0, 0.0, 13.6))
    result = lives(affine("a", z=0.5, rules=[out(600.0)]), loads=[load])
    table = result.timeline().set_index("time_s")["bank.voltage_V"]
    assert table.loc[540.0] == approx(13.1)
    assert table.loc[660.0] == 0.0
    assert "load restarts" not in [what for _, what in told(result)]


def test_an_idle_charger_stands_at_its_hold():
    # hold 13.4 V < 13.1 V + 0.7 V of the diode: nothing flows
    result = lives(affine("a", z=0.5, rules=[out()]), chargers=[mains(13.4)])
    table = result.timeline().set_index("time_s")
    assert table["bank.voltage_V"].loc[60.0] == approx(13.4)
    assert not table["mains.current_A"].any()


def test_no_load_restarts_on_the_voltage_behind_a_diode():
    # at 5 s trip and cut-off come together; 13.1 V + 0.7 V would be above the restart
    rule = Rule(Watch.DISCHARGE_CURRENT, False, 50.0, 5.0)
    load = replace(steady(60.0), cut_off=CutOff(13.0, 5.0, 13.6))
    result = lives(affine("a", 10e-3, z=0.5, rules=[rule]), loads=[load])
    assert [what for _, what in told(result)] == ["trip", "load cut off"]


@pytest.mark.parametrize(
    ("exponent", "volts"),
    # by hand: 20 A = a V^(n - 1) with 40 A at 12.8 V, V = 12.8 / 2^(1 / (n - 1))
    [(1.8, 12.8 / 2.0**1.25), (2.0, 6.4), (3.0, 12.8 / 2.0**0.5), (0.0, 0.0), (1.0, 0.0)],
)
def test_chargers_alone_feed_what_draws_less_at_a_lower_voltage(exponent, volts):
    amount = 40.0 / 12.8 ** (exponent - 1.0)
    load = Load("load", exponent, np.array([0.0]), np.array([amount]))
    result = lives(affine("a", z=0.5, rules=[out()]), loads=[load], chargers=[mains(13.4, 20.0)])
    row = result.timeline().set_index("time_s").loc[60.0]
    assert row["bank.voltage_V"] == approx(volts or 13.4)
    assert row["mains.current_A"] == approx(20.0 if volts else 0.0)


def test_a_delay_goes_on_while_dropped_loads_are_tried_again():
    # "a" takes more than 5 A all the time; every 100 s "b" lets go and the load is tried again
    a = affine("a", 20e-3, 100.0, 0.2, rules=[
        out(), Rule(Watch.CHARGE_CURRENT, False, 5.0, 350.0, Blocks.CHARGE),
    ])  # fmt: skip
    b = affine("b", 20e-3, 100.0, 0.2, rules=[
        out(), Rule(Watch.CHARGE_CURRENT, False, 1.0, 1.0, Blocks.CHARGE, Release(0.5, 99.0)),
    ])  # fmt: skip
    load = stepped([0.0, 10.0], [0.0, 5000.0], 0.0)
    result = lives(a, b, loads=[load], chargers=[mains(14.4, 20.0)], hours=0.25)
    (trip,) = [e for e in result.events if e.what == "trip" and e.battery == "a" and e.time_s > 0]
    assert (trip.watches, trip.time_s) == ("charge current", approx(350.0))
    back = [e for e in result.events if e.what == "release" and e.time_s < 350.0]
    assert len(back) == 3
    assert [e.currents_after_A for e in back] == [(approx(-10.0, rel=0.05),) * 2] * 3


def test_loads_that_a_charger_has_fed_and_feeds_no_more_are_told():
    # by hand: 5 A are fed, 5 A + 20 A are more than the charger's 10 A
    lamp = replace(steady(5.0), name="lamp")
    kettle = Load(
        "kettle", 1.0, np.array([0.0]), np.array([20.0]),
        Schedule(active_s=((600.0, 900.0), (1800.0, 2100.0))),
    )  # fmt: skip
    result = lives(
        affine("a", z=0.5, rules=[out(60.0)]), loads=[lamp, kettle], chargers=[mains(13.4)]
    )
    assert told(result, "load cannot be fed") == [
        (600.0, "load cannot be fed"), (1800.0, "load cannot be fed"),
    ]  # fmt: skip
    loads_A = result.timeline().set_index("time_s")["mains.current_A"]
    assert [loads_A.loc[at] for at in (300.0, 660.0, 1200.0, 1860.0)] == approx([5, 0, 5, 0])


def test_the_last_cut_out_tells_as_much():
    result = lives(affine("a", z=0.5, rules=[out(60.0)]), loads=[steady(20.0)],
                   chargers=[mains(13.4)])  # fmt: skip
    assert told(result) == [(60.0, "trip")]


def test_a_bank_that_never_feeds_its_loads_shows_its_rest():
    # 13.1 V behind 10 mohm beside 13.2 V behind 20 mohm: V^2 / 4R = 6.5 kW at most
    first, second = affine("a", 10e-3, z=0.5), affine("b", 20e-3, z=2.0 / 3.0)
    result = run(bank_of(first, second, load=steady(9000.0, exponent=0.0)))
    (row,) = result.timeline().to_dict("records")
    rest_V = (13.1 / 10.0 + 13.2 / 20.0) / (1.0 / 10.0 + 1.0 / 20.0)  # Millman's theorem
    assert row["bank.voltage_V"] == approx(rest_V)
    assert row["a.cell1_voltage_V"] == approx(rest_V)
    assert row["a.current_A"] == approx((13.1 - rest_V) / 10e-3)
    assert row["b.current_A"] == approx((13.2 - rest_V) / 20e-3)
    assert result.summary()["bank"]["runtime_h"] == 0.0
