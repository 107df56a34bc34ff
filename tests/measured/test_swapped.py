"""Volts read as amperes: each threshold on both sides, by hand."""

import numpy as np
import pytest

from bankSim.measured.swapped import reads_swapped, swapped

COUNT = 1000
SAWTOOTH = np.arange(COUNT) % 100 / 100.0  # many levels


def columns(resting=0.2, *, volts=12.5, higher=0.3, load=5.0):
    """What is read as (voltage, current) where the headers are exchanged.

    The battery rests for a part of the rows, in runs of ten, and stands higher then.
    """
    rests = np.arange(COUNT) // 10 % 50 < 50 * resting
    return np.where(rests, 0.0, load + SAWTOOTH), volts + higher * rests + 0.02 * SAWTOOTH


def test_a_current_like_a_voltage_beside_a_voltage_like_a_current():
    assert reads_swapped(*columns())
    volts, amps = columns()
    assert reads_swapped(volts, -amps)
    assert not reads_swapped(amps, volts)  # as it should be


@pytest.mark.parametrize(("rows", "told"), [(9, False), (11, True)])
def test_a_hundredth_of_the_rows_shows_it(rows, told):
    volts, amps = columns(0.0)
    volts[:rows], amps[:rows] = 0.0, 12.9
    assert reads_swapped(volts, amps) is told


@pytest.mark.parametrize(("low_V", "told"), [(0.19, True), (0.21, False)])
def test_a_voltage_below_a_fifth_of_a_volt_is_none(low_V, told):
    volts, amps = columns()
    volts[volts == 0.0] = low_V
    assert reads_swapped(volts, amps) is told


@pytest.mark.parametrize(("rows", "told"), [(4, True), (6, False)])
def test_a_current_that_rests_is_a_current(rows, told):
    # a two hundredth of the rows: nothing flows, and there is voltage
    volts, amps = columns()
    amps[np.flatnonzero(volts)[:rows]] = 0.0
    assert reads_swapped(volts, amps) is told


@pytest.mark.parametrize(("rise", "told"), [(10.5, True), (10.8, False)])
def test_a_batterys_voltage_keeps_within_a_factor_of_two(rise, told):
    # a straight line up from 10 V: at 2 and 98 % of it 10 + 0.02 r and 10 + 0.98 r, twice as much
    # at r = 10 / 0.94
    shown, _ = columns(0.6)
    assert reads_swapped(shown, np.linspace(10.0, 10.0 + rise, COUNT)) is told


@pytest.mark.parametrize(
    ("volts", "told"), [(2.1, True), (1.9, False), (990.0, True), (1010.0, False)]
)
def test_batteries_have_two_to_a_thousand_volts(volts, told):
    # half of the time without voltage: nothing else is asked
    shown, amps = columns(0.6, volts=volts, higher=0.0)
    assert reads_swapped(shown, amps) is told


def test_a_current_of_both_signs_is_no_voltage():
    volts, amps = columns()
    amps[500] *= -1.0
    assert not reads_swapped(volts, amps)


@pytest.mark.parametrize(("higher", "told"), [(0.13, True), (0.0, False)])
def test_less_than_half_of_the_time_the_rest_must_be_higher(higher, told):
    # by half a hundredth of 12.5 V
    assert reads_swapped(*columns(higher=higher)) is told
    assert reads_swapped(*columns(0.6, higher=higher))


def test_an_emptied_battery_that_rises_at_every_switching():
    # it falls by 1.5 V on the way: on the whole the last rest is lower, but each is higher beside
    # its load; and one lead of a meter that falls off meanwhile changes nothing
    rests = np.arange(COUNT) >= 800
    volts = np.where(rests, 0.0, 5.0 + SAWTOOTH)
    amps = 13.0 - 1.5 * np.minimum(np.arange(COUNT), 800) / 800.0 + 0.3 * rests
    assert np.median(amps[rests]) < np.median(amps[~rests])
    assert reads_swapped(volts, amps)
    assert not reads_swapped(volts, amps - 0.28 * rests)


@pytest.mark.parametrize(("levels", "told"), [(20, True), (21, False)])
def test_no_batterys_voltage_takes_few_values(levels, told):
    # beside a current of a hundred, and none of it higher at rest
    volts, amps = columns(higher=0.0)
    shown = np.where(volts == 0.0, 0.0, 5.0 + np.arange(COUNT) % (levels - 1))
    assert np.unique(shown).size == levels
    assert reads_swapped(shown, amps) is told


def test_few_values_beside_few_values_tell_nothing():
    rests = np.arange(COUNT) % 10 < 2
    volts = np.where(rests, 0.0, 12.0)
    assert not reads_swapped(volts, np.full(COUNT, 10.0))
    assert reads_swapped(volts, 10.0 + 0.01 * (np.arange(COUNT) % 3))
    assert not reads_swapped(volts, 10.0 + 0.01 * (np.arange(COUNT) // 5 % 2))


CELLS = np.full((COUNT, 4), 3.2) + 0.1 * SAWTOOTH[:, None]
TOTAL = CELLS.sum(axis=1)
LOAD = 5.0 + SAWTOOTH


def test_the_sum_of_the_cells_is_the_voltage():
    assert swapped(LOAD, TOTAL, CELLS)
    assert swapped(LOAD, -TOTAL, CELLS)
    assert not swapped(TOTAL, LOAD, CELLS)
    assert not swapped(LOAD, 2.0 * TOTAL, CELLS)
    assert not swapped(LOAD, TOTAL, np.empty((COUNT, 0)))


@pytest.mark.parametrize(("rows", "told"), [(910, True), (890, False)])
def test_nine_tenths_of_the_rows_must_fit(rows, told):
    amps = np.where(np.arange(COUNT) < rows, TOTAL, 1.0)
    assert swapped(LOAD, amps, CELLS) is told


def test_rows_without_cells_do_not_count():
    holes = CELLS.copy()
    holes[::2] = np.nan
    assert swapped(LOAD, np.where(np.arange(COUNT) % 2, TOTAL, 1.0), holes)
