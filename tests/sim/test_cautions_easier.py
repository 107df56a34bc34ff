"""What drives a current, and advice that fits it."""

import numpy as np
import pytest
from made_results import Course, made
from pytest import approx
from simple_banks import affine, bank_of
from test_cautions_surges import back

from bankSim.model.bank import Layout, Wiring
from bankSim.model.charger import Charger, Stage
from bankSim.sim.cautions.currents import (
    CHARGERS,
    EXCHANGE,
    LOADS,
    Driver,
    cause_of,
    conductors,
    driver_of,
    drivers_above,
    first_above,
    largest_mean,
    largest_rms,
    rms_between,
)
from bankSim.sim.cautions.easier import easier, must_not_be_joined

MAINS = Charger("mains", (Stage(14.0),), limit_A=50.0)
PAIR, WRONG = (affine("a"), affine("b")), (affine("a"), affine("b", base=25.6, span=1.2))


def arrays(*rows):
    return [np.array(row, dtype=float) for row in rows]


# less than half of a current (OUTSIDE), or the other way, is not its cause
@pytest.mark.parametrize(
    ("own_A", "bank_A", "cause"),
    [
        (10.0, 5.1, LOADS), (10.0, 4.9, EXCHANGE), (-10.0, -5.1, CHARGERS), (-10.0, -4.9, EXCHANGE),
        (10.0, -20.0, EXCHANGE), (-10.0, 20.0, EXCHANGE),
    ],
)  # fmt: skip
def test_what_drives_a_current(own_A, bank_A, cause):
    # a smaller one before is of another cause
    assert cause_of(*arrays([1.0, own_A, 1.0], [1.0 if cause != LOADS else -9.0, bank_A, 1.0])) == (
        cause
    )


@pytest.mark.parametrize(
    ("own_A", "bank_A", "since_start"),
    [
        ([20.0, 30.0, 10.0], [0.0, 0.0, 0.0], True),
        ([0.0, 30.0, 10.0], [0.0, 0.0, 0.0], True),  # nothing flows at first
        ([-20.0, 30.0, 10.0], [0.0, 0.0, 0.0], False),  # the other way at first
        ([20.0, 30.0, 10.0], [20.0, 0.0, 0.0], False),  # into loads at first
        ([20.0, 30.0, 10.0], [0.0, 0.0, 10.0], True),  # into loads after the peak
    ],
)
def test_whether_it_is_still_the_first_connection(own_A, bank_A, since_start):
    driver = driver_of(*arrays([0.0, 7.0, 9.0], own_A, bank_A))
    assert (driver.cause, driver.peak_s, driver.peak_A) == (EXCHANGE, 7.0, 30.0)
    assert driver.since_start == since_start


def test_only_rows_that_count_have_a_peak():
    time_s, own_A, bank_A = arrays([0.0, 7.0, 9.0], [50.0, -30.0, 10.0], [0.0, -30.0, 10.0])
    driver = driver_of(time_s, own_A, bank_A, np.array([False, True, True]))
    assert (driver.cause, driver.peak_s, driver.peak_A) == (CHARGERS, 7.0, 30.0)
    assert not driver.since_start


def test_what_drives_a_current_above_a_limit_and_for_how_long():
    # 10 s of loads, 20 s of exchange, each above 100 A; 30 s of charge at 90 A
    time_s, own_A, bank_A = arrays(
        [0.0, 10.0, 10.0, 30.0, 30.0, 60.0], [150.0, 150.0, 120.0, 120.0, -90.0, -90.0],
        [150.0, 150.0, 0.0, 0.0, -90.0, -90.0],
    )  # fmt: skip
    every = np.ones(6, dtype=bool)
    found = drivers_above(time_s, own_A, bank_A, 100.0, every)
    assert [(driver.cause, driver.peak_A, length_s) for driver, length_s in found] == [
        (EXCHANGE, 120.0, approx(20.0)), (LOADS, 150.0, approx(10.0)),
    ]  # fmt: skip
    found = drivers_above(time_s, own_A, bank_A, 80.0, own_A < 0.0)
    assert [(driver.cause, length_s) for driver, length_s in found] == [(CHARGERS, approx(30.0))]
    assert drivers_above(time_s, own_A, bank_A, 150.0, every) == []


# root of the mean square: of 30 A for 4 s in 8 s, 30 / sqrt 2; of a ramp to A, A / sqrt 3
def test_means_over_windows():
    time_s, amps = arrays([0.0, 4.0, 4.0, 20.0], [30.0, 30.0, 0.0, 0.0])
    assert largest_rms(time_s, amps, 8.0) == approx(30.0 / 2.0**0.5)
    assert largest_mean(time_s, amps, 8.0) == approx(15.0)
    assert largest_rms(time_s, amps, 1e9) == approx(30.0 * 0.2**0.5)
    ramp = arrays([0.0, 6.0], [0.0, 12.0])
    assert largest_rms(*ramp, 100.0) == approx(12.0 / 3.0**0.5)
    assert largest_rms(*arrays([0.0, 6.0], [-12.0, 12.0]), 100.0) == approx(12.0 / 3.0**0.5)
    # from 2 s to 6 s: 4 A to 12 A
    assert rms_between(*ramp, 2.0, 6.0) == approx(((16.0 + 48.0 + 144.0) / 3.0) ** 0.5)
    # the last 2 s of it: 8 A to 12 A
    assert largest_mean(*ramp, 2.0) == approx(10.0)
    assert largest_mean(*arrays([0.0, 6.0], [12.0, 0.0]), 2.0) == approx(10.0)
    assert largest_rms(*ramp, 2.0) == approx(((64.0 + 96.0 + 144.0) / 3.0) ** 0.5)
    assert first_above(*ramp, 2.0, 10.0) == approx(6.0)
    assert largest_rms(*arrays([3.0], [9.0]), 5.0) == 0.0
    # a record that begins at 100 s and is shorter than the window
    later = arrays([100.0, 106.0], [0.0, 12.0])
    assert largest_rms(*later, 50.0) == approx(12.0 / 3.0**0.5)
    assert first_above(*later, 50.0, 1.0) is None


# 10 A, from 4 s on 30 A: 4 s of the 8 s to 8 s give (100 + 900) / 2 = 500 A2
@pytest.mark.parametrize(("limit_A", "at_s"), [(9.9, 8.0), (22.3, 8.0), (22.4, 12.0), (30.1, None)])
def test_when_a_window_is_first_above_a_limit(limit_A, at_s):
    time_s, amps = arrays([0.0, 4.0, 4.0, 20.0], [10.0, 10.0, 30.0, 30.0])
    found = first_above(time_s, amps, 8.0, limit_A)
    # windows that begin or end at a row: those that end at 8, 12 and 20 s
    assert found == (at_s if at_s is None else approx(at_s))
    assert first_above(time_s, amps, 20.1, limit_A) is None
    assert first_above(time_s, amps, 20.0, 9.9) == approx(20.0)


def test_peaks_of_leads_come_from_totals_those_of_rails_from_rows():
    bank = bank_of(*PAIR, wiring=Wiring(Layout.SAME_END, main_area_mm2=50.0, main_fuse_A=80.0))
    outcomes = [{"peak_charge_A": 70.0}, {"peak_discharge_A": 60.0}]
    courses = Course(A=[5.0, -1.0]), Course(A=[-9.0, 3.0])
    found = list(conductors(made(bank, [0.0, 1.0], *courses, outcomes=outcomes)))
    assert [(one.name, one.peak_A) for one in found] == [
        ('the lead of "a"', 70.0), ('the lead of "b"', 60.0), ("the main lead", 4.0),
        ('the link between "a" and "b"', 9.0),
    ]  # fmt: skip
    assert [one.battery for one in found] == ["a", "b", None, None]
    # a gives 5 A and b takes 9 A of the bank's -4 A and 2 A: 9 A are from each other but 4 A
    assert [one.driver.peak_A for one in found] == [5.0, 9.0, 4.0, 9.0]
    assert [one.driver.cause for one in found] == [EXCHANGE, EXCHANGE, CHARGERS, EXCHANGE]
    assert (found[2].area_mm2, found[2].fuse_A) == (50.0, 80.0)


def advice(cause, peak_s=600.0, *, since_start=False, pair=PAIR, chargers=(), backs=(), A=0.0):
    bank = bank_of(*pair, chargers=chargers)
    times_s = [0.0, 300.0, 300.0, 600.0, 1500.0]
    result = made(bank, times_s, Course(A=A), Course(), returns=tuple(backs))
    driver = Driver(cause, peak_s, 20.0, since_start)
    assert must_not_be_joined(result, driver) == (cause == EXCHANGE and pair is WRONG)
    return easier(result, driver)


def test_what_comes_from_outside_is_made_smaller_there():
    for pair in (PAIR, WRONG):
        assert advice(LOADS, pair=pair) == "Use less power at a time"
        assert advice(CHARGERS, pair=pair, chargers=(MAINS,)) == "Use a smaller charger"
        assert advice(CHARGERS, pair=pair) == "Charge with less"
    assert advice(LOADS, chargers=(MAINS,)) == "Use less power at a time"


FROM = "This current flows from battery to battery"


def test_what_flows_from_battery_to_battery():
    assert advice(EXCHANGE, pair=WRONG) == (
        "Do not connect them: they differ in number of cells or in chemistry"
    )
    first = advice(EXCHANGE, since_start=True)
    assert first == f"{FROM}: connect them only when their voltages match"
    assert advice(EXCHANGE).startswith(f"{FROM}, as unlike ones even each other out")


# a return counts from its instant to the end of the look at it, the latest of several
@pytest.mark.parametrize(
    ("peak_s", "name"), [(99.0, None), (100.0, "a"), (199.0, "a"), (250.0, "b"), (701.0, "b"),
                         (901.0, None)],
)  # fmt: skip
def test_a_return_that_is_still_looked_at(peak_s, name):
    backs = back((1.0, -1.0), time_s=100.0), back((1.0, -1.0), time_s=200.0, name="b",
                                                  looked_at_s=700.0)  # fmt: skip
    for some in (backs, backs[::-1]):
        said = advice(EXCHANGE, peak_s, backs=some)
        if name is None:
            assert "has come back" not in said
        else:
            assert said.startswith(f'{FROM} after "{name}" has come back. Use less power')
            assert not said.endswith(".")


# a load that ended in the 600 s before (BEFORE_S), of more than half of the 20 A (OUTSIDE)
@pytest.mark.parametrize(
    ("A", "peak_s", "ended"),
    [
        ([11.0, 11.0, 0.0, 0.0, 0.0], 600.0, True),
        ([9.0, 9.0, 0.0, 0.0, 0.0], 600.0, False),
        ([15.0, 15.0, 6.0, 6.0, 6.0], 600.0, False),
        ([0.0, 11.0, 0.0, 0.0, 0.0], 900.0, True),
        ([11.0, 11.0, 0.0, 0.0, 0.0], 901.0, False),
        ([0.0, 0.0, 0.0, 0.0, 11.0], 600.0, False),
        ([11.0, 11.0, 0.0, 11.0, 0.0], 300.0, True),
    ],
)
def test_a_load_that_ended_shortly_before(A, peak_s, ended):
    assert ("after a load that they shared unevenly" in advice(EXCHANGE, peak_s, A=A)) == ended
