"""Loads that go without, charge that nobody takes, chargers that give nothing: how it is told."""

from dataclasses import replace

import numpy as np
import pytest
from made_results import Course, event, made
from pytest import approx
from simple_banks import affine, affine_cell, bank_of, battery, steady

from bankSim.model.bank import Wiring
from bankSim.model.charger import Charger, Stage
from bankSim.model.curve import Curve
from bankSim.model.load import CutOff
from bankSim.model.upkeep import Heater
from bankSim.sim.cautions.supply import of_supply
from bankSim.sim.result import COLLAPSE, HEATER_ON, LOAD_OFF, REFUSED, TRIP, ChargerOutcome

IDLE = "charger gives nothing"
POWER = steady(5000.0, exponent=0.0)


def told(*batteries, courses=(), events=(), load=POWER, runtime_s=100.0, chargers=(), given=(),
         **more):  # fmt: skip
    """What is told of 7200 s in which power runs short at 100 s, by topic."""
    bank = bank_of(*batteries, load=load, chargers=tuple(chargers), wiring=Wiring(main_ohm=0.003))
    times_s = [0.0, 100.0, 100.0, 7200.0]
    result = made(bank, times_s, *(courses or [Course()] * len(batteries)), events=events, **more)
    result = replace(result, bank=replace(result.bank, runtime_s=runtime_s), chargers=given)
    return {one.topic: one for one in of_supply(result)}


def short(*args, at_s=(100.0,), events=(), **more):
    shorts = [event(time_s, COLLAPSE) for time_s in at_s]
    return told(*args, events=(*events, *shorts), **more)[COLLAPSE]


ONE = affine("a", 0.01, lead=0.002)


# E = 13 V, R = 10 + 2 + 3 mohm: E^2 / 4 R = 2817 W, E / R = 867 A (maximum power; Ohm's law)
@pytest.mark.parametrize(
    ("course", "why"),
    [
        (Course(A=50.0, V=12.5), "it gives: 12.5 V + 50 A x 10 mohm at its terminal"),
        (Course(A=-50.0, V=13.5), "it takes: 13.5 V - 50 A x 10 mohm"),
        # what comes after that instant, and was long before, tells nothing
        (Course(A=[0, 50.0, 0, 0], V=[9.0, 12.5, 9.0, 9.0]), "the row just before"),
        # nothing is known of the first instant: 12.8 V + 0.6 V z at rest
        (Course(V=0.0, z=1.0 / 3.0), "rest"),
    ],
)
def test_what_a_bank_could_give_at_most(course, why):
    one = short(ONE, courses=[course])
    assert (one.severity, one.value, one.limit, one.unit) == ("warning", 100 / 3600, None, "h"), why
    assert one.text == (
        "After 1.67 min the loads ask for more power than the bank can give: about 2.8 kW at that "
        "moment, and at half its voltage."
    )
    assert one.advice.startswith("Use less power at a time, stop earlier, or take thicker")


def test_a_battery_that_is_charged_meets_another_resistance_once_it_gives():
    # half charged 20 mohm; on charge it is read as if full, 10 mohm: 13.5 V - 50 A x 10 mohm, then
    # 13 V behind 20 + 2 + 3 mohm: 1690 W
    curve = Curve.linear([0.0, 1.0], [0.03, 0.01])
    cell = replace(affine_cell(z=0.5), ohmic_ohm=curve, charge_ohm_from=1.0)
    one = short(battery("a", cell, lead=0.002), courses=[Course(A=-50.0, V=13.5)])
    assert "about 1.7 kW at that" in one.text
    asked = short(battery("a", cell, lead=0.002), courses=[Course(A=-50.0, V=13.5)],
                  load=steady(2000.0))  # fmt: skip
    assert "about 520 A" in asked.text  # 13 V / 25 mohm


def test_two_batteries_are_one_source():
    # 12.5 V + 50 A x 10 mohm and 12.8 V + 20 A x 20 mohm (13.2 V behind 22 mohm): by Millman
    # (13 / 12 + 13.2 / 22) / (1 / 12 + 1 / 22) = 13.071 V behind 7.765 mohm, 3 mohm to the loads
    two = [ONE, affine("b", 0.02, lead=0.002)]
    one = short(*two, courses=[Course(A=50.0, V=12.5), Course(A=20.0, V=12.8)], load=steady(2000.0))
    # 13.071 V / 10.765 mohm = 1214 A
    assert "about 1214 A at that moment, and at 0 V, of 2000 A." in one.text
    assert "the loads ask for more current than" in one.text
    assert one.advice.startswith("Use less current at a time")


def test_loads_of_current_that_leave_no_voltage():
    course = Course(A=50.0, V=12.5)
    one = short(ONE, courses=[course], load=steady(866.9))
    assert one.text.endswith("than the bank can give: at 867 A no voltage is left for them.")
    assert "about 867 A" in short(ONE, courses=[course], load=steady(900.0)).text


def test_how_often_it_happens():
    one = short(ONE, at_s=(100.0, 200.0, 300.0))
    assert "than the bank can give, the first of 3 times: about" in one.text


# nearly empty is below 10 %
@pytest.mark.parametrize(
    ("modes", "levels", "what"),
    [
        ((2, 0, 0), (0.5, 0.11, 0.5), '"a" has cut out.'),
        ((2, 2, 0), (0.5, 0.5, 0.09), '"a" and "b" have cut out and "c" is nearly empty.'),
        ((0, 0, 0), (0.5, 0.09, 0.09), '"b" and "c" are nearly empty.'),
        ((0, 2, 0), (0.5, 0.05, 0.5), '"b" has cut out.'),
    ],
)
def test_who_is_weak_then(modes, levels, what):
    courses = [
        Course(mode=[0, 0, mode, 0], z=[0.5, 0.5, z, 0.5])
        for mode, z in zip(modes, levels, strict=True)
    ]
    one = short(*(affine(name) for name in "abc"), courses=courses)
    assert one.text == (
        f"After 1.67 min the loads ask for more power than the bank can give: {what}"
    )
    assert one.advice.startswith("Stop the loads earlier")


def cut_out(time_s, name, watches="lowest cell voltage"):
    return event(time_s, TRIP, name, watches=watches, blocks="discharge")


def last_one(*labels_A, load=POWER, assumed=(), out=2, **more):
    """Battery "a" has cut out; what is told of the others, at 13 V behind 10 mohm."""
    left = [
        replace(affine(name, 0.01), continuous_discharge_A=label_A, limits_assumed=assumed)
        for name, label_A in zip("bc", labels_A, strict=False)
    ]
    gone = Course(A=[9.0, 9.0, 0.0, 0.0], V=9.0, mode=[0, 0, out, 0])
    courses = [gone, *[Course(A=50.0, V=12.5)] * len(left)]
    return short(affine("a"), *left, courses=courses, load=load, **more)


# 5000 W at 13 V are 384.6 A
@pytest.mark.parametrize(
    ("labels_A", "assumed", "severity", "said"),
    [
        ((100.0,), (), "danger", '"b" would have to carry at least 385 A; its label allows 100 A.'),
        ((384.0,), (), "danger", '"b" would have to carry at least 385 A; its label allows 384 A.'),
        ((386.0,), (), "warning", ""),
        ((100.0,), ("continuous_discharge_A",), "warning", "given, 100 A is assumed."),
        ((100.0, 200.0), (), "danger",
         '"b" and "c" would have to carry at least 385 A; 300 A is what they may carry.'),
        ((200.0, 200.0), (), "warning", ""),
        ((100.0, None), (), "warning", ""),
    ],
)  # fmt: skip
def test_what_those_that_are_left_would_have_to_carry(labels_A, assumed, severity, said):
    one = last_one(*labels_A, assumed=assumed)
    assert one.severity == severity
    assert ("would have to carry" in one.text) == bool(said)
    assert said in one.text
    assert '"a" has cut out.' in one.text


def test_what_the_loads_that_are_on_ask_for_at_that_voltage():
    # 20 A/V x 13 V, and 250 A
    assert "at least 260 A" in last_one(100.0, load=steady(20.0, exponent=2.0)).text
    assert "at least 250 A" in last_one(100.0, load=steady(250.0)).text
    off = replace(POWER, cut_off=CutOff(10.0))
    gone = event(50.0, LOAD_OFF, source="load")
    assert "would have to carry" not in last_one(100.0, load=off, events=[gone]).text
    # who has cut out carries nothing; where nobody has, nothing is told of labels
    assert "would have to" not in last_one(100.0, out=0).text


CURRENT = "discharge current"


# more than half of those that are out then, by what last put each of them out
@pytest.mark.parametrize(
    ("events", "by_current"),
    [
        ([cut_out(10.0, "a", CURRENT), cut_out(20.0, "b", CURRENT)], True),
        ([cut_out(10.0, "a", CURRENT), cut_out(20.0, "b")], False),
        ([cut_out(10.0, "a", CURRENT), cut_out(90.0, "a"), cut_out(20.0, "b", CURRENT)], False),
        ([cut_out(10.0, "a", CURRENT), cut_out(20.0, "b", CURRENT), cut_out(30.0, "c")], True),
        ([cut_out(10.0, "a", CURRENT), cut_out(20.0, "b", CURRENT), cut_out(200.0, "b")], True),
        ([], False),
    ],
)
def test_whether_it_is_the_current_that_puts_them_out(events, by_current):
    courses = [Course(mode=[0, 0, mode, 0]) for mode in (2, 2, 0)]
    one = short(*(affine(name) for name in "abc"), courses=courses, events=events)
    start = "It is the current that puts them out" if by_current else "Stop the loads earlier"
    assert one.advice.startswith(start)


def test_a_heater_that_asks_alone():
    heated = replace(ONE, heater=Heater(40.0, 275.0, 280.0, needs_charger=False))
    on = event(50.0, HEATER_ON, "a")
    one = short(heated, load=None, events=[on])
    assert 'After 1.67 min the heater of "a" (40.0 W) asks for more power than' in one.text
    assert one.advice.startswith("Use less power at a time")
    one = short(heated, load=None, events=[on], courses=[Course(z=0.05)])
    assert one.text.endswith('"a" is nearly empty.')
    assert one.advice.startswith("Let the heater work only while a charger is on")
    # beside a load of constant current it is no matter of current alone
    assert "more power" in short(heated, load=steady(3000.0), events=[on]).text


def test_a_heater_that_asks_alone_while_its_charger_is_on():
    heated = replace(ONE, heater=Heater(40.0, 275.0, 280.0, needs_charger=True))
    weak = Charger("weak", (Stage(14.4),), limit_A=1.0)
    one = short(
        heated, load=None, chargers=[weak], given=[ChargerOutcome("weak", 1.0, 10.0, 1.0)],
        events=[event(50.0, HEATER_ON, "a")], courses=[Course(z=0.05)],
    )  # fmt: skip
    assert 'After 1.67 min the heater of "a" (40.0 W) asks for more power than' in one.text
    assert one.advice.startswith("Take a smaller heater or a stronger charger")


# until a second before the end (SOON_S) the loads are fed: that is the end
@pytest.mark.parametrize(("runtime_s", "noted"), [(7198.9, True), (7199.1, False)])
def test_a_bank_that_is_out(runtime_s, noted):
    found = told(ONE, runtime_s=runtime_s)
    assert set(found) == ({COLLAPSE} if noted else set())
    if noted:
        one = found[COLLAPSE]
        assert (one.severity, one.value) == ("note", approx(7198.9 / 3600.0))
        assert one.text == "After 2.00 h no battery is left to feed the loads, and they go without."


def test_a_bank_that_is_out_is_told_so_though_its_loads_ask_for_more():
    # blocked at that instant: not for want of power
    one = short(ONE, courses=[Course(mode=[0, 0, 2, 2])])
    assert one.severity == "note"
    # loads that stopped by themselves are not left without
    stopped = replace(POWER, cut_off=CutOff(10.0))
    assert told(ONE, load=stopped, events=[event(99.0, LOAD_OFF, source="load")]) == {}


@pytest.mark.parametrize(
    ("hold_V", "peak_A", "is_told"), [(12.4, 0.009, True), (12.4, 0.011, False), (12.6, 0.0, False)]
)
def test_a_charger_whose_voltage_is_too_low(hold_V, peak_A, is_told):
    charger = Charger("mains", (Stage(12.0), Stage(hold_V)), limit_A=5.0)
    given = (ChargerOutcome("mains", 0.0, 0.0, peak_A),)
    # rows without a voltage do not count
    bus_V = np.array([0.0, 12.8, 12.5, 13.0])
    found = told(ONE, runtime_s=7200.0, chargers=[charger], bus_V=bus_V, given=given,
                 loads_V=11.0)  # fmt: skip
    assert set(found) == ({IDLE} if is_told else set())
    if is_told:
        one = found[IDLE]
        assert (one.severity, one.value, one.limit, one.unit) == ("warning", 12.4, 12.5, "V")
        assert one.text == (
            '"mains" gives nothing: it holds at most 12.40 V, and the batteries are never below '
            "12.50 V."
        )


def test_a_bus_that_never_has_a_voltage_tells_nothing_of_a_charger():
    charger = Charger("mains", (Stage(12.0),), limit_A=5.0)
    given = (ChargerOutcome("mains", 0.0, 0.0, 0.0),)
    assert told(ONE, runtime_s=7200.0, chargers=[charger], bus_V=0.0, given=given) == {}


def test_charge_that_nobody_takes_is_told_once():
    events = [event(60.0, REFUSED, text="Nobody takes it."), event(90.0, REFUSED, text="Again.")]
    one = told(ONE, runtime_s=7200.0, events=events)[REFUSED]
    assert (one.severity, one.value, one.unit) == ("warning", approx(1.0 / 60.0), "h")
    assert one.text == "After 1.00 min: Nobody takes it."
