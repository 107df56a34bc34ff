"""What a log shows before and after a discharge: rest, charge, rebound."""

from dataclasses import dataclass

import numpy as np

from bankSim.measured.discharge import VANISHED, Discharge
from bankSim.measured.log import Log

TAIL_PART = 0.05  # of the Ah: a charge that ends with less current counts as full
UNTAPERED = 0.9  # of the usual current of a charge: one that ends with more has not tapered


@dataclass(frozen=True, slots=True)
class Before:
    """What preceded a discharge.

    Parameters
    ----------
    rest_s : float
        At rest right before; 0 where the log begins with the load on. [s]
    rest_V : float or None
        Voltage of the last sample before. [V]
    charged_Ah : float
        Charge taken in earlier in the log, since an earlier discharge. [Ah]
    tail_A : float or None
        Charge current when that charge ended, positive; None without a charge. [A]
    tail_V : float or None
        Voltage then. [V]
    usual_A : float or None
        Charge current for most of that charge, positive. [A]
    """

    rest_s: float
    rest_V: float | None
    charged_Ah: float
    tail_A: float | None
    tail_V: float | None
    usual_A: float | None = None

    @property
    def tapered(self) -> bool | None:
        """Whether its current fell at its end; None where no charge was seen."""
        if self.tail_A is None or self.usual_A is None:
            return None
        return self.tail_A < UNTAPERED * self.usual_A

    def full(self, capacity_Ah: float) -> bool | None:
        """Tell whether a charge seen in the log tapered off; None where no charge was seen."""
        return None if self.tail_A is None else self.tail_A <= TAIL_PART * capacity_Ah


@dataclass(frozen=True, slots=True)
class After:
    """What followed a discharge while the load stayed off.

    Parameters
    ----------
    rebound_V : float or None
        Rise from the last voltage under load; None where it vanished or nothing followed. [V]
    within_s : float
        How long was watched. [s]
    vanished : bool
        The terminals went dead.
    more_Ah : float
        Charge given later in the log, which is not counted. [Ah]
    """

    rebound_V: float | None
    within_s: float
    vanished: bool
    more_Ah: float


def before(log: Log, one: Discharge, previous: Discharge | None) -> Before:
    """Look at the time between an earlier discharge (or the start of the log) and this one."""
    begin = 0 if previous is None else previous.last + 1
    current = log.current_A[begin : one.first]
    time, voltage = log.time_s[begin : one.first], log.voltage_V[begin : one.first]
    if not current.size:
        return Before(0.0, None, 0.0, None, None)
    busy = np.flatnonzero(np.abs(current) > one.on_A)
    rests_from = time[busy[-1]] if busy.size else time[0]
    taking = np.flatnonzero(current < -one.on_A)
    charged = float(-np.trapezoid(np.minimum(current, 0.0), time) / 3600.0)
    return Before(
        float(time[-1] - rests_from),
        float(voltage[-1]),
        charged,
        float(-current[taking[-1]]) if taking.size else None,
        float(voltage[taking[-1]]) if taking.size else None,
        float(np.median(-current[taking])) if taking.size else None,
    )


def after(log: Log, one: Discharge) -> After:
    """Look at the time between the end of a discharge and whatever came next."""
    begin = one.last + 1
    on = np.flatnonzero(np.abs(log.current_A[begin:]) > one.on_A)
    stop = begin + int(on[0]) if on.size else log.count
    later = log.current_A[begin:]
    more = float(np.trapezoid(np.maximum(later, 0.0), log.time_s[begin:]) / 3600.0)
    voltage, time = log.voltage_V[begin:stop], log.time_s[begin:stop]
    if not voltage.size:
        return After(None, 0.0, False, max(more, 0.0))
    under_load = float(log.voltage_V[one.last])
    vanished = bool(voltage.min() < VANISHED * under_load)
    watched = float(time[-1] - log.time_s[one.last])
    rebound = None if vanished else float(voltage.max()) - under_load
    return After(rebound, watched, vanished, more)
