"""What drops between cells and terminals, where both were logged; steps between two samples."""

from dataclasses import replace

import numpy as np
import pytest
from pytest import approx

from bankSim.measured.fit_samples import AFTER_STEP, samples_of
from bankSim.measured.followed import noise_mV
from bankSim.measured.label import Label
from bankSim.measured.log import Log
from bankSim.measured.parameters import Recipe
from bankSim.measured.quantities import Beside
from bankSim.measured.straps import at_terminals, straps_of
from bankSim.model.lfp import LFP

TIME_S = np.arange(0.0, 6000.0, 10.0)
AMPS = np.where((TIME_S // 600) % 2 == 1, 40.0, 0.0)
CELLS_V = 3.3 - 1e-3 * np.arange(4) - 1e-3 * AMPS[:, None]


def log_of(voltage_V, cells_V=CELLS_V, current_A=AMPS):
    return Log("made", TIME_S, voltage_V, current_A, cells_V=cells_V)


def test_a_resistance_between_cells_and_terminals_is_read():
    # Ohm's law: 2.1 mohm, and two meters that differ by 8 mV
    noise = np.random.default_rng(3).normal(0.0, 0.004, TIME_S.size)
    log = log_of(CELLS_V.sum(axis=1) - 2.1e-3 * AMPS + 0.008 + noise)
    found = straps_of(log, 4)
    assert abs(found.ohm - 2.1e-3) < 3.0 * found.sd_ohm
    # standard error of a slope: noise / (root of n x standard deviation of the current)
    assert found.sd_ohm == approx(0.004 / (np.sqrt(AMPS.size) * AMPS.std()), rel=0.1)
    assert found.offset_V == approx(0.008, abs=0.001)
    assert found.told
    level = at_terminals(log, found)
    assert level.cells_V.sum(axis=1) == approx(log.voltage_V, abs=0.02)
    assert np.ptp(level.cells_V - log.cells_V, axis=1) == approx(0.0, abs=1e-12)


def test_terminals_that_are_cut_off_do_not_count():
    volts = CELLS_V.sum(axis=1) - 2.1e-3 * AMPS
    volts[-100:] = 0.0  # behind the open switch, while the cells rest
    amps = np.where(TIME_S[-101] < TIME_S, 0.0, AMPS)
    found = straps_of(log_of(volts, current_A=amps), 4)
    assert found.ohm == approx(2.1e-3, rel=1e-6)


def test_one_current_all_the_way_tells_only_a_sum():
    steady = np.full(TIME_S.size, 40.0)
    found = straps_of(log_of(CELLS_V.sum(axis=1) - 0.084, current_A=steady + 1e-6 * TIME_S), 4)
    assert found is None or not found.told


@pytest.mark.parametrize(
    ("voltage_V", "cells"),
    [
        (CELLS_V.sum(axis=1), 4),  # the sum of the cells stands for the battery
        (CELLS_V.sum(axis=1) - 2.1e-3 * AMPS, 8),  # not all cells were logged
        (2.0 * CELLS_V.sum(axis=1) - 2.1e-3 * AMPS, 4),  # a contradiction
    ],
)
def test_nothing_is_told_where_nothing_can_be(voltage_V, cells):
    log = log_of(voltage_V)
    assert straps_of(log, cells) is None
    assert at_terminals(log, None) is log


def recipe():
    label = Label("made", "LFP", 1, 100.0)
    return Recipe(label, LFP.typical_cell(100.0, 360_000.0), None, ((1.0, True),), False)


def test_a_step_between_two_samples_makes_what_follows_doubtful():
    # a voltage that falls by s a second, a step somewhere in an interval d: s d / root 12
    volts = 3.3 - 2e-4 * TIME_S
    held = samples_of(Log("made", TIME_S, volts, AMPS), recipe(), 25.0)
    still = samples_of(Log("made", TIME_S, volts, np.full(TIME_S.size, 40.0)), recipe(), 25.0)
    here, there = (dict(zip(s.time_s, s.sd_V[:, 0], strict=True)) for s in (held, still))
    doubt = np.hypot(0.003, 2e-4 * 10.0 / np.sqrt(12.0))
    assert here[600.0] == approx(doubt)
    after = 600.0 + 10.0 * AFTER_STEP
    both = [t for t in here if t in there and after <= t < 1190.0]
    assert both
    assert here[both[0]] == approx(there[both[0]])


def test_air_around_a_battery_is_not_its_temperature():
    log = Log("made", TIME_S, 3.3 - 1e-5 * TIME_S, AMPS, temperature_C=np.full(TIME_S.size, 12.0))
    own = samples_of(log, recipe(), 25.0).course
    air = samples_of(replace(log, of_air=True), recipe(), 25.0).course
    assert own.temperature_K == air.temperature_K == approx(285.15)
    assert own.thermal is None
    assert air.thermal == recipe().thermal


def test_what_half_an_interval_moves_from_relaxation_to_at_once():
    # closed form of one pair: R (1 - exp(-t / tau)) after half of 15 s
    cell = LFP.typical_cell(100.0, 360_000.0)
    first, second = cell.relaxation
    beside = Beside(0.5, 5.0, 100.0, interval_s=15.0)
    moved = [
        4e3 * one.resistance_ohm * (1.0 - np.exp(-7.5 / one.time_constant_s))
        for one in (first, second)
    ]
    assert beside.blurred_mohm(cell, 4, (0,)) == approx(moved[0])
    assert beside.blurred_mohm(cell, 4, (0, 1)) == approx(sum(moved))
    assert Beside(0.5, 5.0, 100.0, 0.0).blurred_mohm(cell, 4, (0, 1)) == 0.0
    all_of_it = 4e3 * (first.resistance_ohm + second.resistance_ohm)
    assert Beside(0.5, 5.0, 100.0).blurred_mohm(cell, 4, (0, 1)) == approx(all_of_it)  # no steps


@pytest.mark.parametrize("noise_V", [0.0004, 0.002])
def test_noise_of_a_log_is_found_whatever_the_voltage_does(noise_V):
    volts = 13.2 - 1e-4 * TIME_S + np.random.default_rng(4).normal(0.0, noise_V, TIME_S.size)
    log = Log("made", TIME_S, np.round(volts, 4), AMPS)
    assert noise_mV(log, 4) == approx(1e3 * noise_V / 4, rel=0.15)
