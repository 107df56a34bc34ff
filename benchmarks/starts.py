"""How soon the first answer comes, and the later ones."""

import os
import subprocess
import sys
from pathlib import Path
from statistics import median
from tempfile import TemporaryDirectory

from benchmarks.show import Table, percent
from benchmarks.timing import stopwatch

ROOT = Path(__file__).resolve().parents[1]
SCENARIO = ROOT / "scenarios" / "weak-cell.toml"


def start_table(repeats, *, cold):
    """Time whole processes; `cold` begins with an empty cache, so that everything is compiled."""
    with TemporaryDirectory(prefix="bench-") as folder:
        answer = ["run", str(SCENARIO), "--no-plots", "--out", str(Path(folder) / "out")]
        cache = {"NUMBA_CACHE_DIR": str(Path(folder) / "kernels")} if cold else {}
        first = _process(answer, cache)
        later = [_process(answer, cache) for _ in range(repeats)]
        usage = [_process(["--help"], cache) for _ in range(repeats)]
    rows = [["first answer, nothing compiled yet", f"{first:.2f}", ""]] if cold else []
    rows += [_row("later answers", later), _row("--help", usage)]
    title = f"From the command to the end of the process ({SCENARIO.name}, no figures)"
    return Table(title, ("what", "s", "noise"), rows)


def _process(arguments, cache):
    command = [sys.executable, "-m", "bankSim", *arguments]
    environment = {**os.environ, **cache}
    return stopwatch(
        lambda: subprocess.run(
            command, cwd=ROOT, env=environment, stdout=subprocess.DEVNULL, check=True
        )
    )


def _row(name, found):
    middle = median(found)
    return [name, f"{middle:.2f}", percent((max(found) - min(found)) / middle)]
