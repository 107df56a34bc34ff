"""What a charge meets besides the resistance to discharge: it rises towards full, and bends."""

import math
from dataclasses import dataclass, replace

import numpy as np

from bankSim.errors import ParameterError
from bankSim.model.curve import Floats


@dataclass(frozen=True, slots=True)
class ChargeLag:
    """A charge drives the first relaxation pair by B asinh(F Rc g(y) i_s / B) more.

    i_s is the current that is stored, without what wastes or gasses.

    g(y) = max(0, w / (w + max(1 - y, 0)) - w / (w + 1 - y_s)), with y the head of the available
    well: next to nothing far below full, 1 or a little less from full on. Without a width g is 1,
    without a bend the voltage goes with the current.

    Parameters
    ----------
    full_ohm : float
        Rc at 25 degC, >= 0. [ohm]
    width : float
        w (w_c in the theory) > 0, so far below full it is half as much; inf for the same at
        any charge. [1]
    starts_at : float
        y_s < 1, below it there is none; minus infinity where it only fades. [1]
    bend_V : float
        B > 0, about where the voltage stops going with the current; inf for never. [V]

    Source
    ------
    docs/theory.md, eq. 4.4, 4.5.
    """

    full_ohm: float = 0.0
    width: float = math.inf
    starts_at: float = -math.inf
    bend_V: float = math.inf

    def __post_init__(self) -> None:
        if not 0.0 <= self.full_ohm < math.inf:
            raise ParameterError("full_ohm", self.full_ohm, "0 or more")
        if not self.width > 0.0:
            raise ParameterError("width", self.width, "more than 0")
        if not self.starts_at < 1.0 or (self.starts_at > -math.inf and self.width == math.inf):
            raise ParameterError("starts_at", self.starts_at, "less than 1, and only with a width")
        if not self.bend_V > 0.0:
            raise ParameterError("bend_V", self.bend_V, "more than 0")

    @property
    def away(self) -> float:
        """What g is less by: w / (w + 1 - y_s). [1]"""
        return 1.0 / (1.0 + (1.0 - self.starts_at) / self.width) if self.width < math.inf else 0.0

    def scaled(self, factor: float) -> "ChargeLag":
        """Return the same with another resistance; `factor` [1, or 1/Ah]."""
        return replace(self, full_ohm=self.full_ohm * factor)

    def ohm(self, head: Floats | float) -> Floats:
        """Return Rc g(y), for small currents at 25 degC. [ohm]

        Parameters
        ----------
        head : float or array
            y. [1]
        """
        below = np.maximum(1.0 - np.asarray(head, dtype=float), 0.0)
        return self.full_ohm * np.maximum(1.0 / (1.0 + below / self.width) - self.away, 0.0)

    def volts(self, head: Floats | float, stored_A: Floats | float, factor: float = 1.0) -> Floats:
        """Return what a steady charge comes to. [V]

        Parameters
        ----------
        head : float or array
            y. [1]
        stored_A : float or array
            i_s >= 0. [A]
        factor : float
            R(T) / R(25 degC). [1]
        """
        straight = factor * self.ohm(head) * stored_A
        if self.bend_V == math.inf:
            return straight
        return np.asarray(self.bend_V * np.arcsinh(straight / self.bend_V))


NO_LAG = ChargeLag()
