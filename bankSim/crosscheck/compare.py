"""A prediction beside the same bank solved in SPICE, line by line against limits."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from bankSim.crosscheck.compare_lines import (
    Line,
    charge_lines,
    cut_out_lines,
    edges_s,
    return_lines,
    voltage_lines,
)
from bankSim.crosscheck.compare_scope import (
    LEAST_S,
    comparable_part,
    first_part,
    held,
    near_ties,
    remarks,
)
from bankSim.crosscheck.deck import MAX_STEP_S
from bankSim.crosscheck.spice import SpiceError, SpiceGaveUpError, solve_spice
from bankSim.scenario.record import Scenario
from bankSim.sim.numbers import number
from bankSim.sim.result import COLLAPSE, EMPTY, Result

MOST_POINTS = 200_000
LEAST_POINTS = 2000
STEPS_BETWEEN_EDGES = 10.0
RUN_ON_SHARE = 1e-3
RUN_ON_STEPS = 20.0
MANY_EVENTS = 40
BEFORE_S = 1.0  # what is beyond the netlist comes a little sooner or later there
STEPS_MISSED = 1.5  # a cut-out and what follows it
COLLAPSE_FINER = 4.0  # currents rise without bound towards the instant of a collapse


@dataclass(frozen=True, slots=True)
class Comparison:
    """The lines, what else one should know, and the longest step that ngspice took.

    `expressible` is False where the prediction did what the netlist cannot before there was
    enough to compare: loads that could not be fed, charge that nobody took, a battery that stays
    out; and where ngspice gave up: then there are no lines.
    """

    lines: tuple[Line, ...]
    notes: tuple[str, ...]
    max_step_s: float
    expressible: bool = True

    @property
    def agrees(self) -> bool:
        """Whether every line is within its limit."""
        return bool(self.lines) and all(line.agrees for line in self.lines)

    def rows(self) -> list[dict[str, float | str | bool | None]]:
        """Return the lines as plain dictionaries, for printing and JSON. [`unit` of each line]"""
        return [{name: getattr(line, name) for name in Line.__slots__} for line in self.lines]


def crosscheck(scenario: Scenario, result: Result) -> Comparison:
    """Solve the bank of a finished run in SPICE and compare.

    Where temperatures move, the bank is predicted again with them held, as in the netlist. Where
    ngspice gives up, there are no lines and a note says so.
    Limits: charge 0.1 %, bus voltage 2 mV rms before and after the first cut-out, cut-outs in
    the same order and within 0.1 % of their time or 3 of ngspice's longest steps.

    Parameters
    ----------
    scenario : Scenario
        Names the run.
    result : Result
        What `simulate` gave for it.

    Raises
    ------
    SpiceError
        When SPICE is missing or there is nothing to compare; one line.
    """
    compared = held(result)
    if compared.end_time_s == 0.0:
        raise SpiceError("the run ends at its first instant: there is nothing to compare")
    notes = remarks(result, compared)
    until_s, reason = comparable_part(compared)
    expressible = reason is None
    if LEAST_S <= until_s < compared.end_time_s:
        until_s -= BEFORE_S
        notes.append(f"Compared up to {number(until_s / 3600.0, 4)} h only; then {reason}.")
        compared, expressible = first_part(compared.scenario, until_s), True
    elif reason is not None:
        notes.append(f"At {number(until_s / 3600.0, 4)} h {reason}: expect differences from there.")
    if len(compared.events) > MANY_EVENTS:
        notes.append(
            f"So much switches ({len(compared.events)} events) that the instants drift apart: the "
            "bus voltage is compared up to the first event of a battery only."
        )
    try:
        lines, max_step_s = _solve(compared)
    except SpiceGaveUpError as error:
        return Comparison((), (f"{error}.", *notes), 0.0, expressible=False)
    if not all(line.agrees for line in lines):
        notes += near_ties(compared, max_step_s)
        notes += charge_of_a_step(compared, lines, max_step_s)
    notes = [*_step_notes(scenario, max_step_s), *notes]
    return Comparison(tuple(lines), tuple(notes), max_step_s, expressible)


def _solve(result: Result) -> tuple[list[Line], float]:
    """Solve the bank in SPICE; return all lines and the longest step. [s]"""
    bank = result.scenario.bank
    max_step_s = choose_step_s(result)
    if result.end_reason == COLLAPSE:
        max_step_s /= COLLAPSE_FINER
    end_s = result.end_time_s
    if result.end_reason == EMPTY:
        end_s += RUN_ON_SHARE * end_s + RUN_ON_STEPS * max_step_s
    found = solve_spice(bank, end_s, max_step_s=max_step_s)
    lines = [
        *charge_lines(result, found),
        *cut_out_lines(result, found),
        *return_lines(result, found),
        *voltage_lines(result, found, to_first_only=len(result.events) > MANY_EVENTS),
    ]
    return lines, max_step_s


def choose_step_s(result: Result) -> float:
    """Return the longest step: 2 s, less where much switches and in short runs, more in long ones.

    What counts is the gap between switchings at a typical instant: a cascade within a second of a
    long run needs no finer steps, because ngspice shortens them itself where something switches.
    """
    end_s = result.end_time_s
    gaps = np.diff(np.append(edges_s(result), end_s))
    usual_s = float(np.average(gaps, weights=gaps))
    finest_s = min(MAX_STEP_S, usual_s / STEPS_BETWEEN_EDGES, end_s / LEAST_POINTS)
    return max(finest_s, end_s / MOST_POINTS)


def charge_of_a_step(result: Result, lines: Sequence[Line], max_step_s: float) -> list[str]:
    """Say so where what flows within a step of ngspice explains a difference of charge.

    `max_step_s` [s].
    """
    currents = [abs(one) for event in result.events for one in event.currents_after_A]
    currents += [abs(one) for event in result.events for one in event.currents_A]
    most_A = max(currents, default=0.0)
    step_Ah = most_A * max_step_s / 3600.0
    missed = [
        abs(line.predicted - line.spice)
        for line in lines
        if isinstance(line.predicted, float) and isinstance(line.spice, float)
        if line.unit == "Ah" and not line.agrees
    ]
    if not any(one <= STEPS_MISSED * step_Ah for one in missed):
        return []
    return [
        f"A switching falls anywhere within a step of ngspice: at up to {number(most_A)} A a step "
        f"is {number(step_Ah)} Ah, which is of the size of what differs."
    ]


def _step_notes(scenario: Scenario, max_step_s: float) -> list[str]:
    """Return how finely ngspice solved it."""
    notes = [f"{scenario.title}: ngspice took steps of at most {max_step_s:.3g} s."]
    if max_step_s > MAX_STEP_S:
        notes.append(
            f"The run is long: steps of up to {max_step_s:.3g} s instead of {MAX_STEP_S:g} s "
            "make the comparison less sharp."
        )
    return notes
