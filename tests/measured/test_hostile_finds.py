"""Logs that once brought a command down, or made it write what cannot be read again."""

import numpy as np
import pytest

from bankSim.cli.main import main
from bankSim.measured.compare_course import Course, course_of_trace
from bankSim.measured.compare_drive import MOST_ROWS, drive_of, driven
from bankSim.measured.compare_found import Lines
from bankSim.measured.compare_lines import residual_of
from bankSim.measured.label import Label
from bankSim.measured.parameters import Recipe
from bankSim.measured.quantities import Beside, straps_value
from bankSim.measured.straps import Straps
from bankSim.model.lead_acid import AGM
from bankSim.scenario.read import read_scenario

BANK = """
[simulation]
duration_h = 2.0
[[battery]]
name = "one"
chemistry = "LFP"
cells_in_series = 4
rated_capacity_Ah = 10.0
[[load]]
current_A = 5.0
"""


def rows_of(time_s, volts, amps, cells=None):
    head = "time_s,voltage_V,current_A" + "".join(
        f",cell_{n + 1}_V" for n in range(0 if cells is None else cells.shape[1])
    )
    columns = [time_s, volts, amps] + ([] if cells is None else list(cells.T))
    lines = [",".join(f"{value:.5g}" for value in row) for row in zip(*columns, strict=True)]
    return "\n".join([head, *lines, ""])


def discharge(volts_at=13.2, falls=0.8, amps=5.0, count=120, every_s=60.0):
    time_s = np.arange(count) * every_s
    part = time_s / time_s[-1]
    volts = volts_at - falls * part - 3.0 * np.maximum(part - 0.9, 0.0) / 0.1 * (part > 0.9)
    return time_s, volts - 0.01 * amps, np.full(count, amps)


def call(capsys, *words):
    code = main(list(words))
    told = capsys.readouterr()
    return code, told.out, told.err


@pytest.fixture(autouse=True)
def here(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "bank.toml").write_text(BANK)
    return tmp_path


def test_a_discharge_that_is_seen_on_dead_terminals_only_is_refused(here, capsys):
    time_s, volts, amps = discharge()
    amps[:60], volts[60:] = 0.0, 0.0  # leads off: the current goes on elsewhere
    (here / "log.csv").write_text(rows_of(time_s, volts, amps))
    code, _, told = call(capsys, "calibrate", "log.csv", "--chemistry", "LFP", "--no-plots")
    assert code == 2
    assert told.strip().splitlines()[-1].startswith("log.csv: in the 60 samples before")
    assert "expected 20 or more" in told
    assert not (here / "battery.toml").exists()


def test_a_cut_out_at_an_absurd_voltage_is_no_rule(here, capsys):
    time_s, volts, amps = discharge(count=40, every_s=180.0)
    volts[-3], volts[-2:], amps[-2:] = 3.5, 13.0, 0.0  # the last sample under load is a slip
    (here / "log.csv").write_text(rows_of(time_s, volts, amps))
    code, _, told = call(
        capsys, "calibrate", "log.csv", "--chemistry", "LFP", "--cells-in-series", "4",
        "--no-plots", "--json", "-",
    )  # fmt: skip
    assert code == 0, told
    bank = read_scenario(here / "battery.toml").bank
    lowest = next(
        rule for rule in bank.batteries[0].rules if rule.below and rule.watches.unit == "V"
    )
    # one of four lithium cells is never let down to 3.5 V / 4; 2.0 to 3.0 V is common practice
    assert 2.0 <= lowest.threshold / 4.0 <= 3.0


def test_straps_of_a_lead_battery_are_told_without_a_typical_value():
    # its chemistry counts them among the cells: nothing is known of them before they are read
    label = Label("made", "AGM", 6, 100.0)
    recipe = Recipe(label, AGM.typical_cell(100.0, 360_000.0), None, ((1.0, True),), False)
    assert AGM.internal_ohm_Ah == 0.0
    (found,) = straps_value(recipe, Straps(0.004, 0.0002, 0.0), Beside(0.0, 5.0, 100.0))
    assert (found.value, found.sd, found.learned) == (4.0, pytest.approx(0.2), 1.0)


def test_a_log_that_shares_no_time_with_the_scenario_is_named(here, capsys):
    time_s, volts, amps = discharge()
    amps[60:] = 0.0
    (here / "log.csv").write_text(rows_of(time_s, volts, amps))
    code, _, told = call(
        capsys,
        "compare",
        "bank.toml",
        "log.csv",
        "--shift-s",
        "4000",
        "--draws",
        "20",
        "--no-plots",
    )
    assert code == 2
    assert "log.csv: no current flows" in told
    assert "expected a log with a discharge" in told


def test_a_header_that_a_log_does_not_have_is_answered_with_what_would_do(here, capsys):
    (here / "log.csv").write_text(rows_of(*discharge()))
    code, _, told = call(
        capsys, "compare", "bank.toml", "log.csv", "--column", "one.current=x", "--draws", "20",
        "--no-plots",
    )  # fmt: skip
    assert code == 2
    assert "expected none: all others are in use" in told


def test_terminals_that_are_dead_for_a_while_are_compared(here, capsys):
    time_s, volts, amps = discharge()
    volts[20:60] = 0.0
    (here / "log.csv").write_text(rows_of(time_s, volts, amps))
    code, out, told = call(
        capsys, "compare", "bank.toml", "log.csv", "--load", "measured", "--draws", "20",
        "--no-plots", "--json", "-",
    )  # fmt: skip
    assert code == 0, told
    assert "NaN" not in out


def test_a_single_step_has_no_thirds():
    one = np.array([[12.0]])
    found = residual_of(Lines(np.array([0.1]), one, one - 3.0, one, one))
    assert found.thirds_V == ()
    assert found.largest_V == pytest.approx(-3.0)


def test_a_course_lets_its_trace_go():
    trace = np.zeros((50, 65), order="F")
    found = course_of_trace(trace, 3)
    for one in (found.time_s, found.voltage_V, found.current_A, found.batteries_A):
        assert not np.shares_memory(one, trace)


def test_a_drive_that_outlasts_the_scenario_makes_no_more_rows(here):
    time_s = np.linspace(0.0, 200.0 * 3600.0, 500)
    flat = np.full(500, 1.0)
    load = drive_of(Course(time_s, 13.0 * flat, flat, np.empty((0, 500))))
    bank = read_scenario(here / "bank.toml").bank
    long = driven(bank, load)
    assert long.duration_s / long.output_every_s <= MOST_ROWS + 1
    assert driven(bank, drive_of(Course(time_s / 100.0, flat, flat, np.empty((0, 500))))
                  ).output_every_s == bank.output_every_s  # fmt: skip
