"""``python -m benchmarks [--short] [--write]``: run everything and print the tables."""

import argparse
import platform
import sys

import numpy as np

from benchmarks.banks import pair, tabled_pair, without_charge_lag
from benchmarks.draws import draws_table
from benchmarks.equal_error import equal_error_tables
from benchmarks.growth import battery_table, hour_table
from benchmarks.hybrid import hybrid_table
from benchmarks.measured import measured_table
from benchmarks.page import page, run_all, write
from benchmarks.screen import screen_table
from benchmarks.starts import start_table

TARGETS = (2e-4, 2e-5)
WORDS = """
ms a run     processor time; median over rounds in which all take turns
noise        (slowest - fastest) / median of the rounds
error        relative; the worst of the Ah of any battery at any cut-out, and of the cut-out times
setting      the cheapest one that meets the target together with all finer ones that were tried
the twin     the equations of any bank in plain NumPy (bankSim.crosscheck)
lean         the equations of this kind of bank, state reduced to 5 numbers a battery, compiled;
             what a charge meets near full (theory 4.4) is left out of these two banks for all
ngspice      its process, less one for the same netlist whose transient ends at once
"""


OPENING = (
    "All tables of speed, as `python -m benchmarks --write` printed them. Ratios are taken within "
    "one run, contenders taking turns, so that a slow spell of the machine meets all of them; "
    "seconds by themselves belong to this machine. How exact the answers are stands in "
    "[accuracy.md](accuracy.md).",
)


def main(arguments=None):
    parser = argparse.ArgumentParser(prog="python -m benchmarks", description=__doc__)
    parser.add_argument("--short", action="store_true", help="smaller banks, fewer repeats")
    parser.add_argument("--write", action="store_true", help="write docs/benchmarks.md")
    asked = parser.parse_args(arguments)
    print(f"Python {platform.python_version()}, NumPy {np.__version__}, {platform.machine()}")
    print(WORDS)
    tables, lines = run_all(_tables(asked.short))
    if asked.write:
        short = "The short form (`--short`): smaller banks, fewer repeats."
        form = short if asked.short else "The full form."
        words = f"```text\n{WORDS.strip()}\n```"
        print(write("benchmarks.md", page("Benchmarks", [*OPENING, form, *lines, words], tables)))
    return 0


def _tables(short):
    """Measure one table after the other; yield each with its lines."""
    size, rounds = (0.03, 2) if short else (1.0, 7)
    for title, bank in _banks(size, short):
        targets = TARGETS[:1] if short else TARGETS
        found, lines = equal_error_tables(bank, title, targets, rounds, short=short)
        for table in found:
            yield table, lines if table is found[-1] else ()
    yield hybrid_table(0.005 if short else 1.0, rounds)
    yield battery_table((2, 4) if short else (2, 4, 8, 16, 32), rounds)
    yield hour_table(size, rounds)
    yield draws_table(0.03 if short else 1.0, rounds, 50 if short else 5000)
    yield measured_table(20_000 if short else 1_000_000, rounds)
    yield start_table(1 if short else 5, cold=not short), ()
    yield screen_table(*((1, 2) if short else (20, 6)))


def _banks(size, short):
    """Titles and banks: the program's own smooth curve, and a table as people bring one."""
    yield "Two batteries, smooth curve", without_charge_lag(pair(size))
    if not short:
        yield "Two batteries, table of 23 rows", without_charge_lag(tabled_pair())


if __name__ == "__main__":
    sys.exit(main())
