"""Rows of the kernels' log as records and sentences: whose, which cell, which unit and limit."""

from dataclasses import replace

import numpy as np
import pytest
from pytest import approx
from simple_banks import affine, affine_cell, bank_of, battery, steady

from bankSim.kernels import arrays as k
from bankSim.model.charger import Charger, Stage
from bankSim.model.load import CutOff
from bankSim.model.rule import Blocks, Needs, Release, Rule, Watch
from bankSim.model.upkeep import Heater
from bankSim.sim.events import read_events


def log(what, subject, value=0.0, cell=-1):
    """A row of two batteries, of one and of three cells."""
    currents, volts, cells = [5.0, -1.0, 6.0, -2.0], [13.1, 39.3], [13.2, 3.1, 3.2, 3.3]
    fixed = [90.0, what, subject, cell, value, 12.9]
    return np.array([*fixed, *currents, *volts, *cells])


def read(row, *rules, loads=(), chargers=(), heater=None):
    """The record of a row, in a bank whose second battery "b" has these rules."""
    cells = [affine_cell()] * 3
    two = affine("a", rules=[Rule(Watch.LOWEST_CELL, True, 1.0)]), battery("b", *cells, rules=rules)
    two = (two[0], replace(two[1], heater=heater))
    bank = replace(bank_of(*two, chargers=tuple(chargers)), loads=tuple(loads))
    (one,) = read_events(bank, [row])
    return one


def text_of(rule, value, what=k.TRIP, cell=-1):
    return read(log(what, 1, value, cell), rule).text


def test_a_trip_tells_whose_cell_reads_what():
    rule = Rule(Watch.LOWEST_CELL, True, 2.5, 3.0)
    # the second of its three cells is the third of the bank, counted from 0
    one = read(log(k.TRIP, 1, 2.4321, 2), rule)
    assert (one.time_s, one.what, one.battery, one.watches) == (
        90.0, "trip", "b", "lowest cell voltage",
    )  # fmt: skip
    assert (one.cell, one.value, one.threshold, one.unit) == (2, 2.4321, 2.5, "V")
    assert (one.blocks, one.source) == ("discharge", None)
    assert (one.bus_voltage_V, one.battery_voltage_V) == (12.9, 39.3)
    assert one.cell_voltages_V == (3.1, 3.2, 3.3)
    assert (one.currents_A, one.currents_after_A) == ((5.0, -1.0), (6.0, -2.0))
    assert one.text == (
        '"b" blocks discharge: cell 2 read 2.432 V, below the limit of 2.500 V for 3 s.'
    )
    assert read(log(k.TRIP, 1, 2.4, 1), rule).cell == 1
    # of the first battery
    one = read(log(k.TRIP, 0, 0.9, 0), rule)
    assert (one.battery, one.cell, one.battery_voltage_V) == ("a", 1, 13.1)
    assert one.cell_voltages_V == (13.2,)


# without a delay, and with long ones
@pytest.mark.parametrize(
    ("delay_s", "held"),
    [(0.0, "."), (0.02, " for 0.02 s."), (1.2345, " for 1.23 s."), (99.4, " for 99.4 s."),
     (100.4, " for 100 s."), (1234.0, " for 1234 s.")],
)  # fmt: skip
def test_how_long_it_was_beyond_its_limit(delay_s, held):
    rule = Rule(Watch.BATTERY_VOLTAGE, True, 37.5, delay_s)
    start = '"b" blocks discharge: the battery voltage read 37.00 V, below the limit of 37.50 V'
    assert text_of(rule, 37.0) == f"{start}{held}"
    back = Rule(Watch.BATTERY_VOLTAGE, True, 37.5, 5.0, release=Release(38.0, delay_s))
    start = '"b" allows discharge again: the battery voltage read 39.00 V, above the limit of '
    start += "38.00 V"
    assert text_of(back, 39.0, k.RELEASE) == f"{start}{held}"


@pytest.mark.parametrize(
    ("rule", "value", "text"),
    [
        (Rule(Watch.HIGHEST_CELL, False, 3.65, 0.0, Blocks.CHARGE), 3.7,
         '"b" blocks charge: the highest cell voltage read 3.700 V, above the limit of 3.650 V.'),
        (Rule(Watch.DISCHARGE_CURRENT, False, 100.0, 0.0, Blocks.BOTH), 100.0,
         '"b" blocks charge and discharge: the discharge current reached the limit of 100.0 A.'),
        (Rule(Watch.TEMPERATURE, True, 273.15, 0.0, Blocks.CHARGE), 271.65,
         '"b" blocks charge: the temperature read -1.500 degrees C, below the limit of 0 degrees '
         "C."),
    ],
)  # fmt: skip
def test_units_and_sides(rule, value, text):
    assert text_of(rule, value) == text


def test_temperatures_are_told_in_degrees():
    rule = Rule(Watch.TEMPERATURE, True, 273.15, release=Release(278.15))
    one = read(log(k.TRIP, 1, 268.15), rule)
    assert (one.value, one.threshold, one.unit) == (approx(-5.0), approx(0.0), "degC")
    one = read(log(k.RELEASE, 1, 283.15), rule)
    assert (one.what, one.value, one.threshold) == ("release", approx(10.0), approx(5.0))
    assert one.text.endswith("read 10.00 degrees C, above the limit of 5.000 degrees C.")


@pytest.mark.parametrize(
    ("needs", "end"),
    [
        (Needs.NOTHING, "above the limit of 2.800 V for 2 s."),
        (Needs.CHARGING, "above the limit of 2.800 V for 2 s and it is charged."),
        (Needs.LOAD_REMOVED, "above the limit of 2.800 V for 2 s and no load draws."),
    ],
)
def test_what_a_release_waited_for(needs, end):
    rule = Rule(Watch.LOWEST_CELL, True, 2.5, 9.0, release=Release(2.8, 2.0, needs))
    text = text_of(rule, 3.0, k.RELEASE, 3)
    assert text == f'"b" allows discharge again: cell 3 read 3.000 V, {end}'
    above = Rule(Watch.HIGHEST_CELL, False, 3.65, 9.0, Blocks.CHARGE, Release(3.4))
    assert text_of(above, 3.3, k.RELEASE, 1) == (
        '"b" allows charge again: cell 1 read 3.300 V, below the limit of 3.400 V.'
    )


# rules come first: one of "a", none of "b"; then loads that cut themselves off, then heaters
PUMP = replace(steady(1.0), name="pump")
CUTS = replace(steady(5.0), cut_off=CutOff(10.5, 30.0, 12.346)), replace(
    PUMP, cut_off=CutOff(11.0)
)  # fmt: skip


@pytest.mark.parametrize(
    ("what", "subject", "word", "source", "threshold", "text"),
    [
        (k.TRIP, 1, "load cut off", "load", 10.5,
         '"load" switches itself off: its voltage stayed below 10.50 V for 30 s.'),
        (k.TRIP, 2, "load cut off", "pump", 11.0,
         '"pump" switches itself off: its voltage stayed below 11.00 V.'),
        (k.RELEASE, 1, "load restarts", "load", 12.346,
         '"load" starts again: its voltage is back at 12.35 V.'),
        (k.STUCK, 1, "load stays off", "load", 10.5,
         '"load" has started and stopped in vain too often; it stays off.'),
    ],
)  # fmt: skip
def test_loads_that_cut_themselves_off(what, subject, word, source, threshold, text):
    one = read(log(what, subject, 10.4), loads=(PUMP, *CUTS))
    assert (one.what, one.source, one.battery) == (word, source, None)
    assert (one.value, one.threshold, one.unit) == (10.4, threshold, "V")
    assert one.text == text
    assert (one.battery_voltage_V, one.cell_voltages_V) == (None, None)


@pytest.mark.parametrize(
    ("what", "word", "text"),
    [
        (k.TRIP, "heater on", 'The heater of "b" switches on: it heats while a charger is on.'),
        (k.RELEASE, "heater off", 'The heater of "b" switches off.'),
        (k.STUCK, "heater off", 'The heater of "b" switches off.'),
    ],
)
def test_heaters(what, word, text):
    one = read(log(what, 3), loads=CUTS, heater=Heater(20.0, 275.0, 280.0))
    assert (one.what, one.battery, one.text) == (word, "b", text)
    assert one.battery_voltage_V == 39.3
    alone = Heater(20.0, 275.0, 280.0, needs_charger=False)
    plain = text.replace(": it heats while a charger is on", "")
    assert read(log(what, 3), loads=CUTS, heater=alone).text == plain


@pytest.mark.parametrize(
    ("kelvin", "read_C"),
    [(273.15, "reached"), (273.1495, "reached"), (273.1461, "reached"),
     (273.14, "read -0.01000 degrees C, below"), (271.15, "read -2.000 degrees C, below")],
)  # fmt: skip
def test_a_temperature_is_told_to_a_hundredth(kelvin, read_C):
    # at 0 degrees C half a thousandth has as many digits as any other number
    frost = Rule(Watch.TEMPERATURE, True, 273.15, 1.0, Blocks.CHARGE)
    assert text_of(frost, kelvin) == (
        f'"b" blocks charge: the temperature {read_C} the limit of 0 degrees C for 1 s.'
    )


def test_stages_of_chargers():
    chargers = [Charger(name, (Stage(14.4), Stage(13.567)), limit_A=5.0) for name in ("x", "y")]
    one = read(log(k.NEXT_STAGE, 1, 2.0), chargers=chargers)
    assert (one.what, one.source, one.value, one.battery) == ("charger stage", "y", 2.0, None)
    assert one.text == '"y" begins stage 2: up to 13.57 V, then held.'
    one = read(log(k.NEXT_STAGE, 0, 1.0), chargers=chargers)
    assert one.text == '"x" begins stage 1: up to 14.40 V, then held.'
    one = read(log(k.NEXT_STAGE, 0, 0.0), chargers=chargers)
    assert (one.value, one.text) == (0.0, '"x" has finished its last stage and switches off.')


@pytest.mark.parametrize(
    ("bits", "word", "told"),
    [(1, "charge", "charge"), (2, "discharge", "discharge"), (3, "both", "charge and discharge")],
)
def test_directions_that_stay_blocked(bits, word, told):
    one = read(log(k.STAYS_OUT, 1, float(bits)))
    assert (one.what, one.battery, one.blocks) == ("stays out", "b", word)
    assert one.text.startswith(
        f'"b" has come back in vain 100 times in a row; {told} is taken as blocked until'
    )
    one = read(log(k.FREED, 1, float(bits)))
    assert (one.what, one.battery, one.blocks) == ("may return", "b", word)
    assert one.text == f'"b" may return to {told}.'


def test_what_concerns_the_whole_bank():
    one = read(log(k.COLLAPSE, -1))
    assert (one.what, one.battery, one.source) == ("load cannot be fed", None, None)
    assert one.text == "The loads ask for more than the bank can give."
    one = read(log(k.REFUSED, -1))
    assert one.what == "charge not accepted"
    assert one.text.startswith("Charge is offered, but no battery is connected")
