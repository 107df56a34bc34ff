"""Two logs of one battery give the same battery in either order, and it is the true one."""

import runpy
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from pytest import approx

from bankSim.measured import fit
from bankSim.measured.calibrate import Told, calibrate
from bankSim.measured.label import Label
from bankSim.measured.log import Log
from bankSim.measured.read import read_log
from bankSim.measured.replay import Course, replay
from bankSim.model.lfp import LFP
from bankSim.scenario.read import parse_scenario
from bankSim.show.calibrate_story import tell_calibration

SCENARIOS = Path(__file__).parents[2] / "scenarios"
NAMES = ("older-capacity", "older-pulses")
LABEL = Label("older", "LFP", 4, 90.0)
AIR_21 = Told(temperature_C=21.0)


def read(name):
    return read_log(SCENARIOS / "logs" / f"synthetic-{name}.csv")


@pytest.fixture(scope="module")
def found():
    """The capacity test and the pulses."""
    return calibrate([read(name) for name in NAMES], LABEL, AIR_21)


@pytest.fixture(scope="module")
def both_ways():
    """A few turns of the same, and with the logs the other way round."""
    logs = [read(name) for name in NAMES]
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(fit, "MOST_TURNS", 2)  # what depends on the order does so from the start
        return calibrate(logs, LABEL, AIR_21), calibrate(logs[::-1], LABEL, AIR_21)


@pytest.fixture(scope="module")
def true():
    """The battery that made both logs (scenarios/make_logs.py)."""
    script = runpy.run_path(str(SCENARIOS / "make_logs.py"))
    test = next(one for one in script["TESTS"] if "older-pulses" in one.file)
    scenario = parse_scenario(script["scenario_text"](test), SCENARIOS, "true")
    return scenario.bank.batteries[0]


def at_once_mohm(battery, z):
    return 1e3 * (sum(float(cell.ohmic_ohm(z)) for cell in battery.cells) + battery.internal_ohm)


def pairs_mohm(battery):
    return [
        1e3 * sum(cell.relaxation[j].resistance_ohm for cell in battery.cells) for j in range(2)
    ]


def test_the_order_of_logs_changes_no_digit(both_ways):
    one, other = both_ways
    assert [v.name for v in one.values] == [v.name for v in other.values]
    assert [v.value for v in one.values] == [v.value for v in other.values]
    assert [v.sd for v in one.values] == [v.sd for v in other.values]
    assert one.cells == other.cells
    assert sorted(one.warnings) == sorted(other.warnings)


def test_each_log_stands_where_it_was_handed_over(both_ways):
    one, other = ([Path(log.file).stem for log in each.followed] for each in both_ways)
    assert one == [f"synthetic-{name}" for name in NAMES]
    assert other == one[::-1]


def test_resistance_after_long_load_is_the_true_one(found, true):
    # 45 A, ten minutes: the fit once rested at 20.8 or at 11.5 mohm, by the order of the logs
    for name, z in (("half full", 0.45), ("at 15 %", 0.15)):
        value = found.value(f"resistance after long, {name}")
        truth = at_once_mohm(true, z) + sum(pairs_mohm(true))
        assert value.value == approx(truth, rel=0.03)
        assert abs(value.value - truth) < value.sd


def test_what_happens_at_once_is_told_with_an_error_that_holds_the_truth(found, true):
    values = {one.name: one for one in found.values}
    first, second = pairs_mohm(true)
    for name, truth in (
        ("resistance at once, half full", at_once_mohm(true, 0.45)),
        ("relaxation 1, resistance", first),
        ("relaxation 2, resistance", second),
        ("of it between cells and terminals", 1e3 * true.internal_ohm),
    ):
        assert abs(values[name].value - truth) < 2.0 * values[name].sd
    assert values["of it between cells and terminals"].sd < 0.1
    assert any("a sample every 15 s only" in line for line in found.warnings)


def test_both_logs_are_followed_within_their_noise(found):
    for log in found.followed:
        assert log.middle_rms_mV < 2.0
        assert not log.unexplained
    assert not any("Something is not as it was taken" in line for line in found.warnings)


def test_what_is_left_in_the_cells_is_the_true_charge(found, true):
    held = np.array([cell.state_of_charge * cell.charge_C / 3600.0 for cell in true.cells])
    left = [cell.left_at_end_Ah for cell in found.cells]
    assert left == approx(held - held.min(), abs=0.1)


def test_logs_of_two_batteries_are_not_passed_off_as_one(monkeypatch):
    monkeypatch.setattr(fit, "MOST_TURNS", 4)  # a longer search cannot reconcile them either
    logs = [read("older-capacity"), read("newer-capacity")]
    found = calibrate(logs, Label("two", "LFP", 4, 100.0), AIR_21)
    told = [line for line in found.warnings if "Something is not as it was taken" in line]
    assert "mV a cell off" in told[0]
    assert "further off than their noise explains" in " ".join(tell_calibration(found).headline)


def pulsed(start, current_A, seed):
    """A cell of 100 Ah down to 2.6 V: half an hour of load, five minutes of rest."""
    cell = replace(LFP.typical_cell(100.0, 360_000.0, 1.5), state_of_charge=start)
    time = np.arange(0.0, 130.0 / current_A * 3600.0, 20.0)
    amps = np.where((time > 300.0) & (time % 2100.0 < 1800.0), current_A, 0.0)
    flow = Log("flow", time, np.full(time.size, 3.2), amps)
    volts = replay((cell,), Course.of(flow, 25.0), time)[:, 0]
    end = int(np.argmax(volts < 2.6))
    noisy = volts[:end] + np.random.default_rng(seed).normal(0.0, 0.001, end)
    warm = np.full(end, 25.0)
    return Log(f"{current_A:g} A", time[:end], noisy, amps[:end], temperature_C=warm)


def test_the_log_that_was_fuller_is_the_full_one():
    # both were said to be full; only by 100 % for the fuller one can the other be below it
    logs = [pulsed(0.97, 20.0, 1), pulsed(1.0, 40.0, 2)]
    found = calibrate(logs, Label("cell", "LFP", 1, 100.0))
    assert found.followed[1].start == 1.0
    assert found.followed[0].start == approx(0.97, abs=0.006)
    assert found.value("capacity").value == approx(100.0, rel=0.015)


def test_terminals_that_go_dead_after_the_cut_out_change_nothing():
    # the same log up to its cut-out is the truth; a switch that opens says nothing of the cells
    log = read("newer-capacity")
    cut = int(np.flatnonzero(log.current_A > 1.0)[-1]) + 1
    volts = np.where(np.arange(log.count) < cut, log.voltage_V, 0.0)
    dead = replace(log, voltage_V=volts, cells_V=log.cells_V[:, :0])
    plain = dead.part(0, cut)
    label = Label("newer", "LFP", 4, 120.0)
    found, expected = (calibrate([one], label, AIR_21) for one in (dead, plain))
    assert found.value("capacity").value == approx(expected.value("capacity").value, rel=1e-3)
    assert found.followed[0].end.cut
    assert not expected.followed[0].end.cut
    assert any("switch has opened" in text for _, text in found.assumed)
