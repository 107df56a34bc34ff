"""Peukert's exponent out of tests of one battery at different rates."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from bankSim.measured.claims import LEAD_PERCENT, TYPICAL_PERCENT, Repeats
from bankSim.measured.correct import Exponent
from bankSim.measured.uncertainty import Shape
from bankSim.model.chemistry import is_lead
from bankSim.model.curve import Floats

APART = 1.5  # ratio of currents: nearer ones say little
LOWEST, HIGHEST = 1.0, 2.0  # no battery gives more when it is drained faster


@dataclass(frozen=True, slots=True)
class Rated:
    """One complete test.

    Parameters
    ----------
    unit : str
        Which battery.
    Ah : float
        [Ah]
    mean_A : float
        While the load was on. [A]
    """

    unit: str
    Ah: float
    mean_A: float


@dataclass(frozen=True, slots=True)
class OwnExponent:
    """What tests at different rates say of the exponent.

    Parameters
    ----------
    value : float
        [1]
    deviation : float
        Standard deviation, by how well tests repeat. [1]
    tests : int
        How many it stands on.
    slow_A, fast_A : float
        Smallest and largest mean current of these. [A]
    """

    value: float
    deviation: float
    tests: int
    slow_A: float
    fast_A: float

    @property
    def possible(self) -> bool:
        """Whether a battery can have it."""
        return LOWEST <= self.value <= HIGHEST

    def used(self) -> Exponent:
        """Return it as that of a correction."""
        source = f"from the {self.tests} tests themselves"
        why = "how well tests repeat, over the logarithm of their currents"
        return Exponent(self.value, self.deviation, Shape.NORMAL, source, why)


def own_exponent(
    tests: Sequence[Rated], repeats: Repeats, chemistry: str | None
) -> OwnExponent | None:
    """Return the exponent of tests of the same battery at clearly different rates; else None.

    I^n t is the same in all, so with Ah = I t: n = 1 + ln(Ah1 / Ah2) / ln(I2 / I1). Of several
    tests, and of several batteries with the same exponent, the straight line of least squares
    through ln Ah over ln I, each battery with a constant of its own.

    Parameters
    ----------
    tests : sequence of Rated
        Complete ones only.
    repeats : Repeats
    chemistry : str or None
        For the typical deviation from test to test.

    Source
    ------
    docs/theory.md, eq. 20.5.
    """
    units = dict.fromkeys(one.unit for one in tests)
    groups = [[one for one in tests if one.unit == unit] for unit in units]
    groups = [one for one in groups if _apart(one)]
    if not groups:
        return None
    used = [one for group in groups for one in group]
    x = np.concatenate([_centred([math.log(one.mean_A) for one in group]) for group in groups])
    y = np.concatenate([_centred([math.log(one.Ah) for one in group]) for group in groups])
    spread = float(x @ x)
    percent = repeats.percent
    if percent is None:
        percent = LEAD_PERCENT if is_lead(chemistry) else TYPICAL_PERCENT
    currents = [one.mean_A for one in used]
    return OwnExponent(
        1.0 - float(x @ y) / spread, percent / 100.0 / math.sqrt(spread), len(used),
        min(currents), max(currents),
    )  # fmt: skip


def _apart(group: Sequence[Rated]) -> bool:
    currents = [one.mean_A for one in group]
    return min(currents) > 0.0 and max(currents) >= APART * min(currents)


def _centred(values: Sequence[float]) -> Floats:
    plain = np.array(values, float)
    return np.asarray(plain - plain.mean())
