"""The ways in which kernels are compiled.

All are free of the interpreter lock and follow IEEE arithmetic (no relaxed rules), and none has
memory of its own to give away: that halves the time to compile. Which decorator a kernel carries
changes the compile time only, never a number.
"""

import os
from typing import Any

from numba import njit

_KEPT = "NUMBA_CACHE_DIR" in os.environ  # absent where nothing can be written anywhere

_COMMON: dict[str, Any] = {"nogil": True, "error_model": "numpy", "_nrt": False}
_NO_BRIDGE: dict[str, Any] = {"no_cpython_wrapper": True, "no_cfunc_wrapper": True}

#: Callable from Python, which takes a bridge that is slow to build; kept on disk.
kernel = njit(cache=_KEPT, **_COMMON)
#: Called by kernels only.
inner = njit(**_COMMON, **_NO_BRIDGE)
#: Called by kernels only, from one or two places: pasted in.
pasted = njit(inline="always", **_COMMON, **_NO_BRIDGE)
