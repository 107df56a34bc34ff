"""March the lean equations from one switching to the next with a general-purpose integrator."""

from dataclasses import dataclass
from typing import Any

import numpy as np
from numba import njit

from benchmarks import lean
from benchmarks.outcome import Outcome

TIE_S = 1e-6
TOUCH_V = 1e-7


@dataclass(frozen=True, eq=False)
class Equations:
    """The equations with the numbers of one bank compiled in, which makes the calls cheap.

    rates(t, y, dy, flags) and guards(t, y, margin, flags); flags are two arrays: who is in the
    bank, and which guards are looked at (the others read 1).
    """

    numbers: lean.Numbers
    rates: Any
    guards: Any

    @property
    def count(self):
        """Number of batteries."""
        return self.numbers.capacity.size


def compile_equations(bank):
    """Bind the equations to a bank."""
    numbers = lean.gather(bank)
    rates, guards = lean.rates, lean.guards

    @njit(error_model="numpy")
    def bound_rates(t, y, dy, flags):
        rates(numbers, t, y, dy, flags[0])

    @njit(error_model="numpy")
    def bound_guards(t, y, margin, flags):
        guards(numbers, t, y, margin, flags[0])
        for i in range(margin.size):
            if flags[1][i] == 0.0:
                margin[i] = 1.0

    return Equations(numbers, bound_rates, bound_guards)


def march(equations, integrate):
    """Run a bank to its last cut-out.

    Parameters
    ----------
    equations : Equations
    integrate : callable
        integrate(t, y, until, flags) -> (t, y, steps): goes on until a guard falls through 0, or
        to `until`.
    """
    count, duration_s = equations.count, equations.numbers.duration
    joined, watched, deadline = np.ones(count), np.ones(count + 1), np.full(count, np.inf)
    t, y, steps, charges, times = 0.0, np.zeros(lean.PER_BATTERY * count), 0, [], []
    while joined.any() and t < duration_s:
        watched[:count] = joined * np.isinf(deadline)
        until = min(duration_s, deadline.min())
        t, y, taken = integrate(t, y, until, (joined, watched))
        steps += taken
        leaving = deadline <= t + TIE_S
        for _ in range(int(leaving.sum())):
            charges.append(y[lean.OUT :: lean.PER_BATTERY] * equations.numbers.capacity / 3600.0)
            times.append(t)
        joined[leaving], deadline[leaving] = 0.0, np.inf
        _begin_delays(equations, t, y, (joined, watched), deadline)
    return Outcome(np.array(charges), np.array(times), steps)


def _begin_delays(equations, t, y, flags, deadline):
    """Start the delay of every rule whose condition holds."""
    joined, watched = flags
    watched[:-1] = joined * np.isinf(deadline)
    margin = np.empty(watched.size)
    equations.guards(t, y, margin, flags)
    for k in np.flatnonzero(margin[:-1] <= TOUCH_V):
        deadline[k] = t + equations.numbers.delay[k]
