"""What the twin gives back: events, totals, and the voltages and currents at any time."""

from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import ArrayLike

from bankSim.crosscheck.twin_cells import Plant
from bankSim.crosscheck.twin_network import Flow
from bankSim.crosscheck.twin_state import Switching
from bankSim.model.curve import Floats
from bankSim.model.rule import Blocks, Watch

TRIP = "trip"
RELEASE = "release"
STAYS_OUT = "stays out"
LOAD_OFF = "load cut off"
LOAD_ON = "load restarts"
STAGE = "charger stage"
HEATER_ON = "heater on"
HEATER_OFF = "heater off"
COLLAPSE = "load cannot be fed"
REFUSED = "charge not accepted"


@dataclass(frozen=True, slots=True)
class TwinEvent:
    """Something that switched; voltages are those just before.

    Parameters
    ----------
    time_s : float
    what : str
        One of the words above.
    battery, load, charger : int or None
        Which one it is, counted from 0.
    watches : Watch or None
        Of the rule that tripped or let go.
    cell : int or None
        The deciding cell, counted from 1; None when no single cell decides.
    blocks : Blocks or None
        What the rule blocks, or the direction that stays out.
    value : float or None
        What the rule, load or heater watches; the new stage of a charger, 0 when it has finished.
        [V, A, K or 1]
    battery_V : float
        At the battery's own terminals, before its diode; NaN for what is no battery's. [V]
    bus_V, load_V : float
        At the take-off and at the loads. [V]
    cell_V : array (cells,)
        Of that battery. [V]
    current_A, after_A : array (n,)
        Of every battery just before, and once all that was due at that instant had acted. [A]
    """

    time_s: float
    what: str
    battery: int | None
    load: int | None
    charger: int | None
    watches: Watch | None
    cell: int | None
    blocks: Blocks | None
    value: float | None
    battery_V: float
    bus_V: float
    load_V: float
    cell_V: Floats
    current_A: Floats
    after_A: Floats


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
    delivered_Wh, taken_Wh : array (n,)
        Energy that left and that entered through its terminals, outside its diode. [Wh]
    charger_Ah : array (c,)
        What every charger gave. [Ah]
    final_state_of_charge : array (cells,)
        Of all charge, both wells; battery by battery. [1]
    final_well_gap : array (cells,)
        d, the bound well's head above the available one's; 0 for cells of one well. [1]
    final_temperature_K : array (n,)
    events : tuple of TwinEvent
        In order.
    end_time_s : float
    end_reason : str
        "bank empty", "load cannot be fed" or "end of duration".
    """

    delivered_Ah: Floats
    charged_Ah: Floats
    delivered_Wh: Floats
    taken_Wh: Floats
    charger_Ah: Floats
    final_state_of_charge: Floats
    final_well_gap: Floats
    final_temperature_K: Floats
    events: tuple[TwinEvent, ...]
    end_time_s: float
    end_reason: str
    plant: Plant = field(repr=False)
    stretches: tuple[Stretch, ...] = field(repr=False)

    @property
    def trips(self) -> tuple[TwinEvent, ...]:
        """Rules that acted, in order."""
        return tuple(event for event in self.events if event.what == TRIP)

    @property
    def cut_outs(self) -> tuple[TwinEvent, ...]:
        """The trips that block discharge, in order; with releases, any number of a battery."""
        return tuple(t for t in self.trips if t.blocks is not None and t.blocks & Blocks.DISCHARGE)

    @property
    def refused_s(self) -> tuple[float, ...]:
        """When charge from the loads was not accepted; the loads are then dropped."""
        return tuple(event.time_s for event in self.events if event.what == REFUSED)

    def stretch_at(self, time_s: float) -> Stretch:
        """Return the stretch that holds from one instant on."""
        starts = [stretch.start_s for stretch in self.stretches]
        return self.stretches[max(int(np.searchsorted(starts, time_s, side="right")) - 1, 0)]

    def state_at(self, time_s: float) -> Floats:
        """Return the state vector at one instant; `plant.split` takes it apart.

        In the units of `StateLayout`.
        """
        stretch = self.stretch_at(time_s)
        return stretch.state(min(time_s, stretch.end_s))

    def flow_at(self, time_s: float) -> Flow:
        """Return currents and voltages at one instant, right-continuous."""
        now = self.stretch_at(time_s).switching
        return self.plant.flow(time_s, self.state_at(time_s), now)

    def voltage_V(self, times_s: ArrayLike) -> Floats:  # noqa: N802 - the unit as printed
        """Return the voltage at the take-off at the given times; shape of `times_s`. [V]"""
        times = np.asarray(times_s, dtype=float)
        return np.array([self.flow_at(t).bus_V for t in times.ravel()]).reshape(times.shape)

    def current_A(self, times_s: ArrayLike) -> Floats:  # noqa: N802 - the unit as printed
        """Return the currents at the given times, shape (times, n). [A]"""
        return np.array([self.flow_at(t).current_A for t in np.ravel(times_s)])

    def charger_A(self, times_s: ArrayLike) -> Floats:  # noqa: N802 - the unit as printed
        """Return what the chargers give at the given times, shape (times, c). [A]"""
        return np.array([self.flow_at(t).charger_A for t in np.ravel(times_s)])

    def temperature_K(self, times_s: ArrayLike) -> Floats:  # noqa: N802 - the unit as printed
        """Return the batteries' temperatures at the given times, shape (times, n). [K]"""
        times = np.ravel(times_s)
        return np.array([self.plant.temperature_K(t, self.state_at(t)) for t in times])
