"""What happened between two stretches of load: rest, charge, or something the log does not show."""

import numpy as np

from bankSim.measured.log import Log
from bankSim.measured.regained import UnderLoad, is_comparable, later_Ah, regained_Ah

LONGEST_UNSEEN_S = 1800.0  # without a sample, a battery may have been charged meanwhile
UNSEEN_STEPS = 5.0  # usual distances of samples; a slow log has no gap in each
SHUNT_A = 0.05  # a zero that is off by less is no charge, however long the rest
RAISED = 1.01  # of the voltage at rest before the load: no rest brings back more than was there
FEW, MOSTLY = 10, 90.0  # samples looked at before; percentile that a charger's hours may hide in
REGAINED_PART = 0.3  # of the Ah given before: a rest gives back less, unless it came early
REGAINED_OF_ALL = 0.2  # of the Ah before and after: lead-acid gives back less, whenever it rests
COLLAPSED = 0.95  # of the mean voltage under load: from there a rest lifts the voltage by much
RAISED_LOADED = 1.05  # of the first voltage under load, where no rest was seen before it


def returned_Ah(log: Log, last: int, again: int, on_A: float) -> float:  # noqa: N802 - unit
    """Return the charge taken in between two samples under load. [Ah]

    Parameters
    ----------
    log : Log
    last, again : int
        Last sample under load, and the first one under load again.
    on_A : float
        More than this is charge, whatever its length; less only where the mean of the rest is
        more than the zero of a shunt is off. [A]
    """
    inside = slice(last + 1, again)
    time, current = log.time_s[inside], log.current_A[inside]
    if time.size < 2:
        return 0.0
    strong = float(-np.trapezoid(np.where(current < -on_A, current, 0.0), time))
    weak = np.where(current < -on_A, 0.0, current)
    drift = float(-np.trapezoid(weak, time))
    if drift > SHUNT_A * float(time[-1] - time[0]):
        strong += float(-np.trapezoid(np.minimum(weak, 0.0), time))
    return abs(strong) / 3600.0


def usual_step_s(log: Log) -> float:
    """Return the usual distance of two samples, 0 where there is but one. [s]"""
    return float(np.median(np.diff(log.time_s))) if log.count > 1 else 0.0


def unseen_charge(
    log: Log, first: int, last: int, again: int, usual_s: float, loaded: UnderLoad
) -> bool:
    """Tell whether a battery may have been charged in a rest without the log showing it.

    It may where the log has no samples for long, or (a charger that does not run through the shunt)
    where the voltage stood higher than before the load, or stays higher under load after the rest
    than before it for a large part of the charge.

    Parameters
    ----------
    log : Log
    first, last : int
        First and last sample under load before the rest.
    again : int
        First sample under load after it.
    usual_s : float
        Usual distance of samples in this log. [s]
    loaded : UnderLoad
        Of this log.
    """
    longest_s = float(np.diff(log.time_s[last : again + 1]).max(initial=0.0))
    if longest_s > max(LONGEST_UNSEEN_S, UNSEEN_STEPS * usual_s):
        return True
    inside = log.voltage_V[last + 1 : again]
    if not inside.size:
        return False
    if first:
        level = RAISED * float(log.voltage_V[max(first - FEW, 0) : first].max())
    else:
        level = RAISED_LOADED * float(log.voltage_V[first])
    if float(np.percentile(inside, MOSTLY)) > level:
        return True
    return _much_regained(log, first, last, again, loaded)


def _much_regained(log: Log, first: int, last: int, again: int, loaded: UnderLoad) -> bool:
    """Tell whether a battery gives more after a rest than a rest gives back."""
    counted = loaded.counted_Ah
    given = max(float(counted[last] - counted[first]), 0.0)
    regained = regained_Ah(log, last, again, loaded)
    least = max(REGAINED_PART * given, REGAINED_OF_ALL * (given + later_Ah(log, again, loaded)))
    if regained <= least or not is_comparable(log, last, again, loaded):
        return False
    on = loaded.on[slice(*np.searchsorted(loaded.on, [first, last + 1]))]
    return bool(log.voltage_V[last] >= COLLAPSED * log.voltage_V[on].mean())
