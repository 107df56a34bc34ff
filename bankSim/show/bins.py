"""Parts and means of spans within even bins of time, for drawings of any length of run."""

import numpy as np

from bankSim.model.curve import Floats
from bankSim.model.load import DAY_S, Flags
from bankSim.show.course import Course

BINS = 700
LONG_S = 20.0 * DAY_S


def edges_of(course: Course) -> Floats:
    """Even edges from the first instant to the last, (b + 1,); days for a run of many. [s]"""
    start_s, end_s = float(course.start_s[0]), float(course.end_s[-1])
    bins = round((end_s - start_s) / DAY_S) if by_day(end_s) else BINS
    return np.linspace(start_s, end_s, bins + 1)


def by_day(end_s: float) -> bool:
    """Tell whether a run is so long that whole days are drawn rather than instants."""
    return end_s > LONG_S


def mean_in(course: Course, values: Floats | Flags, edges_s: Floats) -> Floats:
    """Mean over each bin; of flags it is the part of the time.

    Parameters
    ----------
    course : Course
    values : array (m,)
        One a span; numbers or flags. [any unit]
    edges_s : array (b + 1,)
        [s]

    Returns
    -------
    means : array (b,)
        [unit of the values; 1 of flags]
    """
    ends = np.concatenate([[course.start_s[0]], course.end_s])
    area = np.concatenate([[0.0], np.cumsum(np.asarray(values, dtype=float) * course.length_s)])
    return np.asarray(np.diff(np.interp(edges_s, ends, area)) / np.diff(edges_s))


def most_in(course: Course, values: Floats, edges_s: Floats) -> Floats:
    """Largest value in each bin, (b,); arguments as in `mean_in`. [unit of the values]"""
    first = np.maximum(np.searchsorted(course.start_s, edges_s[:-1], side="right") - 1, 0)
    last = np.maximum(np.searchsorted(course.start_s, edges_s[1:], side="left"), first + 1)
    return np.array([values[a:b].max() for a, b in zip(first, last, strict=True)])
