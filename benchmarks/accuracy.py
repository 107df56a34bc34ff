"""``python -m benchmarks.accuracy [--short] [--write]``: the true error against the tolerance."""

import argparse
import sys
from statistics import median

from benchmarks.accuracy_banks import OWN_RUN, cases
from benchmarks.accuracy_measure import FINEST, error_of, march_seconds, truth_of
from benchmarks.drift import YEAR_H, drift_table
from benchmarks.page import page, run_all, write
from benchmarks.show import Table, plain

TOLERANCES = (1e-2, 1e-3, 1e-4, 2e-5, 1e-5, 1e-6, 1e-7)
USUAL = 2e-5
COLUMNS = (
    "tolerance", "Ah, relative", "of what is allowed", "event times, s", "bus rms, mV",
    "bus worst, mV", "steps tried", "time",
)  # fmt: skip
HOW = (
    "How far the solver is from the truth at each tolerance, for ten invented banks. The command "
    "that wrote this page: `python -m benchmarks.accuracy --write`.",
    '**Truth.** "twin": the same equations in plain NumPy, carried by SciPy\'s LSODA at 1e-9; it '
    'shares no code with the solver (`bankSim/crosscheck`). "closed form": derived by hand. "own '
    'run at 1e-9": the solver itself, so that it tells how fast the error falls, not whether the '
    "equations are solved rightly. The row at 1e-9 tells how far the solver and an independent "
    "truth agree: errors of that size belong to either.",
    "**Columns.** Ah: the worst of any battery, given or taken, at the end or at six tenths of the "
    "time, relative to all that had gone through it by then. Of what is allowed: the same as a "
    "part of what the two tolerances allow together; below 1 the promise is kept. Event times: the "
    "worst "
    'of all cut-outs, releases, load and charger switchings; "order differs" when not the same '
    "things happen in the same order. Bus: its voltage on rows of the timeline more than 3 s away "
    "from any switching. Time: processor time of a march, as a multiple of that at 2e-5, which "
    "single runs use; studies use 1e-2. The absolute tolerance, a millionth of the smallest label "
    "capacity per hour at 2e-5, is scaled with the relative one.",
    "The twin at 1e-9 is no finer than the solver at 1e-9: more than 1 in that row does not tell "
    "which of the two is off. Studies keep the usual absolute tolerance at 1e-2, so that less is "
    "allowed there than in that row.",
    "All this is the error of the solving. How well the equations describe a real battery is "
    "another matter, and the larger one.",
)


def main(arguments=None):
    parser = argparse.ArgumentParser(prog="python -m benchmarks.accuracy", description=__doc__)
    parser.add_argument("--short", action="store_true", help="less time, fewer truths by the twin")
    parser.add_argument("--write", action="store_true", help="write docs/accuracy.md")
    asked = parser.parse_args(arguments)
    tables, lines = run_all(_tables(asked.short))
    if asked.write:
        form = ["This is the short form."] if asked.short else []
        opening = [*HOW, promise_line(tables), *form, *lines]
        text = page("True error against tolerance", opening, tables)
        print(write("accuracy.md", text))
    return 0


def _tables(short):
    for case in cases(short=short):
        yield case_table(case, rounds=1 if short else 5)
    yield drift_table(240.0 if short else YEAR_H)


def promise_line(tables):
    """Say where an error is larger than the tolerances allow, from the tables as printed."""
    broken = [
        f"{table.title.partition(' (')[0]} at {row[0]} ({row[2]})"
        for table, _ in tables
        if table.columns == COLUMNS
        for row in table.rows
        if float(row[2]) > 1.0 and float(row[0]) > FINEST
    ]
    if not broken:
        return "**The promise is kept** in every row above 1e-9."
    return f"**The promise is not kept** here (times what is allowed): {'; '.join(broken)}."


def case_table(case, rounds):
    """Return the table of one bank, and lines."""
    truth = truth_of(case)
    tolerances = TOLERANCES if case.reference == OWN_RUN else (*TOLERANCES, FINEST)
    errors = {one: error_of(case.bank, one, truth) for one in tolerances}
    seconds = _seconds(case.bank, tolerances, rounds)
    rows = [_row(one, errors[one], seconds[one] / seconds[USUAL]) for one in tolerances]
    line = f"Batteries: {len(case.bank.batteries)}. Events: {len(truth.events)}."
    return Table(f"{case.name} (truth: {case.reference})", COLUMNS, rows), [line]


def _seconds(bank, tolerances, rounds):
    """Median of some rounds in which all take turns. [s]"""
    found = [{one: march_seconds(bank, one) for one in tolerances} for _ in range(rounds)]
    return {one: median(turn[one] for turn in found) for one in tolerances}


def _row(tolerance, error, ratio):
    late = f"{error.event_s:.1e}" if error.event_s < float("inf") else "order differs"
    return [
        f"{tolerance:g}", f"{error.charge:.1e}", plain(error.of_allowed), late,
        f"{1e3 * error.voltage_rms_V:.1e}", f"{1e3 * error.voltage_worst_V:.1e}",
        str(error.steps), plain(ratio),
    ]  # fmt: skip


if __name__ == "__main__":
    sys.exit(main())
