"""Blocks on a cluster: nothing lost, nothing counted twice, whoever dies on the way."""

import builtins
import logging
import os
import signal
import socket
import subprocess
import sys
import threading
import time
from dataclasses import replace

import numpy as np
import pytest
from hybrid_draws import assert_same_rows
from long_study import BLOCK, long_plan
from straight_banks import battery, load, scenario

from bankSim.errors import SimulationError
from bankSim.study.blocks import run_draws, threads
from bankSim.study.cluster import cluster
from bankSim.study.plan import make_plan
from bankSim.study.spread import study_spread
from bankSim.study.store import Folder, StudyError
from bankSim.study.traced import _one

distributed = pytest.importorskip("distributed")
pytestmark = pytest.mark.skipif(os.name == "nt", reason="signals of another kind")
BLOCKS = 14
SOURCES = "import bankSim.study.sources as s; "
OTHER_VERSION = SOURCES + "s.kept = s.program_digest; s.program_digest = lambda: 'another'"
OWN_VERSION = SOURCES + "s.program_digest = s.kept"


def local_cluster(workers=2):
    """Processes on this machine, without a page of their own."""
    return distributed.LocalCluster(
        n_workers=workers,
        threads_per_worker=1,
        processes=True,
        host="127.0.0.1",
        dashboard_address="127.0.0.1:0",  # with None it takes its usual port
        silence_logs=60,
    )


@pytest.fixture(autouse=True, scope="module")
def _quiet():
    """What its processes log of each other's end is no matter of these tests."""
    logging.getLogger("distributed").setLevel(logging.CRITICAL + 1)


def pids(local):
    return [one.process.pid for one in local.workers.values() if one.process is not None]


def is_gone(pid):
    """Tell whether a process has ended; one that only waits to be asked counts."""
    try:
        with open(f"/proc/{pid}/stat") as file:
            return file.read().rpartition(")")[2].split()[0] == "Z"
    except (FileNotFoundError, ProcessLookupError):
        return True


def assert_gone(numbers):
    end = time.monotonic() + 10.0
    while not all(is_gone(pid) for pid in numbers):
        assert time.monotonic() < end, "processes are left behind"
        time.sleep(0.05)


class Lent:
    """Two workers for all tests here: a process takes seconds to start.

    Who kills one gets another by itself, unless that was starting; who closes the cluster, or loses
    a worker for good, leaves a new one to the next test.
    """

    def __init__(self):
        self.made = None
        self.numbers = []

    def get(self):
        """Return the cluster with both of its workers there."""
        if not self.has_both(within_s=20.0):
            self.end()
            self.made = local_cluster()
            assert self.has_both(within_s=60.0)
        self.note()
        return self.made

    def has_both(self, within_s):
        """Tell whether both workers are there, or come within some seconds."""
        if self.made is None or self.made.status.name != "running":
            return False
        with distributed.Client(self.made.scheduler_address) as client:
            try:
                client.wait_for_workers(2, timeout=within_s)
            except TimeoutError:
                return False
        return True

    def note(self):
        """Note the processes that are there now."""
        if self.made is not None:
            self.numbers += pids(self.made)

    def end(self):
        """Close it; nothing may be left behind."""
        self.note()
        if self.made is not None:
            self.made.close()
        assert_gone(self.numbers)


@pytest.fixture(scope="module")
def lent():
    one = Lent()
    yield one
    one.end()


@pytest.fixture
def local(lent):
    """Two workers."""
    yield lent.get()
    lent.note()


@pytest.fixture(scope="module")
def undisturbed():
    """The same study on threads."""
    with threads(2) as workers:
        draws = run_draws(long_plan(), BLOCK * BLOCKS, workers)
    return {name: draws.column(name) for name in draws.store.names()}


def test_a_worker_that_is_killed_costs_nothing(undisturbed, local, tmp_path):
    plan, killed, written = long_plan(), [], []
    store = Folder(tmp_path / "study", plan.description)
    keep = store.write
    store.write = lambda number, table: (written.append(number), keep(number, table))
    numbers = pids(local)

    def kill(done):
        if done >= 2 * BLOCK and not killed:
            killed.append(numbers[0])
            os.kill(numbers[0], signal.SIGKILL)

    with cluster(local.scheduler_address) as workers:
        assert workers.count == 2
        draws = run_draws(plan, BLOCK * BLOCKS, workers, store, progress=kill)
    assert killed
    assert is_gone(killed[0])
    assert sorted(written) == list(range(BLOCKS)), "every block once"
    assert_same_rows({name: draws.column(name) for name in undisturbed}, undisturbed)
    for name, column in undisturbed.items():
        assert draws.column(name).tobytes() == column.tobytes(), name
    assert draws.column("draw").tolist() == list(range(BLOCK * BLOCKS))


def test_a_study_begun_on_a_cluster_goes_on_on_threads(undisturbed, local, tmp_path):
    plan, half = long_plan(), BLOCKS // 2
    with cluster(local.scheduler_address) as workers:
        run_draws(plan, BLOCK * half, workers, Folder(tmp_path / "study", plan.description))
    seen = []
    with threads(2) as workers:
        store = Folder(tmp_path / "study", plan.description)
        draws = run_draws(plan, BLOCK * BLOCKS, workers, store, progress=seen.append)
    assert seen[0] == BLOCK, "told from the first draw on"
    for name, column in undisturbed.items():
        assert draws.column(name).tobytes() == column.tobytes(), name


def test_a_whole_question_on_a_cluster(local):
    plan = long_plan()
    found = []
    for workers_of in (lambda: cluster(local.scheduler_address), lambda: threads(1)):
        with workers_of() as workers:
            found.append(study_spread(plan, workers, most=2 * BLOCK, traced=2))
    assert repr(found[0].bank) == repr(found[1].bank)
    assert repr(found[0].batteries) == repr(found[1].batteries)
    assert found[0].traced.cautions == found[1].traced.cautions
    fans = [one.traced.fan.current_A.tobytes() for one in found]
    assert fans[0] == fans[1]


def one_line(error):
    return len(str(error.value).splitlines()) == 1


ASKED = """
import sys
from bankSim.study import cluster as place
from bankSim.study.store import StudyError
place.CONNECT_S = 0.5
for address in sys.argv[1:]:
    try:
        with place.cluster(address):
            print(address, "is one")
    except StudyError as error:
        print(error)
"""
WRONG = {
    "tcp://127.0.0.1:9": "no scheduler answers there",
    "127.0.0.1:9": "no scheduler answers there",
    "nonsense": "no scheduler answers there",
    "tcp://127.0.0.1:port": "no scheduler answers there",
    "tls://127.0.0.1:9": "--cluster",
}


def test_a_wrong_address_is_one_line():
    # in a process of its own, which must end: nothing may be left behind
    with socket.create_server(("127.0.0.1", 0)) as silent:
        wrong = WRONG | {f"127.0.0.1:{silent.getsockname()[1]}": "no scheduler answers there"}
        asked = subprocess.run(
            [sys.executable, "-c", ASKED, *wrong], capture_output=True, text=True, timeout=120.0,
            check=True,
        )  # fmt: skip
    for told, (address, words) in zip(asked.stdout.splitlines(), wrong.items(), strict=True):
        assert words in told
        assert repr(address) in told


def test_a_scheduler_without_workers_is_one_line():
    with (
        local_cluster(workers=0) as local,
        pytest.raises(StudyError, match="the scheduler has no workers") as told,
        cluster(local.scheduler_address),
    ):
        pass
    assert one_line(told)


def test_without_the_extra_one_line_says_what_to_install(monkeypatch):
    real, own = builtins.__import__, threading.current_thread()

    def without(name, *more):
        if name == "distributed" and threading.current_thread() is own:  # its own threads go on
            raise ImportError(name)
        return real(name, *more)

    monkeypatch.setattr(builtins, "__import__", without)
    with (
        pytest.raises(StudyError, match=r"pip install 'banksim\[cluster\]'") as told,
        cluster("tcp://127.0.0.1:9"),
    ):
        pass
    assert one_line(told)


def test_a_worker_of_another_version_is_refused(local):
    # one of the two workers is given another digest of its program, then its own again
    with distributed.Client(local.scheduler_address) as client:
        one = sorted(client.scheduler_info()["workers"])[:1]
        client.run(exec, OTHER_VERSION, {}, workers=one)
        try:
            with (
                pytest.raises(StudyError, match="another version of this program") as told,
                cluster(local.scheduler_address),
            ):
                pass
        finally:
            client.run(exec, OWN_VERSION, {}, workers=one)
    assert one_line(told)
    with cluster(local.scheduler_address) as workers:
        assert workers.count == 2


def marched_while(disturb, local):
    """March blocks for a minute while somebody disturbs; return the one line that ends it."""
    with pytest.raises(StudyError) as told, cluster(local.scheduler_address) as workers:
        run_draws(long_plan(), 500 * BLOCK, workers, progress=disturb)
    assert one_line(told)
    return str(told.value)


def test_an_error_of_a_draw_keeps_its_words(local, tmp_path):
    # a draw whose values make no sound scenario: the message comes back from the worker
    wild = "duty = { on_min = { value = 30.0, sd = 3.0 }, off_min = 10.0 }\n"
    plan = make_plan(scenario(tmp_path, battery("a"), load() + wild))
    case = (3, np.array([[-1.0]]))
    with cluster(local.scheduler_address) as workers:
        future = workers.executor.submit(_one, plan, np.zeros(1), case)
        with pytest.raises(SimulationError, match=r"^draw 3: .*on_min") as told:
            future.result()
    assert one_line(told)


def test_a_block_that_no_worker_survives_is_one_line(local, monkeypatch):
    # a block may be lost once, and then on the other worker, without waiting for a third one
    monkeypatch.setattr(local.scheduler, "allowed_failures", 1)
    with pytest.raises(StudyError) as told, cluster(local.scheduler_address) as workers:
        run_draws(long_plan(), BLOCK, replace(workers, march=lambda plan, number: os._exit(1)))
    assert one_line(told)
    assert "workers were lost again and again" in str(told.value)


def test_a_scheduler_that_goes_away_is_one_line(local):
    gone, numbers = [], pids(local)

    def close(done):
        if not gone:
            gone.append(threading.Thread(target=local.close))
            gone[0].start()

    try:
        told = marched_while(close, local)
    finally:
        for one in gone:
            one.join()
    assert_gone(numbers)
    assert "the scheduler went away; finished draws are kept" in told
