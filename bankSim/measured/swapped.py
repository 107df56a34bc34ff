"""Refuses volts read as amperes: headers that stand over each other's columns."""

from collections.abc import Sequence

import numpy as np

from bankSim.measured.column import Choice, Column
from bankSim.measured.log import LogError
from bankSim.measured.plausible import SUM_FITS, sums_apart
from bankSim.model.curve import Floats
from bankSim.model.load import Flags
from bankSim.sim.numbers import number, quoted

NEAR_V = 0.2  # a voltage below is none, unless the battery is cut off
BATTERY_V = (2.0, 1_000.0)  # of whole batteries, from one cell on
LEAST_PART = 0.01  # of the samples without voltage although the current flows
MOST_PART = 0.5  # of the samples: as many need no other sign
RESTS_PART = 0.005  # of the samples: a current that rests as often is a current
BAND = 2.0  # highest to lowest voltage of a battery, without the few lowest and highest
SURELY = 0.9  # of the rows
PERCENTILES = 2.0, 98.0
FEW_LEVELS = 20  # different values: no battery's voltage takes so few while the current varies
HIGHER = 1.005  # of a battery's voltage at rest to that under load


def refuse_swapped(
    file: str, choice: Choice, columns: Sequence[Column],
    voltage_V: Floats, current_A: Floats, cells_V: Floats,
) -> None:  # fmt: skip
    """Refuse volts read as amperes, unless the person has named both columns.

    Parameters
    ----------
    file : str
    choice : Choice
    columns : sequence of Column
        All of the file.
    voltage_V, current_A : array (n,)
        As read from these columns. [V], [A]
    cells_V : array (n, m)
        NaN where missing. [V]

    Raises
    ------
    LogError
        Names both columns and the options that set it right.
    """
    if not choice.voltage or {choice.voltage, choice.current} <= choice.asked:
        return
    volts, amps = (quoted(columns[n - 1].name) for n in (choice.current, choice.voltage))
    if swapped(voltage_V, current_A, cells_V):
        why = (
            f"column {volts}, taken as current, reads like the sum of the cells, and {amps}, taken "
            "as voltage, does not"
        )
    elif not choice.charge and reads_swapped(voltage_V, current_A):
        low, high = np.percentile(np.abs(current_A), PERCENTILES)
        why = (
            f"column {amps}, taken as voltage, is 0 again and again while {volts}, taken as "
            f"current, never rests and lies between {number(low)} and {number(high)} like the "
            "voltage of a battery"
        )
    else:
        return
    raise LogError(
        f"{file}: {why}: expected --voltage {volts} --current {amps} (or the same ones, if the log "
        "is right)"
    )


def swapped(voltage_V: Floats, current_A: Floats, cells_V: Floats) -> bool:
    """Tell whether it is the current that reads like the sum of the cells, and not the voltage."""
    if sums_apart(voltage_V, cells_V) is None:
        return False
    total = cells_V.sum(axis=1)
    known = np.isfinite(total)
    off = np.abs(np.abs(current_A) - total)[known]
    return bool(np.mean(off < SUM_FITS * np.abs(total[known])) > SURELY)


def reads_swapped(voltage_V: Floats, current_A: Floats) -> bool:
    """Tell whether a voltage is 0 like a current at rest beside a current like a voltage.

    Current without voltage is a short, or a lead of the meter that is off. So there must be more:
    no voltage most of the time, or few different values, or a "current" that is higher then, as a
    voltage at rest is: on the whole (an emptied battery rests lower than it was), or whenever it is
    switched.

    Parameters
    ----------
    voltage_V, current_A : array (n,)
        As read. [V], [A]
    """
    size, none = np.abs(current_A), np.abs(voltage_V) < NEAR_V
    flows = size >= BATTERY_V[0]
    part = float(np.mean(none & flows))
    if (
        part < LEAST_PART
        or np.mean(~flows & ~none) > RESTS_PART
        or not _like_volts(current_A[flows])
    ):
        return False
    if part >= MOST_PART:
        return True
    if not np.any(flows & ~none):
        return False
    levels = np.unique(voltage_V[flows]).size
    higher = np.median(size[flows & none]) > HIGHER * np.median(size[flows & ~none])
    return bool(
        higher
        or _sags(size, none)
        or levels <= min(FEW_LEVELS, np.unique(current_A[flows]).size - 1)
    )


def _sags(size: Floats, none: Flags) -> bool:
    """Tell whether a "current" is higher on that side of every switching where no voltage is."""
    edges = np.flatnonzero(none[1:] != none[:-1])
    before, after = size[edges], size[edges + 1]
    gone, there = np.where(none[edges], (before, after), (after, before))
    return bool(edges.size and np.all(gone > HIGHER * there))


def _like_volts(values: Floats) -> bool:
    """Tell whether values lie together in the range of batteries, all of one sign."""
    low, high = np.percentile(np.abs(values), PERCENTILES)
    one_signed = values.min() > 0.0 or values.max() < 0.0
    return bool(one_signed and low >= BATTERY_V[0] and high <= min(BATTERY_V[1], BAND * low))
