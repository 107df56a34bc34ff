"""The synthetic logs that are shipped are read as they were written, without a word of help."""

from datetime import datetime
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from pytest import approx

from bankSim.measured.log import CHARGE_POSITIVE, DISCHARGE_POSITIVE, Asked
from bankSim.measured.read import read_log

LOGS = Path(__file__).parents[2] / "scenarios" / "logs"
REPEATS = [f"newer-repeat-{k}" for k in (1, 2, 3)]
# name: what is positive, cells, seconds between samples
FORMS = {
    "older-capacity": (CHARGE_POSITIVE, 4, 60.0),
    "newer-capacity": (DISCHARGE_POSITIVE, 4, 30.0),
    "older-pulses": (CHARGE_POSITIVE, 0, 15.0),
    "bank-parallel": (DISCHARGE_POSITIVE, 0, 30.0),
    **dict.fromkeys(REPEATS, (DISCHARGE_POSITIVE, 0, 60.0)),
}


def file_of(name):
    return LOGS / f"synthetic-{name}.csv"


def read(name, **asked):
    return read_log(file_of(name), Asked(**asked))


def table(name):
    """The file by pandas; columns as they are."""
    comma = name == "older-capacity"
    return pd.read_csv(
        file_of(name), comment="#", sep=";" if comma else ",", decimal="," if comma else "."
    )


def test_every_log_is_tried():
    assert {file_of(name) for name in FORMS} == set(LOGS.glob("*.csv"))


@pytest.mark.parametrize("name", FORMS)
def test_is_read_as_it_was_written(name):
    sign, cells, every_s = FORMS[name]
    log, raw = read(name), table(name)
    assert log.count == len(raw)
    assert log.time_s == approx(every_s * np.arange(len(raw)))
    assert log.sign == sign
    turned = -1.0 if sign == CHARGE_POSITIVE else 1.0
    assert log.current_A == approx(turned * raw.iloc[:, 2].to_numpy(float))
    assert log.voltage_V == approx(raw.iloc[:, 1].to_numpy(float))
    assert log.cells_V.shape == (len(raw), cells)
    assert log.gaps == ()
    if name in REPEATS:
        assert log.temperature_C == approx(raw["temperature_C"].to_numpy(float))


def test_millivolts_and_volts_of_cells():
    assert read("older-capacity").cells_V == approx(
        table("older-capacity").iloc[:, 3:].to_numpy(float) / 1000.0
    )
    assert read("newer-capacity").cells_V == approx(
        table("newer-capacity").iloc[:, 3:].to_numpy(float)
    )


def test_the_clock_is_kept():
    assert read("older-capacity").starts_at == datetime(2026, 3, 14, 9, 0, 0)
    assert read("newer-capacity").starts_at is None


def test_the_batteries_currents_are_kept():
    log, raw = read("bank-parallel", keep_others=True), table("bank-parallel")
    for name in ("older_current_A", "newer_current_A"):
        assert log.others[name] == approx(raw[name].to_numpy(float))
