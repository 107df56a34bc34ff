"""Loads of the twin that cut themselves off, restart, or are dropped."""

from pytest import approx
from twin_banks import amperes, battery_below, between, happened, solved, wide

from bankSim.crosscheck.twin import COLLAPSE
from bankSim.crosscheck.twin_result import LOAD_OFF, LOAD_ON, RELEASE, TRIP
from bankSim.model.load import CutOff, Schedule
from bankSim.model.rule import Blocks

# E = 12 + 1.6 z, 20 A through 5 mohm: V = 12.3 V where z = 0.25, after (0.5 - 0.25) 100/20 h
OFF_S = 0.25 * 100.0 / 20.0 * 3600.0


def test_load_cuts_itself_off_after_its_delay_and_restarts():
    load = between("load", 20.0, 0.0, 1e6, cut_off=CutOff(12.3, 5.0, 12.5))
    charger = amperes(10.0, 14.0, schedule=Schedule(active_s=((7200.0, 1e6),)))
    found = solved(wide(), loads=[load], chargers=(charger,), hours=4.0)
    off_s = OFF_S + 5.0
    # rests at 12.3 + 0.1 V; with 10 A into it the loads see 12.5 V at z = (12.5 - 0.05 - 12)/1.6
    rest_z = 0.5 - 20.0 * off_s / 3600.0 / 100.0
    on_s = 7200.0 + ((12.5 - 0.05 - 12.0) / 1.6 - rest_z) * 100.0 / 10.0 * 3600.0
    assert happened(found, LOAD_OFF, LOAD_ON)[:2] == [
        (approx(off_s, abs=1e-3), LOAD_OFF),
        (approx(on_s, abs=1e-3), LOAD_ON),
    ]
    assert found.events[0].current_A == approx([20.0])
    assert found.events[0].after_A == approx([0.0])
    assert found.events[0].load == 0


def test_without_a_restart_it_stays_off():
    load = between("load", 20.0, 0.0, 1e6, cut_off=CutOff(12.3, 5.0))
    found = solved(wide(), loads=[load], chargers=(amperes(1.0, 14.0),), hours=6.0)
    assert len(happened(found, LOAD_OFF, LOAD_ON)) == 1
    assert found.current_A([6 * 3600.0])[0] == approx([-1.0])


def test_cut_off_watches_while_the_load_is_off():
    # the other load pulls the bus down before this one is due
    load = between("later", 1.0, 3000.0, 1e6, cut_off=CutOff(12.6, 2.0))
    heavy = between("heavy", 50.0, 100.0, 200.0)
    found = solved(wide(), loads=[load, heavy], hours=1.0)
    assert happened(found) == [(approx(102.0), LOAD_OFF)]


def test_loads_that_cannot_be_fed_are_dropped_until_a_load_changes():
    # 12.8 V behind 100 mohm gives at most 12.8^2/0.4 = 410 W
    heavy = between("heavy", 500.0, 100.0, 400.0, exponent=0.0)
    lamp = between("lamp", 10.0, 0.0, 200.0, exponent=0.0)
    found = solved(wide(ohm=0.1, Ah=1e6), loads=[heavy, lamp], hours=0.2)
    assert happened(found) == [(100.0, COLLAPSE)]  # not told again, as none was fed
    assert found.current_A([50.0, 150.0, 500.0])[:, 0] == approx([0.786, 0.0, 0.0], abs=1e-3)


def test_a_release_feeds_the_loads_again():
    low = battery_below(12.5, Blocks.DISCHARGE, 2.0, lets_go_at_rest())
    found = solved(
        wide(ohm=0.05, Ah=1e6, rules=[low]), loads=[between("load", 10.0, 5.0, 30.0)], hours=0.1
    )
    assert happened(found) == [
        (7.0, TRIP),
        (17.0, RELEASE),
        (19.0, TRIP),
        (29.0, RELEASE),
    ]


def lets_go_at_rest():
    """Return a release that holds as soon as no current flows."""
    from twin_banks import lets_go

    return lets_go(12.7, 10.0)


def test_run_ends_where_loads_cannot_be_fed_if_asked_to():
    heavy = between("heavy", 500.0, 100.0, 400.0, exponent=0.0)
    found = solved(wide(ohm=0.1), loads=[heavy], stop_when_empty=True)
    assert (found.end_reason, found.end_time_s) == (COLLAPSE, 100.0)
