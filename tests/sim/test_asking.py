"""Who asks for power at an instant, by events and schedules written by hand."""

from dataclasses import replace

from made_results import Course, event, made
from simple_banks import affine, bank_of, steady, stepped

from bankSim.model.charger import Charger, Stage
from bankSim.model.load import Schedule
from bankSim.model.upkeep import Heater
from bankSim.sim.asking import Asking, asking_at
from bankSim.sim.result import (
    HEATER_OFF,
    HEATER_ON,
    LOAD_OFF,
    LOAD_ON,
    LOAD_STAYS_OFF,
    RELEASE,
    STAGE,
    TRIP,
)


def at(time_s, *events, loads=(), **bank):
    two = [
        replace(affine(name), heater=Heater(power_W, 273.15, 276.15, needs))
        for name, power_W, needs in (("a", 40.0, False), ("b", 25.0, True))
    ]
    bank = replace(bank_of(*two, affine("c"), **bank), loads=tuple(loads))
    return asking_at(made(bank, [0.0, 1e4], *[Course()] * 3, events=tuple(events)), time_s)


def load(name, amount=5.0, **schedule):
    return replace(steady(amount, schedule=Schedule(**schedule)), name=name)


def heater(time_s, what, name="a"):
    return event(time_s, what, name)


def test_heaters_that_are_on_and_need_no_charger():
    assert at(100.0).heaters == ()
    on = heater(100.0, HEATER_ON), heater(100.0, HEATER_ON, "b")
    assert at(99.9, *on).heaters == ()
    assert at(100.0, *on).heaters == (("a", 40.0),)
    off = (*on, heater(200.0, HEATER_OFF))
    assert at(199.9, *off).heaters == (("a", 40.0),)
    assert at(200.0, *off).heaters == ()
    # what its battery does besides is something else
    others = (*on, event(150.0, TRIP, "a"), event(160.0, RELEASE, "a"), event(170.0, LOAD_OFF))
    assert at(190.0, *others).heaters == (("a", 40.0),)


def test_a_heater_that_needs_a_charger_asks_while_one_is_on():
    hours = Schedule(active_s=((50.0, 150.0),))
    mains = Charger("mains", (Stage(14.4),), limit_A=10.0, schedule=hours)
    on = [heater(100.0, HEATER_ON, "b")]
    asked = [at(s, *on, chargers=(mains,)).heaters for s in (60.0, 100.0, 149.0, 150.0)]
    assert asked == [(), (("b", 25.0),), (("b", 25.0),), ()]
    ends = event(120.0, STAGE, source="mains", value=0.0)
    assert at(130.0, *on, ends, chargers=(mains,)).heaters == ()


def test_loads_that_have_not_cut_themselves_off():
    two = load("pump"), load("lamp")
    assert at(5.0, loads=two).loads == ("pump", "lamp")
    off = event(100.0, LOAD_OFF, source="pump")
    assert at(99.9, off, loads=two).loads == ("pump", "lamp")
    assert at(100.0, off, loads=two).loads == ("lamp",)
    again = off, event(150.0, LOAD_ON, source="pump")
    assert at(149.9, *again, loads=two).loads == ("lamp",)
    assert at(150.0, *again, loads=two).loads == ("pump", "lamp")
    for_good = (*again, event(160.0, LOAD_STAYS_OFF, source="pump"))
    assert at(170.0, *for_good, loads=two).loads == ("lamp",)


def test_loads_that_draw_by_their_schedule():
    hour = load("hour", active_s=((3600.0, 7200.0),))
    assert [bool(at(s, loads=[hour]).loads) for s in (3599.0, 3600.0, 7199.0, 7200.0)] == [
        False, True, True, False,
    ]  # fmt: skip
    evening = load("evening", daily_s=((18 * 3600.0, 20 * 3600.0),))
    asked = [at(s, loads=[evening], starts_at_s=17 * 3600.0) for s in (3599.0, 3600.0)]
    assert [one.loads for one in asked] == [(), ("evening",)]
    # nothing, next to nothing, and what gives to the bank
    some = [load("none", 0.0), load("little", 1e-6), replace(stepped([0.0], [-3.0]), name="gives")]
    assert at(0.0, loads=some).loads == ("little",)


def test_a_load_asks_from_the_very_instant_at_which_it_switches_on():
    # 20 s in 32 s, as minutes with two digits: the instants are no round numbers
    own = load("fridge", duty_s=(0.33 * 60.0, 0.2 * 60.0))
    edges_s = own.schedule.edges_s(3600.0, 0.0).tolist()
    asked = [bool(at(edge_s, loads=[own]).loads) for edge_s in edges_s]
    assert asked == [place % 2 == 1 for place in range(len(edges_s))]


def test_words():
    one, more = Asking((), (("a", 40.0),)), Asking(("pump",), (("a", 40.0), ("b", 25.5)))
    assert (one.only_heaters, more.only_heaters) == (True, False)
    assert not Asking((), ()).only_heaters
    assert one.heater_words == 'the heater of "a" (40.0 W)'
    assert more.heater_words == 'the heaters of "a" (40.0 W) and "b" (25.5 W)'
    assert one.heaters_ask == 'the heater of "a" (40.0 W) asks'
    assert more.heaters_ask == 'the heaters of "a" (40.0 W) and "b" (25.5 W) ask'
