"""A quantity as a function of state of charge: piecewise polynomials with straight ends."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from bankSim.errors import ParameterError

Floats = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Curve:
    """Piecewise cubic y(z) on knots z_0 < z_1 < ... < z_m, continued in a straight line.

    Inside knot interval i, with s = z - z_i,
    y = c_i0 + c_i1 s + c_i2 s^2 + c_i3 s^3; below z_0 and above z_m the curve goes on with
    `slope_below` and `slope_above`.

    Parameters
    ----------
    knots : array (m + 1,)
        States of charge, strictly rising. [1]
    coefficients : array (m, 4)
        Polynomial coefficients of each interval. [unit of y per power of 1]
    last_value : float
        y at the last knot. [unit of y]
    slope_below, slope_above : float
        dy/dz beyond the first and the last knot. [unit of y]

    Source
    ------
    docs/theory.md, eq. 3.9.
    """

    knots: Floats
    coefficients: Floats
    last_value: float
    slope_below: float
    slope_above: float

    def __post_init__(self) -> None:
        if self.knots.size < 2 or not np.all(np.diff(self.knots) > 0.0):
            raise ParameterError("knots", self.knots.tolist(), "at least 2 strictly rising numbers")
        if not (np.isfinite(self.knots).all() and np.isfinite(self.coefficients).all()):
            raise ParameterError("coefficients", "not finite", "finite numbers")

    @classmethod
    def linear(cls, z: ArrayLike, y: ArrayLike, *, hold_ends: bool = False) -> "Curve":
        """Straight lines between rows; ends go on with the last slope, or hold the last value.

        `z` [1]; `y` [V, or ohm].
        """
        knots, values = np.asarray(z, dtype=float), np.asarray(y, dtype=float)
        slopes = np.diff(values) / np.diff(knots)
        coefficients = np.zeros((knots.size - 1, 4))
        coefficients[:, 0], coefficients[:, 1] = values[:-1], slopes
        below, above = (0.0, 0.0) if hold_ends else (slopes[0], slopes[-1])
        return cls(knots, coefficients, float(values[-1]), float(below), float(above))

    @classmethod
    def constant(cls, y: float) -> "Curve":
        """Return the same value at every state of charge. [V, or ohm]"""
        return cls.linear([0.0, 1.0], [y, y])

    @classmethod
    def smooth(cls, function: Callable[[Floats], Floats], z: ArrayLike) -> "Curve":
        """Cubic Hermite pieces through function(z), slopes by central differences. `z` [1].

        Source: docs/theory.md, eq. 3.10.
        """
        knots = np.asarray(z, dtype=float)
        step = 1e-6
        value = function(knots)
        slope = (function(knots + step) - function(knots - step)) / (2.0 * step)
        h, rise = np.diff(knots), np.diff(value)
        second = (3.0 * rise / h - 2.0 * slope[:-1] - slope[1:]) / h
        third = (slope[:-1] + slope[1:] - 2.0 * rise / h) / h**2
        coefficients = np.column_stack([value[:-1], slope[:-1], second, third])
        return cls(knots, coefficients, float(value[-1]), float(slope[0]), float(slope[-1]))

    def __call__(self, z: ArrayLike) -> Floats:
        """Evaluate y at one or many states of charge (any shape)."""
        point = np.asarray(z, dtype=float)
        last = self.knots.size - 2
        piece = self.knots.searchsorted(point, side="right") - 1
        index = np.minimum(np.maximum(piece, 0), last)  # np.clip takes far longer for one number
        inside = np.minimum(np.maximum(point, self.knots[0]), self.knots[-1])
        s, c = inside - self.knots[index], self.coefficients[index]
        value = c[..., 0] + s * (c[..., 1] + s * (c[..., 2] + s * c[..., 3]))
        beyond = point - inside
        return np.asarray(
            value + beyond * np.where(beyond < 0.0, self.slope_below, self.slope_above)
        )

    def scaled(self, factor: float) -> "Curve":
        """Return the same curve with every y multiplied by `factor`."""
        return Curve(
            self.knots,
            self.coefficients * factor,
            self.last_value * factor,
            self.slope_below * factor,
            self.slope_above * factor,
        )

    def continued(self, other: "Curve", at: float) -> "Curve":
        """Return this curve up to a place, and from there on how another one goes on.

        Parameters
        ----------
        other : Curve
            With a knot at that place; it is moved to meet this one. [unit of y]
        at : float
            No less than the last knot of this one. [1]

        Source
        ------
        docs/theory.md, eq. 3.11.
        """
        knots, coefficients = self.knots, self.coefficients
        if at > knots[-1]:
            straight = [[self.last_value, self.slope_above, 0.0, 0.0]]
            knots = np.append(knots, at)
            coefficients = np.concatenate([coefficients, straight])
        first = int(np.searchsorted(other.knots, at))
        meets_at = float(self(at))
        up = meets_at - float(other(at))
        beyond = other.coefficients[first:].copy()
        beyond[:, 0] += up
        more = other.knots[first + 1 :]
        return Curve(
            np.concatenate([knots, more]),
            np.concatenate([coefficients, beyond]),
            other.last_value + up if more.size else meets_at,
            self.slope_below,
            other.slope_above,
        )

    def same_as(self, other: "Curve") -> bool:
        """Tell whether two curves hold the same numbers (used to store each only once)."""
        return self is other or (
            np.array_equal(self.knots, other.knots)
            and np.array_equal(self.coefficients, other.coefficients)
            and self.slope_below == other.slope_below
            and self.slope_above == other.slope_above
        )


def table_rows(curve: Curve, extra: Sequence[float] = ()) -> tuple[Floats, Floats]:
    """Return (z, y) at the knots of a curve and at `extra` states of charge, sorted.

    z [1], y [V, or ohm].
    """
    z = np.unique(np.concatenate([curve.knots, np.asarray(extra, dtype=float)]))
    return z, curve(z)
