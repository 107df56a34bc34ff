"""A slow plain twin of the solver: the same equations through SciPy, sharing no code with it.

The network is solved exactly for every state (`twin_network.py`, `twin_diodes.py`), LSODA carries
the state from one switching to the next (`twin_cells.py`), and everything that acts by itself is
a condition with a delay (`twin_guards.py`, `twin_watch.py`, `twin_board.py`).
"""

from collections.abc import Callable
from typing import Protocol, cast

import numpy as np
from scipy.integrate import solve_ivp

from bankSim.crosscheck.twin_board import Board
from bankSim.crosscheck.twin_cells import Plant, Snapshot
from bankSim.crosscheck.twin_guards import Guard, all_guards, charger_stage, stay_out
from bankSim.crosscheck.twin_result import COLLAPSE, REFUSED, STAGE, Stretch, TwinResult
from bankSim.crosscheck.twin_schedule import charger_is_on, loads_wanted, switching_times
from bankSim.crosscheck.twin_state import OFF
from bankSim.crosscheck.twin_watch import CLEARED, MET
from bankSim.errors import SimulationError
from bankSim.model.bank import Bank
from bankSim.model.curve import Floats
from bankSim.model.rule import Blocks

EMPTY = "bank empty"
ALL_OVER = "end of duration"

TIE_S = 1e-6  # what is due this close together acts together
LONGEST_STEP_S = 300.0
SHIFT, LEAST_SHIFTED = 1e-8, 0.1  # for differences: a part of a number, or of this much of it
MOST_ROUNDS = 5000  # of actions at one instant


class Event(Protocol):
    """A function of time and state whose zero crossing ends an integration.

    `direction` is a sign. [1]
    """

    terminal: bool
    direction: float

    def __call__(self, time_s: float, y: Floats, /) -> float:
        """Return a number that changes sign at the event."""


def solve_twin(bank: Bank, *, rtol: float = 1e-9, atol: float = 1e-10) -> TwinResult:
    """Solve a bank with LSODA, one stretch between switchings at a time.

    Parameters
    ----------
    bank : Bank
    rtol, atol : float
        Of the state: states of charge, volts, kelvins, charges in units of the largest cell. [1]

    Raises
    ------
    SimulationError
        When LSODA gives up, or when the rules act on each other without end at one instant.
    """
    return _March(bank, rtol, atol).run()


class _March:
    """Where the march through time is."""

    def __init__(self, bank: Bank, rtol: float, atol: float) -> None:
        self.bank, self.plant = bank, Plant(bank)
        self.rtol, self.atol = rtol, atol
        self.time_s, self.y = 0.0, self.plant.start
        self.board = Board(self.plant)
        self.guards: list[Guard | None] = [*all_guards(self.board)]
        self.chargers: list[Guard | None] = [None] * len(bank.chargers)
        self.scheduled = [False] * len(bank.chargers)
        self.stretches: list[Stretch] = []
        self.end_reason = ""
        self.starved, self.left_s = False, -np.inf  # loads unfed; a battery last cut out
        self._forget()

    def run(self) -> TwinResult:
        """March from one scheduled switching to the next until something ends the run."""
        for stop_s in switching_times(self.bank):
            self._switch_by_the_clock(0.5 * (self.time_s + stop_s))
            self._settle()
            while self.time_s < stop_s and not self.end_reason:
                self._advance(float(stop_s))
                self._settle()
            if self.end_reason:
                break
        return self._result()

    def _forget(self) -> None:
        """Something has switched: what was seen holds no longer."""
        self.now = self.board.switching()
        self.seen_key: tuple[float, bytes] | None = None

    def _look(self, time_s: float, y: Floats) -> Snapshot:
        """Return all watched quantities; the last answer is kept, as every guard asks for it."""
        key = (time_s, y.tobytes())
        if key != self.seen_key:
            self.seen_key, self.seen = key, self.plant.snapshot(time_s, y, self.now)
        return self.seen

    def _present(self) -> list[Guard]:
        """Everything that may act, in the order of action."""
        return [guard for guard in [*self.guards, *self.chargers] if guard is not None]

    def _switch_by_the_clock(self, middle_s: float) -> None:
        """Set loads and chargers as they are on until the next switching."""
        board = self.board
        wanted = loads_wanted(self.bank, middle_s)
        if (wanted != board.wanted).any():
            board.wanted = wanted
            board.reconsider()
            board.forgive()
        for c, charger in enumerate(self.bank.chargers):
            self._switch_charger(c, on=charger_is_on(self.bank, charger, middle_s))
        self._forget()

    def _switch_charger(self, c: int, *, on: bool) -> None:
        """Begin with the first stage when the schedule comes on, not while it stays on."""
        board = self.board
        if on == self.scheduled[c]:
            return
        self.scheduled[c] = on
        board.reconsider()
        board.forgive()
        board.stages[c] = 1 if on else OFF
        self.chargers[c] = charger_stage(board, c) if on else None
        if on and self.time_s > 0.0:
            board.record(STAGE, self._look(self.time_s, self.y), charger=c, value=1.0)

    def _settle(self) -> None:
        """Act on everything that is due now, looking at all again after each round.

        What is due together acts together, all on the same voltages.
        """
        for _ in range(MOST_ROUNDS):
            self._forget()
            seen = self._look(self.time_s, self.y)
            if self._is_empty(seen):
                self.board.complete_events(seen)
                self.end_reason = EMPTY
            elif self._is_dark(seen) and any(self.board.stages):
                if self.left_s < self.time_s:
                    self._record_unfed(COLLAPSE, seen)
                self.starved = self.board.dropped = True
            elif not seen.flow.fed or seen.flow.refused or seen.margin_A <= MET:
                self._drop_loads(seen)
            else:
                self.board.complete_events(seen)
                if self.now.amounts.any() and seen.flow.load_V > 0.0:
                    self.starved = False
                self._restart_delays(seen)
                if not self._act_on_due(seen):
                    break
            if self.end_reason:
                return
        else:
            raise SimulationError(f"the twin does not settle at {self.time_s:.6g} s")
        if self.time_s >= self.bank.duration_s:
            self.end_reason = ALL_OVER

    def _is_empty(self, seen: Snapshot) -> bool:
        """Tell whether the run ends because no battery can feed the loads any more."""
        if not (self.bank.stop_when_empty and self.board.all_discharge_blocked()):
            return False
        if not self.bank.chargers:
            return bool(self.now.amounts.sum() >= 0.0)
        return self._is_dark(seen)

    def _is_dark(self, seen: Snapshot) -> bool:
        """Tell whether nobody may discharge and the chargers feed the loads no longer."""
        just_left = seen.margin_A <= MET and self.board.all_discharge_blocked()
        return seen.flow.dark or (just_left and not seen.flow.refused)

    def _drop_loads(self, seen: Snapshot) -> None:
        """The loads cannot be fed, or feed what nobody takes: end, or go on without them."""
        refused = seen.flow.refused
        self._record_unfed(REFUSED if refused else COLLAPSE, seen)
        if self.bank.stop_when_empty and not refused:
            self.end_reason = COLLAPSE
        self.board.dropped = True

    def _record_unfed(self, what: str, seen: Snapshot) -> None:
        """Record it once until some load is fed again."""
        if what == REFUSED or not self.starved:
            self.board.record(what, seen)
        self.starved = self.starved or what == COLLAPSE

    def _restart_delays(self, seen: Snapshot) -> None:
        """Start the delay of conditions that hold now, forget those that hold no longer."""
        for guard in self._present():
            margin = guard.margin(seen)
            if guard.deadline_s is None and margin <= MET:
                guard.deadline_s = self.time_s + guard.delay_s
            elif guard.deadline_s is not None and margin > 0.75 * CLEARED:
                guard.deadline_s = None

    def _act_on_due(self, seen: Snapshot) -> bool:
        """Let everything that is due act; tell whether anything was."""
        blocked, acted = self.board.blocked(), False
        self.board.time_s = self.time_s
        for slots in (self.guards, self.chargers):
            for index, guard in enumerate(slots):
                if guard is not None and guard.due_s() <= self.time_s + TIE_S:
                    slots[index] = guard.act(seen)
                    acted = True
        if (self.board.blocked() & ~blocked & Blocks.DISCHARGE).any():
            self.left_s = self.time_s
        for way in self.board.account(blocked, seen):
            self.guards.append(stay_out(self.board, way, seen))
        return acted

    def _advance(self, stop_s: float) -> None:
        """Integrate to `stop_s`, to the next deadline or to the first crossing."""
        until_s = min([stop_s, *(guard.due_s() for guard in self._present())])
        now, plant = self.now, self.plant
        found = solve_ivp(
            lambda time_s, y: plant.rates(time_s, y, now),
            (self.time_s, until_s),
            self.y,
            method="LSODA",
            jac=self._slopes,
            events=self._crossings(),
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
        self.board.time_s = end_s

    def _slopes(self, time_s: float, y: Floats) -> Floats:
        """Return the derivatives of the rates, by differences; those of mere counts are 0.

        Left to itself, LSODA would ask for the rates once for each count too.
        """
        slopes = np.zeros((y.size, y.size))
        rates = self.plant.rates(time_s, y, self.now)
        for place in self.plant.layout.felt:
            moved = y.copy()
            moved[place] += SHIFT * max(abs(y[place]), LEAST_SHIFTED)
            shift = moved[place] - y[place]
            slopes[:, place] = (self.plant.rates(time_s, moved, self.now) - rates) / shift
        return slopes

    def _crossings(self) -> list[Event]:
        """Zero crossings that end a stretch: conditions that begin or cease, loads unfed."""

        def unfed(time_s: float, y: Floats) -> float:
            return self._look(time_s, y).margin_A

        return [*(self._crossing(guard) for guard in self._present()), _terminal(unfed, -1.0)]

    def _crossing(self, guard: Guard) -> Event:
        holds = guard.deadline_s is not None

        def margin(time_s: float, y: Floats) -> float:
            return guard.margin(self._look(time_s, y)) - (CLEARED if holds else 0.0)

        return _terminal(margin, 1.0 if holds else -1.0)

    def _result(self) -> TwinResult:
        z, _, _, given, taken, gap, _, chargers, given_J, taken_J = self.plant.split(self.y)
        to_Ah, to_Wh = self.plant.unit_C / 3600.0, self.plant.layout.unit_J / 3600.0
        every_gap = np.zeros(z.size)
        every_gap[self.plant.layout.welled] = gap
        return TwinResult(
            given * to_Ah,
            taken * to_Ah,
            given_J * to_Wh,
            taken_J * to_Wh,
            chargers * to_Ah,
            z,
            every_gap,
            self.plant.temperature_K(self.time_s, self.y),
            tuple(self.board.events),
            self.time_s,
            self.end_reason,
            self.plant,
            tuple(self.stretches),
        )


def _terminal(function: Callable[[float, Floats], float], direction: float) -> Event:
    """Mark a function as an event that ends the integration."""
    event = cast(Event, function)
    event.terminal, event.direction = True, direction
    return event
