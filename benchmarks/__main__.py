"""``python -m benchmarks [--short]``: run everything and print the tables."""

import argparse
import platform
import sys
import time

import numpy as np

from benchmarks.banks import pair, tabled_pair
from benchmarks.draws import draws_table
from benchmarks.equal_error import equal_error_tables
from benchmarks.growth import battery_table, hour_table
from benchmarks.hybrid import hybrid_table
from benchmarks.measured import measured_table
from benchmarks.screen import screen_table
from benchmarks.show import show
from benchmarks.starts import start_table

TARGETS = (2e-4, 2e-5)
WORDS = """
ms a run     processor time; median over rounds in which all take turns
noise        (slowest - fastest) / median of the rounds
error        relative; the worst of the Ah of any battery at any cut-out, and of the cut-out times
setting      the cheapest one that meets the target together with all finer ones that were tried
the twin     the equations of any bank in plain NumPy (bankSim.crosscheck)
lean         the equations of this kind of bank, state reduced to 5 numbers a battery, compiled
ngspice      its process, less one for the same netlist whose transient ends at once
"""


def main(arguments=None):
    parser = argparse.ArgumentParser(prog="python -m benchmarks", description=__doc__)
    parser.add_argument("--short", action="store_true", help="smaller banks, fewer repeats")
    short = parser.parse_args(arguments).short
    began = time.perf_counter()
    print(f"Python {platform.python_version()}, NumPy {np.__version__}, {platform.machine()}")
    print(WORDS)
    size, rounds = (0.15, 3) if short else (1.0, 7)
    for title, bank in _banks(size, short):
        tables, lines = equal_error_tables(bank, title, TARGETS[:1] if short else TARGETS, rounds)
        for table in tables:
            show(table, lines if table is tables[-1] else ())
    show(*hybrid_table(0.1 if short else 1.0, rounds))
    show(*battery_table((2, 4, 8) if short else (2, 4, 8, 16, 32), rounds))
    show(*hour_table(size, rounds))
    show(*draws_table(0.25 if short else 1.0, rounds, 500 if short else 5000))
    show(*measured_table(50_000 if short else 1_000_000, rounds))
    show(start_table(2 if short else 5, cold=not short))
    show(*screen_table(3 if short else 20))
    print(f"Took {time.perf_counter() - began:.0f} s.")
    return 0


def _banks(size, short):
    """Titles and banks: the program's own smooth curve, and a table as people bring one."""
    yield "Two batteries, smooth curve", pair(size)
    if not short:
        yield "Two batteries, table of 23 rows", tabled_pair()


if __name__ == "__main__":
    sys.exit(main())
