"""A protection rule: what it watches, when it trips, what it blocks, when it lets go."""

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


class Needs(Enum):
    """What a release waits for beside its threshold; the value is the word of the file.

    CHARGING: current flows into the battery, or, where its charge path is blocked, the voltage
    at its lead is above its own. LOAD_REMOVED: no load of the bank draws anything. HAND: somebody
    has to do it, never during a run.
    """

    NOTHING = "nothing"
    CHARGING = "charging"
    LOAD_REMOVED = "load removed"
    HAND = "hand"


@dataclass(frozen=True, slots=True)
class Release:
    """A tripped rule lets go when the value stays beyond `threshold`, on the safe side.

    The safe side is above for a rule that trips below, and below for one that trips above. The
    value and what `needs` asks for must hold together, without a break, for `delay_s`.

    Parameters
    ----------
    threshold : float
        [V, A, or K for the temperature]
    delay_s : float
        >= 0. [s]
    needs : Needs
    """

    threshold: float
    delay_s: float = 0.0
    needs: Needs = Needs.NOTHING

    def __post_init__(self) -> None:
        if not math.isfinite(self.threshold):
            raise ParameterError("threshold", self.threshold, "a finite number")
        if not 0.0 <= self.delay_s < math.inf:
            raise ParameterError("delay_s", self.delay_s, "0 or more")


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
    release : Release or None
        When it lets go again; None: stays tripped.
    """

    watches: Watch
    below: bool
    threshold: float
    delay_s: float = 0.0
    blocks: Blocks = Blocks.DISCHARGE
    release: Release | None = None

    def __post_init__(self) -> None:
        if not math.isfinite(self.threshold):
            raise ParameterError("threshold", self.threshold, "a finite number")
        if not 0.0 <= self.delay_s < math.inf:
            raise ParameterError("delay_s", self.delay_s, "0 or more")
        if self.release is not None and self._wrong_side(self.release.threshold):
            side = "or above" if self.below else "or below"
            raise ParameterError("release", self.release.threshold, f"{self.threshold:g} {side}")

    def _wrong_side(self, released_at: float) -> bool:
        return released_at < self.threshold if self.below else released_at > self.threshold
