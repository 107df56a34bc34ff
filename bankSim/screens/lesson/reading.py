"""Reads numbers off a run for the sentences of the lesson."""

from bankSim.kernels.arrays import AFTER
from bankSim.model.curve import Floats
from bankSim.sim.numbers import number
from bankSim.sim.result import Result
from bankSim.sim.returns import column

EQUAL = 0.005  # of the larger one: what a sentence calls equal


def figures(value: float) -> str:
    """Return three digits; 9.9996 reads "10.0", as 10.001 does. [any unit]"""
    return number(float(f"{value:.3g}"))


def amps(value: float) -> str:
    """Return a current with its unit. [A]"""
    return f"{figures(value)} A"


def hours(seconds: float) -> str:
    """Return a time in hours with its unit."""
    return f"{number(seconds / 3600.0)} h"


def more_or_less(one: float, other: float) -> str:
    """Say "more", "less" or "just as much", as the numbers are. Both in one unit. [any unit]"""
    if abs(one - other) <= EQUAL * max(abs(one), abs(other)):
        return "just as much"
    return "more" if one > other else "less"


def current_A(result: Result, place: int) -> Floats:  # noqa: N802 - the unit as printed
    """Return the current of a battery in every row of the trace, discharge positive. [A]"""
    return column(result.trace, place, 0)


def path_ohm(result: Result, place: int, row: int = 0, after_A: float | None = None) -> float:
    """Return the resistance of a battery and its lead to the bus, at once. [ohm]

    Cells at their charge and temperature in that row of the trace, straps, both lead wires.

    Parameters
    ----------
    result : Result
    place : int
        Of the battery.
    row : int
        Of the trace.
    after_A : float, optional
        What the current jumps to, discharge positive: the mean over the way there, since a cell
        near empty resists charge less than discharge.
    """
    now_A = float(current_A(result, place)[row])
    ends_A = (now_A, now_A if after_A is None else after_A)
    into = _part_below_zero(*ends_A)
    battery = result.scenario.bank.batteries[place]
    kelvin = float(column(result.trace, place, 3)[row])
    level = float(column(result.trace, place, 2)[row])
    out_ohm, into_ohm = (
        sum(cell.ohm_at(level, kelvin, into=way) for cell in battery.cells) for way in (False, True)
    )
    cells_ohm = (1.0 - into) * out_ohm + into * into_ohm
    return cells_ohm + battery.internal_ohm + battery.lead_ohm


def _part_below_zero(one: float, other: float) -> float:
    """Return which part of the way between two numbers lies below 0. [1]"""
    low, high = min(one, other), max(one, other)
    if low == high or low * high >= 0.0:
        return float(low < 0.0)
    return low / (low - high)


def until(result: Result, time_s: float) -> Floats:
    """Return which rows of the trace are not later than a time. (rows,) of bool

    The trace in the units of `Result`.
    """
    rows: Floats = (result.trace[:, 0] < time_s) | (
        (result.trace[:, 0] == time_s) & (result.trace[:, 1] != AFTER)
    )
    return rows


def drawn(values: Floats) -> tuple[float, ...]:
    """Return numbers for a picture. [any unit]"""
    return tuple(round(float(value), 5) for value in values)
