"""The small banks of the lesson, written as scenario files, and the solver that runs them."""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from bankSim.scenario.read import parse_scenario
from bankSim.sim.result import Result
from bankSim.sim.run import simulate

OHMIC_MOHM = 0.7  # of one cell of 100 Ah; the lesson gives it so that everyone can do the sum


@dataclass(frozen=True)
class Unit:
    """One battery of the lesson: four LFP cells in series.

    Parameters
    ----------
    name : str
    rated_Ah : float
        Label. [Ah]
    left : float
        Part of the label that it still holds. [1]
    charge : float
        State of charge. [1]
    weak : float
        How much lower the second cell is than the others. [1]
    high : float or None
        State of charge of the third cell, when it differs. [1]
    ohmic_mohm : float
        Of one cell. [mohm]
    lead : str
        As in a scenario file.
    rules : tuple of str
        Inline tables of its protection; empty: the usual ones.
    extra : str
        Further keys.
    """

    name: str
    rated_Ah: float = 100.0
    left: float = 1.0
    charge: float = 1.0
    weak: float = 0.0
    high: float | None = None
    ohmic_mohm: float = OHMIC_MOHM
    lead: str = "lead_mohm = 2.0"
    rules: tuple[str, ...] = ()
    extra: str = ""

    def text(self) -> str:
        """Return its part of a scenario file."""
        lines = [
            "[[battery]]",
            f'name = "{self.name}"',
            'chemistry = "LFP"',
            "cells_in_series = 4",
            f"rated_capacity_Ah = {self.rated_Ah}",
            f"state_of_charge = {self.charge}",
            f"capacity_fraction = {self.left}",
            "internal_mohm = 1.2",
            self.lead,
            self.extra,
        ]
        if self.rules:
            lines.append(f"protection = [{', '.join(self.rules)}]")
        lines += ["[battery.cell]", f"ohmic_mohm = {self.ohmic_mohm}", *self._cells()]
        return "\n".join(lines)

    def _cells(self) -> list[str]:
        if not self.weak and self.high is None:
            return []
        third = "" if self.high is None else f"state_of_charge = {self.high}"
        second = f"state_of_charge = {self.charge - self.weak}"
        return ["[[battery.cells]]"] * 2 + [second, "[[battery.cells]]", third, "[[battery.cells]]"]


def bank(
    units: Sequence[Unit],
    load_A: float,
    duration_h: float,
    *,
    every_s: float = 60.0,
    wiring: str = 'layout = "equal leads"',
    load_from_h: float = 0.0,
    more: str = "",
) -> str:
    """Return a scenario file: these batteries in parallel on one load of constant current.

    Parameters
    ----------
    units : sequence of Unit
    load_A, duration_h, every_s : float
        Load [A], latest end [h], spacing of the timeline [s].
    wiring : str
        Keys of the wiring.
    load_from_h : float
        When the load is switched on. [h]
    more : str
        A charger, say.
    """
    head = (
        f'[simulation]\nduration_h = {duration_h}\nstop = "bank empty"\noutput_every_s = {every_s}'
    )
    load = f'[[load]]\nname = "load"\ncurrent_A = {load_A}'
    if load_from_h:
        load += f"\nactive_h = [[{load_from_h}, {duration_h}]]"
    parts = [f"{head}\n[wiring]\n{wiring}\nmain_mohm = 0.5", *(unit.text() for unit in units)]
    return "\n\n".join([*parts, load, more])


def solve(text: str) -> Result:
    """Run a scenario of the lesson; none of them names a table."""
    return simulate(parse_scenario(text, Path(), "lesson"))
