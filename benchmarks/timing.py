"""Timing on a machine that others use as well: processor time, turns in rounds, medians, spread.

All contenders run on one core. On a busy machine a long run is interrupted and a short one is
not: the wall clock would flatter the quick, processor time does not.
"""

import resource
import time
from dataclasses import dataclass
from statistics import median

LEAST_S = 0.02  # usual least length of a turn, in as many runs as it takes
MOST_RUNS = 50


@dataclass(frozen=True)
class Timed:
    """Median over the rounds [s], and (slowest - fastest) / median as the noise [1]."""

    seconds: float
    spread: float


def race(runners, rounds, least_s=LEAST_S):
    """Time runners in turns, so that a slow spell of the machine meets all of them.

    Parameters
    ----------
    runners : dict of str to callable
        Each call does one run and returns its time in s.
    rounds : int
    least_s : float
        A turn lasts at least this long. [s]

    Returns
    -------
    times : dict of str to Timed
    """
    turns = {name: [] for name in runners}
    for _ in range(rounds):
        for name, run in runners.items():
            turns[name].append(_turn(run, least_s))
    return {name: sum_up(found) for name, found in turns.items()}


def stopwatch(function, *arguments):
    """Processor time of one call in this process. [s]"""
    start = time.process_time()
    function(*arguments)
    return time.process_time() - start


def processes_s():
    """Processor time of all processes that this one started and that have ended. [s]"""
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


def _turn(run, least_s):
    found, start = [], time.perf_counter()
    while not found or (time.perf_counter() - start < least_s and len(found) < MOST_RUNS):
        found.append(run())
    return median(found)


def sum_up(found):
    """Return the median of some times and their spread."""
    middle = median(found)
    return Timed(middle, (max(found) - min(found)) / middle)
