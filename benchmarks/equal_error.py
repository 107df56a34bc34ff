"""Who is how fast at the same error."""

from dataclasses import dataclass
from typing import Any

from benchmarks.contenders import OURS, REFERENCE_RTOL, line_up
from benchmarks.outcome import errors
from benchmarks.show import Table, ms, percent, plain
from benchmarks.timing import race

COLUMNS = (
    "contender",
    "setting",
    "steps",
    "error Ah",
    "error cut-out",
    "ms a run",
    "noise",
    "times ours",
)


@dataclass(frozen=True)
class Entry:
    """The cheapest sound setting of a contender for one target."""

    contender: Any
    setting: float
    outcome: Any
    error: tuple[float, float]


def equal_error_tables(bank, title, targets, rounds, *, short=False):
    """Return one table per target, and lines on the reference and on what is missing."""
    field = line_up(bank, short=short)
    scans = {one.name: _scan(one, field.reference) for one in field.contenders}
    entries = {
        (target, one.name): cheapest(scans[one.name], target)
        for target in targets
        for one in field.contenders
    }
    times = race({key: _runner(entry) for key, entry in entries.items() if entry}, rounds)
    tables = [
        Table(
            f"{title}: relative error of Ah and of cut-out times at most {target:.0e}",
            COLUMNS,
            [_row(target, one.name, entries, times) for one in field.contenders],
        )
        for target in targets
    ]
    return tables, [*_check_lines(field), *field.missing]


def _scan(contender, reference):
    """Run all settings from coarse to fine."""
    found = []
    for setting in contender.settings:
        outcome = contender.run(setting)
        found.append(Entry(contender, setting, outcome, errors(outcome, reference)))
    return found


def cheapest(scan, target):
    """Return the coarsest setting that meets the target and beyond which all finer ones do.

    So no setting wins that meets the target by luck.
    """
    best = None
    for entry in reversed(scan):
        if max(entry.error) > target:
            break
        best = entry
    return best


def _runner(entry):
    return lambda: entry.contender.seconds(entry.setting)


def _row(target, name, entries, times):
    entry = entries[target, name]
    if entry is None:
        return [name, "none tried is good enough", *[""] * 6]
    timed = times[target, name]
    ours = times.get((target, OURS))
    return [
        name,
        f"{entry.contender.knob} {plain(entry.setting)}",
        str(entry.outcome.steps),
        f"{entry.error[0]:.1e}",
        f"{entry.error[1]:.1e}",
        ms(timed.seconds),
        percent(timed.spread),
        plain(timed.seconds / ours.seconds) if ours else "",
    ]


def _check_lines(field):
    lines = [f"Reference: {field.reference_name} at {REFERENCE_RTOL:.0e}, lean compiled equations."]
    for name, outcome in field.checks:
        charge, time = errors(outcome, field.reference)
        lines.append(f"{name} differs from it by {charge:.0e} in Ah and {time:.0e} in time.")
    return lines
