"""The worker: a process of its own that reads case after case and may be killed at any time."""

import contextlib
import gc
import io
import resource
import shutil
import signal
import tempfile
import time
import warnings
from multiprocessing.connection import Connection
from pathlib import Path

from tests.hostile.cases import make_case
from tests.hostile.judge import FINDING, Verdict, judge

ROOM_BYTES = 3_000_000_000  # of address space beyond what the worker starts with
CASE_BYTES = 500_000_000  # a peak so far above all before is a finding; rows take 0.4 GB at most


def work(talk: Connection, seed: int, wanted: list[tuple[str, int]]) -> None:
    """Judge the cases in order; tell when each begins and what came of it."""
    _fence()
    for stop in (signal.SIGTERM, signal.SIGINT):
        signal.signal(stop, signal.SIG_DFL)
    warnings.simplefilter("ignore")
    with tempfile.TemporaryDirectory(prefix="hostile-") as name:
        folder = Path(name)
        for place, (kind, number) in enumerate(wanted):
            case = make_case(kind, seed, number)
            talk.send(("begin", place, None, 0.0, 0))
            peak, begun = peak_bytes(), time.process_time()
            with (
                contextlib.redirect_stderr(io.StringIO()),
                contextlib.redirect_stdout(io.StringIO()),
            ):
                verdict = judge(case, folder)
            spent_s, grown = time.process_time() - begun, peak_bytes() - peak
            if grown > CASE_BYTES and verdict.outcome != FINDING:
                verdict = Verdict(FINDING, "memory", f"peak rose by {grown / 1e6:.0f} MB")
            if place % 500 == 0:
                gc.collect()
            talk.send(("end", place, verdict, spent_s, resident_bytes()))
            for file in folder.iterdir():
                shutil.rmtree(file) if file.is_dir() else file.unlink()
    talk.send(("done", len(wanted), None, 0.0, resident_bytes()))


def peak_bytes() -> int:
    """Return the most memory this process had so far."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * 1024


def resident_bytes(statm: Path = Path("/proc/self/statm")) -> int:
    """Return the memory this process has now; 0 where the system does not tell."""
    try:
        return int(statm.read_text().split()[1]) * resource.getpagesize()
    except (OSError, IndexError, ValueError):
        return 0


def _fence() -> None:
    """Bound the memory, so that a greedy case fails here and nowhere else."""
    try:
        size = int(Path("/proc/self/statm").read_text().split()[0]) * resource.getpagesize()
    except OSError:
        return
    _, hard = resource.getrlimit(resource.RLIMIT_AS)
    resource.setrlimit(resource.RLIMIT_AS, (size + ROOM_BYTES, hard))
