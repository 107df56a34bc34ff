"""Columns that contradict each other: volts and amperes swapped, cells and battery apart."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from bankSim.measured.bdf import write_bdf
from bankSim.measured.calibrate import calibrate
from bankSim.measured.capacity_test import Question, evaluate_tests
from bankSim.measured.label import Label
from bankSim.measured.log import Asked, LogError
from bankSim.measured.plausible import sums_apart
from bankSim.measured.read import read_log
from bankSim.measured.swapped import reads_swapped, swapped
from bankSim.show.bench_story import tell_tests
from bankSim.show.log_story import tell_log

LOGS = Path(__file__).parents[2] / "scenarios" / "logs"
TRUE = LOGS / "synthetic-newer-capacity.csv"
FIRST = "Check this first: "


def changed(folder, change):
    """The log of the newer battery with every row changed."""
    note, head, *rows = TRUE.read_text(encoding="utf-8").splitlines()
    file = folder / "changed.csv"
    lines = [",".join(change(row.split(","))) for row in rows]
    file.write_text("\n".join([note, head, *lines]) + "\n", encoding="utf-8")
    return file


@pytest.fixture
def turned(tmp_path):
    """Volts under the header of amperes, and the other way round."""
    return changed(tmp_path, lambda row: [row[0], row[2], row[1], *row[3:]])


@pytest.fixture
def doubled(tmp_path):
    """A battery of eight cells, four of them logged."""
    return changed(tmp_path, lambda row: [row[0], f"{2.0 * float(row[1]):.2f}", *row[2:]])


def test_a_sound_log_has_no_doubts():
    log = read_log(TRUE)
    assert log.doubts == ()
    assert sums_apart(log.voltage_V, log.cells_V) is None


def test_swapped_columns_are_refused_and_told_how(turned):
    with pytest.raises(LogError) as error:
        read_log(turned)
    assert 'expected --voltage "current_A" --current "voltage_V"' in str(error.value)
    log = read_log(turned, Asked(voltage="current_A", current="voltage_V"))
    assert log.counted_Ah()[-1] == pytest.approx(read_log(TRUE).counted_Ah()[-1])
    assert log.doubts == ()


def test_who_insists_on_columns_is_told_on_top(turned):
    log = read_log(turned, Asked(voltage="voltage_V", current="current_A"))
    assert len(log.doubts) == 1
    first = tell_log(log).headline[0]
    assert first.startswith(f"{FIRST}the 4 cells add up to 13.")
    assert "where the battery reads 24" in first


def test_cells_and_battery_apart_stand_above_a_verdict(doubled):
    log = read_log(doubled)
    assert tell_log(log).headline[0].startswith(FIRST)
    answer, _ = evaluate_tests([log], ["changed"], Question(rated_Ah=120.0))
    assert tell_tests(answer).headline[0].startswith(f"{FIRST}in changed the 4 cells add up to")


def test_no_battery_is_made_of_a_contradiction(doubled):
    with pytest.raises(LogError, match=r"its 4 cells add up to 13\.\d+ V where the battery reads"):
        calibrate([read_log(doubled)], Label("four", "LFP", 4, 120.0))


def test_a_terminal_that_falls_to_nothing_at_the_end_is_no_contradiction():
    cells = np.full((100, 4), 3.3)
    volts = np.where(np.arange(100) < 60, 13.2, 0.0)
    assert sums_apart(volts, cells) is None
    assert sums_apart(volts[50:], cells[50:]) == (pytest.approx(13.2), 0.0)
    assert sums_apart(volts, np.empty((100, 0))) is None


def test_a_current_that_only_comes_near_now_and_then_is_not_taken_for_a_voltage():
    cells, volts = np.full((100, 4), 3.3), np.full(100, 26.4)
    assert swapped(volts, np.full(100, 13.3), cells)
    assert not swapped(volts, np.linspace(0.0, 26.0, 100), cells)
    assert not swapped(np.full(100, 13.2), np.full(100, 13.3), cells)


@pytest.mark.parametrize(
    ("head", "of_air"),
    [
        ("Ambient Temperature / degC", True), ("Umgebungstemperatur (°C)", True),
        ("Air temp (C)", True), ("Room temperature (°C)", True), ("Temp_Luft_C", True),
        ("Surface Temperature / degC", False), ("Battery temperature (°C)", False),
    ],
)  # fmt: skip
def test_whose_temperature_a_header_means(tmp_path, head, of_air):
    rows = "\n".join(f"{k},{13.2 - 0.01 * k:.2f},5,21.0" for k in range(30))
    file = tmp_path / "log.csv"
    file.write_text(f"time_s,voltage_V,current_A,{head}\n{rows}\n", encoding="utf-8")
    log = read_log(file)
    assert log.of_air is of_air
    assert log.temperature_C is not None
    read_as = {use.number: use.meaning for use in log.uses}[4]
    assert read_as == ("air temperature" if of_air else "temperature")


def test_whose_temperature_it_is_stays_in_the_open_format(tmp_path):
    for of_air in (True, False):
        log = read_log(LOGS / "synthetic-older-pulses.csv")
        file = tmp_path / "log.csv"
        file.write_text(write_bdf(replace(log, of_air=of_air)), encoding="utf-8")
        assert read_log(file).of_air is of_air


def discharged(rest_s=600.0, *, noise_A=0.0):
    """A 12 V battery of 0.01 ohm: rest, 10 A for two hours, rest; time, volts, amperes."""
    time = np.arange(0.0, 2.0 * rest_s + 7200.0, 10.0)
    on = (time >= rest_s) & (time < rest_s + 7200.0)
    rng = np.random.default_rng(4)
    amps = np.where(on, 10.0, 0.0) + rng.normal(0.0, noise_A, time.size)
    left = 1.0 - np.clip((time - rest_s) / 7200.0, 0.0, 1.0)
    volts = 12.4 + 0.8 * left - 0.01 * amps + rng.normal(0.0, 0.002, time.size)
    return time, volts, amps


@pytest.mark.parametrize(("rest_s", "noise_A"), [(600.0, 0.0), (600.0, 0.05), (7200.0, 0.05)])
def test_swapped_headers_are_refused_without_cells(tmp_path, rest_s, noise_A):
    time, volts, amps = discharged(rest_s, noise_A=noise_A)
    file = tmp_path / "swap.csv"
    rows = [f"{t:.0f},{i:.3f},{u:.3f}" for t, u, i in zip(time, volts, amps, strict=True)]
    file.write_text("\n".join(["time_s,voltage_V,current_A", *rows]) + "\n")
    with pytest.raises(LogError) as error:
        read_log(file)
    assert 'expected --voltage "current_A" --current "voltage_V"' in str(error.value)
    log = read_log(file, Asked(voltage="current_A", current="voltage_V"))
    # 10 A for 2 h
    assert log.counted_Ah()[-1] == pytest.approx(20.0, rel=2e-3)
    assert read_log(file, Asked(voltage="voltage_V", current="current_A")).count == time.size


@pytest.mark.parametrize("noise_A", [0.0, 0.05])
def test_sound_columns_do_not_read_swapped(noise_A):
    _, volts, amps = discharged(noise_A=noise_A)
    assert reads_swapped(amps, volts)
    assert not reads_swapped(volts, amps)
    assert not reads_swapped(volts, np.full(volts.size, 13.0))  # a load that never rests
    gone = np.arange(volts.size) > 0.7 * volts.size
    assert not reads_swapped(np.where(gone, 0.1, volts), np.where(gone, 0.0, 13.0))  # cut out
    assert not reads_swapped(np.zeros(volts.size), np.zeros(volts.size))


def test_an_emptied_battery_rests_lower_than_it_was_under_load():
    # 13.1 V under load, cut out at 10 V, back at 11 V: lower on the whole, higher at each switching
    amps = np.repeat([0.0, 20.0, 0.0], [60, 1400, 120])
    volts = np.repeat([13.2, 13.1, 11.0], [60, 1400, 120])
    volts[1380:1460] = np.linspace(13.1, 10.0, 80)
    noise = np.random.default_rng(2).normal(0.0, 0.01, volts.size)
    assert reads_swapped(amps + noise, volts + 0.1 * noise)
    assert not reads_swapped(volts + 0.1 * noise, amps + noise)
    level = np.full(volts.size, 12.0)  # a lead of the meter is off before and after a steady load
    assert not reads_swapped(np.where(amps > 0.0, volts, 0.0) + noise, level + 0.1 * noise)


def test_a_lead_that_came_off_is_no_swap():
    _, volts, _ = discharged()
    off = np.arange(volts.size) > 0.9 * volts.size
    assert not reads_swapped(np.where(off, 0.0, volts), np.full(volts.size, 13.0))
