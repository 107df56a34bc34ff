"""What the twin gives back: trips, totals, and the voltages and currents at any time."""

from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import ArrayLike

from bankSim.crosscheck.twin_cells import Plant
from bankSim.crosscheck.twin_network import Flags, Flow
from bankSim.model.curve import Floats
from bankSim.model.rule import Blocks, Watch


@dataclass(frozen=True, slots=True)
class TwinTrip:
    """A rule that acted; voltages and currents are those just before.

    Parameters
    ----------
    time_s : float
    battery : int
        Counted from 0.
    watches : Watch
    cell : int or None
        The deciding cell, counted from 1; None when no single cell decides.
    blocks : Blocks
    battery_V, bus_V : float
        At the battery's terminals and at the take-off. [V]
    cell_V : array (cells,)
        Of that battery. [V]
    current_A : array (n,)
        Of every battery. [A]
    """

    time_s: float
    battery: int
    watches: Watch
    cell: int | None
    blocks: Blocks
    battery_V: float
    bus_V: float
    cell_V: Floats
    current_A: Floats


@dataclass(frozen=True, slots=True)
class Switching:
    """Which batteries are in the bank, which of them may only discharge, what the loads ask."""

    joined: Flags
    one_way: Flags
    amounts: Floats


@dataclass(frozen=True, slots=True)
class Stretch:
    """A stretch of time without any switching: [start, end)."""

    start_s: float
    end_s: float
    state: Callable[[float], Floats]
    switching: Switching


@dataclass(frozen=True, eq=False)
class TwinResult:
    """What the twin found.

    Parameters
    ----------
    delivered_Ah, charged_Ah : array (n,)
        Charge that left and that entered every battery. [Ah]
    final_state_of_charge : array (cells,)
        Battery by battery. [1]
    trips : tuple of TwinTrip
        In order.
    end_time_s : float
    end_reason : str
        "bank empty", "load cannot be fed" or "end of duration".
    refused_s : tuple of float
        When charge was not accepted; the loads are then off until their next change.
    unfed_s : tuple of float
        When the loads could not be fed; likewise, if the run goes on.
    """

    delivered_Ah: Floats
    charged_Ah: Floats
    final_state_of_charge: Floats
    trips: tuple[TwinTrip, ...]
    end_time_s: float
    end_reason: str
    refused_s: tuple[float, ...]
    unfed_s: tuple[float, ...]
    plant: Plant = field(repr=False)
    stretches: tuple[Stretch, ...] = field(repr=False)

    @property
    def cut_outs(self) -> tuple[TwinTrip, ...]:
        """The trips that blocked discharge, at most one a battery, in order."""
        return tuple(trip for trip in self.trips if trip.blocks & Blocks.DISCHARGE)

    def flow_at(self, time_s: float) -> Flow:
        """Return currents and bus voltage at one instant, right-continuous."""
        starts = [stretch.start_s for stretch in self.stretches]
        index = max(int(np.searchsorted(starts, time_s, side="right")) - 1, 0)
        stretch = self.stretches[index]
        now = stretch.switching
        state = stretch.state(min(time_s, stretch.end_s))
        return self.plant.flow(state, now.amounts, now.joined, now.one_way)

    def voltage_V(self, times_s: ArrayLike) -> Floats:  # noqa: N802 - the unit as printed
        """Return the voltage at the take-off at the given times; shape of `times_s`. [V]"""
        times = np.asarray(times_s, dtype=float)
        return np.array([self.flow_at(t).bus_V for t in times.ravel()]).reshape(times.shape)

    def current_A(self, times_s: ArrayLike) -> Floats:  # noqa: N802 - the unit as printed
        """Return the currents at the given times, shape (times, n). [A]"""
        return np.array([self.flow_at(t).current_A for t in np.ravel(times_s)])
