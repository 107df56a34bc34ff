"""The same bank as a netlist in ngspice: transient only, start and parsing timed away."""

import os
import shutil
import subprocess
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np

from bankSim.crosscheck.deck import build_deck
from bankSim.crosscheck.deck_battery import timers
from benchmarks.outcome import Outcome
from benchmarks.timing import processes_s

RUN_ON = 1.002  # beyond the last cut-out, so that ngspice sees it
NOTHING_S = 1e-3  # a transient of almost no length, for the same netlist
WRITTEN = "reltol=1e-6"  # in the netlist as the program writes it
RELTOL = 1e-4  # as accurate here as 1e-6, and no faster with 1e-3


def missing():
    """Say what is missing, or nothing."""
    return "" if shutil.which("ngspice") else "the program ngspice was not found"


def deck(bank, end_s, max_step_s):
    """Return the netlist with a longest step [s], at the tolerance that is cheapest for it."""
    text = build_deck(bank, end_s=end_s, max_step_s=max_step_s, measures=False)
    if text.count(WRITTEN) != 1:
        raise ValueError(f"the netlist no longer holds {WRITTEN!r} once")
    return text.replace(WRITTEN, f"reltol={RELTOL:g}")


def seconds(bank, end_s, max_step_s):
    """Time of the transient: the whole process less one whose transient ends at once."""
    whole = _run(deck(bank, end_s, max_step_s))[0]
    return whole - _run(deck(bank, NOTHING_S, max_step_s))[0]


def run(bank, end_s, max_step_s):
    """Run beyond the last cut-out and read charges and times from the vectors."""
    found = _run(deck(bank, RUN_ON * end_s, max_step_s))[1]
    time_s, batteries = found["time"], range(1, len(bank.batteries) + 1)
    cut_s = np.sort([_cut_out_s(found, bank, number) for number in batteries])
    given = [np.interp(cut_s, time_s, found[f"v(d{number})"]) for number in batteries]
    return Outcome(np.column_stack(given), cut_s, time_s.size - 1)


def _cut_out_s(found, bank, number):
    """When the latch of the rule of a battery, counted from 1, closes."""
    battery = bank.batteries[number - 1]
    (node, level), *_ = timers(battery, number).items()
    value = found[f"v({node})"]
    if not (value > level).any():
        return np.nan
    after = int(np.argmax(value > level))
    ends = slice(after - 1, after + 1)
    return float(np.interp(level, value[ends], found["time"][ends]))


def _run(text):
    """Return the processor time of the whole process and the vectors by name."""
    with TemporaryDirectory(prefix="bench-") as folder:
        home = Path(folder)
        (home / "bank.cir").write_text(text, encoding="ascii")
        start = processes_s()
        done = subprocess.run(
            ["ngspice", "-b", "-r", "bank.raw", "bank.cir"],
            cwd=home,
            env={**os.environ, "HOME": str(home)},
            stdin=subprocess.DEVNULL,
            capture_output=True,
            text=True,
            check=False,
        )
        taken = processes_s() - start
        if done.returncode != 0:
            raise RuntimeError("ngspice failed: " + done.stderr.strip()[-200:])
        return taken, _read_raw((home / "bank.raw").read_bytes())


def _read_raw(content):
    """Return the vectors of a binary file of ngspice by name."""
    head, _, numbers = content.partition(b"Binary:\n")
    lines = head.decode("ascii").splitlines()
    at = next(i for i, line in enumerate(lines) if line.startswith("Variables:"))
    names = [line.split()[1] for line in lines[at + 1 :]]
    rows = np.frombuffer(numbers).reshape(-1, len(names))
    return dict(zip(names, rows.T, strict=True))
