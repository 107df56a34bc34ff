"""Bands of percentiles along a line: drawn, averaged where much switches, marked where they end."""

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from bankSim.kernels.arrays import Floats
from bankSim.model.load import Flags
from bankSim.show.looks import INK
from bankSim.show.thin import smoothing_width

if TYPE_CHECKING:
    from matplotlib.axes import Axes

OFTEN = 30
JUMP = 0.1  # of the range in which a line usually is
LOW, QUARTER, MEDIAN, THREE, HIGH = range(5)
WIDE_ALPHA, NARROW_ALPHA = 0.20, 0.35
EDGE_PT = 0.6
END_LOOK: dict[str, Any] = {
    "marker": "o",
    "markerfacecolor": "white",
    "linestyle": "none",
    "zorder": 5,
}


def band_legend(*, ends: bool) -> dict[str, Any]:
    """Return marks and words that explain `draw_bands`, in grey; with the rings of `mark_ends`."""
    from matplotlib.lines import Line2D
    from matplotlib.patches import Patch

    ring = {
        "5, 50, 95 % of the runs have ended": Line2D([], [], color=INK, markersize=5, **END_LOOK)
    }
    return {
        "median of the draws": Line2D([], [], color=INK, linewidth=1.6),
        "25 to 75 %": Patch(facecolor=INK, alpha=WIDE_ALPHA + NARROW_ALPHA, linewidth=0),
        "5 to 95 %": Patch(facecolor=INK, alpha=WIDE_ALPHA, linewidth=0),
        **(ring if ends else {}),
    }


def draw_bands(axes: "Axes", x: Floats, five: Floats, colour: str) -> None:
    """Draw 5-95 % pale, 25-75 % darker, and the median.

    Parameters
    ----------
    axes : Axes
    x : array (t,)
        In the unit of the axis.
    five : array (5, t)
        At 5, 25, 50, 75 and 95 %; NaN where a line has ended. In the unit of the axis.
    colour : str
    """
    for low, high, alpha in ((LOW, HIGH, WIDE_ALPHA), (QUARTER, THREE, NARROW_ALPHA)):
        axes.fill_between(x, five[low], five[high], color=colour, alpha=alpha, linewidth=0)
    for edge in (LOW, HIGH):
        axes.plot(x, five[edge], color=colour, linewidth=EDGE_PT)
    axes.plot(x, five[MEDIAN], color=colour, linewidth=1.6)


def mark_ends(axes: "Axes", x: Floats, five: Floats, ended: Flags, colour: str) -> None:
    """Set a ring at the end of the 5 %, the middle and the 95 % line where draws end there.

    Parameters
    ----------
    axes, x, five, colour
        As in `draw_bands`. In the units of the axes.
    ended : array (5,)
        Which lines stop because draws end.
    """
    for place in (MEDIAN, LOW, HIGH):
        there = np.flatnonzero(np.isfinite(five[place]))
        if not (there.size and ended[place]):
            continue
        end = there[-1]
        if place != MEDIAN and five[place][end] == five[MEDIAN][end]:
            continue
        size = 6.0 if place == MEDIAN else 4.0
        axes.plot(x[end], five[place][end], color=colour, markersize=size, **END_LOOK)


def switching_width(x: Floats, lines: Sequence[Floats]) -> float | None:
    """Return over how long lines are averaged where one of them jumps often; None: none does.

    Unit: [unit of x]

    It is whole periods of the line that jumps most, in units of x.
    """
    ups = [_ups(x, line) for line in lines]
    most = max(ups, key=lambda one: one.size, default=np.empty(0))
    if most.size <= OFTEN:
        return None
    return smoothing_width(x, most)


def _ups(x: Floats, y: Floats) -> Floats:
    known = np.isfinite(y)
    x, y = x[known], y[known]
    if y.size < 2:
        return np.empty(0)
    reach = float(np.subtract(*np.percentile(y, (95.0, 5.0))))
    return x[1:][(np.diff(y) > JUMP * reach) & (reach > 0.0)]


def averaged(x: Floats, y: Floats, width: float | None, apart: float = math.nan) -> Floats:
    """Return the running average of a line; it begins and ends half a width inside its stretches.

    Unit: [unit of y]

    Parameters
    ----------
    x, y : array (t,)
        NaN where there is no line. [unit of each axis]
    width : float or None
        In units of x; None: the line itself is returned, as are stretches that are shorter.
    apart : float
        No average reaches across this value, such as the 0 V of a dead bus. [unit of y]
    """
    if width is None:
        return y
    live = np.isfinite(y) & (y != apart)
    edges = np.flatnonzero(np.diff(live.astype(int), prepend=0, append=0))
    mean = y.copy()
    for first, end in edges.reshape(-1, 2):
        at, own = x[first:end], y[first:end]
        if at[-1] - at[0] > width:
            mean[first:end] = _means(at, own, width)
    return mean


def _means(x: Floats, y: Floats, width: float) -> Floats:
    half, near = width / 2.0, 1e-9 * width
    area = np.concatenate([[0.0], np.cumsum(np.diff(x) * (y[1:] + y[:-1]) / 2.0)])
    mean = (np.interp(x + half, x, area) - np.interp(x - half, x, area)) / width
    return np.where((x >= x[0] + half - near) & (x <= x[-1] - half + near), mean, np.nan)
