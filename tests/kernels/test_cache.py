"""Compiled code is never older than the text of any kernel file."""

import os
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

from bankSim.kernels import cache as cache_module
from bankSim.kernels.cache import choose_cache_folder, source_hash

PROGRAM = "from mini.caller import answer; print(answer(2.0))"
FILES = {
    "__init__.py": "from mini.cache import choose_cache_folder\nchoose_cache_folder()\n",
    "helper.py": "from numba import njit\n\n\n@njit\ndef times(x):\n    return 2.0 * x\n",
    "caller.py": "from numba import njit\nfrom mini.helper import times\n\n\n"
    "@njit(cache=True)\ndef answer(x):\n    return times(x)\n",
}


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
    package, cache = tmp_path / "mini", tmp_path / "cache"
    package.mkdir()
    for name, text in FILES.items():
        (package / name).write_text(text)
    shutil.copy(cache_module.__file__, package / "cache.py")
    assert answer(tmp_path, cache) == 4.0
    assert answer(tmp_path, cache) == 4.0
    assert len(list(cache.iterdir())) == 1
    helper = package / "helper.py"
    helper.write_text(helper.read_text().replace("2.0 * x", "20.0 * x"))
    assert answer(tmp_path, cache) == 40.0
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
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))
    for _ in range(2):  # each start finds the same one, so that they do not pile up
        monkeypatch.setenv("NUMBA_CACHE_DIR", str(blocked / "below"))
        choose_cache_folder()
        chosen = Path(os.environ["NUMBA_CACHE_DIR"])
        assert chosen.is_dir()
        assert chosen.stat().st_mode & 0o077 == 0
        (chosen / "index.nbi").write_bytes(b"")
        assert len(list(tmp_path.glob("banksim-kernels-*/kernels-*"))) == 1


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


def test_where_nothing_can_be_written_nothing_is_kept(tmp_path, monkeypatch):
    blocked = tmp_path / "file"
    blocked.write_text("")
    monkeypatch.setattr(tempfile, "tempdir", str(blocked / "temporary"))
    monkeypatch.setenv("NUMBA_CACHE_DIR", str(blocked / "below"))
    choose_cache_folder()
    assert "NUMBA_CACHE_DIR" not in os.environ


def test_a_folder_of_somebody_else_is_not_trusted(tmp_path, monkeypatch):
    blocked = tmp_path / "file"
    blocked.write_text("")
    base = tmp_path / f"banksim-kernels-{os.getuid()}"
    base.mkdir()
    base.chmod(0o777)  # anybody could put compiled code there
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))
    monkeypatch.setenv("NUMBA_CACHE_DIR", str(blocked / "below"))
    choose_cache_folder()
    assert "NUMBA_CACHE_DIR" not in os.environ
