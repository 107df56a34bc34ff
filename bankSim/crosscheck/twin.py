"""A slow plain twin of the solver: the same equations through SciPy, sharing no code with it."""

from collections.abc import Callable
from dataclasses import replace
from typing import Protocol, cast

import numpy as np
from scipy.integrate import solve_ivp

from bankSim.crosscheck.twin_cells import Plant, Snapshot
from bankSim.crosscheck.twin_result import Stretch, Switching, TwinResult, TwinTrip
from bankSim.errors import SimulationError
from bankSim.model.bank import Bank
from bankSim.model.curve import Floats
from bankSim.model.rule import Blocks, Watch

EMPTY = "bank empty"
COLLAPSE = "load cannot be fed"
ALL_OVER = "end of duration"

MET = 1e-9  # a condition this close to being met counts as met, so that no crossing is lost
CLEARED = 2e-9  # and must be left by this much before its delay starts anew
TIE_S = 1e-6  # rules that are due this close together act together
LONGEST_STEP_S = 900.0


class Event(Protocol):
    """A function of time and state whose zero crossing ends an integration."""

    terminal: bool
    direction: float

    def __call__(self, time_s: float, y: Floats, /) -> float:
        """Return a number that changes sign at the event."""


Guard = tuple[int, int]  # battery, rule; both counted from 0


def solve_twin(bank: Bank, *, rtol: float = 1e-9, atol: float = 1e-10) -> TwinResult:
    """Solve a bank with LSODA, one stretch between switchings at a time.

    Parameters
    ----------
    bank : Bank
    rtol, atol : float
        Of the state: states of charge, volts, charges in units of the largest cell. [1]

    Raises
    ------
    SimulationError
        When LSODA gives up.
    """
    return _March(bank, rtol, atol).run()


class _March:
    """The one object with a changing state: where the march through time is."""

    def __init__(self, bank: Bank, rtol: float, atol: float) -> None:
        count = len(bank.batteries)
        self.bank, self.plant = bank, Plant(bank)
        self.rtol, self.atol = rtol, atol
        self.time_s, self.y = 0.0, self.plant.start
        self.now = Switching(
            np.ones(count, dtype=bool), np.zeros(count, dtype=bool), np.zeros(len(bank.loads))
        )
        self.deadline_s: dict[Guard, float] = {}
        self.acted: set[Guard] = set()
        self.trips: list[TwinTrip] = []
        self.stretches: list[Stretch] = []
        self.refused_s: tuple[float, ...] = ()
        self.unfed_s: tuple[float, ...] = ()
        self.end_reason = ""
        self.seen_key: tuple[float, bytes] | None = None

    def run(self) -> TwinResult:
        """March from one load edge to the next until something ends the run."""
        edges = [
            load.edges_s(self.bank.duration_s, self.bank.starts_at_s) for load in self.bank.loads
        ]
        stops = np.unique(np.concatenate([*edges, [self.bank.duration_s]]))
        for stop_s in stops:
            middle = np.array([0.5 * (self.time_s + stop_s)])
            amounts = [load.amount(middle, self.bank.starts_at_s)[0] for load in self.bank.loads]
            self.now = replace(self.now, amounts=np.array(amounts))
            self._settle()
            while self.time_s < stop_s and not self.end_reason:
                self._advance(float(stop_s))
                self._settle()
            if self.end_reason:
                break
        return self._result()

    def _look(self, time_s: float, y: Floats) -> Snapshot:
        """Return all watched quantities; the last answer is kept, as every guard asks for it."""
        key = (time_s, y.tobytes())
        if key != self.seen_key:
            now = self.now
            flow = self.plant.flow(y, now.amounts, now.joined, now.one_way)
            self.seen_key, self.seen = key, self.plant.snapshot(y, flow)
        return self.seen

    def _guards(self) -> list[Guard]:
        """Rules that can still act, in file order."""
        every = [(k, j) for k, b in enumerate(self.bank.batteries) for j in range(len(b.rules))]
        return [(k, j) for k, j in every if self.now.joined[k] and (k, j) not in self.acted]

    def _margin(self, guard: Guard, time_s: float, y: Floats) -> float:
        battery, rule = guard
        chosen = self.bank.batteries[battery].rules[rule]
        return self.plant.margin(self._look(time_s, y), battery, chosen)

    def _settle(self) -> None:
        """Act on everything that is due now, looking at all rules again after each action.

        Rules that are due together act together, all on the same voltages.
        """
        self.seen_key = None
        while not self.end_reason:
            seen = self._look(self.time_s, self.y)
            if seen.flow.refused:
                self._drop_loads()
                self.refused_s = (*self.refused_s, self.time_s)
                continue
            if seen.flow.margin_V <= MET:
                self._collapse()
                continue
            self._restart_delays()
            due = [g for g in self._guards() if self._is_due(g)]
            if not due:
                break
            for guard in due:
                self._act(guard, seen)
        if self.time_s >= self.bank.duration_s and not self.end_reason:
            self.end_reason = ALL_OVER

    def _is_due(self, guard: Guard) -> bool:
        return self.deadline_s.get(guard, np.inf) <= self.time_s + TIE_S

    def _drop_loads(self) -> None:
        """Take all loads off until the next change of the loads."""
        self.now = replace(self.now, amounts=np.zeros(len(self.bank.loads)))
        self.seen_key = None

    def _collapse(self) -> None:
        """The loads cannot be fed: end, or go on without them."""
        self.unfed_s = (*self.unfed_s, self.time_s)
        if self.bank.stop_when_empty:
            self.end_reason = COLLAPSE
        self._drop_loads()

    def _restart_delays(self) -> None:
        """Start the delay of conditions that hold now, forget those that hold no longer."""
        for guard in self._guards():
            margin = self._margin(guard, self.time_s, self.y)
            if guard not in self.deadline_s and margin <= MET:
                battery, rule = guard
                delay_s = self.bank.batteries[battery].rules[rule].delay_s
                self.deadline_s[guard] = self.time_s + delay_s
            elif guard in self.deadline_s and margin > 0.75 * CLEARED:
                del self.deadline_s[guard]

    def _act(self, guard: Guard, seen: Snapshot) -> None:
        """Let one rule act: record it, then open what it blocks."""
        battery, rule = guard
        chosen = self.bank.batteries[battery].rules[rule]
        self.trips.append(self._record(battery, chosen.watches, chosen.blocks, seen))
        self.acted.add(guard)
        self.deadline_s.pop(guard, None)
        hit = np.arange(len(self.bank.batteries)) == battery
        if chosen.blocks & Blocks.DISCHARGE:
            self.now = replace(self.now, joined=self.now.joined & ~hit)
        else:
            self.now = replace(self.now, one_way=self.now.one_way | hit)
        self.seen_key = None
        if not self.now.joined.any() and self.bank.stop_when_empty:
            self.end_reason = EMPTY

    def _record(self, battery: int, watch: Watch, blocks: Blocks, seen: Snapshot) -> TwinTrip:
        cell_V = seen.cell_V[self.plant.cells_of(battery)]
        choose = {Watch.LOWEST_CELL: np.argmin, Watch.HIGHEST_CELL: np.argmax}.get(watch)
        cell = None if choose is None else int(choose(cell_V)) + 1
        volts = float(seen.battery_V[battery])
        currents = seen.flow.current_A
        return TwinTrip(
            self.time_s, battery, watch, cell, blocks, volts, seen.flow.bus_V, cell_V, currents
        )

    def _advance(self, stop_s: float) -> None:
        """Integrate to `stop_s`, to the next deadline or to the first crossing."""
        until_s = min([stop_s, *self.deadline_s.values()])
        now, plant = self.now, self.plant

        def rates(_time_s: float, y: Floats) -> Floats:
            flow = plant.flow(y, now.amounts, now.joined, now.one_way)
            return plant.rates(y, flow.current_A)

        found = solve_ivp(
            rates,
            (self.time_s, until_s),
            self.y,
            method="LSODA",
            events=self._events(),
            dense_output=True,
            max_step=LONGEST_STEP_S,
            rtol=self.rtol,
            atol=self.atol,
        )
        if found.status < 0:
            raise SimulationError(f"the twin stopped at {found.t[-1]:.6g} s: {found.message}")
        assert found.sol is not None  # asked for above
        end_s = float(found.t[-1])
        self.stretches.append(Stretch(self.time_s, end_s, found.sol, now))
        self.time_s, self.y = end_s, found.y[:, -1]

    def _events(self) -> list[Event]:
        """Zero crossings that end a stretch: conditions that begin or cease, loads unfed."""
        events = [self._crossing(guard) for guard in self._guards()]

        def unfed(time_s: float, y: Floats) -> float:
            return self._look(time_s, y).flow.margin_V

        return [*events, _terminal(unfed, -1.0)]

    def _crossing(self, guard: Guard) -> Event:
        waiting = guard in self.deadline_s

        def margin(time_s: float, y: Floats) -> float:
            return self._margin(guard, time_s, y) - (CLEARED if waiting else 0.0)

        return _terminal(margin, 1.0 if waiting else -1.0)

    def _result(self) -> TwinResult:
        z, _, _, given, taken = self.plant.split(self.y)
        to_Ah = self.plant.unit_C / 3600.0
        return TwinResult(
            given * to_Ah,
            taken * to_Ah,
            z,
            tuple(self.trips),
            self.time_s,
            self.end_reason,
            self.refused_s,
            self.unfed_s,
            self.plant,
            tuple(self.stretches),
        )


def _terminal(function: Callable[[float, Floats], float], direction: float) -> Event:
    """Mark a function as an event that ends the integration."""
    event = cast(Event, function)
    event.terminal, event.direction = True, direction
    return event
