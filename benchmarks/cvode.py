"""The lean equations through the reference solver CVODE, crossings by its own root finding."""

import numpy as np

from benchmarks.lean_march import march

MOST_STEPS = 10_000_000


def run_cvode(equations, rtol):
    """Run the lean equations to the last cut-out."""
    from sksundae.cvode import CVODE

    def integrate(t, y, until, flags):
        solver = CVODE(
            equations.rates,
            userdata=flags,
            rtol=rtol,
            atol=0.1 * rtol,
            eventsfn=equations.guards,
            num_events=equations.count + 1,
            max_num_steps=MOST_STEPS,
        )
        found = solver.solve(np.array([t, until]), y)
        if not found.success:
            raise RuntimeError(found.message)
        return float(found.t[-1]), found.y[-1].copy(), len(found.t) - 1

    return march(equations, integrate)
