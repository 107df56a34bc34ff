"""What is connected to the bus: an amount over time and how it depends on the voltage."""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from bankSim.errors import ParameterError
from bankSim.model.curve import Floats

Flags = NDArray[np.bool_]
DAY_S = 86_400.0


@dataclass(frozen=True, slots=True)
class Schedule:
    """When a load is on. All parts that are given must agree (logical and).

    Parameters
    ----------
    duty_s : (on, off) or None
        Repeats from t = 0, on first. [s]
    active_s : tuple of (start, end) or None
        Windows since the start of the run; the end is excluded. [s]
    daily_s : tuple of (from, to) or None
        Windows on the wall clock; to <= from runs past midnight. [s after midnight]
    """

    duty_s: tuple[float, float] | None = None
    active_s: tuple[tuple[float, float], ...] | None = None
    daily_s: tuple[tuple[float, float], ...] | None = None

    def is_on(self, time_s: Floats, starts_at_s: float) -> Flags:
        """Tell at which of the given times it is on, right-continuous; shape of `time_s`."""
        on = np.ones(np.shape(time_s), dtype=bool)
        if self.duty_s is not None:
            round_off = 2.0 * np.spacing(time_s)  # of `edges_s`
            on &= np.mod(time_s + round_off, sum(self.duty_s)) < self.duty_s[0]
        if self.active_s is not None:
            inside = [(time_s >= start) & (time_s < end) for start, end in self.active_s]
            on &= np.any(inside, axis=0)
        if self.daily_s is not None:
            clock = np.mod(time_s + starts_at_s, DAY_S)
            inside = [_in_clock_window(clock, *window) for window in self.daily_s]
            on &= np.any(inside, axis=0)
        return on

    def edges_s(self, duration_s: float, starts_at_s: float) -> Floats:
        """Return every instant in (0, duration) at which the schedule may switch. [s]"""
        edges = [np.empty(0)]
        if self.duty_s is not None:
            start = np.arange(0.0, duration_s, sum(self.duty_s))
            edges += [start, start + self.duty_s[0]]
        for start_s, end_s in self.active_s or ():
            edges.append(np.array([start_s, end_s]))
        for from_s, to_s in self.daily_s or ():
            midnight = np.arange(-starts_at_s, duration_s, DAY_S)
            edges += [midnight + from_s, midnight + to_s]
        found = np.unique(np.concatenate(edges))
        return found[(found > 0.0) & (found < duration_s)]


def _in_clock_window(clock: Floats, from_s: float, to_s: float) -> Flags:
    """Tell where the clock is inside [from, to), which may run past midnight."""
    if from_s < to_s:
        return (clock >= from_s) & (clock < to_s)
    return (clock >= from_s) | (clock < to_s)


@dataclass(frozen=True, slots=True)
class CutOff:
    """A load's own low-voltage cut-off; it watches its voltage whether it draws or not.

    Parameters
    ----------
    below_V : float
        At the load, behind the main conductors. [V]
    after_s : float
        How long the voltage must stay below, >= 0. [s]
    restart_V : float or None
        Starts again at or above this; None: stays off. [V]
    """

    below_V: float
    after_s: float = 0.0
    restart_V: float | None = None

    def __post_init__(self) -> None:
        if not 0.0 <= self.below_V < math.inf:
            raise ParameterError("below_V", self.below_V, "0 or more")
        if not 0.0 <= self.after_s < math.inf:
            raise ParameterError("after_s", self.after_s, "0 or more")
        if self.restart_V is not None and not self.below_V < self.restart_V < math.inf:
            raise ParameterError("restart_V", self.restart_V, "more than below_V")


@dataclass(frozen=True, eq=False)
class Load:
    """Draws I = amount(t) V^(exponent - 1) from the bus; negative amounts charge the bank.

    A power P at reference voltage Vr with exponent n is amount = P / Vr^n; a current is
    exponent 1 and amount in A; a resistance is exponent 2 and amount 1/R.

    Parameters
    ----------
    name : str
    exponent : float
        n in P = P0 (V / Vr)^n: 0 power, 1 current, 2 resistance. [1]
    profile_s : array (m,)
        Times from which the amounts hold, rising; before the first the load is 0. [s]
    profile_amount : array (m,)
        Amount from that time on. [A V^(1 - n)]
    schedule : Schedule
        Multiplies the profile with on (1) and off (0).
    cut_off : CutOff or None

    Source
    ------
    docs/theory.md, eq. 12.1.
    """

    name: str
    exponent: float
    profile_s: Floats
    profile_amount: Floats
    schedule: Schedule = Schedule()
    cut_off: CutOff | None = None

    def __post_init__(self) -> None:
        if not math.isfinite(self.exponent):
            raise ParameterError("exponent", self.exponent, "a finite number")
        if self.profile_s.size == 0 or self.profile_s.shape != self.profile_amount.shape:
            raise ParameterError("profile_s", self.profile_s.shape, "as many times as amounts")
        if not np.all(np.diff(self.profile_s) > 0.0):
            raise ParameterError("profile_s", "not rising", "rising times")

    def amount(self, time_s: Floats, starts_at_s: float) -> Floats:
        """Return the amount at the given times, right-continuous; shape of `time_s`.

        Unit: [A V^(1 - exponent)]
        """
        index = np.searchsorted(self.profile_s, time_s, side="right") - 1
        held = np.where(index < 0, 0.0, self.profile_amount[np.maximum(index, 0)])
        return np.asarray(held * self.schedule.is_on(time_s, starts_at_s))

    def edges_s(self, duration_s: float, starts_at_s: float) -> Floats:
        """Return every instant in (0, duration) at which the amount may jump. [s]"""
        rows = self.profile_s[(self.profile_s > 0.0) & (self.profile_s < duration_s)]
        return np.union1d(rows, self.schedule.edges_s(duration_s, starts_at_s))
