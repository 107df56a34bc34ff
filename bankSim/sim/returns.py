"""What flows when a battery comes back in a run."""

from bisect import bisect_right
from collections.abc import Sequence

import numpy as np

from bankSim.kernels.arrays import AFTER, FIXED, PER_BATTERY
from bankSim.model.bank import Bank
from bankSim.model.curve import Floats
from bankSim.model.rule import Blocks
from bankSim.sim.events import BLOCK_WORD
from bankSim.sim.joining_result import Return
from bankSim.sim.result import MAY_RETURN, RELEASE, Event

LOOKED_AT_S = 3600.0
NO_CURRENT_A = 1e-6


def find_returns(
    bank: Bank, events: Sequence[Event], trace: Floats, end_s: float
) -> tuple[Return, ...]:
    """Return every release that opened a path of its battery again, in the order of time.

    Parameters
    ----------
    bank : Bank
    events : sequence of Event
        Of a run.
    trace : array
        Of that run, see `Result`. In the units of `Result`.
    end_s : float
        End of the run. [s]
    """
    names = [battery.name for battery in bank.batteries]
    found: dict[tuple[float, str], Return] = {}
    switched_s = trace[trace[:, 1] == AFTER, 0]
    own_s: dict[str | None, list[float]] = {}
    for event in events:
        own_s.setdefault(event.battery, []).append(event.time_s)
    for event in events:
        if event.battery is None or event.what not in (RELEASE, MAY_RETURN):
            continue
        number = names.index(event.battery)
        opened, at = _opened(trace, number, event.time_s), (event.time_s, event.battery)
        if opened and at not in found:
            until_s = _until(own_s[event.battery], event, switched_s, end_s)
            found[at] = _record(bank, trace, event, number, BLOCK_WORD[opened], until_s)
    return tuple(found.values())


def column(trace: Floats, battery: int, offset: int) -> Floats:
    """Return a column of a battery: 0 current, 1 voltage, 2 state of charge, 3 [K], 4 blocked."""
    rows: Floats = trace[:, FIXED + PER_BATTERY * battery + offset]
    return rows


def chargers_A(trace: Floats, chargers: int) -> Floats:  # noqa: N802 - the unit as printed
    """Return the currents of all chargers, how many there are given, (rows, chargers). [A]"""
    rows: Floats = trace[:, trace.shape[1] - chargers :]
    return rows


def rows_between(trace: Floats, start_s: float, end_s: float) -> Floats:
    """Return the rows from the last one at `start_s` to the first one at or after `end_s`.

    In the units of `Result`.

    At least one row, also where the two are one instant.
    """
    first = int(np.searchsorted(trace[:, 0], start_s, side="right")) - 1
    last = max(int(np.searchsorted(trace[:, 0], end_s, side="left")), first)
    return trace[first : last + 1]


def time_above(time_s: Floats, value: Floats, limit: float) -> float:
    """Return how long a value, straight between its rows, is above a limit. [s]

    Source: docs/theory.md, eq. 17.5.
    """
    return float(times_above(time_s, value, limit).sum())


def times_above(time_s: Floats, value: Floats, limit: float) -> Floats:
    """Same as `time_above`, one number for each step from row to row. [s]"""
    over = value - limit
    start, end = over[:-1], over[1:]
    spread = np.abs(start) + np.abs(end)
    part = np.divide(
        np.maximum(start, 0.0) + np.maximum(end, 0.0),
        spread,
        out=np.zeros_like(spread),
        where=spread > 0.0,
    )
    steps: Floats = np.diff(time_s) * part
    return steps


def _opened(trace: Floats, battery: int, time_s: float) -> Blocks | None:
    """Tell which directions were blocked just before an instant and are not just after."""
    before = np.searchsorted(trace[:, 0], time_s, side="left")
    after = np.searchsorted(trace[:, 0], time_s, side="right") - 1
    modes = column(trace, battery, 4)
    freed = int(modes[before]) & ~int(modes[after])
    return Blocks(freed) if freed else None


def _until(own_s: list[float], event: Event, switched_s: Floats, end_s: float) -> float:
    """Until the same battery's next event, anything else switches, an hour, or the end. [s]"""
    place = bisect_right(own_s, event.time_s)
    next_s = own_s[place] if place < len(own_s) else end_s
    after = int(np.searchsorted(switched_s, event.time_s, side="right"))
    least_s = float(switched_s[after]) if after < switched_s.size else end_s
    return min(next_s, least_s, event.time_s + LOOKED_AT_S, end_s)


def _record(
    bank: Bank, trace: Floats, event: Event, number: int, direction: str, until_s: float
) -> Return:
    battery, names = bank.batteries[number], [one.name for one in bank.batteries]
    rows = rows_between(trace, event.time_s, until_s)
    above_s = 0.0
    for sign, limit in (
        (1.0, battery.continuous_discharge_A),
        (-1.0, battery.continuous_charge_A),
    ):
        if limit is not None:
            above_s += time_above(rows[:, 0], sign * column(rows, number, 0), limit)
    level = column(rows, number, 2)
    held_Ah = float(np.mean([cell.charge_C for cell in battery.cells])) / 3600.0
    after = event.currents_after_A
    return Return(
        time_s=event.time_s,
        battery=battery.name,
        direction=direction,
        currents_A=event.currents_A,
        currents_after_A=after,
        gives=tuple(n for n, amps in zip(names, after, strict=True) if amps > NO_CURRENT_A),
        takes=tuple(n for n, amps in zip(names, after, strict=True) if amps < -NO_CURRENT_A),
        looked_at_s=until_s - event.time_s,
        above_label_s=above_s,
        given_Ah=float(level[0] - level[-1]) * held_Ah,
    )
