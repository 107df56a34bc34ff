"""A prediction beside the same bank solved in SPICE, line by line against limits."""

from dataclasses import dataclass

import numpy as np

from bankSim.crosscheck.compare_lines import Line, charge_lines, cut_out_lines, voltage_lines
from bankSim.crosscheck.deck import MAX_STEP_S
from bankSim.crosscheck.spice import SpiceError, solve_spice
from bankSim.model.bank import Bank
from bankSim.scenario.record import Scenario
from bankSim.sim.result import COLLAPSE, EMPTY, REFUSED, TRIP, Result

MOST_POINTS = 200_000
STEPS_BETWEEN_EDGES = 10.0
RUN_ON_SHARE = 1e-3
RUN_ON_STEPS = 20.0


@dataclass(frozen=True, slots=True)
class Comparison:
    """The lines, what else one should know, and the longest step that ngspice took.

    `expressible` is False where the prediction did what the netlist cannot: a battery that blocks
    charge only, charge that nobody took, loads that could not be fed.
    """

    lines: tuple[Line, ...]
    notes: tuple[str, ...]
    max_step_s: float
    expressible: bool = True

    @property
    def agrees(self) -> bool:
        """Whether every line is within its limit."""
        return all(line.agrees for line in self.lines)

    def rows(self) -> list[dict[str, float | str | bool | None]]:
        """Return the lines as plain dictionaries, for printing and JSON."""
        return [{name: getattr(line, name) for name in Line.__slots__} for line in self.lines]


def crosscheck(scenario: Scenario, result: Result) -> Comparison:
    """Solve the bank of a finished run in SPICE and compare.

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
    SpiceError, DeckError
        When SPICE cannot solve it; one line each.
    """
    bank = result.scenario.bank
    if result.end_time_s == 0.0:
        raise SpiceError("the run ends at its first instant: there is nothing to compare")
    max_step_s = choose_step_s(bank, result.end_time_s)
    end_s = result.end_time_s
    if result.end_reason == EMPTY:
        end_s += RUN_ON_SHARE * end_s + RUN_ON_STEPS * max_step_s
    found = solve_spice(bank, end_s, max_step_s=max_step_s)
    lines = [
        *charge_lines(result, found),
        *cut_out_lines(result, found),
        *voltage_lines(result, found),
    ]
    notes = tuple(_notes(scenario, result, max_step_s))
    return Comparison(tuple(lines), notes, max_step_s, not _beyond_spice(result))


def _beyond_spice(result: Result) -> bool:
    """Tell whether something happened that the netlist cannot express."""
    return any(
        event.what in (REFUSED, COLLAPSE) or event.blocks == "charge" for event in result.events
    )


def choose_step_s(bank: Bank, end_s: float) -> float:
    """Return the longest step: 2 s, less for quick loads, more for runs of very many points."""
    edges = [load.edges_s(bank.duration_s, bank.starts_at_s) for load in bank.loads]
    gaps = np.diff(np.unique(np.concatenate([np.zeros(1), *edges])))
    usual_s = float(np.median(gaps)) if gaps.size else np.inf
    return max(min(MAX_STEP_S, usual_s / STEPS_BETWEEN_EDGES), end_s / MOST_POINTS)


def _notes(scenario: Scenario, result: Result, max_step_s: float) -> list[str]:
    """Return what a reader of the lines must know."""
    notes = [f"{scenario.title}: ngspice took steps of at most {max_step_s:.3g} s."]
    if max_step_s > MAX_STEP_S:
        notes.append(
            f"The run is long: steps of up to {max_step_s:.3g} s instead of {MAX_STEP_S:g} s "
            "make the comparison less sharp."
        )
    if any(event.what == TRIP and event.blocks == "charge" for event in result.events):
        notes.append(
            "A rule that blocks charge only acted in the prediction; the netlist leaves such "
            "rules out, so differences after that are no sign of a fault."
        )
    if any(event.what == REFUSED for event in result.events):
        notes.append("Charge was not accepted in the prediction; the netlist cannot express that.")
    if any(event.what == COLLAPSE for event in result.events):
        notes.append(
            "The loads could not be fed; in the netlist they turn into resistances at low "
            "voltage instead, so expect differences around that moment and after it."
        )
    return notes
