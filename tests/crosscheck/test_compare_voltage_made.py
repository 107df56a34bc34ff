"""The bus voltage of a comparison on a made answer: which instants count, and how."""

from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest
from crosscheck_banks import affine_battery, steady

from bankSim.crosscheck.compare_lines import charge_lines, edges_s, voltage_lines
from bankSim.crosscheck.spice import LET_GO, SHUT, SpiceResult
from bankSim.model.bank import Bank, Wiring
from bankSim.model.charger import Charger, Stage
from bankSim.model.load import Schedule
from bankSim.model.rule import Blocks
from bankSim.sim.result import TRIP

STEP_S, END_S = 10.0, 4000.0
CUT_S, CUT_THERE_S, EDGE_S, CHARGER_S = 2000.0, 2200.0, 1000.0, 3000.0
FULL_V = 13.4  # of `affine_battery`: a fifth is 2.68 V


def made(ours_V, theirs_V, *, cut=True):
    """A run and SPICE's answer with voltages given at every second, and one cut-out each."""
    load = steady(5.0, schedule=Schedule(active_s=((0.0, EDGE_S),)))
    charger = Charger(
        "c", (Stage(14.0),), limit_A=1.0, schedule=Schedule(active_s=((CHARGER_S, 9e9),))
    )
    battery = affine_battery("a", 0.01, 10.0, 0.5)
    bank = Bank((battery,), Wiring(), (load,), duration_s=END_S, chargers=(charger,))
    times = np.arange(0.0, END_S + 1.0)
    event = SimpleNamespace(time_s=CUT_S, battery="a", what=TRIP, blocks="discharge")
    outcome = SimpleNamespace(
        name="a", delivered_Ah=1.0, charged_Ah=0.0, first_cut_out=event if cut else None
    )
    result = SimpleNamespace(
        timeline=lambda: pd.DataFrame({"time_s": times, "bank.voltage_V": ours_V}),
        scenario=SimpleNamespace(bank=bank), batteries=[outcome], bank=outcome,
        events=(event,) if cut else (), end_time_s=END_S, end_reason="",
    )  # fmt: skip
    nobody = {
        (0, way, step): np.empty(0)
        for way in (Blocks.DISCHARGE, Blocks.CHARGE) for step in (SHUT, LET_GO)
    }  # fmt: skip
    there = {**nobody, (0, Blocks.DISCHARGE, SHUT): np.array([CUT_THERE_S])} if cut else nobody
    column = np.zeros((times.size - 1, 1))
    found = SpiceResult(times[1:], theirs_V[1:], column, column, column, there, STEP_S, "")
    return result, found


def level():
    """13 V at every second, 1 mV less in SPICE."""
    return np.full(int(END_S) + 1, 13.0), np.full(int(END_S) + 1, 12.999)


def told(lines):
    return {line.quantity: line.difference for line in lines}


BEFORE, AFTER = "bus voltage to the first cut-out, rms", "bus voltage after it, rms"


def test_a_constant_difference_is_the_root_of_its_mean_square():
    found = told(voltage_lines(*made(*level())))
    assert found == pytest.approx({BEFORE: 1.0, AFTER: 1.0})
    assert told(voltage_lines(*made(*level(), cut=False))) == pytest.approx(
        {"bus voltage, rms": 1.0}
    )
    first = voltage_lines(*made(*level()), to_first_only=True)
    assert told(first) == pytest.approx({"bus voltage to the first event, rms": 1.0})


@pytest.mark.parametrize(
    ("start", "stop"),
    [
        (0, 30),  # the start, three steps
        (EDGE_S - 10, EDGE_S + 10),  # a load that switches, a step
        (CHARGER_S - 10, CHARGER_S + 10),
        (CUT_S - 30, CUT_THERE_S + 30),  # a cut-out, three steps, and between both of its instants
        (END_S, END_S),
    ],
)
def test_what_switches_a_little_apart_is_no_difference_of_voltage(start, stop):
    ours_V, theirs_V = level()
    theirs_V[int(start) : int(stop) + 1] = 9.0
    assert told(voltage_lines(*made(ours_V, theirs_V))) == pytest.approx({BEFORE: 1.0, AFTER: 1.0})


@pytest.mark.parametrize(
    ("second", "line"),
    [(31, BEFORE), (989, BEFORE), (1011, BEFORE), (1969, BEFORE), (2231, AFTER), (2989, AFTER),
     (3011, AFTER), (3999, AFTER)],
)  # fmt: skip
def test_right_beside_it_one_odd_second_counts(second, line):
    ours_V, theirs_V = level()
    theirs_V[second] = 12.0
    lines = voltage_lines(*made(ours_V, theirs_V))
    found = told(lines)
    (other,) = {BEFORE, AFTER} - {line}
    assert found[other] == pytest.approx(1.0)
    assert found[line] > 15.0  # 1000 mV in one of less than 2,000 s
    assert {one.quantity: one.agrees for one in lines} == {line: False, other: True}


def test_to_the_first_event_only_what_comes_later_is_left():
    ours_V, theirs_V = level()
    theirs_V[2231:] = 12.0
    lines = voltage_lines(*made(ours_V, theirs_V), to_first_only=True)
    assert told(lines) == pytest.approx({"bus voltage to the first event, rms": 1.0})


@pytest.mark.parametrize(("ours", "theirs"), [(0.0, 9.0), (9.0, 0.2 * FULL_V), (0.0, 0.0)])
def test_a_dark_bus_on_either_side_is_left_out(ours, theirs):
    ours_V, theirs_V = level()
    ours_V[2500:2900], theirs_V[2500:2900] = ours, theirs
    assert told(voltage_lines(*made(ours_V, theirs_V))) == pytest.approx({BEFORE: 1.0, AFTER: 1.0})
    ours_V[2000:], theirs_V[2000:] = ours, theirs
    assert list(told(voltage_lines(*made(ours_V, theirs_V)))) == [BEFORE]  # nothing is left after


def test_whatever_switches_is_an_edge():
    result, _ = made(*level())
    assert edges_s(result).tolist() == [0.0, EDGE_S, CUT_S, CHARGER_S]


def test_a_bank_that_takes_charge_is_judged_by_all_that_went_through():
    # 1 Ah given, 9 Ah taken: 0.1 % of 10 Ah are 10 mAh
    result, found = made(*level(), cut=False)
    result.batteries[0].charged_Ah = 9.0
    for given, agrees in ((1.009, True), (1.011, False)):
        counters = np.linspace(0.0, 1.0, found.time_s.size)[:, None]
        amps = np.full((found.time_s.size, 1), 3600.0 * given / (END_S - 1.0))
        there = SpiceResult(
            found.time_s, found.bus_V, amps, given * counters, 9.0 * counters,
            found.switchings, STEP_S, "",
        )  # fmt: skip
        lines = {line.quantity: line.agrees for line in charge_lines(result, there)}
        assert lines == {"a delivered": agrees, "a charged": True, "bank delivered": agrees}
