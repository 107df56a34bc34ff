"""What keeps the cells of a battery even and warm: balancer, heater, and the way heat leaves."""

import math
from dataclasses import dataclass
from enum import Enum

from bankSim.errors import ParameterError


class Balancing(Enum):
    """How a balancer works; the value is the word of the file."""

    BLEED = "bleed"
    TRANSFER = "transfer"


@dataclass(frozen=True, slots=True)
class Balancer:
    """Evens out the cells of one battery.

    BLEED takes `current_A` out of every cell that is above `starts_above_V` and more than
    `within_V` above the lowest cell; it becomes heat. TRANSFER moves `current_A` from the highest
    to the lowest cell while they are more than `within_V` apart and the highest is above
    `starts_above_V`. Voltages are those without the balancing current's own drop.

    Parameters
    ----------
    kind : Balancing
    current_A : float
        > 0. [A]
    starts_above_V : float
        Of a cell; -inf for a balancer that always works. [V]
    within_V : float
        >= 0. [V]
    """

    kind: Balancing
    current_A: float
    starts_above_V: float = -math.inf
    within_V: float = 0.01

    def __post_init__(self) -> None:
        if not 0.0 < self.current_A < math.inf:
            raise ParameterError("current_A", self.current_A, "more than 0")
        if not self.starts_above_V < math.inf:
            raise ParameterError("starts_above_V", self.starts_above_V, "a number")
        if not 0.0 <= self.within_V < math.inf:
            raise ParameterError("within_V", self.within_V, "0 or more")


@dataclass(frozen=True, slots=True)
class Thermal:
    """One lumped temperature: C dT/dt = losses - hA (T - Ta).

    Parameters
    ----------
    capacity_J_K : float
        C > 0. [J/K]
    loss_W_K : float
        hA > 0. [W/K]

    Source
    ------
    docs/theory.md, eq. 7.1.
    """

    capacity_J_K: float
    loss_W_K: float

    def __post_init__(self) -> None:
        for field in ("capacity_J_K", "loss_W_K"):
            value = getattr(self, field)
            if not 0.0 < value < math.inf:
                raise ParameterError(field, value, "more than 0")


@dataclass(frozen=True, slots=True)
class Heater:
    """A pad inside a battery, fed from the bus like a load of constant power.

    On below `on_below_K`, off again above `off_above_K`; all of its power warms the battery.

    Parameters
    ----------
    power_W : float
        > 0. [W]
    on_below_K, off_above_K : float
        on < off. [K]
    needs_charger : bool
        True: heats only while some charger is switched on.
    """

    power_W: float
    on_below_K: float
    off_above_K: float
    needs_charger: bool = True

    def __post_init__(self) -> None:
        if not 0.0 < self.power_W < math.inf:
            raise ParameterError("power_W", self.power_W, "more than 0")
        if not 0.0 < self.on_below_K < self.off_above_K < math.inf:
            raise ParameterError("off_above_K", self.off_above_K, "more than on_below_K")
