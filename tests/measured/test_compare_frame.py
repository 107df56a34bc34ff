"""Numbers, windows and tolerances of a comparison, by hand on one made course."""

import numpy as np
import pytest
from pytest import approx

from bankSim.measured.compare_course import Course
from bankSim.measured.compare_frame import Frame, Meter

# 13 V falling by 1 V in 2 h; 10 A of the bank until 6000 s, of which the first battery gives 6 A
# until 3600 s; rows every minute.
TIME = np.arange(0.0, 7201.0, 60.0)
BANK = np.where(TIME <= 6000.0, 10.0, 0.0)
ONE = np.where(TIME <= 3600.0, 6.0, 0.0)
COURSE = Course(TIME, 13.0 - TIME / 7200.0, BANK, np.array([ONE, BANK - ONE]))
AH = 10.0 * 6000.0 / 3600.0
WH = 10.0 * (13.0 * 6000.0 - 6000.0**2 / 14400.0) / 3600.0
ONE_AH = (6.0 * 3600.0 + 6.0 * 30.0) / 3600.0  # a line from 6 A to 0 in the minute after
NUMBERS = [AH, 6000 / 3600, WH, ONE_AH, 1.0, 0.6, AH - ONE_AH, 6000 / 3600, 0.4]
SLIPS = [0.1, 0.2, 0.3]


def frame(**more):
    """As a comparison makes it."""
    usual = {
        "names": ("one", "two"), "known": (0, 1), "horizon_s": 9000.0, "floor_A": 0.2,
        "floors_A": np.array([0.2, 0.2]), "interval_s": 60.0,
        "windows_s": np.linspace(0.0, 4800.0, 9), "meter": Meter(0.5, 0.1),
        "slips_Ah": np.array(SLIPS),
    }  # fmt: skip
    return Frame(**usual | more)


def test_numbers_of_a_course():
    assert frame().values(COURSE) == approx(NUMBERS)
    assert [one.key for one in frame().numbers()] == [
        "bank.delivered_Ah", "bank.runtime_h", "bank.delivered_Wh",
        "one.delivered_Ah", "one.stops_h", "one.share_at_start",
        "two.delivered_Ah", "two.stops_h", "two.share_at_start",
    ]  # fmt: skip


def test_without_shares_and_of_batteries_that_are_known_only():
    few = frame(known=(1,), with_shares=False)
    assert few.values(COURSE) == approx([*NUMBERS[:3], *NUMBERS[6:8]])
    assert [one.key for one in few.numbers()[3:]] == ["two.delivered_Ah", "two.stops_h"]
    # the slip of the second battery is its own
    assert few.errors(np.array([0.0, 0.0, 0.0, 0.0, 0.0]))[3] == approx(0.3)


def test_nothing_beyond_the_horizon_counts():
    # 3000 s: 10, 6 and 4 A all along
    found = frame(horizon_s=3000.0).values(COURSE)
    hours = 3000.0 / 3600.0
    assert found[[0, 1, 3, 4, 6, 7]] == approx(
        [10 * hours, hours, 6 * hours, hours, 4 * hours, hours]
    )


def test_a_current_below_the_floor_is_none():
    # the battery's floor of 7 A leaves the first one nothing
    found = frame(floors_A=np.array([7.0, 0.2])).values(COURSE)
    assert found[[4, 7]] == approx([0.0, 6000 / 3600])
    # the bank's of 11 A ends all at the first row
    assert frame(floor_A=11.0).values(COURSE)[[0, 1]].tolist() == [0.0, 0.0]


def test_windows_are_means_and_keep_the_last_voltage_after_the_end():
    middles = 300.0 + 600.0 * np.arange(8)
    assert frame().windows(COURSE) == approx(13.0 - middles / 7200.0)
    longer = frame(windows_s=np.linspace(0.0, 9600.0, 9)).windows(COURSE)
    middles = 600.0 + 1200.0 * np.arange(5)
    assert longer[:5] == approx(13.0 - middles / 7200.0)
    assert longer[5:] == approx(13.0 - 6000.0 / 7200.0)


def test_features_are_numbers_without_energy_windows_and_the_load():
    found = frame().features(COURSE)
    assert found[:8] == approx([*NUMBERS[:2], *NUMBERS[3:]])
    assert found[8:16] == approx(frame().windows(COURSE))
    assert found[16] == approx(10.0 * 4800.0 / 3600.0)
    beyond = frame(windows_s=np.linspace(0.0, 9600.0, 9))
    assert beyond.meanwhile_Ah(COURSE) == approx(AH)
    # what is taken is not given
    taken = Course(TIME, COURSE.voltage_V, np.where(TIME < 2400.0, -5.0, BANK), COURSE.batteries_A)
    assert frame().meanwhile_Ah(taken) == approx((10.0 * 2400.0 + 10.0 / 2 * 60.0) / 3600.0)


def test_errors_of_instruments_and_sampling():
    # 0.5 % of current, 0.1 % of voltage, half a minute of 60 s samples, slips of 0.1 to 0.3 Ah
    half_h = 30.0 / 3600.0
    mean_V = WH / AH
    assert frame().errors(np.array(NUMBERS)) == approx([
        np.hypot(0.005 * AH, 0.1), half_h,
        np.hypot(np.hypot(0.005, 0.001) * WH, 0.1 * mean_V),
        np.hypot(0.005 * ONE_AH, 0.2), half_h, 1.4 * 0.005 * 0.6,
        np.hypot(0.005 * (AH - ONE_AH), 0.3), half_h, 1.4 * 0.005 * 0.4,
    ])  # fmt: skip
    dead = frame().errors(np.zeros(9))
    assert dead[[0, 2]] == approx([0.1, 0.0])


@pytest.mark.parametrize("volts", [13.0, 3.2, 1.0, -13.0])
def test_tolerances(volts):
    # 0.3 % of the bank's Ah with each slip, 0.3 % of the time with half a sample, 1 % of shares,
    # 4 mV a cell of 3.2 V and never less
    ah = [np.hypot(0.003 * AH, slip) for slip in SLIPS]
    hours = np.hypot(0.003 * 6000.0 / 3600.0, 30.0 / 3600.0)
    found = frame().tolerances(np.array(NUMBERS), np.full(8, volts))
    assert found[:8] == approx([ah[0], hours, ah[1], hours, 0.01, ah[2], hours, 0.01])
    assert found[8:16] == approx(np.full(8, max(abs(volts) / 3.2, 1.0) * 0.004))
    assert found[16] == approx(ah[0])
    assert found.size == frame().features(COURSE).size
