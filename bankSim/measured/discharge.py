"""Finds the discharges in a log: where each starts, why it ended, what interrupted it."""

from dataclasses import dataclass
from enum import Enum
from itertools import pairwise

import numpy as np

from bankSim.measured.log import Log, LogError
from bankSim.measured.lost_rows import ALIKE_A, ALIKE_V
from bankSim.measured.regained import UnderLoad, regained_Ah
from bankSim.measured.rests import returned_Ah, unseen_charge, usual_step_s
from bankSim.model.curve import Floats
from bankSim.model.runs import runs_of

ON_PART = 0.05  # of the usual discharge current: above it the load is on
LEAST_ON_A = 0.02
SHORT_PAUSE_S = 1800.0  # a longer one after the voltage collapsed ends a discharge
FEW_RUNS = 3  # as many stretches of load are a test by pulses, whose rests may be long
RETURNED_PART = 0.01  # of the charge given so far: more charge in a pause ends a discharge
VANISHED = 0.5  # of the voltage before: below it the battery has opened its switch
TWITCH_PART, LAST_RUNS = 0.1, 25  # of the usual run before: a shorter one is no pulse of the test
NEAR = 3  # samples under load held against those on the other side of a silence
KNEE = 0.95  # of the mean voltage of the discharge: below it the voltage was collapsing


class Ending(Enum):
    """Why a discharge ended, as far as a log can tell."""

    CUT_OUT = "the battery cut out: its voltage vanished with the current"
    EMPTY = (
        "the current stopped while the voltage collapsed, and the voltage came back: the battery's "
        "protection or the load's own limit, the log cannot tell which"
    )
    WITH_LOG = "the log ends as the voltage collapses: the cut-out probably took the meter with it"
    END_V = "the end voltage asked for was reached"
    ABOVE_END_V = "the load stopped above the end voltage asked for"
    BY_HAND = "the current stopped while the voltage still stood: by hand, by a timer or by a fault"
    LOG_ENDED = "the log ends while the battery is still discharging"


COMPLETE = (Ending.CUT_OUT, Ending.EMPTY, Ending.WITH_LOG, Ending.END_V)


@dataclass(frozen=True, slots=True)
class Pause:
    """A rest, or a charge, inside a discharge.

    Parameters
    ----------
    at_s : float
        Since the start of the log. [s]
    length_s : float
        [s]
    returned_Ah : float
        Charge taken in meanwhile, 0 or more. [Ah]
    regained_Ah : float
        Given after it until the voltage was back where it stood before: what the rest, or a charge
        that the log does not show, may have given back at most. [Ah]
    silent : bool
        The voltage reads next to nothing in it, and goes on as before: a lead was off, or the
        logger lost its readings while the load ran on.
    """

    at_s: float
    length_s: float
    returned_Ah: float
    regained_Ah: float = 0.0
    silent: bool = False


@dataclass(frozen=True, slots=True)
class Discharge:
    """One discharge; indices are samples of its log.

    Parameters
    ----------
    first, last : int
        First and last sample with the load on; for an end voltage the last one above it.
    on_A : float
        Threshold above which the load counts as on. [A]
    ending : Ending
    end_s : float
        When it ended, where that lies between samples by an end voltage; else NaN. [s]
    pauses : tuple of Pause
    """

    first: int
    last: int
    on_A: float
    ending: Ending
    end_s: float
    pauses: tuple[Pause, ...]

    @property
    def complete(self) -> bool:
        """Whether the battery gave all that the end criterion allows."""
        return self.ending in COMPLETE


def find_discharges(
    log: Log, end_V: float | None = None, start_A: float | None = None
) -> list[Discharge]:
    """Return all discharges of a log in the order of time.

    A discharge starts when the current first rises above a threshold (5 % of the usual discharge
    current unless given). It goes on through rests of any length in which no charge to speak of
    is put back: what a battery gives before and after a rest is one capacity. It ends when it is
    charged (or may have been: see `unseen_charge`), when the battery's voltage vanishes, or
    collapses and no pulse like those before follows, or reaches `end_V`.

    Parameters
    ----------
    log : Log
    end_V : float or None
        End of the test by voltage, of the whole battery. [V]
    start_A : float or None
        Threshold. [A]

    Raises
    ------
    LogError
        When nothing is ever discharged.
    """
    threshold = _threshold(log) if start_A is None else start_A
    runs = runs_of(log.current_A > threshold)
    if not runs:
        raise LogError(
            f"{log.file}: no discharge above {threshold:.3g} A; expected one (the file was read as "
            f"{log.sign}: {log.sign_reason}; --sign discharge or charge sets it)"
        )
    groups = _joined(log, runs, threshold)
    return [_discharge(log, group, threshold, end_V) for group in groups]


def trace(log: Log, one: Discharge) -> tuple[Floats, Floats, Floats]:
    """Return time, current and voltage over a discharge, its edges included; each (n,). [s, A, V]

    The load went on and off somewhere between two samples: the current of the outer sample is
    taken as 0, so that a trapezoid counts half of that interval. A gap of the log behind the last
    sample counts as nothing: the load was seen off at its end, and may have gone off at once.
    """
    begin, stop = max(one.first - 1, 0), one.last + 1
    if np.isfinite(one.end_s):
        at, span = one.last, slice(begin, one.last + 1)
        near = log.time_s[at : at + 2]
        time = np.append(log.time_s[span], one.end_s)
        current = np.append(
            log.current_A[span], np.interp(one.end_s, near, log.current_A[at : at + 2])
        )
        voltage = np.append(
            log.voltage_V[span], np.interp(one.end_s, near, log.voltage_V[at : at + 2])
        )
    else:
        closed = sees_end(log, one)
        span = slice(begin, stop + 1 if closed else stop)
        time, voltage = log.time_s[span].copy(), log.voltage_V[span].copy()
        current = log.current_A[span].copy()
        if closed:
            current[-1] = 0.0
    if one.first > 0:
        current[0] = 0.0
    return time, current, voltage


def sees_end(log: Log, one: Discharge) -> bool:
    """Tell whether a sample follows the last one under load, with no gap of the log between."""
    gap = any(gap.before == one.last for gap in log.gaps)
    return one.last + 1 < log.count and not gap


def _threshold(log: Log) -> float:
    giving = log.current_A[log.current_A > LEAST_ON_A]
    usual = float(np.percentile(giving, 90.0)) if giving.size else 0.0
    return max(ON_PART * usual, LEAST_ON_A)


@dataclass(frozen=True, eq=False)
class _View:
    """What is worked out once for a log.

    Parameters
    ----------
    loaded : UnderLoad
    sums : pair of array (n,)
        Of `_sums`.
    on_A : float
        [A]
    usual_s : float
        Distance of samples. [s]
    """

    loaded: UnderLoad
    sums: tuple[Floats, Floats]
    on_A: float
    usual_s: float


def _joined(log: Log, runs: list[tuple[int, int]], threshold: float) -> list[list[tuple[int, int]]]:
    groups = [[runs[0]]]
    view = _View(UnderLoad.of(log, threshold), _sums(log), threshold, usual_step_s(log))
    for run in runs[1:]:
        if _goes_on(log, groups[-1], run, view):
            groups[-1].append(run)
        else:
            groups.append([run])
    return groups


def _goes_on(log: Log, group: list[tuple[int, int]], run: tuple[int, int], view: _View) -> bool:
    first, last = group[0][0], group[-1][1]
    counted = view.loaded.counted_Ah
    given = counted[last] - counted[first]
    returned = returned_Ah(log, last, run[0], view.on_A)
    return bool(
        returned <= RETURNED_PART * max(given, 0.0)
        and not unseen_charge(log, first, last, run[0], view.usual_s, view.loaded)
        and (not _vanished(log, last, run[0]) or _revived(log, group, run))
        and not (_fallen(log, first, last, view.sums) and _is_over(log, group, run))
    )


def _is_over(log: Log, group: list[tuple[int, int]], run: tuple[int, int]) -> bool:
    """Tell whether what comes after a collapse is no more of the test, but what a rest gave back.

    Short pauses belong to the test if load like that before follows; after long ones only a test
    by pulses goes on.
    """
    pause_s = log.time_s[run[0]] - log.time_s[group[-1][1]]
    rested = pause_s > SHORT_PAUSE_S and len(group) < FEW_RUNS
    return bool(rested or _short(log, group, run))


def _short(log: Log, group: list[tuple[int, int]], run: tuple[int, int]) -> bool:
    """Tell whether a run is but a twitch beside those before it, as of an empty battery."""
    lengths = [float(log.time_s[end] - log.time_s[begin]) for begin, end in group[-LAST_RUNS:]]
    own = float(log.time_s[run[1]] - log.time_s[run[0]])
    return own < TWITCH_PART * float(np.median(lengths))


def _vanished(log: Log, last: int, until: int) -> bool:
    after = log.voltage_V[last + 1 : until]
    return bool(after.size and after.min() < VANISHED * log.voltage_V[max(last - 1, 0)])


def _revived(log: Log, group: list[tuple[int, int]], run: tuple[int, int]) -> bool:
    """Tell whether a voltage that vanished for a short while goes on under load as before.

    A battery that cuts out falls before it, stands higher after it, or soon cuts out again; and its
    cells are seen while its terminals are dead.
    """
    last, again = group[-1][1], run[0]
    if log.time_s[again] - log.time_s[last] > SHORT_PAUSE_S or _short(log, group, run):
        return False
    cells = log.cells_V[last + 1 : again]
    if cells.size and np.nanmax(np.nan_to_num(cells)) > VANISHED * np.nanmax(log.cells_V[last]):
        return False
    near = slice(max(last - NEAR + 1, group[-1][0]), last + 1), slice(again, again + NEAR)
    volts, amperes = ([float(np.median(values[one])) for one in near]
                      for values in (log.voltage_V, log.current_A))  # fmt: skip
    alike = abs(amperes[1] - amperes[0]) <= ALIKE_A * amperes[0]
    return bool(alike and abs(volts[1] - volts[0]) <= ALIKE_V * volts[0])


def _at_knee(log: Log, first: int, last: int) -> bool:
    on = log.current_A[first : last + 1] > 0.0
    mean = float(log.voltage_V[first : last + 1][on].mean())
    return bool(log.voltage_V[last] < KNEE * mean)


def _sums(log: Log) -> tuple[Floats, Floats]:
    """Voltage under load and number of its samples, summed up to each sample."""
    on = log.current_A > 0.0
    return np.cumsum(np.where(on, log.voltage_V, 0.0)), np.cumsum(on.astype(float))


def _fallen(log: Log, first: int, last: int, sums: tuple[Floats, Floats]) -> bool:
    """The same as `_at_knee`, at once for logs that switch often."""
    voltage, number = (one[last] - (one[first - 1] if first else 0.0) for one in sums)
    return bool(log.voltage_V[last] * number < KNEE * voltage)


def _discharge(
    log: Log, group: list[tuple[int, int]], threshold: float, end_V: float | None
) -> Discharge:
    first, last = group[0][0], group[-1][1]
    crossing = None if end_V is None else _crossing(log, group, end_V)
    if crossing is not None:
        at, end_s = crossing
        return Discharge(
            first, at, threshold, Ending.END_V, end_s, _pauses(log, group, at, threshold)
        )
    ending = _ending(log, first, last, threshold)
    if end_V is not None and ending is Ending.EMPTY:
        ending = Ending.ABOVE_END_V
    if end_V is not None and ending is Ending.WITH_LOG:
        ending = Ending.LOG_ENDED
    return Discharge(first, last, threshold, ending, np.nan, _pauses(log, group, last, threshold))


def _crossing(log: Log, group: list[tuple[int, int]], end_V: float) -> tuple[int, float] | None:
    """Last sample above an end voltage while the load is on, and the time of the crossing."""
    for first, last in group:
        below = np.flatnonzero(log.voltage_V[first : last + 1] <= end_V)
        if below.size:
            at = first + int(below[0])
            if at == first:
                return max(at - 1, group[0][0]), float(log.time_s[at])
            high, low = log.voltage_V[at - 1], log.voltage_V[at]
            part = (high - end_V) / (high - low)
            step = log.time_s[at] - log.time_s[at - 1]
            return at - 1, float(log.time_s[at - 1] + part * step)
    return None


def _ending(log: Log, first: int, last: int, threshold: float) -> Ending:
    after = np.flatnonzero(np.abs(log.current_A[last + 1 :]) > threshold)
    until = last + 1 + int(after[0]) if after.size else log.count
    knee = _at_knee(log, first, last)
    if last + 1 >= log.count:
        return Ending.WITH_LOG if knee else Ending.LOG_ENDED
    if _vanished(log, last, until):
        return Ending.CUT_OUT
    return Ending.EMPTY if knee else Ending.BY_HAND


def _pauses(
    log: Log, group: list[tuple[int, int]], last: int, threshold: float
) -> tuple[Pause, ...]:
    ends, loaded = pairwise(group), UnderLoad.of(log, threshold)
    return tuple(
        Pause(
            float(log.time_s[one[1]]),
            float(log.time_s[other[0]] - log.time_s[one[1]]),
            returned_Ah(log, one[1], other[0], threshold),
            regained_Ah(log, one[1], other[0], loaded),
            _vanished(log, one[1], other[0]),
        )
        for one, other in ends
        if other[0] <= last + 1  # an end voltage may be met as the load comes back
    )
