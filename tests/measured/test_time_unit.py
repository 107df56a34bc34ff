"""The unit of numbers of time: charge is current times time, both sides of every limit."""

import numpy as np
import pytest

from bankSim.measured.column import Column
from bankSim.measured.header_words import Header
from bankSim.measured.log import NOTE, WARNING
from bankSim.measured.time_unit import counters_of, settle_unit

SECONDS = {"s": 1.0, "min": 60.0, "h": 3600.0, "ms": 1e-3}
# one ampere for a second is a coulomb, one volt and ampere for a second a joule (SI)
CHARGE = {"Ah": 1.0 / 3600.0, "mAh": 1.0 / 3.6, "As": 1.0, "C": 1.0, "": 1.0 / 3600.0}
ENERGY = {"Wh": 1.0 / 3600.0, "mWh": 1.0 / 3.6, "kWh": 1.0 / 3.6e6, "J": 1.0, "kJ": 1e-3}
TIME = np.arange(11.0)
VOLTS, AMPS = np.full(11, 12.0), np.full(11, 5.0)


def settled(counter, unit="Ah", time=TIME, volts=VOLTS, amps=AMPS):
    return settle_unit(time, volts, amps, {"counter": (unit, np.asarray(counter, float))})


@pytest.mark.parametrize("word", SECONDS)
@pytest.mark.parametrize("unit", [*CHARGE, *ENERGY])
@pytest.mark.parametrize("way", [1.0, -1.0])
def test_a_counter_tells_the_unit_of_time(word, unit, way):
    rate = 5.0 * CHARGE[unit] if unit in CHARGE else 60.0 * ENERGY[unit]
    found, told = settled(100.0 + way * rate * SECONDS[word] * TIME, unit, amps=-way * AMPS)
    assert found == word
    assert told.severity == NOTE
    assert 'column "counter" agrees' in told.text


@pytest.mark.parametrize(
    ("factor", "told"), [(1.45, True), (1.55, False), (1 / 1.45, True), (1 / 1.55, False)]
)
def test_a_counter_agrees_within_a_half_more(factor, told):
    word, found = settled(factor * 5.0 * TIME)  # hours
    assert (word == "h") is told
    assert ("agrees" in found.text) is told


def test_a_counter_that_begins_anew_is_read_on_both_sides():
    # hours: 5 Ah each; back to 0 by more than half of its span
    assert settled(5.0 * np.array([0, 1, 2, 3, 4, 5, 0, 1, 2, 3, 4]))[0] == "h"


def test_rows_that_miss_something_do_not_count():
    time, volts, amps, counter = TIME.copy(), VOLTS.copy(), AMPS.copy(), 5.0 * TIME
    time[1] = volts[3] = amps[5] = counter[7] = np.nan
    assert settled(counter, "Ah", time, volts, amps)[0] == "h"
    counter[:8] = np.nan  # three rows are left, each a half of all
    assert settled(counter, "Ah", time, volts, amps)[0] == "s"


@pytest.mark.parametrize(("counter", "amps"), [(np.full(11, 3.0), AMPS), (5.0 * TIME, 0.0 * AMPS)])
def test_what_does_not_move_tells_nothing(counter, amps):
    assert settled(counter, amps=amps)[0] == "s"


def test_the_first_counter_that_agrees_settles_it():
    both = {"odd": ("Ah", 17.0 * TIME), "fine": ("Ah", 5.0 * TIME)}
    word, found = settle_unit(TIME, VOLTS, AMPS, both)
    assert (word, 'column "fine"' in found.text) == ("h", True)


@pytest.mark.parametrize(
    ("low_V", "last", "warned"),
    [(12.37, 290.0, False), (12.35, 290.0, True), (12.35, 310.0, False), (11.0, 10.0, True)],
)
def test_five_minutes_move_no_battery_by_a_twentieth(low_V, last, warned):
    # half of the samples at 13 V: 0.63 of 12.685 V are 4.97 %, 0.65 of 12.675 V 5.13 %
    volts = np.repeat([13.0, low_V], 3)
    word, found = settle_unit(np.linspace(0.0, last, 6), volts, np.full(6, 5.0), {})
    assert word == "s"
    assert (found.severity == WARNING) is warned
    if warned:
        part = 5 if low_V == 12.35 else 17  # 2 of 12 V
        assert f"the voltage moves by {part} %" in found.text
    else:
        assert found.text == "The times name no unit; they were taken as seconds."


def test_a_voltage_that_vanishes_has_not_moved():
    volts = np.array([13.0] * 8 + [0.0] * 4)
    _, found = settle_unit(np.arange(12.0), volts, np.full(12, 5.0), {})
    assert found.severity == NOTE


def test_two_rows_tell_nothing():
    _, found = settle_unit(np.arange(2.0), np.array([13.0, 12.0]), np.full(2, 5.0), {})
    assert found.severity == NOTE
    _, found = settle_unit(np.arange(3.0), np.array([13.0, 12.5, 12.0]), np.full(3, 5.0), {})
    assert found.severity == WARNING


def test_which_columns_count():
    def column(number, unit, words, values=TIME):
        header = Header("x", unit, words, -1, {})
        return Column(number, header, values, False, 11)

    columns = [
        column(1, "Ah", ()), column(2, "kWh", ()), column(3, "", ("capacity",)),
        column(4, "V", ("capacity",)), column(5, "", ("lamp",)),
        column(6, "Ah", (), np.full(11, np.nan)),
    ]  # fmt: skip
    assert [one.number for one in counters_of(columns)] == [1, 2, 3]
