"""The voltage curve that a slow, nearly complete discharge shows."""

from dataclasses import dataclass

import numpy as np
from scipy.optimize import isotonic_regression

from bankSim.measured.log import Log
from bankSim.model.curve import Floats

SLOWEST_H = 12.0  # a discharge that takes longer than this counts as slow
STEADY = 0.05  # of the mean current: its spread over a slow discharge
COMPLETE = 0.9  # of the largest charge that any log gives
GRID = 180  # rows of the curve
SEAM = (0.2, 0.3)  # of the charge: from the curve of one cell to the mean of all
LEAST_RISE_V = 1e-6


@dataclass(frozen=True, eq=False)
class SlowCurve:
    """Voltage of one cell over state of charge during a slow discharge.

    Parameters
    ----------
    z : array (m,)
        Rising from 0, where the discharge ended, to 1, where it began. [1]
    voltage_V : array (m,)
        Rising; under the small current. [V]
    current_A : float
        [A]
    charge_Ah : float
        What the discharge gave. [Ah]
    log : int
        Number of the log, from 0.
    """

    z: Floats
    voltage_V: Floats
    current_A: float
    charge_Ah: float
    log: int


def slow_curve(log: Log, number: int, cells: int, largest_Ah: float) -> SlowCurve | None:
    """Return the curve of a log if it is one slow, steady, nearly complete discharge.

    Parameters
    ----------
    log : Log
    number : int
        Its place among all logs, from 0.
    cells : int
        In series.
    largest_Ah : float
        Largest charge that any of the logs gives. [Ah]
    """
    charge = log.counted_Ah()
    hours = float(log.time_s[-1]) / 3600.0
    if hours <= 0.0 or charge[-1] < COMPLETE * largest_Ah or charge[-1] / hours <= 0.0:
        return None
    flowing = log.current_A > 0.5 * float(np.median(log.current_A))
    mean_A = float(log.current_A[flowing].mean())
    drawn_h = float(charge[-1]) / mean_A
    if drawn_h < SLOWEST_H or drawn_h < 0.9 * hours:
        return None
    if float(log.current_A[flowing].std()) > STEADY * mean_A:
        return None
    first, last = (int(place) for place in np.flatnonzero(flowing)[[0, -1]])
    low, high = float(charge[max(first - 1, 0)]), float(charge[min(last + 1, log.count - 1)])
    z = 1.0 - (charge - low) / (high - low)
    voltage = _one_cell(log, cells, last, z)
    grid, voltage = _smoothed(z[flowing][::-1], voltage[flowing][::-1])
    return SlowCurve(grid, voltage, mean_A, high - low, number)


def _one_cell(log: Log, cells: int, last: int, z: Floats) -> Floats:
    """Return the mean voltage of the cells; near empty that of the cell that ends it; (n,).

    Near empty unequal cells stand far apart, and their mean is the curve of none; elsewhere the
    mean is read more finely.
    """
    mean = log.voltage_V / cells
    if log.cells_V.shape[1] != cells or not np.isfinite(log.cells_V).all():
        return mean
    weakest = log.cells_V[:, int(np.argmin(log.cells_V[last]))]
    seam = (z > SEAM[0]) & (z < SEAM[1])
    shift = float((mean - weakest)[seam].mean()) if seam.any() else 0.0
    return np.where(z < np.mean(SEAM), weakest + shift, mean)


def _smoothed(z: Floats, voltage: Floats) -> tuple[Floats, Floats]:
    """Return rising rows: means over bins that are even in charge and in voltage, both."""
    rising = np.asarray(isotonic_regression(voltage).x)
    span = rising[-1] - rising[0] or 1.0
    place = (z - z[0]) / (z[-1] - z[0]) + (rising - rising[0]) / span  # 0 to 2
    edges = np.linspace(0.0, 2.0, GRID + 1)
    which = np.clip(np.searchsorted(edges, place, side="right") - 1, 0, GRID - 1)
    counts = np.bincount(which, minlength=GRID)
    used = counts > 0
    mean_z = np.bincount(which, z, GRID)[used] / counts[used]
    mean_V = np.bincount(which, voltage, GRID)[used] / counts[used]
    grid = np.concatenate([z[:1], mean_z, z[-1:]])
    level = np.concatenate([voltage[:1], mean_V, voltage[-1:]])
    kept = np.concatenate([[True], np.diff(grid) > 1e-6])
    grid, level = grid[kept], level[kept]
    grid[0], grid[-1] = 0.0, 1.0
    level = np.asarray(isotonic_regression(level).x)
    return grid, level + LEAST_RISE_V * np.arange(level.size)
