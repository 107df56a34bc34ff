"""How the residuals of a fit move with its numbers: from curves where that is all, else by runs."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Self

import numpy as np

from bankSim.measured.fit_samples import Samples
from bankSim.measured.parameters import Parameter, Recipe
from bankSim.measured.replay import Instants, follow_each
from bankSim.model.cell import Cell, arrhenius_factor
from bankSim.model.curve import Curve, Floats

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


def slopes_of(
    recipe: Recipe,
    numbers: Floats,
    samples: Sequence[Samples],
    shown: Sequence[Instants] | None = None,
) -> Floats:
    """Return d residual / d number of all logs by differences, (residuals, p). [1]

    Of each log those of its samples, then that of its first step, if it has one.

    The current is that of the log whatever the cells are, so a change of a voltage curve or of
    R0(z) is read off the curves where each cell is at each time. (How the heat of the changed
    resistance would change it again is left out.) What changes states is run: all together, in
    one string a log, one battery for each group of numbers that move different cells.

    Parameters
    ----------
    recipe : Recipe
    numbers : array (p,)
        Of the fit. [1]
    samples : sequence of Samples
        One of each log.
    shown : sequence of Instants, optional
        What these numbers show of each log; run where it is not given.
    """
    moves = _moves(recipe, numbers)
    cells = recipe.cells_of_logs(numbers)
    slopes = []
    for log, one in enumerate(samples):
        run = [move.cells[log] for move in moves if not move.is_read]
        if shown is not None and one.course.thermal is not None:  # each runs alone, see there
            base, others = shown[log], follow_each(run, one.course, one.time_s)
        else:
            base, *others = follow_each([cells[log], *run], one.course, one.time_s)
        read = _OnCurves.of(cells[log], base)
        slopes.append(_slopes_of_log(recipe, moves, log, one, read, others))
    return np.vstack(slopes)


@dataclass(frozen=True, slots=True)
class _Move:
    """Numbers that are moved together.

    Parameters
    ----------
    places : list of int
        Which numbers.
    steps : array (len(places),)
        By how much. [that of the numbers]
    cells : list of tuple of Cell
        What they make, of every log.
    is_read : bool
        Whether its change is read off the curves.
    """

    places: list[int]
    steps: Floats
    cells: list[tuple[Cell, ...]]
    is_read: bool


def _moves(recipe: Recipe, numbers: Floats) -> list[_Move]:
    """Return how the numbers are moved, each a little and away from its limit."""
    parameters = recipe.parameters()
    moves = []
    for places in _groups(parameters):
        steps = np.array([STEP * parameters[p].sd / 0.1 for p in places])
        room = np.array([parameters[p].high for p in places]) - numbers[places]
        steps = np.where(room < steps, -steps, steps)
        moved = numbers.copy()
        moved[places] += steps
        one_well = recipe.typical.available_fraction == 1.0
        is_read = parameters[places[0]].along_curve and one_well
        moves.append(_Move(places, steps, recipe.cells_of_logs(moved), is_read))
    return moves


def _slopes_of_log(
    recipe: Recipe,
    moves: Sequence[_Move],
    log: int,
    samples: Samples,
    on_curves: "_OnCurves",
    others: Sequence[Instants],
) -> Floats:
    """Return the slopes of the residuals of one log, (residuals, p). [1]

    `others` are what the moves show that are run.
    """
    parameters, base, runs = recipe.parameters(), on_curves.at, iter(others)
    rows = int(samples.fitted.sum()) + (samples.first_step is not None)
    slopes = np.zeros((rows * samples.voltage_V.shape[1], len(parameters)))
    for move in moves:
        if move.is_read:
            change = on_curves.change(move.cells[log])
        else:
            change = next(runs).cells_V - base.cells_V
        for p, step in zip(move.places, move.steps, strict=True):
            slopes[:, p] = _slope(change / step, base, samples, _share(parameters[p], log))
    return slopes


@dataclass(frozen=True, slots=True)
class _OnCurves:
    """U(z) - I R0(z) of cells at some instants, and what it is read with.

    One temperature and one kind of cell, as in a battery.

    Parameters
    ----------
    cells : sequence of Cell
    at : Instants
    read_at : array (m, cells)
        Where R0 is read: its rise near empty comes earlier in the cold. [1]
    current_A : array (m,)
        Times R(T) / R(25 degC). [A]
    open_V, drop_V : array (m, cells)
        U(z) and I R0(z). [V]
    """

    cells: Sequence[Cell]
    at: Instants
    read_at: Floats
    current_A: Floats
    open_V: Floats
    drop_V: Floats

    @classmethod
    def of(cls, cells: Sequence[Cell], at: Instants) -> Self:
        """Read the curves of some cells where they are."""
        one = cells[0]
        factor = [arrhenius_factor(one.activation_J_mol, K) for K in at.temperature_K]
        current_A, read_at = at.current_A * factor, at.state
        if one.usable_part is not None:
            read_at = 1.0 - (1.0 - at.state) / one.usable_part(at.temperature_K)[:, None]
        read_at = one.ohm_read_at(read_at, current_A[:, None])
        nothing = np.zeros_like(at.state)
        unread = cls(cells, at, read_at, current_A, nothing, nothing)
        return replace(unread, open_V=unread._open_V(cells), drop_V=unread._drop_V(cells))

    def change(self, cells: Sequence[Cell]) -> Floats:
        """Return by how much other cells in the same states differ, (m, cells). [V]"""
        change = np.zeros_like(self.open_V)
        if not _same(cells[0].ocv_V, self.cells[0].ocv_V):
            change += self._open_V(cells) - self.open_V
        pairs = zip(cells, self.cells, strict=True)
        if not all(_same(one.ohmic_ohm, other.ohmic_ohm) for one, other in pairs):
            change -= self._drop_V(cells) - self.drop_V
        return change

    def _open_V(self, cells: Sequence[Cell]) -> Floats:  # noqa: N802 - the unit as printed
        """All cells have one curve, see `Recipe`. [V]"""
        return cells[0].ocv_V(self.at.state)

    def _drop_V(self, cells: Sequence[Cell]) -> Floats:  # noqa: N802 - the unit as printed
        read = [cell.ohmic_ohm(self.read_at[:, k]) for k, cell in enumerate(cells)]
        return self.current_A[:, None] * np.column_stack(read)


def _same(one: Curve, other: Curve) -> bool:
    """Tell whether two curves read the same everywhere between their ends."""
    if one is other:
        return True
    alike = np.array_equal(one.knots, other.knots)
    return alike and np.array_equal(one.coefficients, other.coefficients)


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
    left, logged = as_logged(base.cells_V, samples) - samples.voltage_V, as_logged(own, samples)
    slope = logged / samples.sd_V * tamed(left / samples.sd_V)
    step = samples.first_step
    drops = step.drop(logged) * tamed(step.drop(left)) if step else np.empty(0)
    return np.concatenate([slope[samples.fitted].ravel(), drops])
