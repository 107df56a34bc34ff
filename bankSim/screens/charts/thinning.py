"""Lines short enough for a screen: thinned within a window, or averaged where much switches."""

import math
from dataclasses import dataclass

import numpy as np

from bankSim.kernels.arrays import Floats, Ints
from bankSim.show.lines import time_unit

POINTS = 600
OF_A_BUCKET = 4  # first, lowest, highest, last
MOST_KEPT = 200


@dataclass(frozen=True, eq=False, slots=True)
class Window:
    """The stretch of a run that is shown. [s]

    Parameters
    ----------
    low_s, high_s : float
    factor : float
        Seconds in a unit of the axis.
    unit : str
        s, min or h.
    """

    low_s: float
    high_s: float
    factor: float
    unit: str

    @property
    def span_s(self) -> float:
        """Its length. [s]"""
        return self.high_s - self.low_s

    @property
    def digits(self) -> int:
        """Digits behind the point that tell instants apart: 2, more of a short window."""
        return digits_of(self.span_s / self.factor)


def digits_of(span: float) -> int:
    """Return how many digits behind the point tell a hundredth of a span, 2 at least.

    In the unit of the axis.
    """
    return max(2, 2 - math.floor(math.log10(max(span, 1e-4))))


def window_of(end_s: float, window_h: tuple[float, float] | None, beyond_s: float = 0.0) -> Window:
    """Return the window within a run; all of it where none is asked for or left.

    Parameters
    ----------
    end_s : float
        End of the run. [s]
    window_h : (float, float) or None
        [h]
    beyond_s : float
        Where other lines end, which are shown too when there is no window. [s]
    """
    low_s, high_s = 0.0, max(end_s, beyond_s)
    if window_h is not None:
        begin, end = sorted(3600.0 * hour for hour in window_h)
        begin, end = max(begin, 0.0), min(end, high_s)
        if begin < end_s and end > begin:
            low_s, high_s = begin, end
    factor, unit = time_unit(high_s)  # as sentences tell the time, however short the window
    return Window(low_s, high_s, factor, unit)


def inside(time: Floats, window: Window) -> slice:
    """Return the places of the instants in the window and one more on either side. [s]"""
    low = max(int(np.searchsorted(time, window.low_s)) - 1, 0)
    high = min(int(np.searchsorted(time, window.high_s, side="right")) + 1, time.size)
    return slice(low, high)


def kept(time: Floats, values: Floats, always: Floats, points: int = POINTS) -> Ints:
    """Return the places of a line that are drawn.

    Of each even stretch of time the first, the lowest, the highest and the last point are among
    them, and all points at instants that must stay.

    Parameters
    ----------
    time : array (n,)
        Not falling; repeated instants are jumps. [s]
    values : array (n,)
        NaN where there is no line; the ends of such gaps stay. [any unit]
    always : array (k,)
        Instants that must stay; of very many none. [s]
    points : int
        About so many are kept.
    """
    if time.size <= points:
        return np.arange(time.size)
    buckets = points // OF_A_BUCKET
    reach = max(float(time[-1] - time[0]), 1e-12)
    bucket = np.minimum(((time - time[0]) * (buckets / reach)).astype(np.int64), buckets - 1)
    starts = np.flatnonzero(np.diff(bucket, prepend=-1))
    parts = [starts, np.append(starts[1:], time.size) - 1]
    for extreme, fill in ((np.minimum, np.inf), (np.maximum, -np.inf)):
        filled = np.where(np.isfinite(values), values, fill)
        best = np.repeat(extreme.reduceat(filled, starts), np.diff(np.append(starts, time.size)))
        parts.append(_first_of_each(np.flatnonzero(filled == best), bucket))
    gaps = np.flatnonzero(np.diff(np.isfinite(values).astype(int)))
    parts += [gaps, gaps + 1]
    if always.size <= MOST_KEPT:
        low, high = (np.searchsorted(time, always, side=side) for side in ("left", "right"))
        held = [place for a, b in zip(low, high, strict=True) for place in (a, b - 1) if b > a]
        parts.append(np.array(held, dtype=np.int64))
    return np.unique(np.concatenate(parts))


def _first_of_each(places: Ints, bucket: Ints) -> Ints:
    """Return the first of the places that lie in the same bucket."""
    return np.asarray(places[np.diff(bucket[places], prepend=-1) != 0])
