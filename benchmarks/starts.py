"""How soon the first answer comes, and the later ones."""

import os
import subprocess
import sys
import time
from pathlib import Path
from tempfile import TemporaryDirectory

from benchmarks.show import Table, percent
from benchmarks.timing import processes_s, sum_up

ROOT = Path(__file__).resolve().parents[1]
SCENARIO = ROOT / "scenarios" / "weak-cell.toml"


def start_table(repeats, *, cold):
    """Time whole processes; `cold` begins with an empty cache, so that everything is compiled."""
    with TemporaryDirectory(prefix="bench-") as folder:
        answer = ["run", str(SCENARIO), "--no-plots", "--out", str(Path(folder) / "out")]
        cache = {"NUMBA_CACHE_DIR": str(Path(folder) / "kernels")} if cold else {}
        first = [_process(answer, cache)] if cold else []
        later = [_process(answer, cache) for _ in range(repeats)]
        usage = [_process(["--help"], cache) for _ in range(repeats)]
    rows = [_row("first answer, nothing compiled yet", first)] if cold else []
    rows += [_row("later answers", later), _row("--help", usage)]
    title = f"From the command to the end of the process ({SCENARIO.name}, no figures)"
    return Table(title, ("what", "s by the clock", "noise", "s of processor", "noise"), rows)


def _process(arguments, cache):
    """Run the program; return the time by the clock and on the processor. [s]"""
    command = [sys.executable, "-m", "bankSim", *arguments]
    environment = {**os.environ, **cache}
    start, used = time.perf_counter(), processes_s()
    subprocess.run(command, cwd=ROOT, env=environment, stdout=subprocess.DEVNULL, check=True)
    return time.perf_counter() - start, processes_s() - used


def _row(name, found):
    cells = [name]
    for times in zip(*found, strict=True):
        timed = sum_up(times)
        cells += [f"{timed.seconds:.2f}", percent(timed.spread) if len(times) > 1 else ""]
    return cells
