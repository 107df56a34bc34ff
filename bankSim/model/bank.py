"""The bank: batteries, how they are wired, what is connected, and for how long."""

import math
from dataclasses import dataclass
from enum import Enum

from bankSim.errors import ParameterError
from bankSim.model.battery import Battery
from bankSim.model.charger import Charger
from bankSim.model.load import DAY_S, Load


class Layout(Enum):
    """How the batteries meet; the value is the word used in scenario files.

    EQUAL_LEADS: all leads end on one pair of bars. SAME_END: a row in file order, both take-offs
    at battery 1. OPPOSITE_ENDS: plus taken off at battery 1, minus at the last battery.
    """

    EQUAL_LEADS = "equal leads"
    SAME_END = "same end"
    OPPOSITE_ENDS = "opposite ends"


@dataclass(frozen=True, slots=True)
class Wiring:
    """Resistances between the batteries' leads and the loads.

    Parameters
    ----------
    layout : Layout
    link_ohm : float
        One rail between neighbours in a row; not used for equal leads. [ohm]
    main_ohm : float
        From the take-off to the loads, both conductors together. [ohm]
    main_fuse_A : float or None
        Rating of the fuse in the main conductors. [A]
    main_area_mm2, link_area_mm2 : float or None
        Copper of the main conductors and of a link; None when only resistances are known. [mm2]
    """

    layout: Layout = Layout.EQUAL_LEADS
    link_ohm: float = 0.0
    main_ohm: float = 0.0
    main_fuse_A: float | None = None
    main_area_mm2: float | None = None
    link_area_mm2: float | None = None

    def __post_init__(self) -> None:
        for field in ("link_ohm", "main_ohm"):
            value = getattr(self, field)
            if not 0.0 <= value < math.inf:
                raise ParameterError(field, value, "0 or more")


@dataclass(frozen=True, slots=True)
class Bank:
    """Everything the solver needs, in SI units.

    Parameters
    ----------
    batteries : tuple of Battery
        In file order, which is also the order along a row.
    wiring : Wiring
    loads : tuple of Load
    temperature_K : float
        Of the surroundings, mean over the day; leads and links are taken at it. [K]
    duration_s : float
        Latest end. [s]
    stop_when_empty : bool
        End as soon as the loads can no longer be fed.
    starts_at_s : float
        Wall clock at t = 0. [s after midnight]
    output_every_s : float
        Spacing of the timeline. [s]
    chargers : tuple of Charger
        They meet the loads, behind the main conductors.
    swing_K : float
        From the mean to the warmest hour of the surroundings, >= 0. [K]
    warmest_s : float
        Wall clock of that hour. [s after midnight]
    """

    batteries: tuple[Battery, ...]
    wiring: Wiring
    loads: tuple[Load, ...]
    temperature_K: float = 298.15
    duration_s: float = 240.0 * 3600.0
    stop_when_empty: bool = True
    starts_at_s: float = 0.0
    output_every_s: float = 60.0
    chargers: tuple[Charger, ...] = ()
    swing_K: float = 0.0
    warmest_s: float = 15.0 * 3600.0

    def __post_init__(self) -> None:
        if not self.batteries:
            raise ParameterError("batteries", 0, "at least 1 battery")
        for field in ("temperature_K", "duration_s", "output_every_s"):
            value = getattr(self, field)
            if not 0.0 < value < math.inf:
                raise ParameterError(field, value, "more than 0")
        if not 0.0 <= self.swing_K < self.temperature_K:
            raise ParameterError("swing_K", self.swing_K, "0 or more")

    def ambient_K(self, time_s: float) -> float:  # noqa: N802 - the unit as printed
        """Return the temperature of the surroundings: a cosine over the day. [K]"""
        clock_s = time_s + self.starts_at_s - self.warmest_s
        return self.temperature_K + self.swing_K * math.cos(2.0 * math.pi * clock_s / DAY_S)
