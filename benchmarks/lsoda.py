"""LSODA with events: as SciPy gives it, once with lean compiled equations, once as the twin."""

import numpy as np

from bankSim.crosscheck.twin import solve_twin
from benchmarks.lean_march import march
from benchmarks.outcome import Outcome


def run_lean(lean, rtol):
    """Run the lean equations to the last cut-out."""
    from scipy.integrate import solve_ivp

    size = lean.delay_s.size + 1
    dy, margin = np.empty(lean.start.size), np.empty(size)

    def integrate(t, y, until, joined, watched):
        def slope(time, state):
            lean.rates(time, state, dy, joined)
            return dy

        def crossing(number):
            def event(time, state):
                lean.guards(time, state, margin, joined)
                return margin[number]

            event.terminal, event.direction = True, -1.0
            return event

        found = solve_ivp(
            slope,
            (t, until),
            y,
            method="LSODA",
            events=[crossing(number) for number in np.flatnonzero(watched)],
            rtol=rtol,
            atol=0.1 * rtol,
        )
        if found.status < 0:
            raise RuntimeError(found.message)
        return float(found.t[-1]), found.y[:, -1], len(found.t) - 1

    return march(lean, integrate)


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
