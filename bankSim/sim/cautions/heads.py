"""Resistance of a battery at an instant of a run, from what its cells can give at once then."""

import math

import numpy as np

from bankSim.model.battery import Battery
from bankSim.model.cell import Cell
from bankSim.model.curve import Floats
from bankSim.sim.result import Result
from bankSim.sim.returns import column


def ohm_at(result: Result, number_of: int, row: int, *, giving: bool = False) -> float:
    """Return the resistance up to the end of the lead at a row of the trace. [ohm]

    The heads of two wells follow from the currents up to there; balancers and standing draws are
    left out.

    Parameters
    ----------
    result : Result
    number_of : int
        Place of the battery, from 0.
    row : int
        Of the trace.
    giving : bool
        What a discharge would meet in that instant, whichever way the current flows there.
    """
    battery = result.scenario.bank.batteries[number_of]
    cells_ohm = sum(cell_ohms_at(result, number_of, row, giving=giving))
    return battery.internal_ohm + battery.lead_ohm + cells_ohm


def cell_ohms_at(result: Result, number_of: int, row: int, *, giving: bool = False) -> list[float]:
    """Return R0 of each cell of a battery at a row of the trace, for the current there. [ohm]

    Parameters
    ----------
    result : Result
    number_of, row, giving
        As for `ohm_at`.
    """
    battery = result.scenario.bank.batteries[number_of]
    kelvin = float(column(result.trace, number_of, 3)[row])
    into = not giving and float(column(result.trace, number_of, 0)[row]) < 0.0
    heads = _heads(result, battery, number_of, row)
    return [
        cell.ohm_at(head, kelvin, into=into)
        for cell, head in zip(battery.cells, heads, strict=True)
    ]


def _heads(result: Result, battery: Battery, number_of: int, row: int) -> list[float]:
    """State of charge that counts for the voltage of each cell: that of its available well."""
    time_s, current_A = result.trace[: row + 1, 0], column(result.trace, number_of, 0)[: row + 1]
    level = column(result.trace, number_of, 2)
    given_C = float(level[0] - level[row]) * float(np.mean([c.charge_C for c in battery.cells]))
    return [
        cell.state_of_charge
        - given_C / cell.charge_C
        - (1.0 - cell.available_fraction) * bound_above(cell, time_s, current_A)
        for cell in battery.cells
    ]


def bound_above(cell: Cell, time_s: Floats, current_A: Floats) -> float:
    """Return the head of the bound well above the available one after currents from rest. [1]

    Parameters
    ----------
    cell : Cell
    time_s, current_A : array (rows,)
        Straight between rows; discharge positive. [s], [A]

    Source
    ------
    docs/theory.md, eq. 2.6. Here each step has its mean current.
    """
    held_C, rate = cell.charge_C * cell.available_fraction, cell.well_rate_per_s
    if cell.available_fraction == 1.0:
        return 0.0
    above = 0.0
    steps_s, mean_A = np.diff(time_s), 0.5 * (current_A[1:] + current_A[:-1])
    for step_s, amps in zip(steps_s.tolist(), mean_A.tolist(), strict=True):
        if rate == 0.0:
            above += amps * step_s / held_C
        else:
            kept = math.exp(-rate * step_s)
            above = kept * above + (1.0 - kept) * amps / (held_C * rate)
    return above
