"""March the lean equations from one switching to the next with a general-purpose integrator."""

import numpy as np

from benchmarks.lean import PER_BATTERY
from benchmarks.outcome import Outcome

TIE_S = 1e-6


def march(lean, integrate):
    """Run a bank to its last cut-out.

    Parameters
    ----------
    lean : Lean
    integrate : callable
        integrate(t, y, until, joined, watched) -> (t, y, steps): goes on until a guard whose
        `watched` is 1 falls through 0, or to `until`.
    """
    count = lean.delay_s.size
    joined, deadline = np.ones(count), np.full(count, np.inf)
    t, y, steps, charges, times = 0.0, lean.start, 0, [], []
    while joined.any() and t < lean.duration_s:
        watched = np.append(joined * np.isinf(deadline), 1.0)
        until = min(lean.duration_s, deadline.min())
        t, y, taken = integrate(t, y, until, joined, watched)
        steps += taken
        leaving = deadline <= t + TIE_S
        for _ in range(int(leaving.sum())):
            charges.append(y[::PER_BATTERY] * lean.capacity_C / 3600.0)
            times.append(t)
        joined[leaving], deadline[leaving] = 0.0, np.inf
        begin_delays(lean, t, y, joined, deadline)
    return Outcome(np.array(charges), np.array(times), steps)


def begin_delays(lean, t, y, joined, deadline):
    """Start the delay of every rule whose condition holds."""
    margin = np.empty(joined.size + 1)
    lean.guards(t, y, margin, joined)
    for k in range(joined.size):
        if joined[k] and np.isinf(deadline[k]) and margin[k] <= 1e-7:
            deadline[k] = t + lean.delay_s[k]
