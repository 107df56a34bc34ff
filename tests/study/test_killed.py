"""A study that is killed or broken off goes on to the same table, bit for bit."""

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import long_study
import numpy as np
import pyarrow.parquet as pq
import pytest
from hybrid_draws import assert_same_rows
from long_study import BLOCK, BLOCKS, long_plan, run_in

import bankSim
from bankSim.study.plan import march_block
from bankSim.whole import MARK

pytestmark = pytest.mark.skipif(os.name == "nt", reason="signals of another kind")
PATIENCE_S = 120.0  # compiling comes first where nothing is kept of it


def begin(folder, blocks=BLOCKS):
    """Start the study in a process of its own."""
    place = os.pathsep.join(
        [str(Path(bankSim.__file__).parents[1]), os.environ.get("PYTHONPATH", "")]
    )
    return subprocess.Popen(
        [sys.executable, long_study.__file__, str(folder), str(blocks)],
        env={**os.environ, "PYTHONPATH": place},
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )


def wait_for_blocks(process, folder, count):
    """Wait until so many blocks are there, or the study has ended."""
    end = time.monotonic() + PATIENCE_S
    while len(list(folder.glob("block-*.parquet"))) < count and process.poll() is None:
        assert time.monotonic() < end
        time.sleep(0.001)


def assert_whole_blocks(folder):
    """Check that every block can be read and has all of its draws; return their numbers."""
    numbers = set()
    for file in folder.glob("block-*.parquet"):
        number = int(file.stem.removeprefix("block-"))
        draws = pq.read_table(file, partitioning=None)["draw"].to_numpy()
        assert draws.tolist() == list(range(BLOCK * number, BLOCK * (number + 1)))
        numbers.add(number)
    return numbers


@pytest.fixture(scope="module")
def whole():
    """The table of a study that nobody has disturbed."""
    plan = long_plan()
    tables = [march_block(plan, number) for number in range(BLOCKS)]
    return {name: np.concatenate([table[name] for table in tables]) for name in tables[0]}


def test_killed_again_and_again(whole, tmp_path):
    folder, rng = tmp_path / "study", np.random.default_rng(5)
    reached = []
    for kill in range(4):
        process = begin(folder)
        wait_for_blocks(process, folder, 3 * kill + 1)
        time.sleep(rng.uniform(0.0, 0.06))
        process.kill()
        process.communicate()
        assert process.returncode in (-signal.SIGKILL, 0)
        reached.append(len(assert_whole_blocks(folder)))
    assert 0 < reached[0] < BLOCKS, "the first one was killed on its way"
    (folder / f"{MARK}000015").write_bytes(b"PAR1 half")
    kept = {file.name: file.stat().st_mtime_ns for file in folder.glob("block-*.parquet")}
    draws = run_in(folder)
    assert_same_rows({name: draws.column(name) for name in whole}, whole)
    assert draws.column("draw").tolist() == list(range(BLOCK * BLOCKS))
    assert all((folder / name).stat().st_mtime_ns == time_ns for name, time_ns in kept.items())
    assert not list(folder.glob(f"{MARK}*"))


def test_broken_off_by_hand(whole, tmp_path):
    folder, blocks = tmp_path / "study", 2000  # of a minute and more
    process = begin(folder, blocks)
    wait_for_blocks(process, folder, 1)
    start = time.monotonic()
    process.send_signal(signal.SIGINT)
    _, told = process.communicate(timeout=PATIENCE_S)
    assert time.monotonic() - start < 5.0
    assert process.returncode in (-signal.SIGINT, 1)
    assert "KeyboardInterrupt" in told
    assert "Error" not in told
    assert 0 < len(assert_whole_blocks(folder)) < blocks
    draws = run_in(folder)
    assert_same_rows({name: draws.column(name) for name in whole}, whole)
