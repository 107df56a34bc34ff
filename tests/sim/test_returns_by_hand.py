"""Returns read off a few rows: what opens, until when it is looked at, and how much flows."""

from dataclasses import replace

import numpy as np
import pytest
from made_results import Course, event, made
from pytest import approx
from simple_banks import affine, affine_cell, bank_of, battery

from bankSim.kernels.arrays import AFTER, BEFORE, GRID
from bankSim.sim.result import MAY_RETURN, RELEASE, TRIP
from bankSim.sim.returns import (
    chargers_A,
    column,
    find_returns,
    rows_between,
    time_above,
    times_above,
)

TIMES_S = [0.0, 60.0, 60.0, 200.0, 200.0, 1000.0, 9000.0]
KINDS = [GRID, BEFORE, AFTER, BEFORE, AFTER, GRID, GRID]


def back(time_s=60.0, name="b", what=RELEASE, **given):
    told = {"currents_A": (5.0, 0.0), "currents_after_A": (-9.0, 14.0)} | given
    return event(time_s, what, name, **told)


def returns(*events, mode=(2, 2, 0, 0, 0, 0, 0), A=0.0, z=0.5, kinds=KINDS, one=None, end_s=9000.0):
    bank = bank_of(affine("a"), one or affine("b"))
    result = made(bank, TIMES_S, Course(), Course(A=A, z=z, mode=list(mode)), kinds=kinds)
    return find_returns(bank, events, result.trace, end_s)


@pytest.mark.parametrize(
    ("mode", "direction"),
    [
        ((2, 2, 0, 0, 0, 0, 0), "discharge"), ((1, 1, 0, 0, 0, 0, 0), "charge"),
        ((3, 3, 0, 0, 0, 0, 0), "both"), ((3, 3, 1, 0, 0, 0, 0), "discharge"),
        ((2, 2, 1, 0, 0, 0, 0), "discharge"),
        ((2, 2, 2, 0, 0, 0, 0), None), ((0, 0, 2, 0, 0, 0, 0), None),
    ],
)  # fmt: skip
@pytest.mark.parametrize("what", [RELEASE, MAY_RETURN])
def test_what_a_release_opens(mode, direction, what):
    found = returns(back(what=what), mode=mode)
    assert [one.direction for one in found] == ([direction] if direction else [])


def test_what_is_no_return():
    assert returns(back(what=TRIP)) == ()
    assert returns(back(name=None)) == ()
    assert len(returns(back(what=TRIP), back(name=None), back())) == 1
    # two rules that let go at one instant are one return
    assert len(returns(back(), back())) == 1


def test_who_gives_and_takes():
    (one,) = returns(back())
    assert (one.time_s, one.battery) == (60.0, "b")
    assert (one.currents_A, one.currents_after_A) == ((5.0, 0.0), (-9.0, 14.0))
    assert (one.gives, one.takes) == (("b",), ("a",))
    # less than a millionth of an ampere is none (NO_CURRENT_A)
    (one,) = returns(back(currents_after_A=(-0.9e-6, 0.9e-6)))
    assert (one.gives, one.takes) == ((), ())
    (one,) = returns(back(currents_after_A=(-1.1e-6, 1.1e-6)))
    assert (one.gives, one.takes) == (("b",), ("a",))


# until anything else switches (200 s), its own next event, an hour, or the end
@pytest.mark.parametrize(
    ("kinds", "others", "end_s", "until_s"),
    [
        (KINDS, [], 9000.0, 200.0),
        ([GRID, BEFORE, AFTER] + [GRID] * 4, [], 9000.0, 60.0 + 3600.0),
        ([GRID, BEFORE, AFTER] + [GRID] * 4, [], 1000.0, 1000.0),
        ([GRID, BEFORE, AFTER] + [GRID] * 4, [back(500.0, what=TRIP)], 9000.0, 500.0),
        ([GRID, BEFORE, AFTER] + [GRID] * 4, [back(500.0, "a", TRIP)], 9000.0, 3660.0),
        ([GRID] * 7, [back(60.0, what=TRIP), back(700.0, what=TRIP)], 9000.0, 700.0),
    ],
)
def test_until_when_it_is_looked_at(kinds, others, end_s, until_s):
    (one,) = returns(back(), *others, kinds=kinds, end_s=end_s)
    assert one.looked_at_s == approx(until_s - 60.0)


def test_how_much_flows_and_how_long_above_its_label():
    cells = affine_cell(Ah=90.0), affine_cell(Ah=110.0)
    one = replace(battery("b", *cells), continuous_discharge_A=40.0, continuous_charge_A=10.0)
    # 60 A to 20 A in 140 s: half of it above 40 A; from 60 % to 57 % of 100 Ah, the mean
    z = [0.6, 0.6, 0.6, 0.57, 0.5, 0.5, 0.5]
    (found,) = returns(back(), A=[0.0, 0.0, 60.0, 20.0, 90.0, 90.0, 90.0], z=z, one=one)
    assert found.above_label_s == approx(70.0)
    assert found.given_Ah == approx(3.0)
    # -20 A to 0 A: half of it beyond 10 A
    (found,) = returns(back(), A=[0.0, 0.0, -20.0, 0.0, 90.0, 90.0, 90.0], z=z[::-1], one=one)
    assert found.above_label_s == approx(70.0)
    assert found.given_Ah == approx(-7.0)
    (found,) = returns(back(), A=[0.0, 0.0, -20.0, 0.0, 90.0, 90.0, 90.0], z=z)
    assert found.above_label_s == 0.0
    # with nothing that switches it is looked at to the row after the hour: 60 % to 30 %
    level = [0.9, 0.9, 0.6, 0.57, 0.5, 0.4, 0.3]
    (found,) = returns(back(), z=level, kinds=[GRID] * 7)
    assert found.given_Ah == approx(30.0)


def test_columns_of_the_trace():
    result = made(
        bank_of(affine("a"), affine("b")), [0.0], Course(1.0, 2.0, 3.0, 4.0, 5.0),
        Course(6.0, 7.0, 8.0, 9.0, 10.0),
    )  # fmt: skip
    read = [[column(result.trace, k, offset)[0] for offset in range(5)] for k in (0, 1)]
    assert read == [[1.0, 2.0, 3.0, 4.0, 5.0], [6.0, 7.0, 8.0, 9.0, 10.0]]
    assert chargers_A(np.arange(12.0).reshape(2, 6), 2).tolist() == [[4.0, 5.0], [10.0, 11.0]]
    assert chargers_A(np.zeros((2, 6)), 0).shape == (2, 0)


# from the last row at its start to the first one at or after its end, at least one
@pytest.mark.parametrize(
    ("start_s", "end_s", "first", "last"),
    [
        (60.0, 200.0, 2, 3), (61.0, 199.0, 2, 3), (60.0, 201.0, 2, 5), (0.0, 60.0, 0, 1),
        (60.0, 60.0, 2, 2), (0.0, 0.0, 0, 0),
    ],
)  # fmt: skip
def test_rows_between(start_s, end_s, first, last):
    trace = np.column_stack([TIMES_S, np.arange(7.0)])
    rows = rows_between(trace, start_s, end_s)[:, 1]
    assert (rows[0], rows[-1], len(rows)) == (first, last, last - first + 1)


def test_time_above_a_limit():
    # docs/theory.md, eq. 17.5: 5 to 15 over 10 half of 10 s; 15 to 25 all; at the limit none
    time_s = np.array([0.0, 10.0, 14.0, 14.0, 20.0])
    value = np.array([5.0, 15.0, 25.0, 10.0, 10.0])
    assert times_above(time_s, value, 10.0).tolist() == [5.0, 4.0, 0.0, 0.0]
    assert time_above(time_s, value, 10.0) == approx(9.0)
    assert time_above(time_s, -value, -10.0) == approx(5.0)
