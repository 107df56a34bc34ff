"""Lines that switch often, window by window: the least, the most and the average in each."""

import itertools
from dataclasses import dataclass

import numpy as np

from bankSim.model.curve import Floats
from bankSim.show.causes import cut_outs
from bankSim.sim.result import Result

MOST_SWITCHINGS = 60  # of chargers; more of them are a duty, which averages are for
NEAR = 1e-9  # of the reach of x, within which instants are one


@dataclass(frozen=True, eq=False, slots=True)
class Windows:
    """Steps over windows, each with its begin and its end.

    Parameters
    ----------
    x : array (2 w,)
        Begin and end of each window. [unit of x]
    low, high, mean : array (2 w,)
        Both values of a window are the same. [unit of y]
    """

    x: Floats
    low: Floats
    high: Floats
    mean: Floats


def switchings_s(result: Result) -> Floats:
    """Return the instants that no window reaches over: cut-outs, and chargers that switch. [s]"""
    bank = result.scenario.bank
    edges = [one.schedule.edges_s(bank.duration_s, bank.starts_at_s) for one in bank.chargers]
    switched = np.unique(np.concatenate([np.empty(0), *edges]))
    if switched.size > MOST_SWITCHINGS:
        switched = np.empty(0)
    outs = np.array([event.time_s for event in cut_outs(result)])
    return np.unique(np.concatenate([outs, switched]))


def windows_between(x: Floats, y: Floats, width: float, breaks: Floats) -> Windows:
    """Return least, most and average of a line in windows that begin anew at each break.

    The last window before a break takes in what is left, so it is less than twice as wide.

    Parameters
    ----------
    x : array (n,)
        Not falling; a repeated x is a jump. [any unit]
    y : array (n,)
        No NaN. [any unit]
    width : float
        More than 0. [unit of x]
    breaks : array (k,)
        Rising. [unit of x]
    """
    found: list[tuple[float, float, float, float, float]] = []
    if x.size < 2 or x[-1] <= x[0]:
        return Windows(x, y, y, y)
    near = NEAR * float(x[-1] - x[0])
    inner = breaks[(breaks > x[0] + near) & (breaks < x[-1] - near)]
    for low, high in itertools.pairwise([x[0], *inner, x[-1]]):
        part_x, part_y = _stretch(x, y, low, high, near)
        count = max(int((high - low + near) / width), 1)
        edges = np.append(low + width * np.arange(count), high)
        area = np.concatenate([[0.0], np.cumsum(np.diff(part_x) * (part_y[1:] + part_y[:-1]) / 2)])
        means = np.diff(_areas(part_x, part_y, area, edges)) / np.diff(edges)
        for begin, end, mean in zip(edges[:-1], edges[1:], means, strict=True):
            first, last = np.searchsorted(part_x, (begin - near, end + near))
            at_ends = np.interp((begin, end), part_x, part_y)
            own = np.concatenate([at_ends, part_y[first:last]])
            found.append((begin, end, own.min(), own.max(), mean))
    begins, ends, least, most, mean = np.array(found).T
    return Windows(
        np.stack([begins, ends], axis=1).ravel(),
        *(np.repeat(values, 2) for values in (least, most, mean)),
    )


def _stretch(x: Floats, y: Floats, low: float, high: float, near: float) -> tuple[Floats, Floats]:
    """Return a line from one break to the next: after the jump at the first, before the other's."""
    first, last = int(np.searchsorted(x, low + near)), int(np.searchsorted(x, high - near)) - 1
    first -= int(first > 0 and bool(x[first - 1] >= low - near))
    last += int(last + 1 < x.size and bool(x[last + 1] <= high + near))
    part_x, part_y = x[first : last + 1], y[first : last + 1]
    begin, end = np.interp((low, high), x, y)
    if part_x.size == 0:
        return np.array([low, high]), np.array([begin, end])
    begin = part_y[0] if part_x[0] <= low + near else begin
    end = part_y[-1] if part_x[-1] >= high - near else end
    return (
        np.concatenate([[low], part_x, [high]]),
        np.concatenate([[begin], part_y, [end]]),
    )


def _areas(x: Floats, y: Floats, area: Floats, at: Floats) -> Floats:
    """Return the integral of a line up to some places, where it is known at its rows."""
    row = np.clip(np.searchsorted(x, at, side="right") - 1, 0, x.size - 2)
    length, step = x[row + 1] - x[row], at - x[row]
    slope = (y[row + 1] - y[row]) / np.where(length > 0.0, length, np.inf)
    return np.asarray(area[row] + step * (y[row] + 0.5 * slope * step))
