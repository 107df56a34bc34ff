"""The open format: columns as published (BDF 1.3.0), charge positive, numbers to the last bit."""

from contextlib import suppress

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from measured.log_texts import falling, meanings, read, write
from open_data import FOLDER, needs_open_data

from bankSim.measured.bdf import write_bdf
from bankSim.measured.log import CHARGE_POSITIVE, Asked, Log, LogError
from bankSim.measured.read import read_log

QUIET = [HealthCheck.function_scoped_fixture]


@settings(max_examples=25, deadline=None, suppress_health_check=QUIET)
@given(st.lists(st.tuples(st.floats(0.01, 1e4), st.floats(0.5, 60.0), st.floats(-300.0, 300.0)),
                min_size=4, max_size=30))  # fmt: skip
def test_round_trip_to_the_last_bit(tmp_path, rows):
    steps, voltage, current = (np.array(column) for column in zip(*rows, strict=True))
    time = np.cumsum(steps) - steps[0]
    log = Log("made up", time, voltage, current, temperature_C=voltage)
    back = read_log(write(tmp_path, write_bdf(log)), Asked(sign=CHARGE_POSITIVE))
    assert np.array_equal(back.time_s, time)
    assert np.array_equal(back.voltage_V, voltage)
    assert np.array_equal(back.current_A, current)
    assert np.array_equal(back.temperature_C, voltage)


def test_columns_as_published(tmp_path):
    log = Log("x", np.array([0.0, 1.0]), np.array([13.0, 12.5]), np.array([5.0, 5.0]))
    assert write_bdf(log) == (
        "Test Time / s,Voltage / V,Current / A\n0.0,13.0,-5.0\n1.0,12.5,-5.0\n"
    )


@pytest.mark.parametrize(
    "head",
    ["Test Time / s,Voltage / V,Current / A,Unix Time / s,Step Time / s,Ambient Temperature / degC",
     "test_time_second,voltage_volt,current_ampere,unix_time_second,step_time_second,ambient"],
)  # fmt: skip
def test_published_headers_are_recognised(tmp_path, head):
    text = falling(head + "\n", lambda i: f"{i},13.2,5,{1700000000 + i},{i % 9},20")
    log = read(tmp_path, text)
    assert log.sign == CHARGE_POSITIVE
    assert log.current_A[0] == -5.0
    assert meanings(log)["time"] == head.split(",")[0]
    assert "open battery data format" in log.sign_reason


@needs_open_data
@pytest.mark.parametrize(
    ("name", "rated_A", "rows"), [("lfp_2Ah_25degC_1C.csv", 2.0, 3500),
                                  ("lfp_2Ah_25degC_Co20.csv", 0.1, 7454)],
)  # fmt: skip
def test_open_logs_of_a_2_ah_cell(name, rated_A, rows):
    log = read_log(FOLDER / name)
    assert log.count == rows
    assert log.sign == CHARGE_POSITIVE  # "discharge negative", as published with the logs
    assert np.median(log.current_A) == pytest.approx(rated_A, rel=0.01)
    assert log.counted_Ah()[-1] == pytest.approx(2.0, rel=0.05)


PIECES = st.sampled_from(
    ["Time", "V", "A", ",", ";", "\t", "\n", "\r\n", '"', "12.8", "12,8", "5", "-5", "10:00:01",
     "01/02/2024", " ", "NaN", "#", "1e999", "\0", "é", ".", "1,234", "mV", "Cell1", "(V)", "[A]"]
)  # fmt: skip


@settings(max_examples=150, deadline=None, suppress_health_check=QUIET)
@given(st.lists(PIECES, max_size=60))
def test_nothing_but_log_errors(tmp_path, pieces):
    try:
        log = read(tmp_path, "Time,V,A\n0,12.8,5\n1,12.7,5\n" + "".join(pieces))
    except LogError:
        return
    assert np.all(np.isfinite(log.voltage_V + log.current_A + log.time_s))
    assert np.all(np.diff(log.time_s) >= 0.0)


@settings(max_examples=80, deadline=None, suppress_health_check=QUIET)
@given(st.binary(max_size=300))
def test_any_bytes(tmp_path, content):
    with suppress(LogError):
        log = read_log(write(tmp_path, content))
        assert log.count >= 2
