"""The solver of this project as a contender."""

import numpy as np

from bankSim.kernels import arrays as k
from bankSim.sim.engine import Engine
from benchmarks.outcome import Outcome
from benchmarks.timing import stopwatch

LEAST_ABSOLUTE_A = 1e-12


def engine(bank, tolerance):
    return Engine(bank, tolerance, max(0.1 * tolerance, LEAST_ABSOLUTE_A), keep_trace=False)


def run(bank, tolerance):
    """March step by step and read the charge at each cut-out."""
    going, charges, times = engine(bank, tolerance), [], []
    over = False
    while not over:
        known, so_far = len(going.events), going.run.tally["out"] / 3600.0
        over = going.go_on(1)  # what is due at this instant happens first, then one step
        for event in going.events[known:]:
            if event[1] == k.TRIP:
                charges.append(so_far)
                times.append(float(event[0]))
    clock = going.run.clock[0]
    steps = int(clock["steps"] - clock["rejected"])
    return Outcome(np.array(charges), np.array(times), steps)


def seconds(bank, tolerance):
    """Time of one march; the packing of the bank into arrays before it is not counted. [s]"""
    return stopwatch(engine(bank, tolerance).finish)


def seconds_with_packing(bank, tolerance):
    """Time of one march with the packing. [s]"""
    return stopwatch(lambda: engine(bank, tolerance).finish())
