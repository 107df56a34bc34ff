"""Lines that switch often, window by window: by hand."""

from dataclasses import replace

import made_up
import numpy as np
import pytest
from pytest import approx

from bankSim.model.charger import Charger, Stage
from bankSim.model.load import Schedule
from bankSim.show.least_to_most import MOST_SWITCHINGS, switchings_s, windows_between


def windows(x, y, width, *breaks):
    """Each window as (begin, end, least, most, mean); both its ends have the same numbers."""
    found = windows_between(np.array(x, float), np.array(y, float), width, np.array(breaks, float))
    for one in (found.low, found.high, found.mean):
        assert one[::2].tolist() == one[1::2].tolist()
    columns = (found.x[::2], found.x[1::2], found.low[::2], found.high[::2], found.mean[::2])
    return [tuple(round(float(value), 9) for value in row) for row in zip(*columns, strict=True)]


def test_a_line_that_rises_steadily():
    assert windows([0, 10], [0, 20], 5.0) == [(0, 5, 0, 10, 5), (5, 10, 10, 20, 15)]


def test_the_last_window_takes_in_what_is_left():
    # 10 / 4 is two windows: one of 4, and one of 6
    assert windows([0, 10], [0, 20], 4.0) == [(0, 4, 0, 8, 4), (4, 10, 8, 20, 14)]
    assert windows([0, 10], [0, 20], 11.0) == [(0, 10, 0, 20, 10)]
    assert len(windows([0, 9], [0, 1], 3.0)) == 3  # a whole number may not fall to rounding


def test_what_switches_within_a_window_counts_by_its_time():
    # 8 for a quarter of each window of 4, 0 else
    x = [0, 1, 1, 4, 4, 5, 5, 8]
    y = [8, 8, 0, 0, 8, 8, 0, 0]
    assert windows(x, y, 4.0) == [(0, 4, 0, 8, 2), (4, 8, 0, 8, 2)]


def test_no_window_reaches_over_a_break():
    # a jump from 10 to 2 at 5, where a battery leaves: neither side knows of the other
    x, y = [0, 5, 5, 10], [10, 10, 2, 2]
    assert windows(x, y, 4.0, 5.0) == [(0, 5, 10, 10, 10), (5, 10, 2, 2, 2)]
    assert windows(x, y, 10.0) == [(0, 10, 2, 10, 6)]
    # between rows: the line goes on
    assert windows([0, 10], [0, 20], 20.0, 5.0) == [(0, 5, 0, 10, 5), (5, 10, 10, 20, 15)]
    three = windows([0, 2, 4, 6, 8, 10], [0, 4, 8, 12, 16, 20], 20.0, 3.0, 7.0)
    assert [row[:2] for row in three] == [(0, 3), (3, 7), (7, 10)]
    assert [row[4] for row in three] == [3, 10, 17]


def test_breaks_at_or_outside_the_ends_are_none():
    once = windows([0, 10], [0, 20], 20.0)
    for place in (-1.0, 0.0, 1e-9, 10.0 - 1e-9, 10.0, 11.0):
        assert windows([0, 10], [0, 20], 20.0, place) == once, place
    assert windows([5, 15], [0, 20], 20.0, 5.0, 10.0) == [(5, 10, 0, 10, 5), (10, 15, 10, 20, 15)]


def test_an_instant_within_rounding_of_a_break_is_the_break():
    # rows a hair before and behind 5: both sides end where their line does
    x = [0, 5 - 4e-9, 5 + 4e-9, 10]
    found = windows(x, [10, 10, 2, 2], 20.0, 5.0)
    assert [row[2:] for row in found] == [(10, 10, approx(10)), (2, 2, approx(2))]


def test_a_spike_between_rows_of_a_window_is_kept():
    assert windows([0, 3, 3.5, 4, 10], [1, 1, 50, 1, 1], 5.0)[0][:4] == (0, 5, 1, 50)
    # at the very end of a window it belongs to both
    assert [row[3] for row in windows([0, 4, 5, 6, 10], [1, 1, 9, 1, 1], 5.0)] == [9, 9]


@pytest.mark.parametrize(("x", "y"), [([3.0], [7.0]), ([3.0, 3.0], [7.0, 8.0])])
def test_a_line_without_any_length_stays_as_it_is(x, y):
    found = windows_between(np.array(x), np.array(y), 1.0, np.empty(0))
    assert found.x.tolist() == x
    assert found.low.tolist() == found.high.tolist() == found.mean.tolist() == y


def result(*hours, every=None):
    """A pair that cuts out after 41.0 and 54.2 h, with chargers on from each of these hours on."""
    made = made_up.pair()
    windows_s = [tuple((hour * 3600.0, hour * 3600.0 + 1800.0) for hour in own) for own in hours]
    chargers = tuple(
        Charger(f"c{n}", (Stage(14.4),), limit_A=5.0, schedule=Schedule(active_s=own))
        for n, own in enumerate(windows_s)
    )
    bank = replace(made.scenario.bank, chargers=chargers, duration_s=100.0 * 3600.0)
    return replace(made, scenario=replace(made.scenario, bank=bank))


def test_no_window_reaches_over_cut_outs_and_switched_chargers():
    assert switchings_s(result()) / 3600.0 == approx([41.0, 54.2])
    found = switchings_s(result((5.0,), (5.0, 60.0))) / 3600.0
    assert set(np.round(found, 6)) >= {5.0, 5.5, 41.0, 54.2, 60.0, 60.5}
    assert (np.diff(found) > 0.0).all()


def test_chargers_that_switch_all_the_time_are_for_averages():
    few = np.arange(MOST_SWITCHINGS // 2 - 1) * 1.5 + 1.0
    many = np.arange(MOST_SWITCHINGS // 2 + 1) * 1.5 + 1.0
    assert switchings_s(result(few)).size > MOST_SWITCHINGS // 2
    assert switchings_s(result(many)) / 3600.0 == approx([41.0, 54.2])
