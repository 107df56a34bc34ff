"""One constant current: its log does not tell resistance from the voltage curve, and errors say so.

The truth is what made each log: by hand (`hand_cells`, another curve and another shape of the
resistance than typical) or with the package's own solver.
"""

import re

import numpy as np
import pytest
from hand_cells import HandBattery, hand_log
from lead_logs import LeadTest, lead_log
from pytest import approx

from bankSim.measured.battery_file import battery_files
from bankSim.measured.calibrate import calibrate
from bankSim.measured.fit_samples import samples_of
from bankSim.measured.label import Label
from bankSim.measured.log import Log
from bankSim.measured.parameters import Recipe
from bankSim.model.lead_acid import AGM
from bankSim.model.lfp import LFP

AT_ONCE, LONG = "resistance at once, half full", "resistance after long, half full"
LOW = "resistance after long, at 15 %"
LABEL = Label("hand", "LFP", 4, 100.0)


def hand_battery(factor=1.0):
    return HandBattery(ohmic_mohm=0.9 * factor, paired_mohm=0.6 * factor, time_constant_s=30.0)


def found_by_hand(factor, current_A, cells=True, every_s=10.0):
    log = hand_log(hand_battery(factor), lambda _: current_A, every_s, cells=cells)
    return calibrate([log], LABEL)


@pytest.fixture(scope="module")
def usual():
    """20 A to the cut-out, cells logged: the commonest test."""
    return found_by_hand(1.0, 20.0)


def assert_covers(found, truth):
    for name, true in truth.items():
        value = found.value(name)
        assert abs(value.value - true) < 2.0 * value.sd, name


def truth_of(battery):
    return {
        AT_ONCE: battery.mohm(0.45, long=False), LONG: battery.mohm(0.45, long=True),
        LOW: battery.mohm(0.15, long=True),
    }  # fmt: skip


def test_the_commonest_test_leaves_resistances_near_typical(usual):
    # found 2.1 +- 1.4, 3.5 +- 1.6 and 2.5 +- 1.2 of 5.1, 7.5 and 9.6 mohm
    assert_covers(usual, truth_of(hand_battery()))
    assert usual.value(LONG).value == approx(hand_battery().mohm(0.45, long=True), rel=0.35)
    assert usual.value(LONG).sd > 0.3 * usual.value(LONG).value


@pytest.mark.parametrize(
    ("factor", "current_A", "cells", "every_s"),
    [(2.5, 20.0, True, 10.0), (0.5, 20.0, True, 10.0), (2.5, 5.0, True, 30.0),
     (1.0, 5.0, False, 30.0), (1.0, 50.0, False, 10.0)],
)  # fmt: skip
def test_stated_errors_cover_what_made_the_log(factor, current_A, cells, every_s):
    found = found_by_hand(factor, current_A, cells, every_s)
    assert_covers(found, truth_of(hand_battery(factor)))


@pytest.mark.parametrize("factor", [0.5, 2.5])
def test_stated_errors_cover_a_lead_battery(factor):
    cell = AGM.typical_cell(100.0, 97.3 * 3600.0, factor)
    found = calibrate([lead_log(cell, LeadTest(20.0, 0.5))], Label("lead", "AGM", 6, 100.0))
    pairs = sum(pair.resistance_ohm for pair in cell.relaxation)
    at_once = 6e3 * float(cell.ohmic_ohm(0.45))
    assert_covers(found, {AT_ONCE: at_once, LONG: at_once + 6e3 * pairs})


def test_no_resistance_is_less_than_what_was_read_at_the_terminals(usual):
    # 1.5 mohm between cells and terminals were told, and 0.97 written
    read = usual.value("of it between cells and terminals")
    assert read.value == approx(1.5, abs=0.05)
    written = re.search(r"internal_mohm = \{ value = ([\d.]+)", battery_files(usual, "x").text)
    assert float(written[1]) == approx(read.value, rel=1e-3)
    cell = usual.recipe.mean_cell(usual.fit.numbers)
    assert 4e3 * float(cell.ohmic_ohm(np.linspace(0.0, 1.0, 50)).min()) > read.value


def test_what_no_log_tells_stays_typical():
    # a slow discharge becomes the voltage curve: straps and switches are part of what is typical
    time = np.arange(0.0, 22 * 3600.0, 60.0)
    volts = 4.0 * (LFP.ocv_V()(1.0 - time / time[-1]) - 0.03)
    log = Log("slow.csv", time, volts.round(3), np.full(time.size, 4.5))
    found = calibrate([log], LABEL)
    value = found.value(AT_ONCE)
    assert value.value == approx(value.typical, rel=0.2)


def step_of(rest_V, every_s=10.0):
    """The first load step of a log that rests at a voltage of each cell, and falls by 30 mV."""
    time = np.arange(0.0, 3600.0, every_s)
    flows = np.where(time > 600.0, 20.0, 0.0)
    volts = 4.0 * np.where(time > 600.0, 3.39 - 1e-6 * time, rest_V)
    recipe = Recipe(LABEL, LFP.typical_cell(100.0, 360_000.0), None, ((1.0, True),), False)
    return samples_of(Log("step", time, volts, flows), recipe, 25.0, start_full=True).first_step


def test_the_first_step_is_a_measurement_unless_more_than_resistance_drops():
    quiet, far, warm = step_of(3.42), step_of(3.42, 300.0), step_of(3.55)
    assert quiet.sd_V == approx([0.005], abs=0.002)
    assert far.sd_V[0] > 3.0 * quiet.sd_V[0]  # 300 s at 20 A: 1.7 % of the charge, steep near full
    assert warm.sd_V[0] > 0.1  # a cell just charged rests far above a full one


def test_a_log_that_begins_under_load_has_no_first_step():
    time = np.arange(0.0, 3600.0, 10.0)
    recipe = Recipe(LABEL, LFP.typical_cell(100.0, 360_000.0), None, ((1.0, True),), False)
    log = Log("on", time, 13.3 - 1e-5 * time, np.full(time.size, 20.0))
    assert samples_of(log, recipe, 25.0, start_full=True).first_step is None
