"""A study that is killed or broken off goes on to the same table, bit for bit."""

import os
import signal
import subprocess
import sys
import time
from contextlib import suppress
from pathlib import Path
from select import select

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


class Begun:
    """A study under way in a process of its own."""

    def __init__(self, nursery, folder, blocks, told):
        self._nursery, self._told = nursery, told
        nursery.stdin.write(f"{folder}\t{blocks}\t{told}\n".encode())
        self._number = int(nursery.stdout.readline())

    def has_ended(self):
        """Tell whether it has ended; its number stays its own until then."""
        return select([self._nursery.stdout], [], [], 0.0)[0] != []

    def end(self, sign):
        """Send a signal unless it has ended; return its exit code and what it told."""
        if not self.has_ended():
            with suppress(ProcessLookupError):
                os.kill(self._number, sign)
        return int(self._nursery.stdout.readline()), self._told.read_text()


@pytest.fixture(scope="module")
def begin(tmp_path_factory):
    """Start studies: `begin(folder, blocks)`; what they need is loaded only once."""
    place = os.pathsep.join(
        [str(Path(bankSim.__file__).parents[1]), os.environ.get("PYTHONPATH", "")]
    )
    told = tmp_path_factory.mktemp("told") / "told.txt"
    with subprocess.Popen(
        [sys.executable, long_study.__file__],
        env={**os.environ, "PYTHONPATH": place},
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        bufsize=0,  # nothing is read ahead: `has_ended` sees what is left
    ) as nursery:
        yield lambda folder, blocks=BLOCKS: Begun(nursery, folder, blocks, told)
        nursery.stdin.close()


def wait_for_blocks(process, folder, count):
    """Wait until so many blocks are there, or the study has ended."""
    end = time.monotonic() + PATIENCE_S
    while len(list(folder.glob("block-*.parquet"))) < count and not process.has_ended():
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


def test_killed_again_and_again(whole, begin, tmp_path):
    folder, rng = tmp_path / "study", np.random.default_rng(5)
    reached = []
    for kill in range(4):
        process = begin(folder)
        wait_for_blocks(process, folder, 3 * kill + 1)
        time.sleep(rng.uniform(0.0, 0.06))
        code, _ = process.end(signal.SIGKILL)
        assert code in (-signal.SIGKILL, 0)
        reached.append(len(assert_whole_blocks(folder)))
    assert 0 < reached[0] < BLOCKS, "the first one was killed on its way"
    (folder / f"{MARK}000015").write_bytes(b"PAR1 half")
    kept = {file.name: file.stat().st_mtime_ns for file in folder.glob("block-*.parquet")}
    draws = run_in(folder)
    assert_same_rows({name: draws.column(name) for name in whole}, whole)
    assert draws.column("draw").tolist() == list(range(BLOCK * BLOCKS))
    assert all((folder / name).stat().st_mtime_ns == time_ns for name, time_ns in kept.items())
    assert not list(folder.glob(f"{MARK}*"))


def test_broken_off_by_hand(whole, begin, tmp_path):
    folder, blocks = tmp_path / "study", 2000  # of a minute and more
    process = begin(folder, blocks)
    wait_for_blocks(process, folder, 1)
    start = time.monotonic()
    code, told = process.end(signal.SIGINT)
    assert time.monotonic() - start < 5.0
    assert code == 1
    assert "KeyboardInterrupt" in told
    assert "Error" not in told
    assert 0 < len(assert_whole_blocks(folder)) < blocks
    draws = run_in(folder)
    assert_same_rows({name: draws.column(name) for name in whole}, whole)
