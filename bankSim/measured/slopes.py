"""How the residuals of a fit move with its numbers: from curves where that is all, else by runs."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Self

import numpy as np

from bankSim.measured.fit_samples import Samples
from bankSim.measured.parameters import Parameter, Recipe
from bankSim.measured.replay import Instants, follow
from bankSim.model.cell import Cell, arrhenius_factor
from bankSim.model.curve import Floats

ROBUST_FROM = 3.0  # standard deviations: beyond, a residual counts ever less (soft l1)
STEP = 1e-3


def robust(r: Floats) -> Floats:
    """Return residuals whose squares are soft l1 of the given ones. [1]

    Source: docs/theory.md, eq. 25.3.
    """
    part = r / ROBUST_FROM
    return np.asarray(np.sign(r) * ROBUST_FROM * np.sqrt(2.0 * (np.sqrt(1.0 + part**2) - 1.0)))


def tamed(r: Floats) -> Floats:
    """Return the derivative of `robust`, 1 at 0. [1]"""
    root = np.sqrt(1.0 + (r / ROBUST_FROM) ** 2)
    return np.asarray(np.sqrt((root + 1.0) / 2.0) / root)


def as_logged(cells_V: Floats, samples: Samples) -> Floats:
    """Return voltages as a log has them: where only the battery was logged, the mean of its cells.

    Of a cell. [V]
    """
    if cells_V.shape[1] == samples.voltage_V.shape[1]:
        return cells_V
    return np.asarray(cells_V.mean(axis=1, keepdims=True))


def slopes_of(recipe: Recipe, numbers: Floats, samples: Sequence[Samples]) -> Floats:
    """Return d residual / d number of all logs by differences, (residuals, p). [1]

    The current is that of the log whatever the cells are, so a change of a voltage curve or of
    R0(z) is read off the curves where each cell is at each time. (How the heat of the changed
    resistance would change it again is left out.) What changes states is run: one run of all
    logs for a group of numbers that move different cells, or different logs.

    Parameters
    ----------
    recipe : Recipe
    numbers : array (p,)
        Of the fit. [1]
    samples : sequence of Samples
        One of each log.
    """
    parameters = recipe.parameters()
    cells = recipe.cells_of_logs(numbers)
    base = [follow(own, one.course, one.time_s) for own, one in zip(cells, samples, strict=True)]
    on_curves = [_OnCurves.of(own, at) for own, at in zip(cells, base, strict=True)]
    count = sum(one.voltage_V.shape[1] * int(one.fitted.sum()) for one in samples)
    slopes = np.zeros((count, numbers.size))
    for places in _groups(parameters):
        steps = np.array([STEP * parameters[p].sd / 0.1 for p in places])
        room = np.array([parameters[p].high for p in places]) - numbers[places]
        steps = np.where(room < steps, -steps, steps)
        moved = numbers.copy()
        moved[places] += steps
        moved_cells = recipe.cells_of_logs(moved)
        if parameters[places[0]].along_curve and recipe.typical.available_fraction == 1.0:
            change = [one.change(own) for one, own in zip(on_curves, moved_cells, strict=True)]
        else:
            change = [
                follow(own, one.course, one.time_s).cells_V - at.cells_V
                for own, one, at in zip(moved_cells, samples, base, strict=True)
            ]
        for p, step in zip(places, steps, strict=True):
            slopes[:, p] = np.concatenate(
                [
                    _slope(change[log] / step, base[log], one, _share(parameters[p], log))
                    for log, one in enumerate(samples)
                ]
            )
    return slopes


@dataclass(frozen=True, slots=True)
class _OnCurves:
    """U(z) - I R0(z) of cells at some instants, and what it is read with.

    One temperature and one kind of cell, as in a battery.

    Parameters
    ----------
    at : Instants
    read_at : array (m, cells)
        Where R0 is read: its rise near empty comes earlier in the cold. [1]
    current_A : array (m,)
        Times R(T) / R(25 degC). [A]
    curves_V : array (m, cells)
        [V]
    """

    at: Instants
    read_at: Floats
    current_A: Floats
    curves_V: Floats

    @classmethod
    def of(cls, cells: Sequence[Cell], at: Instants) -> Self:
        """Read the curves of some cells where they are."""
        activation, part = cells[0].activation_J_mol, cells[0].usable_part
        factor = [arrhenius_factor(activation, one) for one in at.temperature_K]
        usable = np.ones(len(factor)) if part is None else part(at.temperature_K)
        read_at = 1.0 - (1.0 - at.state) / usable[:, None]
        unread = cls(at, read_at, at.current_A * factor, np.zeros_like(at.state))
        return replace(unread, curves_V=unread.change(cells))

    def change(self, cells: Sequence[Cell]) -> Floats:
        """Return by how much other cells in the same states differ, (m, cells). [V]"""
        read_V = [
            cell.ocv_V(self.at.state[:, k])
            - self.current_A * cell.ohmic_ohm(cell.ohm_read_at(self.read_at[:, k], self.current_A))
            for k, cell in enumerate(cells)
        ]
        return np.column_stack(read_V) - self.curves_V


def _groups(parameters: Sequence[Parameter]) -> list[list[int]]:
    """Parameters that no residual shares: the same one of every cell, and starts of logs."""
    groups: dict[object, list[int]] = {}
    for place, one in enumerate(parameters):
        if one.cell is not None:
            key: object = one.name.partition(",")[2]
        else:
            key = "start" if one.log is not None else place
        groups.setdefault(key, []).append(place)
    return list(groups.values())


def _share(parameter: Parameter, log: int) -> slice:
    """Return which cells of a log a number moves."""
    if parameter.log is not None and parameter.log != log:
        return slice(0, 0)
    return slice(None) if parameter.cell is None else slice(parameter.cell, parameter.cell + 1)


def _slope(change: Floats, base: Instants, samples: Samples, cells: slice) -> Floats:
    """Return the slope of a log's weighted residuals from that of its cells' voltages."""
    own = np.zeros_like(change)
    own[:, cells] = change[:, cells]
    left = (as_logged(base.cells_V, samples) - samples.voltage_V) / samples.sd_V
    slope = as_logged(own, samples) / samples.sd_V * tamed(left)
    return np.asarray(slope[samples.fitted].ravel())
