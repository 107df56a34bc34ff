"""LSODA with events, as SciPy gives it: with the lean compiled equations, and the plain twin."""

import numpy as np

from bankSim.crosscheck.twin import solve_twin
from benchmarks.lean_march import march
from benchmarks.outcome import Outcome


def run_lean(equations, rtol):
    """Run the lean equations to the last cut-out."""
    from scipy.integrate import solve_ivp

    def integrate(t, y, until, flags):
        dy = np.empty(y.size)

        def slope(time, state):
            equations.rates(time, state, dy, flags)
            return dy

        found = solve_ivp(
            slope,
            (t, until),
            y,
            method="LSODA",
            events=_events(equations, flags),
            rtol=rtol,
            atol=0.1 * rtol,
        )
        if found.status < 0:
            raise RuntimeError(found.message)
        return float(found.t[-1]), found.y[:, -1], len(found.t) - 1

    return march(equations, integrate)


def _events(equations, flags):
    """Return the guards that are looked at, as functions that end the integration."""
    margin = np.empty(equations.count + 1)

    def event_of(number):
        def event(time, state):
            equations.guards(time, state, margin, flags)
            return margin[number]

        event.terminal, event.direction = True, -1.0
        return event

    return [event_of(number) for number in np.flatnonzero(flags[1])]


def run_twin(bank, rtol):
    """Run the plain twin, which takes any bank, and read the charge at each cut-out."""
    found = solve_twin(bank, rtol=rtol, atol=0.1 * rtol)
    plant, charges = found.plant, []
    for trip in found.cut_outs:
        stretch = next(s for s in found.stretches if s.end_s >= trip.time_s - 1e-6)
        given = plant.split(stretch.state(min(trip.time_s, stretch.end_s)))[3]
        charges.append(given * plant.unit_C / 3600.0)
    steps = sum(len(stretch.state.ts) - 1 for stretch in found.stretches)
    return Outcome(np.array(charges), np.array([t.time_s for t in found.cut_outs]), steps)
