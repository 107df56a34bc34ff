"""How often a logger must look so that its ampere-hours are right."""

from dataclasses import dataclass

import numpy as np

from bankSim.kernels.arrays import Floats

CANDIDATES_S = (1.0, 2.0, 5.0, 10.0, 15.0, 20.0, 30.0, 60.0, 120.0, 300.0, 600.0)
PHASES = 24
DETUNED = (0.98, 0.99, 1.0, 1.01, 1.02)  # no load and no logger keeps its rhythm exactly
MOST_SAMPLES = 40_000  # of one count; shorter intervals are not tried


@dataclass(frozen=True, slots=True)
class SamplingError:
    """How far counting from samples may be off.

    Parameters
    ----------
    interval_s : float
    worst_percent : float
        Of the charge, over all phases of the sampling.
    """

    interval_s: float
    worst_percent: float


def resampled_errors(time_s: Floats, current_A: Floats, interval_s: float) -> Floats:
    """Return the error of the counted charge for samples at different phases; (PHASES,). [1]

    Parameters
    ----------
    time_s, current_A : array (n,)
        The course in straight pieces; a time that comes twice is a jump. [s], [A]
    interval_s : float
        Samples are joined by straight lines; before the first and after the last the value is
        held. [s]
    """
    time, current = _without_jumps(time_s, current_A)
    true = np.trapezoid(current, time)
    start, end = float(time[0]), float(time[-1])
    phases = start + interval_s * (np.arange(PHASES) + 0.5) / PHASES
    found = []
    for first in phases:
        instants = np.arange(min(first, end), end, interval_s)
        instants = instants if instants.size else np.array([end])
        seen = np.interp(instants, time, current)
        inside = np.trapezoid(seen, instants)
        ends = seen[0] * (instants[0] - start) + seen[-1] * (end - instants[-1])
        found.append((inside + ends) / true - 1.0)
    return np.array(found)


def _without_jumps(time_s: Floats, current_A: Floats) -> tuple[Floats, Floats]:
    """Return the course with times that strictly rise: of one instant the first and the last row.

    The last is put a nanosecond later.
    """
    first = np.concatenate([[True], np.diff(time_s) > 0.0])
    last = np.concatenate([np.diff(time_s) > 0.0, [True]])
    kept = first | last
    time, current, jumped = time_s[kept].copy(), current_A[kept], (last & ~first)[kept]
    time[jumped] += 1e-9 * np.maximum(1.0, np.abs(time[jumped]))
    return time, current


def sampling_errors(time_s: Floats, current_A: Floats) -> tuple[SamplingError, ...]:
    """Return the worst error of every usual interval that is shorter than the course."""
    whole_s = float(time_s[-1] - time_s[0])
    return tuple(
        SamplingError(one, _worst_percent(time_s, current_A, one))
        for one in CANDIDATES_S
        if whole_s / MOST_SAMPLES < one < whole_s / 4.0
    )


def _worst_percent(time_s: Floats, current_A: Floats, interval_s: float) -> float:
    """Return the worst error over all phases and slightly other intervals. [%]"""
    tried = [resampled_errors(time_s, current_A, interval_s * one) for one in DETUNED]
    return 100.0 * float(np.abs(np.array(tried)).max())


def shortest_on_s(time_s: Floats, current_A: Floats, least_A: float) -> float | None:
    """Return the shortest whole time for which the load is on; None when it does not switch. [s]"""
    on = (current_A > least_A).astype(int)
    change = np.diff(on)
    starts, ends = time_s[1:][change > 0], time_s[:-1][change < 0]
    if on[0]:
        starts = np.concatenate([time_s[:1], starts])
    count = min(starts.size, ends.size)
    if not count or change.size < 2 or np.count_nonzero(change) < 2:
        return None
    return float((ends[:count] - starts[:count]).min())


def longest_interval(errors: tuple[SamplingError, ...], allowed_percent: float) -> float | None:
    """Return the longest interval that, like all shorter ones, keeps within what is allowed. [s]"""
    good = None
    for one in errors:
        if one.worst_percent > allowed_percent:
            break
        good = one.interval_s
    return good
