"""Many curves side by side, each read at its own state of charge in one go."""

import numpy as np

from bankSim.model.curve import Curve, Floats


class CurveTable:
    """Curve i is read at point i.

    Parameters
    ----------
    curves : list of Curve
    """

    def __init__(self, curves: list[Curve]) -> None:
        self.first = np.array([c.knots[0] for c in curves])
        self.last = np.array([c.knots[-1] for c in curves])
        self.below = np.array([c.slope_below for c in curves])
        self.above = np.array([c.slope_above for c in curves])
        spans = np.array([0.0, *(self.last - self.first + 1.0)[:-1]])
        self.shift = np.cumsum(spans) - self.first
        self.knots = np.concatenate([c.knots + s for c, s in zip(curves, self.shift, strict=True)])
        gap = np.zeros((1, 4))
        self.pieces = np.concatenate([np.vstack([c.coefficients, gap]) for c in curves])
        sizes = [c.knots.size for c in curves]
        self.final = np.cumsum(sizes) - 2

    def __call__(self, z: Floats) -> Floats:
        """Return y of curve i at z[i]; shape of `z`."""
        inside = np.minimum(np.maximum(z, self.first), self.last)
        moved = inside + self.shift
        index = np.minimum(self.knots.searchsorted(moved, side="right") - 1, self.final)
        s = moved - self.knots[index]
        c = self.pieces[index].T
        y = c[0] + s * (c[1] + s * (c[2] + s * c[3]))
        beyond = z - inside
        y += np.where(beyond < 0.0, beyond * self.below, beyond * self.above)
        return np.asarray(y)
