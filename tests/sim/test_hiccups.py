"""Hiccups of a result: whose returns and trips count, and how much charge is hardly any."""

from dataclasses import replace

import pytest
from made_results import Course, event, made
from simple_banks import affine, affine_cell, bank_of, battery

from bankSim.sim.hiccups import with_hiccups
from bankSim.sim.joining_result import Return
from bankSim.sim.result import RELEASE, TRIP

TIMES_S = [0.0, 100.0, 400.0, 9000.0]
# 100 Ah on the label, cells of 50 and 100 Ah: what it holds is 75 Ah x its level
UNEVEN = replace(
    battery("b", affine_cell(Ah=50.0), affine_cell(Ah=100.0)), rated_C=100.0 * 3600.0
)  # fmt: skip


def back(time_s, name="b"):
    return Return(time_s, name, "discharge", (), (), (), (), 300.0, 0.0, 0.0)


def hiccups(given_Ah, *events, returns=(back(100.0),), in_vain=0):
    """Of a battery that gives some Ah between 100 and 400 s, and of one that gives nothing."""
    level = [0.6, 0.6, 0.6 - given_Ah / 75.0, 0.6 - given_Ah / 75.0]
    result = made(
        bank_of(affine("a"), UNEVEN), TIMES_S, Course(), Course(z=level), events=tuple(events),
        returns=tuple(returns), outcomes=({}, {"hiccups": in_vain}),
    )  # fmt: skip
    return tuple(one.hiccups for one in with_hiccups(result).batteries)


TRIPS = event(400.0, TRIP, "b", blocks="discharge")


@pytest.mark.parametrize(("given_Ah", "count"), [(0.0, 1), (0.99, 1), (1.01, 0), (-0.99, 1),
                                                 (-1.01, 0)])  # fmt: skip
def test_less_than_a_hundredth_of_the_label_is_hardly_any(given_Ah, count):
    assert hiccups(given_Ah, TRIPS) == (0, count)


def test_only_trips_and_returns_of_its_own_count():
    assert hiccups(0.0) == (0, 0)
    assert hiccups(0.0, event(400.0, TRIP, "a")) == (0, 0)
    assert hiccups(0.0, event(400.0, RELEASE, "b")) == (0, 0)
    assert hiccups(0.0, TRIPS, returns=[back(100.0, "a")]) == (0, 0)
    both = [back(100.0), back(400.0, "a")]
    assert hiccups(0.0, TRIPS, event(9000.0, TRIP, "a"), returns=both) == (0, 1)


def test_not_after_an_hour():
    late = replace(TRIPS, time_s=9000.0)
    assert hiccups(0.0, late) == (0, 0)


def test_returns_in_vain_that_the_solver_counted_are_the_least():
    assert hiccups(0.0, TRIPS, in_vain=5) == (0, 5)
    assert hiccups(0.0, TRIPS, in_vain=1) == (0, 1)
    assert hiccups(0.0, in_vain=2) == (0, 2)
