"""Runs the tests of small kernels in one process without a compiler."""

import os
import subprocess
import sys
from pathlib import Path

import pytest
from bridge import COMPILED

HERE = Path(__file__).parent
FILES = [str(HERE / name) for name in ("test_watch.py", "test_march.py", "test_step.py")]


@pytest.mark.skipif(not COMPILED, reason="they run by themselves")
def test_small_kernels_uncompiled():
    command = [sys.executable, "-m", "pytest", "-q", "-p", "no:cacheprovider", *FILES]
    ran = subprocess.run(
        command, env={**os.environ, "NUMBA_DISABLE_JIT": "1"}, cwd=HERE.parents[1],
        capture_output=True, text=True, timeout=300, check=False,
    )  # fmt: skip
    assert ran.returncode == 0, ran.stdout
    assert " passed" in ran.stdout
    assert "skipped" not in ran.stdout
