"""How the work grows with the number of batteries and with the hours."""

import math

from benchmarks import banks, ours
from benchmarks.show import Table, ms, percent
from benchmarks.timing import race

TOLERANCE = 1e-4
WIRINGS = {"equal leads": banks.equal_leads, "row, opposite ends": banks.in_a_row}
COLUMNS = ("steps tried", "ms a run", "noise", "us a step")


def battery_table(counts, rounds):
    """Return the table, and a line per wiring with the exponent of the growth."""
    every = {(name, n): make(n) for name, make in WIRINGS.items() for n in counts}
    steps, times = _race(every, rounds)
    rows = [
        [name, str(n), *_cells(steps[key], times[key]), f"{_per_step(key, steps, times) / n:.3f}"]
        for key in every
        for name, n in [key]
    ]
    lines = [_exponent_line(name, counts, steps, times) for name in WIRINGS]
    columns = ("wiring", "batteries", *COLUMNS, "us a step and battery")
    return Table("Growth with the number of batteries", columns, rows), lines


def hour_table(size, rounds):
    """Return the table: 54 h and ten times that, steady and on-off load."""
    loads = {"steady": banks.pair, "on-off": banks.duty}
    every = {(name, s): make(s) for name, make in loads.items() for s in (size, 10.0 * size)}
    steps, times = _race(every, rounds)
    rows = []
    for key, bank in every.items():
        hours = ours.run(bank, TOLERANCE).cut_out_s[-1] / 3600.0
        per_hour = f"{times[key].seconds / hours * 1e6:.2f}"
        rows.append([key[0], f"{hours:.1f}", *_cells(steps[key], times[key]), per_hour])
    columns = ("load", "hours", *COLUMNS, "us an hour")
    return Table("Growth with the hours, two batteries", columns, rows), []


def _race(every, rounds):
    steps = {key: _steps(bank) for key, bank in every.items()}
    runners = {key: _runner(bank) for key, bank in every.items()}
    return steps, race(runners, rounds)


def _steps(bank):
    return int(ours.engine(bank, TOLERANCE).finish().run.clock["steps"][0])


def _runner(bank):
    return lambda: ours.seconds(bank, TOLERANCE)


def _per_step(key, steps, times):
    return times[key].seconds / steps[key] * 1e6


def _cells(steps, timed):
    each = timed.seconds / steps * 1e6
    return [str(steps), ms(timed.seconds), percent(timed.spread), f"{each:.2f}"]


def _exponent_line(name, counts, steps, times):
    """Say by which power of the number of batteries the time of a step and of a run grows."""
    few, many = (name, counts[0]), (name, counts[-1])
    step = _per_step(many, steps, times) / _per_step(few, steps, times)
    run = times[many].seconds / times[few].seconds
    span = math.log(counts[-1] / counts[0])
    return (
        f"{name}: from {counts[0]} to {counts[-1]} batteries a step grows with the number to the "
        f"power {math.log(step) / span:.2f}, a run {math.log(run) / span:.2f} (1 is linear)."
    )
