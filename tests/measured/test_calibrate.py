"""Calibration on logs that ngspice made, not our solver, and on a measured cell."""

import re
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from open_data import FAST, SLOW, needs_open_data
from pytest import approx
from spice_logs import (
    MadeBattery,
    MadeCell,
    Meter,
    bench,
    discharge,
    needs_ngspice,
    pulses,
    readings,
)

from bankSim.measured import fit
from bankSim.measured.battery_file import MARK, battery_files
from bankSim.measured.calibrate import Told, calibrate
from bankSim.measured.first_guess import whole_charge_Ah
from bankSim.measured.label import Label, label_of
from bankSim.measured.log import Log, LogError
from bankSim.measured.read import read_log
from bankSim.measured.replay import Course, replay
from bankSim.model.lead_acid import AGM
from bankSim.scenario.read import read_scenario
from bankSim.show.calibrate_story import tell_calibration
from bankSim.sim.run import simulate

LOGS = Path(__file__).parents[2] / "scenarios" / "logs"
LABEL = Label("bench", "LFP", 4, 100.0)
PAIRS = ((0.4, 25.0), (0.5, 500.0))
OHMIC = 0.8
CAPACITIES = (95.0, 96.0, 93.0, 95.5)


def log_of(run, meter, cells=False):
    shown = readings(run, meter)
    return Log(
        "made.csv", shown.time_s, shown.voltage_V, shown.current_A,
        cells_V=shown.cells_V if cells else np.empty((0, 0)),
        temperature_C=np.full(shown.time_s.size, 25.0),
    )  # fmt: skip


@pytest.fixture(scope="module")
def runs():
    """C/20, C/3 and pulses of one battery, each from full; solved once."""
    battery = MadeBattery(
        tuple(MadeCell(capacity_Ah=q, ohmic_mohm=OHMIC, pairs=PAIRS) for q in CAPACITIES)
    )
    return (
        bench(battery, discharge(5.0, 25.0, 600.0), every_s=60.0, rebound_s=1800.0),
        bench(battery, discharge(30.0, 5.0, 600.0), every_s=10.0, rebound_s=1800.0),
        bench(battery, pulses(40.0, 300.0, 900.0, 20), every_s=2.0),
    )


@pytest.fixture(scope="module")
def by_cells(runs):
    """What two logs with cell voltages give."""
    logs = [log_of(run, Meter(seed=place), cells=True) for place, run in enumerate(runs[:2])]
    return calibrate(logs, LABEL)


@needs_ngspice
def test_capacity_and_resistance_are_recovered(runs):
    logs = [log_of(run, Meter(seed=place)) for place, run in enumerate(runs)]
    found = calibrate(logs, LABEL)
    assert found.value("capacity").value == approx(runs[0].cut_Ah, rel=0.005)
    true_mohm = 4 * (OHMIC + sum(mohm for mohm, _ in PAIRS))
    long = found.value("resistance after long, half full")
    assert long.value == approx(true_mohm, rel=0.05)
    for value, truth in ((found.values[0], runs[0].cut_Ah), (long, true_mohm),
                         (found.values[1], 4 * OHMIC)):  # fmt: skip
        assert abs(value.value - truth) < 2.5 * value.sd
    errors = [one.error_percent for one in found.followed if one.error_percent is not None]
    assert max(abs(error) for error in errors) < 0.5
    assert not any("does not separate" in line for line in found.warnings)


@needs_ngspice
def test_gain_of_the_shunt_is_covered_by_the_stated_error(runs):
    """Each of these logs is off by a gain inside the limit of 0.5 %; 2 sd must hold the truth."""
    rng = np.random.default_rng(7)
    inside = 0
    gains = 1.0 + rng.uniform(-0.005, 0.005, 12)
    for seed, gain in enumerate(gains):
        found = calibrate([log_of(runs[0], Meter(seed=seed, gain_A=float(gain)))], LABEL)
        capacity = found.value("capacity")
        inside += abs(capacity.value - runs[0].cut_Ah) < 2.0 * capacity.sd
    assert inside >= 11


@needs_ngspice
def test_cells_are_told_apart(by_cells):
    left = np.array([one.left_at_end_Ah for one in by_cells.cells])
    true_left = np.array(CAPACITIES) - min(CAPACITIES)
    assert int(np.argmin(left)) == 2
    assert left == approx(true_left, abs=0.25)
    assert all(one.end is None or one.end.cell == 3 for one in by_cells.followed)


@needs_ngspice
def test_logs_with_and_without_cells_go_together(runs):
    """The first log has the cells, the second only the battery: both are followed to the knee."""
    logs = [log_of(runs[0], Meter(seed=1), cells=True), log_of(runs[1], Meter(seed=2))]
    found = calibrate(logs, LABEL)
    left = np.array([one.left_at_end_Ah for one in found.cells])
    assert left == approx(np.array(CAPACITIES) - min(CAPACITIES), abs=0.3)
    assert abs(found.followed[1].error_percent) < 0.5


@needs_ngspice
def test_a_very_weak_cell_is_found_from_afar():
    """From equal cells the fit alone came to rest at 8 Ah left over, in place of 30."""
    sound = MadeCell(capacity_Ah=100.0, ohmic_mohm=OHMIC, pairs=PAIRS)
    battery = MadeBattery((sound, sound, replace(sound, capacity_Ah=70.0), sound))
    made = (
        bench(battery, discharge(30.0, 5.0, 600.0), every_s=10.0, rebound_s=1800.0),
        bench(battery, pulses(40.0, 300.0, 900.0, 20), every_s=5.0),
    )
    logs = [log_of(run, Meter(seed=place), cells=True) for place, run in enumerate(made)]
    found = calibrate(logs, LABEL)
    # it did cut out, at 70 % of the mean: it was asked to discharge once until it cuts out
    assert not any("until the battery cuts out" in line for line in found.warnings)
    assert any("Cell 3 ends the discharge" in line for line in found.warnings)
    left = np.array([one.left_at_end_Ah for one in found.cells])
    assert left[[0, 1, 3]] == approx(30.0, rel=0.1)
    assert left[2] == 0.0


@pytest.fixture(scope="module")
def mislabelled():
    """A log of a battery of 75 Ah whose label says 90."""
    log = read_log(LOGS / "synthetic-older-capacity.csv")
    return calibrate([log], Label("older", "LFP", 4, 90.0))


def test_a_label_that_is_off_leads_to_the_same_battery(mislabelled):
    """From where charges of cells are held at their limit the fit stayed 5 to 6 mV off."""
    assert mislabelled.followed[0].middle_rms_mV < 1.0
    # values that made the log (scenarios/make_logs.py): 74.85 Ah on average, cell 3 1.5 % emptier
    assert mislabelled.value("capacity").value == approx(74.85, rel=0.02)
    assert mislabelled.cells[2].charge_percent < -0.7


def test_a_search_that_is_broken_off_is_told(monkeypatch):
    monkeypatch.setattr(fit, "MOST_TURNS", 3)
    log = read_log(LOGS / "synthetic-older-capacity.csv")
    found = calibrate([log], Label("older", "LFP", 4, 90.0))
    assert re.match(
        "The search for these values was broken off after [23] turns", found.warnings[0]
    )
    # said first of all, and in the file: a headline told 115 % of the label as if it were found
    assert "Do not build on what was found" in tell_calibration(found).headline[0]
    assert "# BEWARE: The " in battery_files(found, "x").text.splitlines()[1]


def test_ah_that_are_far_off_are_said_first(mislabelled):
    assert mislabelled.distrusted == ""
    off = [replace(one, model_Ah=1.14 * one.end.given_Ah) for one in mislabelled.followed]
    assert "off by 14 %" in replace(mislabelled, followed=tuple(off)).distrusted


@needs_ngspice
def test_one_constant_current_does_not_separate_resistance(runs):
    found = calibrate([log_of(runs[1], Meter(seed=3))], LABEL)
    assert any("does not separate resistance" in line for line in found.warnings)
    long = found.value("resistance after long, half full")
    assert long.sd > 0.3 * long.value
    assert abs(long.value - 4 * (OHMIC + 0.9)) < 2.5 * long.sd


@needs_ngspice
def test_stretches_held_out_are_predicted(runs):
    logs = [log_of(run, Meter(seed=place)) for place, run in enumerate(runs)]
    found = calibrate(logs, LABEL, Told(hold_out=0.25))
    assert [one.is_curve for one in found.followed] == [True, False, False]
    assert found.followed[0].held_out_rms_mV is None
    assert all(one.held_out_rms_mV < 8.0 for one in found.followed[1:])


@needs_ngspice
def test_the_battery_file_repeats_the_test(runs, by_cells, tmp_path):
    made = battery_files(by_cells, "bench")
    file = tmp_path / "bench.toml"
    file.write_text(made.text, encoding="utf-8")
    for name, text in made.tables.items():
        (tmp_path / name).write_text(text, encoding="utf-8")
    assert made.text.startswith(MARK)
    result = simulate(read_scenario(file))
    assert result.bank.delivered_Ah == approx(runs[1].cut_Ah, rel=0.01)
    assert result.batteries[0].first_cut_out.cell == 3


@needs_open_data
def test_a_measured_cell_is_followed_and_its_other_rates_predicted():
    """A 2 Ah LFP cell, About:Energy open data (CC BY-SA 4.0).

    Its C/2 and 2C discharges to 2.0 V gave 2.0061 and 1.8939 Ah (read off the same data set).
    """
    logs = [read_log(file) for file in (SLOW, FAST)]
    found = calibrate(logs, label_of(logs, "cell"))
    assert all(one.middle_rms_mV < 10.0 for one in found.followed)
    assert all(abs(one.error_percent) < 1.0 for one in found.followed)
    for current_A, measured_Ah in ((1.001, 2.0061), (4.0, 1.8939)):
        time = np.linspace(0.0, 2.2 / current_A * 3600.0, 20_000)
        flow = Log("other rate", time, np.full(time.size, 3.2), np.full(time.size, current_A))
        course = Course.of(flow, 25.0, found.recipe.thermal)
        volts = replay(found.recipe.cells_of(found.fit.numbers, 0), course, time)[:, 0]
        given = time[np.argmax(volts < 2.0)] * current_A / 3600.0
        assert given == approx(measured_Ah, rel=0.02)


def test_logs_without_a_discharge_are_refused():
    time = np.arange(0.0, 100.0)
    rest = Log("rest.csv", time, np.full(100, 13.3), np.zeros(100))
    with pytest.raises(LogError, match=r"rest.csv: no current flows"):
        calibrate([rest], LABEL)
    short = Log("short.csv", time[:5], np.full(5, 13.3), np.ones(5))
    with pytest.raises(LogError, match=r"short.csv: 5 samples; expected at least 20"):
        calibrate([short], LABEL)


def test_starts_must_fit_the_logs():
    time = np.arange(0.0, 100.0)
    log = Log("a.csv", time, 13.3 - time / 1e3, np.ones(100))
    with pytest.raises(LogError, match="--start-percent has 2 values; expected 1"):
        calibrate([log], LABEL, Told(starts=(1.0, 0.5)))


@pytest.mark.parametrize(("hours", "given_Ah"), [(20.0, 100.0), (9.187, 91.87), (1.0, 60.0)])
def test_whole_charge_of_two_wells(hours, given_Ah):
    # a usual rate table of a 100 Ah lead battery fits qmax 108.160 Ah, c 0.475111, k' 0.676960 /h
    # in the kinetic battery model (Manwell & McGowan 1993); table values from memory
    assert whole_charge_Ah(given_Ah, hours, 0.475111, 0.676960) == approx(108.16, rel=1e-3)
    assert whole_charge_Ah(given_Ah, hours, 1.0, 0.0) == given_Ah


def test_two_rates_of_a_lead_battery_give_its_wells():
    """Made by our own solver: what is tested is that the fit finds back what went in."""
    true = AGM.typical_cell(100.0, 97.3 * 3600.0, 1.4)
    logs = [lead_log(true, current_A) for current_A in (5.0, 25.0)]
    found = calibrate(logs, Label("lead", "AGM", 6, 100.0))
    for name, truth in (
        ("available part of the charge", true.available_fraction),
        ("rate between the wells", 3600.0 * true.well_rate_per_s),
        ("capacity", true.charge_C / 3600.0),
    ):
        value = found.value(name)
        assert abs(value.value - truth) < 3.0 * value.sd
        assert value.value == approx(truth, rel=0.15)
    assert max(abs(one.error_percent) for one in found.followed) < 0.5


def lead_log(cell, current_A):
    """A log down to 10.5 V with a meter of 10 mV and 0.1 A."""
    rng = np.random.default_rng(6)
    time = np.arange(0.0, 110.0 / current_A * 3600.0, 60.0)
    flow = Log("flow", time, np.full(time.size, 12.0), np.full(time.size, current_A))
    volts = 6.0 * replay((cell,), Course.of(flow, 25.0), time)[:, 0]
    end = int(np.argmax(volts < 10.5))
    noisy = np.round(volts[:end] + rng.normal(0.0, 0.004, end), 2)
    return Log(
        "lead.csv", time[:end], noisy, np.full(end, current_A),
        temperature_C=np.full(end, 25.0),
    )  # fmt: skip
