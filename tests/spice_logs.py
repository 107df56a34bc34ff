"""Logs as a person at the bench would have them, of batteries whose true values are known.

ngspice solves the battery, not our solver, from a netlist of this file alone: the charge given is
the voltage of one capacitor, every relaxation time one filter, every cell a source in series. The
meter's faults are added afterwards, so one run serves many logs.
"""

import os
import shutil
import subprocess
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np
import pytest

from bankSim.measured.log import Gap, Log

needs_ngspice = pytest.mark.skipif(
    shutil.which("ngspice") is None, reason="the program ngspice is missing"
)

# Made up by hand: rest voltage of a cell over its state of charge, a flat one and a sloping one.
FLAT = (
    (0.00, 2.55), (0.02, 2.86), (0.05, 3.05), (0.10, 3.17), (0.20, 3.22), (0.35, 3.26),
    (0.55, 3.29), (0.75, 3.325), (0.95, 3.335), (0.98, 3.36), (1.00, 3.46),
)  # fmt: skip
SLOPING = ((0.00, 2.90), (0.04, 3.20), (0.10, 3.42), (0.45, 3.63), (0.70, 3.85), (1.00, 4.17))
RAMP_S = 0.01
MAX_STEP_S = 10.0
RELTOL = 1e-6
ROUGH = 1e-5  # half the steps; cut-outs come to the same 10 ns, what lies between is less exact


@dataclass(frozen=True)
class MadeCell:
    """True values of one cell: what it holds, how full it begins, its resistances.

    `pairs` are (mohm, time constant in s). The table goes on in a straight line below its rows.
    """

    capacity_Ah: float = 100.0
    start: float = 1.0
    ohmic_mohm: float = 1.0
    pairs: tuple[tuple[float, float], ...] = ((0.5, 30.0), (0.8, 600.0))
    ocv: tuple[tuple[float, float], ...] = FLAT


@dataclass(frozen=True)
class MadeBattery:
    """Cells in series and what lies between them and the voltmeter."""

    cells: tuple[MadeCell, ...]
    internal_mohm: float = 0.0


@dataclass(frozen=True)
class Run:
    """What ngspice found, on samples `every_s` apart; discharge positive.

    `counted_Ah` is the charge truly given, `cut_s` when the lowest cell came down to the limit
    (none: None), `cut_Ah` what was given until then.
    """

    time_s: np.ndarray
    current_A: np.ndarray
    voltage_V: np.ndarray
    cells_V: np.ndarray
    counted_Ah: np.ndarray
    cut_s: float | None
    cut_Ah: float | None


@dataclass(frozen=True)
class Meter:
    """What is wrong with a meter; the seed draws its noise. Gaps are (from, length) in s."""

    step_V: float = 0.01
    step_A: float = 0.1
    step_cell_V: float = 0.01
    noise_V: float = 0.005
    noise_A: float = 0.05
    noise_cell_V: float = 0.003
    gain_A: float = 1.0
    offset_A: float = 0.0
    gaps_s: tuple[tuple[float, float], ...] = ()
    seed: int = 1


@dataclass(frozen=True)
class Readings:
    """What the meter shows of a run; discharge positive."""

    time_s: np.ndarray
    current_A: np.ndarray
    voltage_V: np.ndarray
    cells_V: np.ndarray


def equal_cells(count=4, **values):
    """A battery of equal cells."""
    return MadeBattery((MadeCell(**values),) * count)


def discharge(current_A, hours, rest_s=0.0):
    """A rest, then one current: stretches of (seconds, amperes)."""
    return ((rest_s, 0.0), (hours * 3600.0, current_A)) if rest_s else ((hours * 3600, current_A),)


def pulses(current_A, on_s, rest_s, count):
    """Pulses with rests between them, and a rest before and after all."""
    return ((rest_s, 0.0), *(((on_s, current_A), (rest_s, 0.0)) * count))


def drive(seed, highest_A, hours, piece_s=60.0):
    """A drive-like profile: random pieces, some of them charge, some are rests."""
    rng = np.random.default_rng(seed)
    currents = highest_A * np.clip(rng.normal(0.35, 0.35, round(hours * 3600 / piece_s)), -0.3, 1)
    return tuple((piece_s, round(float(amps), 2)) for amps in currents)


def bench(
    battery, profile, *, cut_V=2.5, every_s=10.0, rebound_s=0.0, max_step_s=MAX_STEP_S,
    reltol=RELTOL,
):  # fmt: skip
    """Run a battery under a profile; it ends where the lowest cell is down to `cut_V`.

    With `rebound_s` it is run again with a rest in place of what would follow the cut-out.
    """
    arrays = solved(battery, profile, max_step_s, reltol)
    cut_s = cut_time_s(arrays["time"], cell_columns(arrays, battery).min(axis=1), cut_V)
    if cut_s is not None and rebound_s:
        after = (*up_to(profile, cut_s), (rebound_s, 0.0))
        arrays = solved(battery, after, max_step_s, reltol)
    end_s = sum(length for length, _ in profile) if cut_s is None else cut_s + rebound_s
    return sampled(battery, arrays, np.arange(0.0, end_s, every_s), cut_s)


def sampled(battery, arrays, times_s, cut_s):
    """Read a run at some times, straight lines between ngspice's own."""
    own_s, cells = arrays["time"], cell_columns(arrays, battery)
    current = np.interp(times_s, own_s, arrays["i(vmeter)"])
    cells_V = np.column_stack([np.interp(times_s, own_s, one) for one in cells.T])
    return Run(
        time_s=times_s,
        current_A=current,
        voltage_V=cells_V.sum(axis=1) - battery.internal_mohm / 1000.0 * current,
        cells_V=cells_V,
        counted_Ah=np.interp(times_s, own_s, arrays["v(given)"]),
        cut_s=cut_s,
        cut_Ah=None if cut_s is None else float(np.interp(cut_s, own_s, arrays["v(given)"])),
    )


def cut_time_s(time_s, lowest_V, cut_V):
    """When the lowest cell first came down to the limit, or None."""
    below = np.flatnonzero(lowest_V <= cut_V)
    if not below.size:
        return None
    last = below[0]
    if last == 0:
        return float(time_s[0])
    return float(np.interp(-cut_V, -lowest_V[last - 1 : last + 1], time_s[last - 1 : last + 1]))


def up_to(profile, end_s):
    """The stretches of a profile up to `end_s`."""
    found = []
    for length, amps in profile:
        if end_s > 0.0:
            found.append((min(length, end_s), amps))
        end_s -= length
    return tuple(found)


def cell_columns(arrays, battery):
    """The voltage of every cell at ngspice's own times, (times, cells)."""
    count = len(battery.cells)
    nodes = [np.zeros_like(arrays["time"]), *(arrays[f"v(c{k})"] for k in range(1, count + 1))]
    return np.diff(np.column_stack(nodes), axis=1)


def deck(battery, profile, max_step_s=MAX_STEP_S, reltol=RELTOL):
    """The netlist: currents in mA-sized units, so that no capacitor is large."""
    end_s = sum(length for length, _ in profile)
    taus = sorted({tau for cell in battery.cells for _, tau in cell.pairs})
    top = f"c{len(battery.cells)}"
    lines = ["* a battery on the bench", f"Vmeter {top} load 0", f"Iload load 0 {steps(profile)}"]
    lines += ["Bgiven 0 given I = 1e-3 * I(Vmeter)", "Cgiven given 0 3.6", ".ic V(given)=0"]
    for number, tau in enumerate(taus):
        lines.append(f"Bf{number} 0 f{number} I = 1e-3 * (I(Vmeter) - V(f{number}))")
        lines += [f"Cf{number} f{number} 0 {tau / 1000.0:.12g}", f".ic V(f{number})=0"]
    lines += [cell_line(cell, place, taus) for place, cell in enumerate(battery.cells)]
    lines.append(f".options method=trap reltol={reltol:g} abstol=1e-9 vntol=1e-9")
    lines += [f".tran {max_step_s} {end_s} 0 {max_step_s}", ".end", ""]
    return "\n".join(lines)


def cell_line(cell, place, taus):
    """One cell in series: its rest voltage over the charge given, less what resistances take."""
    rows = [((cell.start - z) * cell.capacity_Ah, volts) for z, volts in reversed(cell.ocv)]
    table = ", ".join(f"{given:.12g}, {volts:.12g}" for given, volts in rows)
    parts = [f"pwl(V(given), {table})", f"{cell.ohmic_mohm / 1000:.12g} * I(Vmeter)"]
    parts += [f"{mohm / 1000:.12g} * V(f{taus.index(tau)})" for mohm, tau in cell.pairs]
    return f"Bcell{place} c{place + 1} {f'c{place}' if place else '0'} V = {' - '.join(parts)}"


def steps(profile):
    """A source that steps, with break points where it does."""
    time_s, now_A, points = 0.0, profile[0][1], [(0.0, profile[0][1])]
    for length, amps in profile:
        if amps != now_A:
            points += [(time_s, now_A), (time_s + RAMP_S, amps)]
        time_s, now_A = time_s + length, amps
    words = " ".join(f"{seconds:.9g} {amps:.9g}" for seconds, amps in points)
    return f"PWL({folded(words)})"


def folded(words):
    """Long lists of numbers go on in continuation lines."""
    parts = words.split(" ")
    return "\n+ ".join(" ".join(parts[at : at + 40]) for at in range(0, len(parts), 40))


def solved(battery, profile, max_step_s, reltol=RELTOL):
    """Run ngspice in a folder of its own, which is also its home; vectors by name."""
    with TemporaryDirectory(prefix="bench-") as folder:
        raw = Path(folder) / "run.raw"
        Path(folder, "run.cir").write_text(
            deck(battery, profile, max_step_s, reltol), encoding="ascii"
        )
        done = subprocess.run(
            ["ngspice", "-b", "-r", str(raw), "run.cir"],
            cwd=folder, env={**os.environ, "HOME": folder}, stdin=subprocess.DEVNULL,
            capture_output=True, text=True, timeout=60.0, check=False,
        )  # fmt: skip
        said = done.stdout + done.stderr
        if done.returncode or "aborted" in said or "timestep too small" in said:
            raise RuntimeError(f"ngspice failed:\n{said}")
        return read_raw(raw)


def read_raw(file):
    """The vectors of a binary raw file by name."""
    head, _, body = file.read_bytes().partition(b"Binary:\n")
    lines = head.decode().splitlines()
    counts = dict(line.split(":", 1) for line in lines if line.startswith("No."))
    variables, points = int(counts["No. Variables"]), int(counts["No. Points"])
    rows = [line.split() for line in lines[lines.index("Variables:") + 1 :]]
    names = [row[1] for row in rows if len(row) >= 3 and row[0].isdigit()]
    assert len(names) == variables
    values = np.frombuffer(body, float, variables * points).reshape(points, variables)
    return dict(zip(names, values.T, strict=True))


def readings(run, meter=Meter()):
    """What a meter makes of a run: gain and offset, noise, steps, gaps."""
    rng = np.random.default_rng(meter.seed)
    shown_A = meter.gain_A * run.current_A + meter.offset_A
    current = stepped(shown_A + rng.normal(0.0, meter.noise_A, shown_A.shape), meter.step_A)
    noisy_V = run.voltage_V + rng.normal(0.0, meter.noise_V, run.voltage_V.shape)
    noisy_cells = run.cells_V + rng.normal(0.0, meter.noise_cell_V, run.cells_V.shape)
    kept = np.ones(run.time_s.size, dtype=bool)
    for start, length in meter.gaps_s:
        kept &= (run.time_s < start) | (run.time_s >= start + length)
    voltage, cells = stepped(noisy_V, meter.step_V), stepped(noisy_cells, meter.step_cell_V)
    return Readings(run.time_s[kept], current[kept], voltage[kept], cells[kept])


def stepped(values, step):
    """Values rounded to whole steps; a step of 0 rounds nothing."""
    return np.round(values / step) * step if step else values


def log_of(run, meter):
    """A log as if it had been read from a file, gaps told."""
    shown = readings(run, meter)
    usual_s = float(np.median(np.diff(shown.time_s)))
    wide = np.flatnonzero(np.diff(shown.time_s) > 2.5 * usual_s)
    gaps = tuple(Gap(int(k), float(np.diff(shown.time_s)[k]), usual_s) for k in wide)
    return Log("made", shown.time_s, shown.voltage_V, shown.current_A, shown.cells_V, gaps=gaps)


def write_log(file, run, meter=Meter(), *, cells=True):
    """Write what a meter shows as CSV, charge current positive; returns the file."""
    shown = readings(run, meter)
    header = ["time_s", "current_A", "voltage_V"]
    columns = [shown.time_s, -shown.current_A, shown.voltage_V]
    if cells:
        header += [f"cell_{k + 1}_V" for k in range(shown.cells_V.shape[1])]
        columns += list(shown.cells_V.T)
    rows = [",".join(f"{value + 0.0:.6g}" for value in row) for row in zip(*columns, strict=True)]
    file.write_text("\n".join([",".join(header), *rows, ""]), encoding="utf-8")
    return file
