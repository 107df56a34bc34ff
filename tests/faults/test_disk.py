"""Full disks and read-only folders: old results stay, one line tells, nothing is left."""

import importlib
import os

import pytest
from fault_bench import (
    COMMANDS,
    assert_nothing_half_written,
    can_mount,
    everything,
    furnish,
    mounted,
    no_room,
    program,
    told_once,
    words_for,
)

from bankSim.cli.main import main

pytestmark = pytest.mark.skipif(os.name != "posix", reason="limits of another kind")


@pytest.fixture
def desk(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "out").mkdir()
    return furnish(tmp_path)


# One command for each way to the helper that writes; below, all of them meet a folder that is none.
@pytest.mark.parametrize(
    "name", ["run figures", "spread", "report", "netlist", "new", "log bdf", "gauge"]
)
def test_no_room(name, desk, capsys):
    words = words_for(name, desk / "out")
    with no_room(5):
        told = told_once(capsys, words)
    assert "cannot be" in told
    assert_nothing_half_written(desk)
    assert not [one for one in (desk / "out").rglob("*") if one.is_file()]


@pytest.mark.parametrize("name", ["run", "report", "netlist", "spread", "log bdf"])
def test_what_stood_there_stays(name, desk, capsys):
    words = words_for(name, desk / "out")
    assert main(words) == 0
    before = everything(desk / "out")
    assert before
    with no_room(300):
        told_once(capsys, words)
    assert everything(desk / "out") == before
    assert_nothing_half_written(desk)


@pytest.mark.parametrize("name", COMMANDS)
def test_below_a_file(name, desk, capsys):
    (desk / "file").write_text("mine")
    told_once(capsys, words_for(name, desk / "file"))
    assert (desk / "file").read_text() == "mine"


def test_a_full_and_a_read_only_disk(desk, capsys):
    """The same with real file systems, where they can be made: without root they cannot."""
    if not can_mount():
        return  # test_no_room and test_below_a_file meet the same code by other means
    for name in ("run figures", "spread", "report", "schema", "new"):
        with mounted(desk / "out", "size=8k") as disk:
            (disk / "full").write_bytes(bytes(8192 - 4096))
            (disk / "fuller").write_bytes(bytes(4096))
            assert "no space" in told_once(capsys, words_for(name, disk)).lower()
            assert_nothing_half_written(disk)
        with mounted(desk / "out", "size=1m,ro") as disk:
            told_once(capsys, words_for(name, disk))


def test_home_and_compiled_code_cannot_be_written(desk):
    nowhere = str(desk / "bank.toml" / "below")
    importlib.import_module("bankSim.kernels.jit")  # names the folder of compiled code
    kept = {"NUMBA_CACHE_DIR": os.environ["NUMBA_CACHE_DIR"]}
    done = program(["schema"], desk, HOME=nowhere, XDG_CACHE_HOME=nowhere, **kept)
    assert (done.returncode, done.stderr) == (0, b"")
    done = program(
        ["run", "bank.toml", "--out", "r"], desk, HOME=nowhere, MPLCONFIGDIR=nowhere, **kept
    )
    assert done.returncode == 0
    assert b"Traceback" not in done.stderr
