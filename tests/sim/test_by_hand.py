"""Runs of random banks against Kirchhoff, Ohm, charge, energy and their rules, all by hand.

The long form is ``python -m tests.by_hand``. Nothing of the solver is used to check its results.
"""

import dataclasses
import random

import numpy as np
import pytest
from by_hand.check import wrong_with
from by_hand.record import Record
from random_banks import random_bank
from random_hybrids import random_hybrid
from simple_banks import affine, bank_of, run, steady, stepped

from bankSim.model.charger import Charger, Stage, Sun
from bankSim.model.rule import Blocks, Rule, Watch
from bankSim.scenario.read import read_scenario
from bankSim.sim.result import COLLAPSE, TRIP, Event
from tests.hostile.make_low_banks import low_bank

ROWS = 250


def fine(bank, rows=ROWS):
    return dataclasses.replace(bank, output_every_s=max(bank.duration_s / rows, 0.01))


def low(seed, folder):
    for name, content in low_bank(random.Random(f"low/{seed}")).items():
        (folder / name).write_bytes(content)
    return read_scenario(folder / "bank.toml").bank


@pytest.mark.parametrize("seed", [3, 10, 15, 18, 21, 24])
def test_banks_near_empty_beside_chargers(seed, tmp_path):
    # some of them collapse at once, chatter, are colder than charge allows, or go dark
    bank = fine(low(seed, tmp_path))
    assert wrong_with(bank, run(bank)) == []


@pytest.mark.parametrize("make", [random_bank, random_hybrid])
@pytest.mark.parametrize("seed", [4])
def test_other_banks(make, seed):
    bank = fine(make(seed))
    assert wrong_with(bank, run(bank)) == []


def test_in_these_banks_some_batteries_take_charge_while_others_give(tmp_path):
    both = 0
    for seed in range(25):
        bank = dataclasses.replace(low(seed, tmp_path), duration_s=1.0)
        amps = Record(bank, run(bank)).amps
        fed = bool(bank.loads and bank.chargers)
        both += fed and bool(np.any((amps.min(axis=1) < -0.1) & (amps.max(axis=1) > 0.1)))
    assert both >= 8


@pytest.fixture(scope="module")
def sound():
    """A bank of two with a charger, whose second battery cuts out, and its run."""
    rule = Rule(Watch.BATTERY_VOLTAGE, True, 12.95, 40.0)
    members = (
        affine("a", z=0.5, lead=0.01),
        affine("b", z=0.3, lead=0.01, rules=(rule,)),
    )
    charger = Charger("charger", (Stage(14.0),), limit_A=10.0)
    bank = bank_of(*members, load=steady(300.0, 0.0), duration_s=7200.0, chargers=(charger,))
    bank = fine(dataclasses.replace(bank, stop_when_empty=False))
    result = run(bank)
    assert any(event.what == TRIP for event in result.events)
    assert wrong_with(bank, result) == []
    return bank, result


def bent(result, column, change, rows=slice(None)):
    trace = result.trace.copy()
    trace[rows, column] += change
    return dataclasses.replace(result, trace=trace)


@pytest.mark.parametrize(
    ("column", "change", "sort"),
    [
        (2, 0.01, "branch"),
        (3, 0.01, "currents do not add up"),
        (4, 0.01, "main cable"),
        (5, 0.5, "cell voltage"),  # more current than Ohm's law lets through
        (6, 0.01, "cells do not add up"),
        (15, 0.005, "cell voltage"),
        (17, 0.01, "charger"),
        (17, 0.01, "loads"),
    ],
)
def test_what_is_off_in_the_rows_is_found(sound, column, change, sort):
    bank, result = sound
    assert any(one.startswith(sort) for one in wrong_with(bank, bent(result, column, change)))


def test_a_current_turned_round_is_found(sound):
    bank, result = sound
    trace = result.trace.copy()
    trace[:, 5] *= -1.0
    wrong = wrong_with(bank, dataclasses.replace(result, trace=trace))
    assert any(one.startswith("charge direction") for one in wrong)


def test_trips_that_are_missing_or_without_reason_are_found(sound):
    bank, result = sound
    trips = [event for event in result.events if event.what == TRIP]
    silent = dataclasses.replace(
        result, events=tuple(event for event in result.events if event.what != TRIP)
    )
    wrong = wrong_with(bank, silent)
    assert any(one.startswith("blocked otherwise") for one in wrong)
    more = Rule(Watch.DISCHARGE_CURRENT, False, 0.5, 1.0)  # one that the run never had
    one = dataclasses.replace(bank.batteries[0], rules=(more,))
    stricter = dataclasses.replace(bank, batteries=(one, *bank.batteries[1:]))
    assert any(told.startswith("missed trip") for told in wrong_with(stricter, result))
    early = dataclasses.replace(trips[0], time_s=trips[0].time_s - 60.0, value=13.0)
    wrong = wrong_with(bank, dataclasses.replace(result, events=(early,)))
    assert any(one.startswith("trip without a reason") for one in wrong)
    assert any(one.startswith("trip within its delay") for one in wrong)


def test_a_lower_answer_than_the_highest_is_found():
    # closed form: V (E - V) / R = P has two answers, and the lower one is no bank's
    bank = bank_of(affine("a", 0.1, z=0.5), load=steady(200.0, 0.0), duration_s=60.0)
    result = run(bank)
    emf_V = 13.1
    volts = (emf_V - np.sqrt(emf_V**2 - 4.0 * 0.1 * 200.0)) / 2.0
    trace = result.trace.copy()
    trace[:, [2, 4, 6, 10]], trace[:, [3, 5]] = volts, (emf_V - volts) / 0.1
    wrong = wrong_with(bank, dataclasses.replace(result, trace=trace))
    assert any(one.startswith("not the highest answer") for one in wrong)
    assert wrong_with(bank, result) == []


def test_a_collapse_without_a_reason_is_found():
    bank = bank_of(affine("a", z=0.5), load=stepped([0.0, 30.0], [5.0, 9.0]), duration_s=60.0)
    result = run(bank)
    false = Event(30.0, COLLAPSE, None, None, None, None, None, "", None, 13.0, None, None, (5.0,),
                  (0.0,))  # fmt: skip
    wrong = wrong_with(bank, dataclasses.replace(result, events=(false,)))
    assert [one.partition(" (")[0] for one in wrong] == ["collapse without a reason"]


def test_totals_that_are_off_are_found(sound):
    bank, result = sound
    first = dataclasses.replace(
        result.batteries[0], delivered_Ah=1.01 * result.batteries[0].delivered_Ah,
        final_state_of_charge=(result.batteries[0].final_state_of_charge[0] + 1e-3,),
    )  # fmt: skip
    wrong = wrong_with(bank, dataclasses.replace(result, batteries=(first, *result.batteries[1:])))
    assert any(one.startswith("charge (") for one in wrong)
    assert any(one.startswith("charge held") for one in wrong)
    energy = result.bank.energy
    less = dataclasses.replace(energy, loads_Wh=0.98 * energy.loads_Wh)
    other = dataclasses.replace(result, bank=dataclasses.replace(result.bank, energy=less))
    assert any(one.startswith("energy") for one in wrong_with(bank, other))


def test_the_last_row_tells_what_was_blocked_before_it_ended():
    # the trip of one leaves the load unfed: the row is that of just before, both give
    rule = Rule(Watch.BATTERY_VOLTAGE, True, 14.0, 1.0)
    bank = bank_of(
        affine("a", z=0.5, lead=0.01, rules=(rule,)),
        affine("b", 0.5, z=0.5, lead=0.01),
        load=steady(400.0, 0.0),
        duration_s=60.0,
    )
    record = Record(bank, run(bank))
    assert record.time_s[-1] == 1.0
    assert record.amps[-1].min() > 0.5
    assert record.mode[-1].tolist() == [0, 0]


@pytest.mark.parametrize("dawn_s", [0.0, 30.0])
def test_a_bank_driven_below_nothing_meets_the_sunrise(dawn_s):
    # at first the sun gives next to no power: no voltage above 0 takes it, and nothing flows
    rule = Rule(Watch.BATTERY_VOLTAGE, True, 1.0, 0.0, Blocks.DISCHARGE)
    low_V = {"a": -0.165, "b": -0.82, "c": -0.83}
    members = [
        affine(name, 0.004, z=0.5, base=base, span=1e-3, lead=5e-4, rules=(rule,) * (name > "a"))
        for name, base in low_V.items()
    ]
    rise_s = 6.0 * 3600.0 + dawn_s
    sun = Charger("sun", (Stage(15.0),), sun=Sun(264.0, rise_s, 19.0 * 3600.0))
    bank = bank_of(*members, duration_s=60.0, chargers=(sun,), starts_at_s=6.0 * 3600.0)
    result = run(dataclasses.replace(bank, stop_when_empty=False, output_every_s=0.1))
    table = result.timeline()
    assert table["sun.current_A"].iloc[0] == 0.0
    assert table["sun.current_A"].iloc[-1] > 0.0
    # closed form: what the sun gives is its power, 264 W sin(pi t / day), at that voltage
    power_W = 264.0 * np.sin(np.pi * (60.0 - dawn_s) / (13.0 * 3600.0 - dawn_s))
    last = table.iloc[-1]
    assert last["sun.current_A"] * last["bank.voltage_V"] == pytest.approx(power_W, rel=1e-6)
