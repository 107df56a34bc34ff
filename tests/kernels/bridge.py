"""A way from Python to kernels that only other kernels call."""

import numba
import pytest
from numba import njit

COMPILED = not numba.config.DISABLE_JIT
#: For tests of many small kernels, which would take a minute to compile one by one;
#: `test_uncompiled.py` runs them all in one process without a compiler.
uncompiled_only = pytest.mark.skipif(COMPILED, reason="run by test_uncompiled.py")


def bridge(kernel):
    """Return a function that can be called from a test."""

    @njit
    def call(*arguments):
        return kernel(*arguments)

    return call
