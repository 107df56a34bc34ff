"""The twin's switchboard: what is blocked, dropped, heating, at which stage, and the event log."""

from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from bankSim.crosscheck.twin_cells import Plant, Snapshot
from bankSim.crosscheck.twin_diodes import Indices
from bankSim.crosscheck.twin_result import STAYS_OUT, TwinEvent
from bankSim.crosscheck.twin_state import OFF, Switching
from bankSim.crosscheck.twin_watch import through_C
from bankSim.model.bank import Bank
from bankSim.model.curve import Floats
from bankSim.model.rule import Blocks

MOST_FRUITLESS = 100
FRUITLESS_PART = 0.001  # of the label capacity
DIRECTIONS = (Blocks.CHARGE, Blocks.DISCHARGE)

Way = tuple[int, Blocks]  # battery counted from 0, one direction


@dataclass(slots=True)
class Reconnections:
    """Of one direction of one battery: when a release opened it, and how often in vain."""

    opened_at_C: float | None = None
    fruitless: int = 0


class Board:
    """All that can switch; `switching` is its present state for the solver.

    Parameters
    ----------
    plant : Plant
    """

    def __init__(self, plant: Plant) -> None:
        self.plant, self.bank = plant, plant.bank
        bank: Bank = plant.bank
        self.time_s = 0.0
        self.tripped: set[tuple[int, int]] = set()  # battery, rule
        self.staying_out: dict[Way, float] = {}  # charge passed the other way until then
        self.reconnections = {
            (k, way): Reconnections() for k in range(len(bank.batteries)) for way in DIRECTIONS
        }
        self.wanted = np.zeros(len(bank.loads))
        self.cut_off: set[int] = set()
        self.dropped = False
        self.stages = [OFF] * len(bank.chargers)
        self.heaters_on: set[int] = set()
        self.events: list[TwinEvent] = []
        self.complete = 0  # events whose currents just after are known

    def blocked(self) -> Indices:
        """Return the bits of `Blocks` of every battery."""
        bits = np.zeros(len(self.bank.batteries), dtype=np.intp)
        for k, j in self.tripped:
            bits[k] |= int(self.bank.batteries[k].rules[j].blocks)
        for k, way in self.staying_out:
            bits[k] |= int(way)
        return bits

    def amounts(self) -> Floats:
        """Return what the loads ask at present. [A V^(1 - exponent)]"""
        on = [not self.dropped and m not in self.cut_off for m in range(self.wanted.size)]
        return np.where(on, self.wanted, 0.0)

    def heating_W(self) -> Floats:  # noqa: N802 - the unit as printed
        """Return what the heaters draw at present. [W]"""
        watts = np.zeros(len(self.bank.batteries))
        for k in self.heaters_on:
            heater = self.bank.batteries[k].heater
            if heater and not self.dropped and (not heater.needs_charger or any(self.stages)):
                watts[k] = heater.power_W
        return watts

    def switching(self) -> Switching:
        """Return the present state of everything that switches."""
        return Switching(self.blocked(), self.amounts(), self.heating_W(), tuple(self.stages))

    def loads_draw(self) -> bool:
        """Tell whether any load wants to draw; those that feed the bank do not count."""
        wants = [m not in self.cut_off for m in range(self.wanted.size)]
        return bool((np.where(wants, self.wanted, 0.0) > 0.0).any())

    def all_discharge_blocked(self) -> bool:
        """Tell whether no battery can discharge."""
        return bool((self.blocked() & Blocks.DISCHARGE).all())

    def reconsider(self) -> None:
        """Take dropped loads back: something has changed that may let them be fed."""
        self.dropped = False

    def forgive(self) -> None:
        """A load or charger switches: whatever stayed out after hiccups may try again."""
        for k, _ in self.staying_out:
            for way in DIRECTIONS:
                self.reconnections[k, way].fruitless = 0
        self.staying_out.clear()

    def record(self, what: str, seen: Snapshot, **details: Any) -> None:
        """Write down what happens now; the currents just after follow later."""
        empty: dict[str, Any] = dict.fromkeys(
            ("battery", "load", "charger", "watches", "cell", "blocks", "value")
        )
        k = details.get("battery")
        volts = np.nan if k is None else float(seen.battery_V[k])
        cells = np.zeros(0) if k is None else seen.cell_V[self.plant.cells_of(k)]
        flow = seen.flow
        self.events.append(
            TwinEvent(
                self.time_s,
                what,
                **{**empty, **details},
                battery_V=volts,
                bus_V=flow.bus_V,
                load_V=flow.load_V,
                cell_V=cells,
                current_A=flow.current_A,
                after_A=flow.current_A,
            )
        )

    def complete_events(self, seen: Snapshot) -> None:
        """Give the latest events the currents just after."""
        for index in range(self.complete, len(self.events)):
            self.events[index] = replace(self.events[index], after_A=seen.flow.current_A)
        self.complete = len(self.events)

    def account(self, before: Indices, seen: Snapshot) -> list[Way]:
        """Count reconnections that were in vain; return the ways that stay blocked from now on.

        Parameters
        ----------
        before : array (n,)
            What was blocked before the actions of this instant.
        seen : Snapshot
            At this instant.
        """
        after, staying = self.blocked(), []
        for (k, way), tally in self.reconnections.items():
            was, now = bool(before[k] & way), bool(after[k] & way)
            if was and not now:
                tally.opened_at_C = through_C(seen, k, way)
            elif now and not was:
                self._count(k, way, tally, seen)
                if tally.fruitless >= MOST_FRUITLESS:
                    staying.append((k, way))
                    tally.fruitless = 0
                    self.record(STAYS_OUT, seen, battery=k, blocks=way)
        return staying

    def _count(self, k: int, way: Blocks, tally: Reconnections, seen: Snapshot) -> None:
        """Judge the reconnection that ends now."""
        if tally.opened_at_C is None:
            return
        passed_C = through_C(seen, k, way) - tally.opened_at_C
        in_vain = passed_C < FRUITLESS_PART * self.bank.batteries[k].rated_C
        tally.fruitless = tally.fruitless + 1 if in_vain else 0
        tally.opened_at_C = None
