"""The measured current as a load: by hand."""

from dataclasses import replace

import numpy as np
import pytest
from pytest import approx
from simple_banks import bank_of, battery

from bankSim.measured.compare_course import Course
from bankSim.measured.compare_drive import drive_of, driven
from bankSim.model.lfp import typical_cell


def load_of(seconds, amperes):
    """The load of a measured current."""
    seconds, amperes = np.array(seconds, float), np.array(amperes, float)
    volts, none = np.full(seconds.size, 13.0), np.empty((0, seconds.size))
    return drive_of(Course(seconds, volts, amperes, none))


def test_amounts_are_means_between_rows():
    # from 10 to 20 A in one step of 100 s: 15 A there
    load = load_of([0, 100, 200, 300], [10, 10, 20, 20])
    assert load.profile_s.tolist() == [0.0, 100.0, 200.0, 300.0]
    assert load.profile_amount.tolist() == [10.0, 15.0, 20.0, 20.0]


def test_two_rows_at_one_instant_are_a_jump():
    load = load_of([0, 100, 100, 200], [10, 10, 20, 20])
    assert load.profile_s.tolist() == [0.0, 100.0, 200.0]
    assert load.profile_amount.tolist() == [10.0, 20.0, 20.0]


@pytest.mark.parametrize(("amperes", "parts"), [(9.91, 1), (9.89, 2), (-9.91, 1), (-9.89, 2)])
def test_what_differs_by_a_hundredth_of_the_largest_is_held_as_one(amperes, parts):
    # 10 A for 500 s, then less: means of 10, of the step's half, and of the rest; a jump
    way = np.sign(amperes)
    load = load_of([0, 500, 500, 1000], [10 * way, 10 * way, amperes, amperes])
    assert load.profile_s.size == parts + 1
    charge = np.sum(load.profile_amount[:-1] * np.diff(load.profile_s))
    assert charge == approx(500.0 * (10 * way + amperes))


def test_one_amount_is_held_for_half_an_hour():
    load = load_of(np.arange(0, 4001, 100), np.full(41, 10.0))
    assert load.profile_s.tolist() == [0.0, 1900.0, 3800.0, 4000.0]


def test_the_last_tenth_goes_on():
    # 10 A for 900 s, then 20 A for 60 and 30 A for 40 s; it begins at 500 s
    seconds = 500.0 + np.array([0, 900, 900, 960, 960, 1000])
    load = load_of(seconds, [10, 10, 20, 20, 30, 30])
    assert load.profile_amount[-1] == approx(20.0 * 0.6 + 30.0 * 0.4)
    assert load.profile_s[-1] == 1500.0


def test_a_tenth_that_lies_within_one_step_of_the_log_goes_on():
    # rows an hour apart for 4 h: the tenth is 24 min, all of it in the last step, of 20 A
    load = load_of([0, 3600, 7200, 10800, 10800, 14400], [10, 10, 10, 10, 20, 20])
    assert load.profile_amount[-1] == approx(20.0)
    # a tenth of 100 s: 4 s of 15 A and 6 s of 20 A
    across = load_of([0, 50, 94, 94, 100], [10, 10, 20, 20, 20])
    assert across.profile_amount[-1] == approx(0.4 * 15.0 + 0.6 * 20.0)


@pytest.mark.parametrize(("lasts_s", "until_s"), [(7200.0, 10080.0), (100.0, 160.0)])
def test_the_bank_goes_on_after_the_measurement(lasts_s, until_s):
    # 1.4 times as long, a minute at least; no row more than 8,000
    cell = replace(typical_cell(100.0, 360e3), state_of_charge=0.5)
    bank = bank_of(battery("a", cell), output_every_s=0.5)
    drive = load_of([0, lasts_s], [10, 10])
    found = driven(bank, drive)
    assert found.duration_s == approx(until_s)
    assert (found.loads, found.chargers, found.stop_when_empty) == ((drive,), (), True)
    assert found.output_every_s == approx(max(0.5, until_s / 8000.0))
