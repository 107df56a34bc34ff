"""Several runs in one folder, and what killed ones leave: only the helper itself, no program."""

import os
import subprocess
import sys
import time

import pytest
from fault_bench import ROOT

from bankSim import whole
from bankSim.whole import (
    MARK,
    NOTE,
    as_bytes,
    move_in,
    sweep,
    workshop,
    write_together,
    write_whole,
)

HOLDER = """
import sys, time
from pathlib import Path
from bankSim.whole import workshop
with workshop(Path(sys.argv[1])) as bench:
    (bench / "half.txt").write_text("half")
    print("held", flush=True)
    time.sleep(60)
"""


@pytest.fixture
def other(tmp_path):
    """Another process that is just writing into the folder."""
    call = [sys.executable, "-c", HOLDER, str(tmp_path)]
    process = subprocess.Popen(
        call, env={**os.environ, "PYTHONPATH": str(ROOT)}, stdout=subprocess.PIPE, text=True
    )
    assert process.stdout.readline() == "held\n"
    yield process
    process.kill()
    process.communicate()


@pytest.mark.skipif(os.name != "posix", reason="there, age alone decides")
def test_what_somebody_writes_stays_and_goes_when_he_is_killed(other, tmp_path):
    (held,) = tmp_path.glob(f"{MARK}*")
    sweep(tmp_path)
    assert (held / "half.txt").is_file()
    other.kill()
    other.wait()
    assert (held / "half.txt").is_file(), "a killed process cleans nothing"
    with workshop(tmp_path) as bench:
        assert list(tmp_path.iterdir()) == [bench]
    assert list(tmp_path.iterdir()) == []


def test_without_locks_age_decides(tmp_path, monkeypatch):
    monkeypatch.setattr(whole, "fcntl", None)
    half = tmp_path / f"{MARK}0815"
    half.write_bytes(b"half")
    sweep(tmp_path)
    assert half.exists()
    os.utime(half, (time.time() - 3601.0,) * 2)
    sweep(tmp_path)
    assert not half.exists()
    write_whole(tmp_path / "a.txt", b"a")
    assert [one.name for one in tmp_path.iterdir()] == ["a.txt"]


def test_only_our_own_leftovers_are_swept(tmp_path):
    mine = [tmp_path / name for name in ("notes.tmp", ".hidden", "banksim-writing-1")]
    for one in mine:
        one.write_text("mine")
    target = tmp_path / "precious"
    target.mkdir()
    (target / "photo").write_text("mine")
    (tmp_path / f"{MARK}link").symlink_to(target)
    sweep(tmp_path)
    assert all(one.read_text() == "mine" for one in mine)
    assert (target / "photo").read_text() == "mine"


WRITER = """
import sys
from pathlib import Path
from bankSim.whole import move_in, workshop, write_whole
folder, who, rounds, *names = Path(sys.argv[1]), *sys.argv[2:]
for _ in range(int(rounds)):
    with workshop(folder) as bench:
        for name in names:
            (bench / name).write_text(who)
        move_in(bench, folder, names)
    write_whole(folder / "alone.txt", who.encode())
"""


def test_runs_in_one_folder_do_not_mix(tmp_path):
    """Many rounds of three writers: none loses its work, and all files are of one."""
    names = [f"{letter}.txt" for letter in "abcd"]
    writers = [
        subprocess.Popen(
            [sys.executable, "-c", WRITER, str(tmp_path), who, "300", *names],
            env={**os.environ, "PYTHONPATH": str(ROOT)}, stderr=subprocess.PIPE, text=True,
        )
        for who in ("one", "two", "three")
    ]  # fmt: skip
    assert [writer.communicate()[1] for writer in writers] == ["", "", ""]
    assert len({(tmp_path / name).read_text() for name in names}) == 1
    assert sorted(os.listdir(tmp_path)) == [*names[:1], "alone.txt", *names[1:]]


@pytest.mark.skipif(os.name != "posix", reason="no such files there")
def test_what_cannot_be_read_to_its_end_holds_nobody_up(tmp_path):
    os.mkfifo(tmp_path / f"{MARK}pipe")
    sweep(tmp_path)
    assert os.listdir(tmp_path) == []


def write_two(folder):
    with workshop(folder) as bench:
        (bench / "a.txt").write_text("new")
        (bench / "b.txt").write_text("new")
        move_in(bench, folder, ["a.txt", "b.txt"])


def test_a_run_broken_off_between_two_files_leaves_a_note(tmp_path, monkeypatch):
    real, moved = os.replace, []

    def replace(source, place):
        if len(moved) == 2:  # the note and the first file
            raise KeyboardInterrupt
        moved.append(place)
        real(source, place)

    (tmp_path / "a.txt").write_text("old")
    (tmp_path / "b.txt").write_text("old")
    monkeypatch.setattr(os, "replace", replace)
    with pytest.raises(KeyboardInterrupt):
        write_two(tmp_path)
    assert (tmp_path / "a.txt").read_text() != (tmp_path / "b.txt").read_text()
    assert "broken off" in (tmp_path / NOTE).read_text()
    monkeypatch.setattr(os, "replace", real)
    write_two(tmp_path)
    assert sorted(os.listdir(tmp_path)) == ["a.txt", "b.txt"]


def test_of_two_files_none_is_replaced_when_one_cannot_be(tmp_path):
    (tmp_path / "a.txt").write_bytes(b"old")
    with pytest.raises(OSError, match="none"):
        write_together({tmp_path / "a.txt": b"new", tmp_path / "none" / "b.txt": b"new"})
    assert (tmp_path / "a.txt").read_bytes() == b"old"
    assert os.listdir(tmp_path) == ["a.txt"]


def test_names_that_python_could_not_read_come_out_right():
    name = "für".encode().decode("ascii", "surrogateescape")  # as in LC_ALL=C
    assert as_bytes(name) == "für".encode()
    assert (
        as_bytes(b"f\xfcr".decode("ascii", "surrogateescape"))
        == "f\N{REPLACEMENT CHARACTER}r".encode()
    )
