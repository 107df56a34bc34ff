"""Traces of one battery, written by hand."""

from types import SimpleNamespace

import numpy as np

from bankSim.kernels.arrays import FIXED, PER_BATTERY


def switching(period_s, part, current_A, end_s):
    """At 12 V; on for the first `part` of every period; times repeat at each switching."""
    times, amperes = [], []
    for start in np.arange(0.0, end_s, period_s):
        off = min(start + part * period_s, end_s)
        last = min(start + period_s, end_s)
        times += [start, off, off, last]
        amperes += [current_A, current_A, 0.0, 0.0]
    return _result(np.array(times), np.full(len(times), 12.0), np.array(amperes))


def dark(from_s, end_s):
    """At 12 V and 1 A; nothing from then on."""
    times = np.array([0.0, from_s, from_s, end_s])
    return _result(times, np.array([12.0, 12.0, 0.0, 0.0]), np.array([1.0, 1.0, 0.0, 0.0]))


def _result(time, bus, current):
    trace = np.zeros((time.size, FIXED + PER_BATTERY))
    trace[:, 0], trace[:, 2], trace[:, FIXED] = time, bus, current
    return SimpleNamespace(trace=trace, batteries=(None,))
