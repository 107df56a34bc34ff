"""The lean equations through the reference solver CVODE, crossings by its own root finding."""

import numpy as np
from numba import njit

from benchmarks.lean_march import march

MOST_STEPS = 10_000_000


class Cvode:
    """CVODE set up once for a bank; its functions are compiled, called through Python."""

    def __init__(self, lean):
        self.lean = lean
        rates, guards, count = lean.rates, lean.guards, lean.delay_s.size + 1

        @njit(error_model="numpy")
        def slope(t, y, dy, data):
            rates(t, y, dy, data[0])

        @njit(error_model="numpy")
        def crossings(t, y, margin, data):
            guards(t, y, margin, data[0])
            for i in range(margin.size):
                if data[1][i] == 0.0:
                    margin[i] = 1.0

        self.slope, self.crossings, self.count = slope, crossings, count

    def run(self, rtol):
        """Run to the last cut-out."""
        from sksundae.cvode import CVODE

        joined, watched = np.ones(self.count - 1), np.ones(self.count)
        solver = CVODE(
            self.slope,
            userdata=(joined, watched),
            rtol=rtol,
            atol=0.1 * rtol,
            eventsfn=self.crossings,
            num_events=self.count,
            max_num_steps=MOST_STEPS,
        )

        def integrate(t, y, until, now_joined, now_watched):
            joined[:], watched[:] = now_joined, now_watched
            found = solver.solve(np.array([t, until]), y)
            if not found.success:
                raise RuntimeError(found.message)
            return float(found.t[-1]), found.y[-1].copy(), len(found.t) - 1

        return march(self.lean, integrate)
