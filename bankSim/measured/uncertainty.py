"""Measurement uncertainty after JCGM 100:2008 (the "GUM"): a budget of contributions.

A value depends on quantities that are not known exactly. Each contributes its standard uncertainty
u(x_i) times its sensitivity c_i; the contributions are uncorrelated, so they add in squares:
u_c^2 = sum (c_i u_i)^2 (equation 10 and 11a there). How well u_c itself is known follows from the
degrees of freedom (Welch-Satterthwaite, equation G.2b), and with them the factor of Student's t.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum
from functools import cached_property, lru_cache

from bankSim.errors import ParameterError


class Shape(Enum):
    """How the chances of an error are spread; the divisor turns a limit into a standard one."""

    NORMAL = "normal"
    RECTANGULAR = "rectangular"
    TRIANGULAR = "triangular"


class Kind(Enum):
    """How an uncertainty was found (JCGM 100, 2.3.2 and 2.3.3)."""

    A = "A"  # from repeated observations
    B = "B"  # from anything else: data sheets, limits, experience


_DIVISORS = {Shape.NORMAL: 1.0, Shape.RECTANGULAR: math.sqrt(3.0), Shape.TRIANGULAR: math.sqrt(6.0)}


@dataclass(frozen=True, slots=True)
class Contribution:
    """One line of a budget.

    Parameters
    ----------
    name : str
        What is not known exactly.
    width : float
        Standard uncertainty for NORMAL, half the width between the limits else; 0 or more, in
        `unit`.
    unit : str
    sensitivity : float
        c_i: change of the value for one unit of this quantity. [unit of the value per `unit`]
    shape : Shape
    kind : Kind
    degrees : float
        Degrees of freedom, more than 0; infinite where the width is taken as sure. [1]
    source : str
        Where the width comes from.
    assumed : bool
        A typical value that nobody gave.
    shared : bool
        The same error in all repeats (one instrument), so that repeating does not lessen it.
    """

    name: str
    width: float
    unit: str = ""
    sensitivity: float = 1.0
    shape: Shape = Shape.NORMAL
    kind: Kind = Kind.B
    degrees: float = math.inf
    source: str = ""
    assumed: bool = False
    shared: bool = False

    def __post_init__(self) -> None:
        if not 0.0 <= self.width < math.inf:
            raise ParameterError(f"uncertainty of {self.name}", self.width, "0 or more")
        if not math.isfinite(self.sensitivity):
            raise ParameterError(f"sensitivity of {self.name}", self.sensitivity, "a number")
        if not self.degrees > 0.0:
            raise ParameterError(f"degrees of freedom of {self.name}", self.degrees, "more than 0")

    @property
    def standard(self) -> float:
        """Standard uncertainty u(x_i), in `unit` (JCGM 100, 4.3.7 and 4.3.9).

        Source: docs/theory.md, eq. 26.3.
        """
        return self.width / _DIVISORS[self.shape]

    @property
    def share(self) -> float:
        """|c_i| u(x_i), in the unit of the value."""
        return abs(self.sensitivity) * self.standard


@dataclass(frozen=True)
class Budget:
    """A value with all that makes it uncertain.

    Parameters
    ----------
    value : float
        In `unit`.
    unit : str
    contributions : tuple of Contribution
    """

    value: float
    unit: str
    contributions: tuple[Contribution, ...]

    @cached_property
    def combined(self) -> float:
        """Combined standard uncertainty u_c, in `unit`.

        Source: docs/theory.md, eq. 26.4.
        """
        return math.hypot(*(one.share for one in self.contributions))

    @cached_property
    def degrees(self) -> float:
        """Effective degrees of freedom, not rounded (JCGM 100, G.2b). [1]

        Source: docs/theory.md, eq. 26.5.
        """
        total = self.combined
        if total == 0.0:
            return math.inf
        parts = sum((one.share / total) ** 4 / one.degrees for one in self.contributions)
        return 1.0 / parts if parts > 0.0 else math.inf

    def factor(self, confidence: float, *, one_sided: bool = False) -> float:
        """Return Student's coverage factor for the effective degrees of freedom, rounded down.

        Parameters
        ----------
        confidence : float
            Between 0 and 1: part of the chances inside the interval, or on one side of its end.
        one_sided : bool

        Source
        ------
        JCGM 100:2008, G.4.1 and G.4.2; below one degree of freedom, one is used.
        """
        from scipy.special import ndtri, stdtrit

        if not 0.0 < confidence < 1.0:
            raise ParameterError("confidence", confidence, "between 0 and 1")
        chance = confidence if one_sided else 0.5 * (1.0 + confidence)
        if math.isinf(self.degrees):
            return float(ndtri(chance))
        return float(stdtrit(max(math.floor(self.degrees + 1e-9), 1), chance))

    def expanded(self, confidence: float, *, one_sided: bool = False) -> float:
        """Return U = k u_c, in `unit`.

        Source: docs/theory.md, eq. 26.6.
        """
        return self.factor(confidence, one_sided=one_sided) * self.combined


@dataclass(frozen=True, slots=True)
class Repeated:
    """What repeated observations say (JCGM 100, 4.2).

    Parameters
    ----------
    mean : float
        In the unit of the observations.
    deviation : float
        Experimental standard deviation s of one observation; NaN for a single one.
        In the unit of the observations.
    count : int
    """

    mean: float
    deviation: float
    count: int

    @property
    def of_mean(self) -> float:
        """Experimental standard deviation of the mean, s / sqrt(n).

        In the unit of the observations.
        """
        return self.deviation / math.sqrt(self.count)


def repeated(values: Sequence[float]) -> Repeated:
    """Return mean and experimental standard deviation of one or more observations.

    Parameters
    ----------
    values : sequence of float
        At least one. All in one unit, which the answer has, too. [any unit]
    """
    import numpy as np

    if not len(values):
        raise ParameterError("values", "none", "one observation or more")
    array = np.asarray(values, float)
    deviation = float(np.std(array, ddof=1)) if array.size > 1 else math.nan
    return Repeated(float(np.mean(array)), deviation, array.size)


def pooled(groups: Sequence[Sequence[float]]) -> tuple[float, int]:
    """Return the deviation within groups, pooled, and its degrees of freedom; NaN and 0 if none.

    In the unit of the observations.

    Source
    ------
    JCGM 100:2008, H.3.6 and H.5 (pooled variance): s_p^2 = sum (n_j - 1) s_j^2 / sum (n_j - 1).
    Equations: docs/theory.md, eq. 26.7.
    """
    several = [repeated(group) for group in groups if len(group) > 1]
    degrees = sum(one.count - 1 for one in several)
    if not degrees:
        return math.nan, 0
    return math.sqrt(sum((one.count - 1) * one.deviation**2 for one in several) / degrees), degrees


@lru_cache
def tolerance_factor(count: int, part: float, confidence: float) -> float:
    """Return k so that a part of all units lies above mean - k s, with this confidence.

    Parameters
    ----------
    count : int
        Units that were measured, 2 or more; their values are taken to be normal.
    part, confidence : float
        Between 0 and 1.

    Source
    ------
    One-sided tolerance limit from the noncentral t distribution, as tabled in ISO 16269-6.
    Equations: docs/theory.md, eq. 27.3.
    """
    from scipy.stats import nct, norm

    root = math.sqrt(count)
    return float(nct.ppf(confidence, count - 1, norm.ppf(part) * root) / root)


def averaged(budgets: Sequence[Budget]) -> tuple[Contribution, ...]:
    """Return the contributions to the mean of several values, by name.

    What is shared keeps its whole size: sensitivities are averaged. The rest is independent from
    value to value and falls with their number.

    Parameters
    ----------
    budgets : sequence of Budget
        One a value, one or more.

    Source
    ------
    docs/theory.md, eq. 26.8.
    """
    count, lines = len(budgets), [one for budget in budgets for one in budget.contributions]
    names = list(dict.fromkeys(line.name for line in lines))
    return tuple(_mean_line([line for line in lines if line.name == name], count) for name in names)


def _mean_line(lines: Sequence[Contribution], count: int) -> Contribution:
    from dataclasses import replace

    first = lines[0]
    if first.shared and all(line.width == first.width for line in lines):
        mean = sum(line.sensitivity for line in lines) / count
        return replace(first, sensitivity=mean)
    shares = [line.share for line in lines]
    whole = sum(shares) if first.shared else math.hypot(*shares)
    widest = max(lines, key=lambda line: line.width)
    if not widest.standard > 0.0:
        return replace(widest, sensitivity=0.0)
    return replace(widest, sensitivity=whole / count / widest.standard)
