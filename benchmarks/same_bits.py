"""``python -m benchmarks.same_bits``: the same question gives the same bits, however it is run.

In this process and in new ones, with kept and with freshly compiled code, with 1, 2 and 4 threads,
in one go and broken off and gone on. Compiling anew takes a minute; ``--warm`` leaves it out.
"""

import argparse
import hashlib
import json
import os
import subprocess
import sys
from dataclasses import replace
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np

from bankSim.scenario.read import read_scenario
from bankSim.sim.run import simulate
from bankSim.study.blocks import run_draws, threads
from bankSim.study.plan import make_plan
from bankSim.study.store import Folder

ROOT = Path(__file__).resolve().parents[1]
RUNS = ("cascade", "lfp-beside-agm", "three-days-of-sun", "winter-hut")
STUDIED = "three-days-of-sun"
THREADS = (1, 2, 4)
BLOCK, BLOCKS = 4, 4


def digests():
    """Return a digest of all numbers of some runs and of a study in all its ways, by name."""
    found = {f"run {name}": run_digest(name) for name in RUNS}
    found |= {f"study, {count} threads": study_digest(count) for count in THREADS}
    return found | {"study, broken off and gone on": broken_digest()}


def run_digest(name):
    """Digest of the timeline, the events and the totals of a run."""
    result = simulate(read_scenario(ROOT / "scenarios" / f"{name}.toml"))
    told = repr((result.events, result.batteries, result.bank, result.chargers))
    return hashlib.sha256(result.trace.tobytes() + told.encode()).hexdigest()


def study_digest(count):
    """Digest of a study on so many threads."""
    with threads(count) as workers:
        return _table_digest(run_draws(_plan(), BLOCK * BLOCKS, workers))


def broken_digest():
    """Digest of a study whose second half is marched later, from its folder."""
    plan = _plan()
    with TemporaryDirectory(prefix="bits-") as folder, threads(2) as workers:
        place = Path(folder) / "study"
        run_draws(plan, BLOCK * BLOCKS // 2, workers, Folder(place, plan.description))
        store = Folder(place, plan.description)
        return _table_digest(run_draws(plan, BLOCK * BLOCKS, workers, store))


def elsewhere(*, compile_anew=False):
    """Return `digests()` of a new process, with kept code or with an empty cache."""
    with TemporaryDirectory(prefix="bits-") as folder:
        more = {"NUMBA_CACHE_DIR": folder} if compile_anew else {}
        place = os.pathsep.join([str(ROOT), os.environ.get("PYTHONPATH", "")])
        done = subprocess.run(
            [sys.executable, "-m", "benchmarks.same_bits", "--digests"],
            env={**os.environ, "PYTHONPATH": place, **more},
            cwd=ROOT, capture_output=True, text=True, check=True,
        )  # fmt: skip
    return json.loads(done.stdout)


def unlike(here, others):
    """Return what differs: between threads and ways of a study, and between processes.

    Parameters
    ----------
    here : dict
        From `digests`.
    others : dict of str to dict
        The same of other processes, by a word for each.

    Returns
    -------
    names : list of str
    """
    studies = [name for name in here if name.startswith("study")]
    found = [name for name in studies if here[name] != here[studies[0]]]
    for word, there in others.items():
        found += [f"{word}: {name}" for name in here if there.get(name) != here[name]]
    return found


def _plan():
    scenario = read_scenario(ROOT / "scenarios" / f"{STUDIED}.toml")
    return replace(make_plan(scenario), block=BLOCK)


def _table_digest(draws):
    digest = hashlib.sha256()
    for name in sorted(draws.store.names()):
        column = np.asarray(draws.column(name))
        digest.update(f"{name} {column.dtype}\0".encode())
        digest.update(column.tobytes() if column.dtype.kind != "O" else repr(list(column)).encode())
    return digest.hexdigest()


def main(arguments=None):
    parser = argparse.ArgumentParser(prog="python -m benchmarks.same_bits", description=__doc__)
    parser.add_argument("--warm", action="store_true", help="do not compile anew")
    parser.add_argument("--digests", action="store_true", help="only print the digests as JSON")
    asked = parser.parse_args(arguments)
    here = digests()
    if asked.digests:
        print(json.dumps(here))
        return 0
    others = {"a new process": elsewhere()}
    if not asked.warm:
        others["compiled anew"] = elsewhere(compile_anew=True)
    told = unlike(here, others)
    ways = ", ".join(["this process", *others])
    same = f"{len(here)} digests, {ways}: the same bits."
    print("\n".join(f"differs: {name}" for name in told) or same)
    return 1 if told else 0


if __name__ == "__main__":
    sys.exit(main())
