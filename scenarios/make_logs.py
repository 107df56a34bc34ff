"""Make the synthetic logs in logs/: nobody measured them, our own solver did.

    python scenarios/make_logs.py [FOLDER]

Two invented batteries are tested alone and in parallel. Their true values stand below and differ
from what bench-bank.toml says by the labels; a meter with a wrong gain, an offset, noise and few
digits writes what it sees. Seeds are fixed: the same logs come out again.
"""

import argparse
import sys
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from bankSim import simulate
from bankSim.scenario.read import parse_scenario

Floats = NDArray[np.float64]
Columns = Mapping[str, Floats]
HERE = Path(__file__).parent
NOTE = "synthetic: made by make_logs.py with a solver, not measured on any battery"

# The truth. By the labels: 90 and 120 Ah, full, cells alike, resistances of new ones.
PROTECTION = """
[[battery.protection]]
watches = "lowest cell voltage"
trips_below = 2.5
after_s = 2
blocks = "discharge"                              # and stays so
"""
TRUE = {
    "older": """
[[battery]]
name = "older"
chemistry = "LFP"
cells_in_series = 4
rated_capacity_Ah = 90.0
resistance_factor = 1.8
internal_mohm = 2.1
lead_mohm = 2.6                                   # a joint that is not what it was
"""
    + PROTECTION
    + """
[[battery.cells]]
capacity_Ah = 76.4
[[battery.cells]]
capacity_Ah = 77.1
[[battery.cells]]
capacity_Ah = 70.1                                # ends the discharge
state_of_charge = 0.985
[[battery.cells]]
capacity_Ah = 75.8
""",
    "newer": """
[[battery]]
name = "newer"
chemistry = "LFP"
cells_in_series = 4
rated_capacity_Ah = 120.0
resistance_factor = 1.1
internal_mohm = 0.9
lead_mohm = 1.1
"""
    + PROTECTION
    + """
[[battery.cells]]
capacity_Ah = 116.9
[[battery.cells]]
capacity_Ah = 115.2                               # ends the discharge
[[battery.cells]]
capacity_Ah = 117.4
[[battery.cells]]
capacity_Ah = 116.6
""",
}
# The meter: gain and offset of its current, noise, and steps of its digits.
GAIN_A, OFFSET_A = 1.003, 0.02
NOISE_A, NOISE_V, NOISE_CELL_V = 0.03, 0.004, 0.0015
STEP_A, STEP_V, STEP_CELL_V, STEP_C = 0.1, 0.01, 0.001, 0.1


@dataclass(frozen=True)
class OnBench:
    """One test on the bench.

    Parameters
    ----------
    file : str
    batteries : tuple of str
        Names in `TRUE`.
    current_A : float
        While the tester draws, discharge positive. [A]
    active_h : tuple of (from, to)
        When it draws. [h]
    hours : float
        Length of the log, if the batteries last so long. [h]
    every_s : float
        [s]
    seed : int
        Of the meter's noise.
    write : callable
        Writes the columns into a file.
    temperature_C : float
    starts_at : datetime
    rest_h : float
        How long it goes on after the cut-out. [h]
    """

    file: str
    batteries: tuple[str, ...]
    current_A: float
    active_h: tuple[tuple[float, float], ...]
    hours: float
    every_s: float
    seed: int
    write: Callable[[Path, "OnBench", Columns], None]
    temperature_C: float = 21.0
    starts_at: datetime = datetime(2026, 3, 14, 9, 0, 0)
    rest_h: float = 0.5


def main(folder: Path = HERE / "logs") -> None:
    """Write all logs into a folder."""
    folder.mkdir(parents=True, exist_ok=True)
    for test in TESTS:
        test.write(folder / test.file, test, shown(test, true_columns(test)))


def true_columns(test: OnBench) -> Columns:
    """Return what happens in a test, up to `rest_h` after the last cut-out."""
    text = scenario_text(test)
    result = simulate(parse_scenario(text, HERE, test.file))
    table = result.timeline()
    cuts = [event.time_s for event in result.events if event.cuts_out]
    last = cuts[-1] + 3600.0 * test.rest_h if len(cuts) == len(test.batteries) else np.inf
    kept = (table["time_s"] % test.every_s == 0.0) & (table["time_s"] <= last)
    return {str(name): table.loc[kept, name].to_numpy(float) for name in table.columns}


def scenario_text(test: OnBench) -> str:
    """Return the true scenario of a test."""
    windows = ", ".join(f"[{start:.6f}, {end:.6f}]" for start, end in test.active_h)
    head = f"""
[simulation]
duration_h = {test.hours}
stop = "end"
output_every_s = {test.every_s}
[surroundings]
temperature_C = {test.temperature_C}
[wiring]
layout = "equal leads"
"""
    load = f"""
[[load]]
name = "tester"
current_A = {test.current_A}
active_h = [{windows}]
"""
    return head + "".join(TRUE[name] for name in test.batteries) + load


def shown(test: OnBench, true: Columns) -> Columns:
    """Return what the meter makes of it; currents are discharge positive."""
    rng = np.random.default_rng(test.seed)
    found = {"time_s": true["time_s"]}
    for name, values in true.items():
        if name.endswith(".current_A"):
            noisy = GAIN_A * values + OFFSET_A + rng.normal(0.0, NOISE_A, values.size)
            found[name] = steps(noisy, STEP_A)
        elif "cell" in name:
            found[name] = steps(values + rng.normal(0.0, NOISE_CELL_V, values.size), STEP_CELL_V)
        elif name.endswith(".voltage_V"):
            noisy = np.maximum(values + rng.normal(0.0, NOISE_V, values.size), 0.0)
            found[name] = steps(noisy, STEP_V)
        elif name.endswith(".temperature_C"):
            found[name] = steps(values, STEP_C)
    return found


def steps(values: Floats, step: float) -> Floats:
    """Return values in whole steps of a meter."""
    return np.round(values / step) * step


def cells_of(columns: Columns) -> list[Floats]:
    """Return the cell voltages, cell 1 first."""
    return [values for name, values in columns.items() if "cell" in name]


def write_plain(file: Path, test: OnBench, columns: Columns) -> None:
    """Write seconds, volts, amperes with discharge positive, cells."""
    (name,) = test.batteries
    cells = cells_of(columns)
    header = ["time_s", "voltage_V", "current_A", *(f"cell_{k + 1}_V" for k in range(len(cells)))]
    rows = zip(
        [f"{value:.0f}" for value in columns["time_s"]],
        fixed(columns[f"{name}.voltage_V"], 2),
        fixed(columns[f"{name}.current_A"], 1),
        *(fixed(cell, 3) for cell in cells),
        strict=True,
    )
    write_rows(file, ",", header, rows)


def write_short(file: Path, test: OnBench, columns: Columns) -> None:
    """Write minutes, volts, amperes with discharge positive, the temperature; no cells."""
    (name,) = test.batteries
    rows = zip(
        fixed(columns["time_s"] / 60.0, 1),
        fixed(columns[f"{name}.voltage_V"], 2),
        fixed(columns[f"{name}.current_A"], 1),
        fixed(columns[f"{name}.temperature_C"], 1),
        strict=True,
    )
    write_rows(file, ",", ["time_min", "voltage_V", "current_A", "temperature_C"], rows)


def write_clock(file: Path, test: OnBench, columns: Columns) -> None:
    """Write clock times, decimal commas, semicolons, discharge negative, cells in mV."""
    (name,) = test.batteries
    cells = cells_of(columns)
    start = test.starts_at
    clock = [f"{start + timedelta(seconds=float(s)):%d.%m.%Y %H:%M:%S}" for s in columns["time_s"]]
    header = ["Clock", "Voltage (V)", "Current (A)"]
    header += [f"Cell {k + 1} (mV)" for k in range(len(cells))]
    rows = zip(
        clock,
        commas(fixed(columns[f"{name}.voltage_V"], 2)),
        commas(fixed(-columns[f"{name}.current_A"], 1)),
        *(fixed(1000.0 * cell, 0) for cell in cells),
        strict=True,
    )
    write_rows(file, ";", header, rows)


def write_open_format(file: Path, test: OnBench, columns: Columns) -> None:
    """Write the columns of the open Battery Data Format: charge is positive there."""
    (name,) = test.batteries
    header = ["Test Time / s", "Voltage / V", "Current / A", "Ambient Temperature / degC"]
    rows = zip(
        fixed(columns["time_s"], 0),
        fixed(columns[f"{name}.voltage_V"], 2),
        fixed(-columns[f"{name}.current_A"], 1),
        [f"{test.temperature_C:.1f}"] * columns["time_s"].size,
        strict=True,
    )
    write_rows(file, ",", header, rows)


def write_bank(file: Path, test: OnBench, columns: Columns) -> None:
    """Write the bank's voltage and current and the current of each battery."""
    currents = {"bank": "bank.current_A", **{n: f"{n}.current_A" for n in test.batteries}}
    rows = zip(
        fixed(columns["time_s"], 0),
        fixed(columns["bank.voltage_V"], 2),
        *(fixed(columns[column], 1) for column in currents.values()),
        strict=True,
    )
    header = ["time_s", "bank_voltage_V", *(f"{name}_current_A" for name in currents)]
    write_rows(file, ",", header, rows)


def fixed(values: Floats, digits: int) -> list[str]:
    """Return numbers with so many decimals, and no minus before a zero."""
    return [f"{value + 0.0:.{digits}f}" for value in np.round(values, digits)]


def commas(words: Iterable[str]) -> list[str]:
    """Return numbers with decimal commas."""
    return [word.replace(".", ",") for word in words]


def write_rows(file: Path, mark: str, header: list[str], rows: Iterable[Iterable[str]]) -> None:
    """Write a note, a header and rows."""
    lines = [f"# {NOTE}", mark.join(header), *(mark.join(row) for row in rows)]
    file.write_text("\n".join(lines) + "\n", encoding="utf-8", newline="\n")


def pulses(on_h: float, rest_h: float, count: int) -> tuple[tuple[float, float], ...]:
    """Return windows of pulses with a rest before each."""
    starts = [rest_h + k * (on_h + rest_h) for k in range(count)]
    return tuple((start, start + on_h) for start in starts)


OLDER, NEWER, BOTH = ("older",), ("newer",), ("older", "newer")
UNTIL_EMPTY, PULSES = ((0.25, 24.0),), pulses(1.0 / 6.0, 1.0 / 3.0, 9)
FILE = "synthetic-{}.csv".format
TESTS = (
    OnBench(FILE("older-capacity"), OLDER, 18.0, UNTIL_EMPTY, 8.0, 60.0, 11, write_clock),
    OnBench(FILE("newer-capacity"), NEWER, 24.0, UNTIL_EMPTY, 8.0, 30.0, 12, write_plain),
    OnBench(FILE("older-pulses"), OLDER, 45.0, PULSES, 5.5, 15.0, 13, write_open_format),
    OnBench(FILE("newer-repeat-1"), NEWER, 24.0, UNTIL_EMPTY, 8.0, 60.0, 14, write_short),
    OnBench(FILE("newer-repeat-2"), NEWER, 24.0, UNTIL_EMPTY, 8.0, 60.0, 15, write_short, 19.5),
    OnBench(FILE("newer-repeat-3"), NEWER, 24.0, UNTIL_EMPTY, 8.0, 60.0, 16, write_short, 22.8),
    OnBench(FILE("bank-parallel"), BOTH, 45.0, UNTIL_EMPTY, 8.0, 30.0, 17, write_bank, rest_h=0.05),
)

if __name__ == "__main__":
    words = argparse.ArgumentParser(description="Make the synthetic logs anew.")
    words.add_argument("folder", nargs="?", type=Path, default=HERE / "logs", help="where to")
    try:
        main(words.parse_args().folder)
    except OSError as error:
        sys.exit(f"make_logs.py: nothing more written: {error}")
