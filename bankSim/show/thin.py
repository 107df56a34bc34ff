"""Makes long lines short enough to draw, without losing a peak."""

import itertools

import numpy as np

from bankSim.model.curve import Floats

BUCKETS = 1200
MEANS = 90


def thin(x: Floats, y: Floats, buckets: int = BUCKETS) -> tuple[Floats, Floats]:
    """Keep the first, lowest, highest and last point of each bucket of neighbouring points.

    Parameters
    ----------
    x, y : array (n,)
        A line; repeated x are allowed.
    buckets : int
        At most 4 times as many points are kept.

    Returns
    -------
    x, y : array (m,)
        The line itself when it is short already; the ends and both extremes always stay.
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


def means(x: Floats, y: Floats, count: int = MEANS) -> tuple[Floats, Floats]:
    """Average over `count` equal stretches of x (trapezoids), given at their middles.

    Parameters
    ----------
    x : array (n,)
        Not falling; a repeated x is a jump.
    y : array (n,)

    Returns
    -------
    middle, mean : array (count,)
    """
    area = np.concatenate([[0.0], np.cumsum(np.diff(x) * (y[1:] + y[:-1]) / 2.0)])
    edges = np.linspace(x[0], x[-1], count + 1)
    mean = np.diff(np.interp(edges, x, area)) / np.diff(edges)
    return (edges[1:] + edges[:-1]) / 2.0, mean


def switchings(y: Floats) -> int:
    """Count the jumps of more than a tenth of the range between neighbouring points."""
    reach = float(np.ptp(y)) if y.size else 0.0
    return int(np.count_nonzero(np.abs(np.diff(y)) > 0.1 * reach)) if reach > 0.0 else 0
