"""Reading logs and calibrating, as ratios to the plainest way of doing the same."""

import tempfile
from pathlib import Path

import numpy as np
import pandas as pd

from bankSim.measured.calibrate import calibrate
from bankSim.measured.label import Label
from bankSim.measured.log import Log
from bankSim.measured.read import read_log
from bankSim.measured.replay import Course, replay
from bankSim.model.lfp import LFP
from benchmarks.show import Table, ms, percent, plain
from benchmarks.timing import race, stopwatch

COLUMNS = ("what", "ms", "noise", "ratio", "to")
LABEL = Label("bench", "LFP", 4, 100.0)


def measured_table(rows, rounds):
    """Return the table.

    Parameters
    ----------
    rows : int
        Of the log that is read.
    rounds : int
    """
    with tempfile.TemporaryDirectory(prefix="bench-log-") as folder:
        plain_file, odd_file = _files(Path(folder), rows)
        readers = {
            "the CSV reader of pandas alone": lambda: stopwatch(pd.read_csv, plain_file),
            "reading a plain log": lambda: stopwatch(read_log, plain_file),
            "reading decimal commas and clock times": lambda: stopwatch(read_log, odd_file),
        }
        found = _rows(readers, rounds)
    log = _discharge()
    cell, course = LFP.typical_cell(100.0, 95.0 * 3600.0), Course.of(log, 25.0)
    fits = {
        "one replay of a log": lambda: stopwatch(replay, (cell,), course, log.time_s),
        "one calibration on it": lambda: stopwatch(calibrate, [log], LABEL),
    }
    found += _rows(fits, max(rounds // 2, 2))
    lines = [f"Logs of {rows:,} rows; the calibration is of one discharge of {log.count} samples."]
    return Table("Measured logs", COLUMNS, found), lines


def _rows(runners, rounds):
    times = race(runners, rounds)
    first = next(iter(times))
    return [
        [name, ms(one.seconds), percent(one.spread), plain(one.seconds / times[first].seconds),
         first]
        for name, one in times.items()
    ]  # fmt: skip


def _files(folder, rows):
    """A log that is plain, and the same with decimal commas and clock times."""
    time = np.arange(rows)
    amps = np.round(-10.0 + 0.1 * np.sin(time / 50.0), 2)
    volts = np.round(13.4 - 1.2 * time / rows, 3)
    table = pd.DataFrame({"time_s": time, "current_A": amps, "voltage_V": volts})
    table.to_csv(folder / "plain.csv", index=False)
    table["time_s"] = pd.Timestamp("2026-02-03 08:00:00") + pd.to_timedelta(time, unit="s")
    table.to_csv(
        folder / "odd.csv", index=False, sep=";", decimal=",", date_format="%d.%m.%Y %H:%M:%S"
    )
    return folder / "plain.csv", folder / "odd.csv"


def _discharge():
    """A discharge at C/4 with a meter of 10 mV."""
    time = np.arange(0.0, 3.75 * 3600.0, 10.0)
    flow = Log("made", time, np.full(time.size, 13.0), np.full(time.size, 25.0))
    cell = LFP.typical_cell(100.0, 95.0 * 3600.0)
    volts = np.round(4.0 * replay((cell,), Course.of(flow, 25.0), time)[:, 0], 2)
    return Log("made", time, volts, flow.current_A)
