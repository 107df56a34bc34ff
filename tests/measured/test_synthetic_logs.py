"""The synthetic logs that are shipped: made again, marked as such, fit for their purpose."""

import runpy
import tomllib
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from pytest import approx

from bankSim import read_scenario, simulate

SCENARIOS = Path(__file__).parents[2] / "scenarios"
LOGS = SCENARIOS / "logs"
SHIPPED = sorted(LOGS.glob("*.csv"))
REPEATS = [f"synthetic-newer-repeat-{k}" for k in (1, 2, 3)]


@pytest.fixture(scope="module")
def script():
    return runpy.run_path(str(SCENARIOS / "make_logs.py"))


@pytest.fixture(scope="module")
def made(script, tmp_path_factory):
    folder = tmp_path_factory.mktemp("made")
    script["main"](folder)
    return folder


def table(file):
    """A log as a table; the first column is turned into seconds."""
    clock = file.stem == "synthetic-older-capacity"
    mark, point = (";", ",") if clock else (",", ".")
    found = pd.read_csv(file, comment="#", sep=mark, decimal=point)
    first = found.pop(found.columns[0])
    if clock:
        stamps = pd.to_datetime(first, format="%d.%m.%Y %H:%M:%S")
        seconds = (stamps - stamps[0]).dt.total_seconds()
    else:
        seconds = first * (60.0 if first.name == "time_min" else 1.0)
    found.insert(0, "seconds", seconds.astype(float))
    return found


def given_Ah(file, column):
    """What was counted, discharge positive."""
    log = table(file)
    return abs(np.trapezoid(log[column], log["seconds"])) / 3600.0


def weakest_Ah(script, battery):
    """What the smallest cell holds, from the truth."""
    cells = tomllib.loads(script["TRUE"][battery])["battery"][0]["cells"]
    return min(cell["capacity_Ah"] for cell in cells)


def test_the_script_makes_what_is_shipped(made):
    assert sorted(file.name for file in made.iterdir()) == [file.name for file in SHIPPED]


@pytest.mark.parametrize("file", SHIPPED, ids=lambda file: file.stem)
def test_made_again_it_is_the_same(file, made):
    # another machine may round a reading the other way: one step of the meter, here and there
    shipped, again = table(file), table(made / file.name)
    assert list(shipped.columns) == list(again.columns)
    assert len(shipped) == len(again)
    assert again["seconds"].to_numpy() == approx(shipped["seconds"].to_numpy())
    apart = np.abs(again.to_numpy(float) - shipped.to_numpy(float))
    step = np.where(np.char.find(list(map(str, shipped.columns)), "mV") >= 0, 1.0, 0.1)
    assert (apart <= 1.001 * step).all()
    assert (apart > 1e-9).mean() < 0.02


@pytest.mark.parametrize("file", SHIPPED, ids=lambda file: file.stem)
def test_is_marked_as_synthetic_and_small(file):
    assert "synthetic" in file.name
    first = file.read_text(encoding="utf-8").splitlines()[0]
    assert first.startswith("# synthetic: ")
    assert "not measured" in first
    assert file.stat().st_size < 300_000
    words = (LOGS / "README.md").read_text(encoding="utf-8")
    short = file.stem.removeprefix("synthetic-newer-repeat")
    assert f"`{file.name}`" in words or f"`{short}`" in words


@pytest.mark.parametrize("file", SHIPPED, ids=lambda file: file.stem)
def test_has_no_holes(file):
    log = table(file)
    assert np.isfinite(log.to_numpy(float)).all()
    steps = np.diff(log["seconds"])
    assert steps == approx(np.full(steps.size, steps[0]))


def test_the_capacity_tests_find_less_than_the_labels(script):
    # a cell gives no more than it holds, and at a fifth of the label per hour most of it
    older = given_Ah(LOGS / "synthetic-older-capacity.csv", "Current (A)")
    newer = given_Ah(LOGS / "synthetic-newer-capacity.csv", "current_A")
    for found, battery, label in ((older, "older", 90.0), (newer, "newer", 120.0)):
        holds = weakest_Ah(script, battery)
        assert 0.95 * holds < found < 1.006 * holds  # the meter reads 0.4 % too much
        assert found < 0.98 * label


def test_the_repeats_agree_with_each_other():
    found = [given_Ah(LOGS / f"{name}.csv", "current_A") for name in REPEATS]
    assert 0.0 < np.ptp(found) < 0.01 * np.mean(found)


def test_the_weak_cell_ends_the_discharge():
    older = table(LOGS / "synthetic-older-capacity.csv")
    last = older[older["Current (A)"] < -1.0].iloc[-1]
    cells = last[[f"Cell {k} (mV)" for k in (1, 2, 3, 4)]].to_numpy(float)
    assert int(np.argmin(cells)) == 2
    assert cells[2] < 2600.0 < 2900.0 < np.delete(cells, 2).min()
    assert older["Voltage (V)"].iloc[-1] > last["Voltage (V)"] + 0.3  # the rebound
    assert older["Current (A)"].iloc[:15].abs().max() <= 0.1  # the rest before


def test_the_cells_add_up():
    # what lies between the cells and the clamps drops less than 0.1 V at these currents
    log = table(LOGS / "synthetic-newer-capacity.csv")
    total = log[[f"cell_{k}_V" for k in (1, 2, 3, 4)]].sum(axis=1)
    assert (total - log["voltage_V"]).between(-0.03, 0.1).all()


def test_the_batteries_add_up_to_the_bank():
    log = table(LOGS / "synthetic-bank-parallel.csv")
    parts = log["older_current_A"] + log["newer_current_A"]
    # rounding of three readings, their noise, and an offset that is in all of them
    assert (parts - log["bank_current_A"]).abs().max() <= 0.4
    assert parts.sum() == approx(log["bank_current_A"].sum(), rel=0.002)


def test_the_scenario_by_the_labels_predicts_something_else():
    result = simulate(read_scenario(SCENARIOS / "bench-bank.toml"))
    log = table(LOGS / "synthetic-bank-parallel.csv")
    assert result.end_time_s > log["seconds"].iloc[-1] + 1200.0
    assert [battery.name for battery in result.batteries] == ["older", "newer"]
    assert {"older_current_A", "newer_current_A"} <= set(log.columns)
    last = {n: log["seconds"][log[f"{n}_current_A"] > 1.0].iloc[-1] for n in ("older", "newer")}
    assert last["newer"] - last["older"] > 60.0  # in truth one goes on alone for minutes
    cuts = [event.time_s for event in result.events if event.cuts_out]
    assert cuts[-1] - cuts[0] < 60.0
