"""A protection rule: what the electronics watch, when they trip, what they block."""

import math
from dataclasses import dataclass
from enum import Enum, IntEnum

from bankSim.errors import ParameterError


class Watch(Enum):
    """The quantity that a rule watches; the value is the word used in scenario files."""

    LOWEST_CELL = "lowest cell voltage"
    HIGHEST_CELL = "highest cell voltage"
    BATTERY_VOLTAGE = "battery voltage"
    DISCHARGE_CURRENT = "discharge current"
    CHARGE_CURRENT = "charge current"
    TEMPERATURE = "temperature"

    @property
    def unit(self) -> str:
        """Unit of the threshold as people write it."""
        if self in (Watch.DISCHARGE_CURRENT, Watch.CHARGE_CURRENT):
            return "A"
        return "degC" if self is Watch.TEMPERATURE else "V"


class Blocks(IntEnum):
    """Directions that a tripped rule closes; bits, so that several rules add up."""

    CHARGE = 1
    DISCHARGE = 2
    BOTH = 3


@dataclass(frozen=True, slots=True)
class Rule:
    """Trips when the watched value stays beyond `threshold` for `delay_s`.

    Parameters
    ----------
    watches : Watch
        The quantity.
    below : bool
        True: trips below the threshold; False: trips above it.
    threshold : float
        Limit. [V, A, or K for the temperature]
    delay_s : float
        How long the value must stay beyond the limit without a break, >= 0. [s]
    blocks : Blocks
        Which direction opens.
    """

    watches: Watch
    below: bool
    threshold: float
    delay_s: float = 0.0
    blocks: Blocks = Blocks.DISCHARGE

    def __post_init__(self) -> None:
        if not math.isfinite(self.threshold):
            raise ParameterError("threshold", self.threshold, "a finite number")
        if not 0.0 <= self.delay_s < math.inf:
            raise ParameterError("delay_s", self.delay_s, "0 or more")
