"""A charger: constant current (or power), then constant voltage, stage by stage."""

import math
from dataclasses import dataclass, field

import numpy as np

from bankSim.errors import ParameterError
from bankSim.model.curve import Floats
from bankSim.model.load import DAY_S, Flags, Schedule


@dataclass(frozen=True, slots=True)
class Stage:
    """One stage of a charger: up to `hold_V`, then held there.

    The stage ends when the voltage is held and the charger's own current has fallen to `tail_A`,
    or `most_s` after the stage began, whichever is first; with neither it goes on.

    Parameters
    ----------
    hold_V : float
        At the charger's terminals, where the loads are. [V]
    tail_A : float or None
        >= 0. [A]
    most_s : float or None
        > 0. [s]
    """

    hold_V: float
    tail_A: float | None = None
    most_s: float | None = None

    def __post_init__(self) -> None:
        if not 0.0 < self.hold_V < math.inf:
            raise ParameterError("hold_V", self.hold_V, "more than 0")
        if self.tail_A is not None and not 0.0 <= self.tail_A < math.inf:
            raise ParameterError("tail_A", self.tail_A, "0 or more")
        if self.most_s is not None and not 0.0 < self.most_s < math.inf:
            raise ParameterError("most_s", self.most_s, "more than 0")


@dataclass(frozen=True, slots=True)
class Sun:
    """Power that follows half a sine between sunrise and sunset.

    Parameters
    ----------
    peak_W : float
        > 0. [W]
    rise_s, set_s : float
        Wall clock, rise before set. [s after midnight]
    """

    peak_W: float
    rise_s: float
    set_s: float

    def __post_init__(self) -> None:
        if not 0.0 < self.peak_W < math.inf:
            raise ParameterError("peak_W", self.peak_W, "more than 0")
        if not 0.0 <= self.rise_s < self.set_s <= DAY_S:
            raise ParameterError("set_s", self.set_s, "after rise_s on the same day")


@dataclass(frozen=True, slots=True)
class Charger:
    """Gives what its limit allows while the voltage is below the stage's hold, never more.

    At the hold it gives what keeps the voltage there; above it nothing. Whenever it is switched
    on by its schedule, or by sunrise, it begins with its first stage; after the last stage it
    stays off until then. Chargers that hold the same voltage share in proportion to their limits.

    Parameters
    ----------
    name : str
    stages : tuple of Stage
    limit_A, limit_W : float or None
        Exactly one of these and `sun` is given. [A], [W]
    sun : Sun or None
        In place of a limit.
    schedule : Schedule
    """

    name: str
    stages: tuple[Stage, ...]
    limit_A: float | None = None
    limit_W: float | None = None
    sun: Sun | None = None
    schedule: Schedule = field(default_factory=Schedule)

    def __post_init__(self) -> None:
        if not self.stages:
            raise ParameterError("stages", 0, "at least 1 stage")
        given = [value for value in (self.limit_A, self.limit_W, self.sun) if value is not None]
        if len(given) != 1:
            raise ParameterError("limit_A, limit_W, sun", len(given), "exactly one of them")
        for name in ("limit_A", "limit_W"):
            value = getattr(self, name)
            if value is not None and not 0.0 < value < math.inf:
                raise ParameterError(name, value, "more than 0")

    @property
    def schedules(self) -> tuple[Schedule, ...]:
        """What has to be on together: its schedule, and daylight for one that lives on the sun."""
        if self.sun is None:
            return (self.schedule,)
        return self.schedule, Schedule(daily_s=((self.sun.rise_s, self.sun.set_s),))

    def is_on(self, time_s: Floats, starts_at_s: float) -> Flags:
        """Tell when schedule and sun switch it on, right-continuous; shape of `time_s`. [s]"""
        on = [part.is_on(time_s, starts_at_s) for part in self.schedules]
        return np.asarray(np.all(on, axis=0))

    def edges_s(self, duration_s: float, starts_at_s: float) -> Floats:
        """Return every instant in (0, duration) at which it may be switched on or off. [s]"""
        edges = [part.edges_s(duration_s, starts_at_s) for part in self.schedules]
        return np.unique(np.concatenate(edges))

    @property
    def highest_hold_V(self) -> float:  # noqa: N802 - the unit as printed
        """The highest voltage that any of its stages holds. [V]"""
        return max(stage.hold_V for stage in self.stages)
