"""Leaves out what only runs without a compiler (`NUMBA_DISABLE_JIT=1`), as `tests/run` does first.

These files call many small kernels, which would take a minute to compile one by one; some of them
are inlined, and compiled code cannot call those through a bridge.
"""

from numba import config

UNCOMPILED = [
    "test_settle.py",
    "test_phases.py",
    "test_switching_rows.py",
    "test_diodes.py",
    "test_search.py",
    "test_network.py",
    "test_share.py",
    "test_both_ways.py",
    "test_watch.py",
    "test_march.py",
    "test_step.py",
    "test_step_heat.py",
    "test_step_lag.py",
]
collect_ignore = [] if config.DISABLE_JIT else UNCOMPILED
