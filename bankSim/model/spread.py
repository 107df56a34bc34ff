"""An uncertain number: its central value and how far the truth may lie from it."""

import math
from dataclasses import dataclass
from enum import Enum

import numpy as np

from bankSim.errors import ParameterError
from bankSim.model.curve import Floats


class Shape(Enum):
    """How the chances are spread."""

    NORMAL = "normal"
    LOGNORMAL = "lognormal"
    UNIFORM = "uniform"
    TRIANGULAR = "triangular"


@dataclass(frozen=True, slots=True)
class Spread:
    """A distribution of one number.

    Parameters
    ----------
    shape : Shape
        NORMAL with `sd`, cut at `low` and `high`; LOGNORMAL: value x exp(sd x a standard normal
        number), so `value` is the median; UNIFORM between `low` and `high`; TRIANGULAR between
        them with its peak at `value`.
    value : float
        What a single run takes. [any unit]
    sd : float
        Standard deviation of NORMAL, of the logarithm for LOGNORMAL; 0 pins the value.
        In the unit of the value, or [1] for LOGNORMAL.
    low, high : float
        low <= value <= high. In the unit of the value.
    """

    shape: Shape
    value: float
    sd: float = 0.0
    low: float = -math.inf
    high: float = math.inf

    def __post_init__(self) -> None:
        if not self.low <= self.value <= self.high:
            raise ParameterError("value", self.value, f"{self.low:g} to {self.high:g}")
        if not math.isfinite(self.value):
            raise ParameterError("value", self.value, "a finite number")
        if not 0.0 <= self.sd < math.inf:
            raise ParameterError("sd", self.sd, "0 or more")
        if self.shape is Shape.LOGNORMAL and not self.value > 0.0:
            raise ParameterError("value", self.value, "more than 0 for a lognormal spread")
        if self.shape is Shape.LOGNORMAL and (self.low > 0.0 or self.high < math.inf):
            raise ParameterError("low", self.low, "no limits for a lognormal spread")
        if self.shape in (Shape.UNIFORM, Shape.TRIANGULAR) and not (
            math.isfinite(self.low) and math.isfinite(self.high)
        ):
            raise ParameterError("low", self.low, "two finite limits")

    @property
    def is_sure(self) -> bool:
        """Tell whether there is nothing to draw."""
        if self.shape in (Shape.UNIFORM, Shape.TRIANGULAR):
            return self.low == self.high
        return self.sd == 0.0

    def at(self, chance: Floats) -> Floats:
        """Return the values below which the given parts of all cases lie.

        Parameters
        ----------
        chance : array
            0 < chance < 1. [1]

        Source
        ------
        docs/theory.md, eq. 21.1.
        """
        from scipy.special import ndtr, ndtri

        if self.is_sure:
            return np.full(np.shape(chance), self.value)
        if self.shape is Shape.LOGNORMAL:
            return np.asarray(self.value * np.exp(self.sd * ndtri(chance)))
        if self.shape is Shape.NORMAL:
            below = ndtr((self.low - self.value) / self.sd)
            above = ndtr((self.high - self.value) / self.sd)
            drawn = self.value + self.sd * ndtri(below + chance * (above - below))
            return np.asarray(np.clip(drawn, self.low, self.high))
        if self.shape is Shape.UNIFORM:
            return np.asarray(self.low + (self.high - self.low) * chance)
        return self._triangular(chance)

    def _triangular(self, chance: Floats) -> Floats:
        width, left = self.high - self.low, self.value - self.low
        rising = self.low + np.sqrt(chance * width * left)
        falling = self.high - np.sqrt((1.0 - chance) * width * (self.high - self.value))
        return np.where(chance < left / width, rising, falling)
