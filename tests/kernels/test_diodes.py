"""Whom a body diode lets carry current next: states made by hand, voltages as in eq. 11.1.

One that may only feed shows its voltage less the drop of its diode, one that may only take charge
shows it plus the drop.
"""

import numpy as np
import pytest
from bridge import bridge
from pytest import approx

from bankSim.kernels import arrays as k
from bankSim.kernels import diodes

facing_emf = bridge(diodes.facing_emf)
extreme = bridge(diodes.extreme)
wake = bridge(diodes.wake)
offered = bridge(diodes.offered)

FEEDS, TAKES = k.CHARGE_BLOCKED, k.DISCHARGE_BLOCKED
NONE = np.empty(0)


def bank(*rows):
    """Batteries of (mode, on, voltage, drop)."""
    batteries = np.zeros(len(rows), k.BATTERY).view(np.recarray)
    tally = np.zeros(len(rows), k.TALLY).view(np.recarray)
    now = np.zeros((len(rows) + 1, k.NOW_COLUMNS))
    for place, (mode, on, volts, drop) in enumerate(rows):
        tally["mode"][place], tally["on"][place] = mode, on
        batteries["drop"][place], now[place, k.EMF] = drop, volts
    return batteries, tally, now


def test_what_a_battery_shows():
    made = bank((FEEDS, 0, 13.0, 0.7), (TAKES, 0, 13.0, 0.6), (0, 1, 13.0, 0.7))
    assert [facing_emf(*made, place) for place in range(3)] == approx([12.3, 13.6, 13.0])


def test_the_highest_that_may_feed_and_the_lowest_that_may_take():
    # the second would be first without its larger drop; the fourth is connected already
    feeders = [(FEEDS, 0, 12.9, 0.7), (FEEDS, 0, 13.4, 1.3), (FEEDS, 0, 13.1, 0.7)]
    takers = [(TAKES, 0, 12.9, 0.7), (TAKES, 0, 12.6, 1.3), (TAKES, 0, 12.8, 0.7)]
    rest = [(FEEDS, 1, 15.0, 0.7), (TAKES, 1, 9.0, 0.7), (0, 0, 15.0, 0.7), (3, 0, 9.0, 0.7)]
    for turn in range(3):
        made = bank(*feeders[turn:], *feeders[:turn], *takers[turn:], *takers[:turn], *rest)
        assert extreme(*made, FEEDS) == (2 - turn) % 3
        assert extreme(*made, TAKES) == 3 + (2 - turn) % 3
    nobody = bank(*rest)
    assert extreme(*nobody, FEEDS) == extreme(*nobody, TAKES) == -1
    equal = bank((FEEDS, 0, 13.0, 0.7), (FEEDS, 0, 13.0, 0.7), (TAKES, 0, 13.0, 0.7))
    assert extreme(*equal, FEEDS) == 0
    assert extreme(*equal, TAKES) == 2


def test_loads_that_are_not_fed_first_lose_whom_they_charge_then_gain_a_feeder():
    batteries, tally, now = bank(
        (FEEDS, 0, 12.9, 0.7), (TAKES, 1, 12.0, 0.7), (FEEDS, 0, 13.1, 0.7), (0, 1, 13.0, 0.7)
    )
    for on in ([0, 0, 0, 1], [0, 0, 1, 1], [1, 0, 1, 1]):
        assert wake(batteries, tally, now)
        assert list(tally["on"]) == on
    assert not wake(batteries, tally, now)
    assert list(tally["on"]) == [1, 0, 1, 1]


def test_the_first_battery_can_be_woken_too():
    batteries, tally, now = bank((FEEDS, 0, 12.9, 0.7))
    assert wake(batteries, tally, now)
    assert not wake(batteries, tally, now)


FEEDER, TAKER = (FEEDS, 0, 13.3, 0.7), (TAKES, 0, 12.3, 0.7)  # both show 12.6 V and 13.0 V


@pytest.mark.parametrize(("rows", "watts", "amperes", "status", "on"), [
    # 1 A of charge: by hand, at 13 V: 130 W / 13 V - 10.2 A < 0; at 12.6 V 10.32 A - 10.2 A > 0
    ([TAKER], 0.0, -1.0, k.OK, [1]),
    ([FEEDER, TAKER], 0.0, -1.0, k.OK, [0, 1]),
    ([FEEDER], 0.0, -1.0, k.NO_TAKER, [0]),
    ([FEEDER], 0.0, 1.0, k.OK, [1]),
    ([TAKER, FEEDER], 0.0, 1.0, k.OK, [0, 1]),
    ([TAKER], 0.0, 1.0, k.NOBODY, [0]),
    ([(3, 0, 13.0, 0.7)], 0.0, 1.0, k.NOBODY, [0]),
    ([(3, 0, 13.0, 0.7)], 0.0, -1.0, k.NO_TAKER, [0]),
    ([(3, 0, 13.0, 0.7)], 5.0, -6.0, k.NO_TAKER, [0]),
    ([TAKER], 130.0, -10.2, k.OK, [1]),
    ([FEEDER], 130.0, -10.2, k.OK, [1]),
    ([FEEDER, TAKER], 130.0, -10.2, k.OK, [0, 1]),
    ([FEEDER, TAKER], 130.0, -10.0, k.OK, [1, 0]),  # nothing is left for the taker
    ([TAKER], 130.0, -10.0, k.NO_TAKER, [0]),
    ([FEEDER], 126.0, -10.0, k.NO_TAKER, [0]),  # nor is anything missing
    ([FEEDER], 120.0, -10.0, k.NO_TAKER, [0]),
    ([TAKER], 0.0, -0.5, k.OK, [1]),
    ([FEEDER], 0.0, 0.5, k.OK, [1]),
    ([TAKER], 0.0, 0.5, k.NOBODY, [0]),
])  # fmt: skip
def test_charge_on_offer_finds_who_takes_it_or_who_gives_what_is_missing(
    rows, watts, amperes, status, on
):
    batteries, tally, now = bank(*rows)
    level = np.array([watts, amperes, 0.0])
    assert offered(batteries, tally, level, NONE, now) == status
    assert list(tally["on"]) == on
