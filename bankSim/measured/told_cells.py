"""Cells as they are told and written: where a log begins full, the fullest cell is at 100 %."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from bankSim.measured.parameters import Recipe
from bankSim.model.cell import Cell
from bankSim.model.curve import Curve, Floats


def told_cells(recipe: Recipe, numbers: Floats, log: int) -> tuple[Cell, ...]:
    """Return the cells at the start of a log; one where all are alike.

    A fit counts states of charge from a full that no cell may reach. With the fullest cell at
    100 % every cell holds and shows the same: z' = z / s, Q' = s Q, U'(z') = U(s z').

    Parameters
    ----------
    recipe : Recipe
    numbers : array (p,)
        Of the fit. [1]
    log : int
        From 0.

    Source
    ------
    docs/theory.md, eq. 25.10.
    """
    scale = fullest(recipe, numbers)
    return tuple(_recounted(one, scale) for one in recipe.cells_of(numbers, log))


def mean_cell(recipe: Recipe, numbers: Floats) -> Cell:
    """Return a full cell with the mean charge and the mean resistances of all.

    Its voltage curve is that of all cells. `numbers` of the fit. [1]
    """
    of_logs = recipe.cells_of_logs(numbers)
    scale = _fullest(recipe, of_logs)
    alike = _recounted(replace(recipe.mean_cell(numbers), state_of_charge=1.0), scale)
    factor = _mean_of(recipe, numbers, "resistance")
    pairs = tuple(
        replace(pair, resistance_ohm=pair.resistance_ohm * factor) for pair in alike.relaxation
    )
    return replace(
        alike,
        charge_C=float(np.mean([one.charge_C * scale for one in of_logs[0]])),
        ohmic_ohm=alike.ohmic_ohm.scaled(factor),
        relaxation=pairs,
        state_of_charge=1.0,
    )


def fullest(recipe: Recipe, numbers: Floats) -> float:
    """Return the state of charge of the fullest cell in the log that is full; 1 without one. [1]

    `numbers` of the fit. [1]
    """
    return _fullest(recipe, recipe.cells_of_logs(numbers))


def _fullest(recipe: Recipe, cells: Sequence[tuple[Cell, ...]]) -> float:
    if recipe.full_log is None or not recipe.each_cell:
        return 1.0
    return max(one.state_of_charge for one in cells[recipe.full_log])


def start_of(recipe: Recipe, numbers: Floats, log: int) -> float:
    """Return the state of charge at the start of a log, of its fullest cell. [1]

    `numbers` of the fit. [1]
    """
    return max(one.state_of_charge for one in told_cells(recipe, numbers, log))


def _recounted(cell: Cell, scale: float) -> Cell:
    if scale == 1.0:
        return cell
    return replace(
        cell,
        charge_C=cell.charge_C * scale,
        ocv_V=_stretched(cell.ocv_V, scale),
        ohmic_ohm=_stretched(cell.ohmic_ohm, scale),
        state_of_charge=min(cell.state_of_charge / scale, 1.0),
        hysteresis_rate=cell.hysteresis_rate * scale,
    )


def _stretched(curve: Curve, scale: float) -> Curve:
    """Return y'(z) = y(scale x z)."""
    return Curve(
        curve.knots / scale,
        curve.coefficients * scale ** np.arange(4.0),
        curve.last_value,
        curve.slope_below * scale,
        curve.slope_above * scale,
    )


def _mean_of(recipe: Recipe, numbers: Floats, what: str) -> float:
    """Return the mean over cells of the factor of one of their numbers; 1 where all are alike."""
    own: Sequence[float] = [
        float(np.exp(v))
        for one, v in zip(recipe.parameters(), numbers, strict=True)
        if one.cell is not None and one.name.endswith(f", {what}")
    ]
    return float(np.mean(own)) if own else 1.0
