"""Direction of current from a battery of Ohm's law and a falling voltage; numbers as written."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from measured.log_texts import falling, read, told, volts

from bankSim.measured.log import AUTO, CHARGE_POSITIVE, DISCHARGE_POSITIVE, WARNING
from bankSim.measured.numerals import Marks, read_number
from bankSim.measured.sign import find_sign

TIME = np.arange(2000.0)


def sign_of(voltage, current, **more):
    said = {"asked": AUTO, "header": "A", "bdf": False} | more
    return find_sign(**said, time_s=TIME, voltage_V=voltage, current_A=current)


@settings(max_examples=30, deadline=None)
@given(st.integers(0, 10**6), st.floats(0.002, 0.1), st.sampled_from([1.0, -1.0]))
def test_steps_through_a_resistance(seed, ohm, way):
    # Ohm's law: V = U - I R with discharge positive, whatever the noise of a millivolt.
    rng = np.random.default_rng(seed)
    discharge = np.repeat(rng.choice([0.0, 5.0, 20.0, -10.0], 20), 100)
    discharge[:100], discharge[100:200] = 0.0, 20.0
    voltage = 13.0 - ohm * discharge + 0.0005 * rng.standard_normal(2000)
    found = sign_of(voltage, way * discharge)
    assert found.sign == (DISCHARGE_POSITIVE if way > 0 else CHARGE_POSITIVE)


@pytest.mark.parametrize("way", [1.0, -1.0])
@pytest.mark.parametrize("slope", [1e-3, -1e-3])
def test_voltage_falls_while_discharging(way, slope):
    # Discharge current where the voltage falls, charge where it rises.
    current = way * np.full(2000, 5.0 if slope < 0 else -5.0)
    found = sign_of(13.0 + slope * TIME, current)
    assert found.sign == (DISCHARGE_POSITIVE if way > 0 else CHARGE_POSITIVE)
    assert found.severity != WARNING


@pytest.mark.parametrize("way", [1.0, -1.0])
def test_clean_pulses_on_a_steady_voltage(way):
    pulses = 10.0 * ((TIME // 100) % 2)
    found = sign_of(13.0 - 0.02 * pulses, way * pulses)
    assert found.sign == (DISCHARGE_POSITIVE if way > 0 else CHARGE_POSITIVE)
    assert "steps" in found.reason


def test_one_odd_step_does_not_outweigh_the_trend():
    voltage, current = 13.0 - 1e-3 * TIME, np.full(2000, 5.0)
    voltage[-1], current[-1] = voltage[-2] - 0.1, 4.0
    found = sign_of(voltage, current)
    assert (found.sign, found.severity) == (DISCHARGE_POSITIVE, WARNING)


def test_nothing_to_tell_by():
    rest = np.full(2000, 13.0)
    assert sign_of(rest, np.full(2000, -5.0)).sign == CHARGE_POSITIVE
    found = sign_of(rest, np.full(2000, 5.0))
    assert (found.sign, found.severity) == (DISCHARGE_POSITIVE, WARNING)
    assert "--sign" in found.reason
    open_format = sign_of(rest, np.full(2000, 5.0), bdf=True)
    assert (open_format.sign, open_format.severity) == (CHARGE_POSITIVE, "note")
    assert sign_of(rest, np.full(2000, 5.0), header="Ladestrom").sign == CHARGE_POSITIVE
    assert sign_of(rest, np.full(2000, -5.0), header="Entladestrom").sign == DISCHARGE_POSITIVE
    assert sign_of(rest, -rest, asked=DISCHARGE_POSITIVE).sign == DISCHARGE_POSITIVE


def test_physics_against_the_header_is_told():
    found = sign_of(13.0 - 1e-3 * TIME, np.full(2000, 5.0), bdf=True)
    assert (found.sign, found.severity) == (DISCHARGE_POSITIVE, WARNING)
    assert "although" in found.reason


@pytest.mark.parametrize(
    ("text", "marks", "unit", "value"),
    [("12.81", ".", "", 12.81), ("12,81", ",", "", 12.81), ("1.234,5", ",", "", 1234.5),
     ("1,234.5", ".", "", 1234.5), ("1'234.5", ".", "", 1234.5), ("1 234,5", ",", "", 1234.5),
     ("12.81 V", ".", "V", 12.81), ("12.81V", ".", "", 12.81), ("980 mA", ".", "A", 0.98),
     ("−5", ".", "", -5.0), ("5-", ".", "", -5.0), ("(5.5)", ".", "", -5.5),
     ("+.5", ".", "", 0.5), ("1e-3", ".", "", 1e-3), ("5.", ".", "", 5.0),
     ("12.81", ",", "", 12.81), ('"7"', ".", "", 7.0), ("1.234.567", ",", "", 1234567.0)],
)  # fmt: skip
def test_numbers_as_written(text, marks, unit, value):
    assert read_number(text, Marks(marks), unit) == pytest.approx(value, rel=1e-15)


@pytest.mark.parametrize(
    "text",
    ["", "abc", "1.2.3", "12:30", "1,2,3", "5 A V", "--5", "0x10", "1_000", "12.81 A", "inf"],
)
def test_no_numbers(text):
    assert math.isnan(read_number(text, Marks("."), "V"))


def test_implausible_values_are_kept_and_told(tmp_path):
    def row(i):
        return f"{i},{ {9: 0, 20: 1200.0}.get(i, volts(i)):.2f},{9000 if i == 30 else 5}"

    log = read(tmp_path, falling("Time [s],V,A\n", row))
    assert log.count == 60
    for text in ("Row 11: a voltage of 0", "Row 22: a voltage of more than 5 times the usual one",
                 "Row 32: more than 5,000 A", "Row 11: the voltage leaps"):  # fmt: skip
        assert text in told(log)


def cut_out(rest, back, end=0.0, after=300):
    """20 A from 13 V down a steepening curve until it cuts out and the voltage vanishes."""
    course = np.linspace(0.0, 1.0, 1500)
    voltage = np.concatenate([13.2 - 0.7 * course - 1.5 * course**12, np.full(after, end)])
    current = np.concatenate([np.full(1500, 20.0), np.zeros(after)])
    if rest:
        voltage = np.concatenate([np.full(200, 13.4), voltage])
        current = np.concatenate([np.zeros(200), current])
    if back:  # it joins again by itself, without load
        voltage, current = np.append(voltage, np.full(200, 12.4)), np.append(current, np.zeros(200))
    return voltage, current


# Known by construction: a discharge, written in either direction.
@pytest.mark.parametrize("way", [1.0, -1.0])
@pytest.mark.parametrize("rest", [False, True])
@pytest.mark.parametrize("back", [False, True])
@pytest.mark.parametrize(("end", "after"), [(0.0, 300), (2.5, 300), (0.0, 1), (0.05, 4000)])
def test_voltage_that_vanishes_at_the_cut_out(way, rest, back, end, after):
    voltage, current = cut_out(rest, back, end, after)
    found = find_sign(AUTO, "A", bdf=False, time_s=np.arange(float(voltage.size)),
                      voltage_V=voltage, current_A=way * current)  # fmt: skip
    assert found.sign == (DISCHARGE_POSITIVE if way > 0 else CHARGE_POSITIVE)
    assert found.severity != WARNING


@pytest.mark.parametrize("way", [1.0, -1.0])
def test_cut_out_seen_half_way(way):
    voltage, current = cut_out(rest=True, back=False)
    voltage[1700], current[1700] = 7.0, 9.0  # the meter averages across the cut-out
    found = find_sign(AUTO, "A", bdf=False, time_s=np.arange(float(voltage.size)),
                      voltage_V=voltage, current_A=way * current)  # fmt: skip
    assert found.sign == (DISCHARGE_POSITIVE if way > 0 else CHARGE_POSITIVE)
