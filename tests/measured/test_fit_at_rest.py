"""A search ends where nothing moves any more as measured in the errors that are told."""

from dataclasses import replace

import numpy as np
import pytest
from hand_cells import HandBattery, hand_log

from bankSim.measured.calibrate import calibrate
from bankSim.measured.fit import STILL_TURNS, Fit, is_still
from bankSim.measured.label import Label

TURN = Fit((), np.zeros(2), np.diag([1.0, 4.0]), (), (), 10.0, 1.5, 1, settled=False, cost=100.0)

BATTERY = HandBattery(paired_mohm=0.63, rest_s=900.0)


def turns(moved, won):
    """Turns that each move the second number [its sd] and lower the sum [part of it]."""
    return [
        replace(TURN, numbers=np.array([0.0, 2.0 * moved * at]), cost=100.0 * (1.0 - won * at))
        for at in range(STILL_TURNS + 1)
    ]


def test_a_search_rests_where_neither_numbers_nor_sum_move():
    # 3 turns: by less than 5 % of a standard error, and less than 2 thousandths of the sum
    assert is_still(turns(0.016, 0.0006))
    assert not is_still(turns(0.018, 0.0006))
    assert not is_still(turns(0.016, 0.0007))
    assert not is_still(turns(0.0, 0.0)[1:])


@pytest.fixture(scope="module")
def log():
    """12 A, every 90 min 24 A for 5 min and 10 min of rest."""

    def flows(second):
        return (12.0, 24.0, 0.0)[int(np.searchsorted([4500.0, 4800.0], second % 5400.0, "right"))]

    return hand_log(BATTERY, flows, 5.0, after_s=3600.0, seed=9)


@pytest.mark.parametrize("rated_Ah", [90.0, 102.0])
def test_a_label_that_is_off_does_not_break_the_search_off(log, rated_Ah):
    # of a log like this, eight of ten labels were told "broken off", with the answer of the others
    found = calibrate([log], Label("hand", "LFP", 4, rated_Ah))
    assert found.fit.settled
    assert found.distrusted == ""
    capacity, long = found.value("capacity"), found.value("resistance after long, half full")
    assert abs(capacity.value - np.mean(BATTERY.capacity_Ah)) < capacity.sd < 1.5
    assert abs(long.value - BATTERY.mohm(0.45, long=True)) < 2.0 * long.sd
