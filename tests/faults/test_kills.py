"""A short form of the kills; the long one: ``python -m tests.faults.kills --times 200``."""

import os
import subprocess
import sys

import pytest
from fault_bench import ROOT


@pytest.mark.skipif(os.name != "posix", reason="signals of another kind")
def test_six_kills():
    call = [sys.executable, "-m", "tests.faults.kills", "--times", "6", "--seed", "2"]
    place = os.pathsep.join([str(ROOT), os.environ.get("PYTHONPATH", "")])
    done = subprocess.run(
        [*call, "--commands", "netlist", "log"],
        cwd=ROOT,
        env={**os.environ, "PYTHONPATH": place},
        capture_output=True,
        text=True,
        check=False,
        timeout=300,
    )
    assert done.returncode == 0, done.stdout + done.stderr
    assert "6 kills, seed 2, 0 faults" in done.stdout
