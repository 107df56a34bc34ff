"""The ways in which kernels are compiled.

All are free of the interpreter lock and follow IEEE arithmetic (no relaxed rules), and none has
memory of its own to give away: that halves the time to compile. Which decorator a kernel carries
changes the compile time only, never a number.
"""

from numba import njit

#: Callable from Python; kept on disk.
kernel = njit(cache=True, nogil=True, error_model="numpy", _nrt=False)
#: Called by kernels only.
inner = njit(
    nogil=True,
    error_model="numpy",
    _nrt=False,
    no_cpython_wrapper=True,
    no_cfunc_wrapper=True,
)
#: Called by kernels only, from one or two places: pasted in.
pasted = njit(
    nogil=True,
    error_model="numpy",
    _nrt=False,
    no_cpython_wrapper=True,
    no_cfunc_wrapper=True,
    inline="always",
)
