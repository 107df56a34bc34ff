"""Makes long lines short enough to draw, without losing a peak."""

import itertools

import numpy as np

from bankSim.model.curve import Floats

BUCKETS = 1200
MEANS = 600
STRETCHES = 60


def thin(x: Floats, y: Floats, buckets: int = BUCKETS) -> tuple[Floats, Floats]:
    """Keep the first, lowest, highest and last point of each bucket of neighbouring points.

    Parameters
    ----------
    x, y : array (n,)
        A line; repeated x are allowed. [any units]
    buckets : int
        At most 4 times as many points are kept.

    Returns
    -------
    x, y : array (m,)
        The line itself when it is short already; the ends and both extremes always stay.
        [any units]
    """
    if x.size <= 4 * buckets:
        return x, y
    edges = np.linspace(0, x.size, buckets + 1).astype(int)
    kept = [
        np.array([low, low + np.argmin(y[low:high]), low + np.argmax(y[low:high]), high - 1])
        for low, high in itertools.pairwise(edges)
    ]
    index = np.unique(np.concatenate(kept))
    return x[index], y[index]


def means(x: Floats, y: Floats, width: float, points: int = MEANS) -> tuple[Floats, Floats]:
    """Running average of a line over `width`, centred; half a width short at both ends.

    Parameters
    ----------
    x : array (n,)
        Not falling; a repeated x is a jump. [any unit]
    y : array (n,)
        [any unit]
    width : float
        More than 0, less than the reach of x. [unit of x]
    points : int

    Returns
    -------
    x, mean : array (points,)
        [any unit]
    """
    area = np.concatenate([[0.0], np.cumsum(np.diff(x) * (y[1:] + y[:-1]) / 2.0)])
    half = width / 2.0
    at = np.linspace(x[0] + half, max(x[-1] - half, x[0] + half), points)
    return at, (np.interp(at + half, x, area) - np.interp(at - half, x, area)) / width


def means_between(x: Floats, y: Floats, width: float, breaks: Floats) -> tuple[Floats, Floats]:
    """Running average as `means`, anew after each break; a gap (NaN) stands at the breaks.

    A stretch that is no longer than `width` gets its plain mean.

    Parameters
    ----------
    x, y : array (n,)
        As in `means`. [any units]
    width : float
        [unit of x]
    breaks : array (k,)
        Rising. [unit of x]

    Returns
    -------
    x, mean : array (m,)
        [any units]
    """
    edges = np.concatenate([[-np.inf], breaks, [np.inf]])
    parts: list[tuple[Floats, Floats]] = []
    for low, high in itertools.pairwise(edges):
        first, last = np.searchsorted(x, low, "right"), np.searchsorted(x, high, "left")
        part_x, part_y = x[first:last], y[first:last]
        if part_x.size < 2 or part_x[-1] <= part_x[0]:
            continue
        if part_x[-1] - part_x[0] > width:
            parts.append(means(part_x, part_y, width))
        else:
            whole = float(np.trapezoid(part_y, part_x) / (part_x[-1] - part_x[0]))
            parts.append((part_x[[0, -1]], np.array([whole, whole])))
        parts.append((part_x[-1:], np.array([np.nan])))
    if not parts:
        return x, y
    return np.concatenate([at for at, _ in parts]), np.concatenate([mean for _, mean in parts])


def rises(x: Floats, y: Floats) -> Floats:
    """Where a line jumps up by more than a tenth of the range in which it usually is.

    Unit: [unit of x]
    """
    if y.size < 2:
        return np.empty(0)
    reach = float(np.subtract(*np.percentile(y, (95.0, 5.0))))
    return x[1:][(np.diff(y) > 0.1 * reach) & (reach > 0.0) & (np.diff(x) <= 1e-6 * np.ptp(x))]


def smoothing_width(x: Floats, up: Floats) -> float:
    """Whole periods of the switching, about a `STRETCHES`th of the line; no beat is left then.

    Unit: [unit of x]
    """
    period = float(np.median(np.diff(up)))
    return period * max(1.0, round(float(np.ptp(x)) / STRETCHES / period))
