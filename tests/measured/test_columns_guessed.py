"""Logs without headers, whose columns are guessed from the numbers; truth known by making."""

import numpy as np
import pytest
from measured.log_texts import amps, falling, meanings, read, volts

TRUE_A = [amps(i) for i in range(60)]


@pytest.mark.parametrize(
    ("row", "time", "voltage", "current"),
    [
        (lambda i: f"{60 * i},{volts(i):.2f},{amps(i)}", "1", "2", "3"),
        (lambda i: f"{60 * i},{amps(i)},{volts(i):.2f}", "1", "3", "2"),
        # rows counted before a time of seconds, or before a clock
        (lambda i: f"{i},{60 * i},{volts(i):.2f},{amps(i)}", "2", "3", "4"),
        (lambda i: f"{i},2024-03-04 12:{i:02d}:00,{volts(i):.2f},{amps(i)}", "2", "3", "4"),
        # counters behind: Ah, and a state of charge in percent
        (lambda i: f"{60 * i},{volts(i):.2f},{amps(i)},{i / 12:.3f}", "1", "2", "3"),
        (lambda i: f"{60 * i},{volts(i):.2f},{amps(i)},{100 - i}", "1", "2", "3"),
        (lambda i: f"2024-03-04,12:{i:02d}:00,{volts(i):.2f},{amps(i)}", "2", "3", "4"),
    ],
)
def test_columns_of_a_log_without_headers(tmp_path, row, time, voltage, current):
    log = read(tmp_path, falling("", row))
    found = meanings(log)
    assert (found["time"], found["voltage"], found["current"]) == (time, voltage, current)
    assert log.time_s.tolist() == [60.0 * i for i in range(60)]
    assert log.current_A.tolist() == TRUE_A
    assert any(one.text.startswith("Guessed from the numbers alone: ") for one in log.findings)


def test_seconds_before_a_voltage_are_no_count_of_rows(tmp_path):
    # every second; Ah in the last column rise evenly, too
    log = read(tmp_path, falling("", lambda i: f"{i},{volts(i):.2f},{amps(i)},{5 * i}"))
    assert log.time_s[-1] == 59.0
    assert log.current_A.tolist() == TRUE_A


def test_the_current_of_a_steady_power_is_no_counter(tmp_path):
    # 130 W: it rises in every row, by a quarter in all; beside it a temperature that hardly moves
    power = 130.0 / (13.0 - 0.04 * np.arange(60))

    def row(i):
        return f"{60 * i},{13.0 - 0.04 * i:.2f},{power[i]:.4f},{18 + 0.01 * (i % 2):.2f}"

    log = read(tmp_path, falling("", row), voltage="2")
    assert log.current_A == pytest.approx(power, abs=1e-4)


def test_cells_and_their_sum_without_headers(tmp_path):
    def row(i):
        cells = ",".join(f"{volts(i) / 4 + part:.3f}" for part in (-0.01, 0.0, 0.0, 0.01))
        return f"{60 * i},{volts(i):.3f},{cells},{amps(i)}"

    log = read(tmp_path, falling("", row))
    assert meanings(log)["voltage"] == "2"
    assert log.cells_V.shape == (60, 4)
    assert log.cells_V[:, 0] == pytest.approx(log.cells_V[:, 3] - 0.02, abs=2e-3)
    assert "columns 3 to 6 as cells" in log.findings[0].text
