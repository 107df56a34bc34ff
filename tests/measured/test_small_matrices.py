"""A fit's small matrices are worked on by one thread, whatever the machine has."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

import bankSim

TASKS = Path("/proc/self/task")
CODE = """
import os
import bankSim
import bankSim.measured.fit
import numpy as np
from scipy.linalg import svd
svd(np.random.default_rng(1).normal(size=(2000, 40)), full_matrices=False)
print(len(os.listdir("/proc/self/task")))
"""


@pytest.mark.skipif(not TASKS.is_dir(), reason="threads are counted where Linux lists them")
@pytest.mark.skipif((os.cpu_count() or 1) < 2, reason="one core has one thread in any case")
def test_a_fit_starts_no_threads_that_wait_for_each_other():
    kept = {key: word for key, word in os.environ.items() if key != "OPENBLAS_NUM_THREADS"}
    kept["PYTHONPATH"] = str(Path(bankSim.__file__).parents[1])
    done = subprocess.run(
        [sys.executable, "-c", CODE], env=kept, capture_output=True, text=True, check=True
    )
    assert int(done.stdout) == 1
