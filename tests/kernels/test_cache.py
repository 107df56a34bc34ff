"""Compiled code is never older than the text of any kernel file."""

import os
import shutil
import subprocess
import sys
from pathlib import Path

import bankSim
from bankSim.kernels.cache import choose_cache_folder, source_hash

PROGRAM = """
import numpy as np
from bankSim.kernels.loads import feed
print(repr(feed(13.0, 0.02, np.array([1500.0, 0.0, 0.0]), np.empty(0))[1]))
"""


def answer(folder, cache):
    environment = {**os.environ, "PYTHONPATH": str(folder), "NUMBA_CACHE_DIR": str(cache)}
    done = subprocess.run(
        [sys.executable, "-c", PROGRAM],
        env=environment,
        cwd=folder,
        capture_output=True,
        text=True,
        check=True,
    )
    return float(done.stdout)


def test_an_edited_helper_changes_the_answer_at_once(tmp_path):
    copy = tmp_path / "package"
    shutil.copytree(Path(bankSim.__file__).parent, copy / "bankSim")
    cache = tmp_path / "cache"
    assert abs(answer(copy, cache) - 10.0) < 1e-9
    assert abs(answer(copy, cache) - 10.0) < 1e-9
    helper = copy / "bankSim" / "kernels" / "arrays.py"
    # a constant that `feed` reads from another file
    helper.write_text(helper.read_text().replace("SHORTFALL = 2 ", "SHORTFALL = 22 "))
    assert len(list(cache.iterdir())) == 1
    answer(copy, cache)
    assert len(list(cache.iterdir())) == 2


def test_hash_sees_every_file_and_every_name(tmp_path):
    (tmp_path / "a.py").write_text("x = 1\n")
    (tmp_path / "b.py").write_text("y = 1\n")
    seen = {source_hash(tmp_path)}
    (tmp_path / "b.py").write_text("y = 2\n")
    seen.add(source_hash(tmp_path))
    (tmp_path / "b.py").rename(tmp_path / "c.py")
    seen.add(source_hash(tmp_path))
    assert len(seen) == 3


def test_a_home_that_cannot_be_written_falls_back_to_a_private_folder(tmp_path, monkeypatch):
    blocked = tmp_path / "file"
    blocked.write_text("")
    monkeypatch.setenv("NUMBA_CACHE_DIR", str(blocked / "below"))
    choose_cache_folder()
    chosen = Path(os.environ["NUMBA_CACHE_DIR"])
    assert chosen.is_dir()
    assert chosen.stat().st_mode & 0o077 == 0
    shutil.rmtree(chosen)


def test_only_the_newest_folders_are_kept(tmp_path, monkeypatch):
    for number in range(7):
        old = tmp_path / f"kernels-{number}"
        old.mkdir()
        os.utime(old, (number, number))
    monkeypatch.setenv("NUMBA_CACHE_DIR", str(tmp_path))
    choose_cache_folder()
    names = sorted(folder.name for folder in tmp_path.iterdir())
    assert len(names) == 4
    assert {"kernels-4", "kernels-5", "kernels-6"} < set(names)
