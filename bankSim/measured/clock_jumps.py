"""Clocks that leap: summer time that begins, and loggers that start anew."""

from datetime import datetime, timedelta

import numpy as np

from bankSim.measured.log import WARNING, Finding, Rows
from bankSim.measured.order import usual_s
from bankSim.model.curve import Floats

HOUR_S = 3600.0
LONGEST_USUAL_S = 900.0  # between samples: with more, an hour less is not clear
AT_HOURS = (0, 1, 2)  # when clocks are put forward, from 0, 1 or 2 o'clock, all over the world
IN_MONTHS = (3, 4, 9, 10)
SUNDAY = 6
LEAPS = 8  # steps looked at; a log has one or two
NEAR_S = 1800.0  # on each side: the course of the voltage
ANSWERED = 0.5  # of what the voltage would change in an hour: more is an hour that has passed
CLEAR = 4.0  # times the usual change from sample to sample: less of it tells nothing
ALIKE_A = 0.15  # of the current: on both sides of a clock that was put forward


def without_summer_time(
    time_s: Floats, starts_at: datetime | None, voltage_V: Floats, current_A: Floats, rows: Rows
) -> tuple[Floats, list[Finding]]:
    """Take back the hour by which a clock was put forward, where the log goes on without it.

    Parameters
    ----------
    time_s : array (n,)
        Since the first sample, rising. [s]
    starts_at : datetime or None
        Wall clock of the first sample, without a zone; None where there is none.
    voltage_V, current_A : array (n,)
        [V], [A]
    rows : array (n,)
        Rows of the file.
    """
    steps = np.diff(time_s)
    if starts_at is None or steps.size < LEAPS:
        return time_s, []
    usual = usual_s(time_s)
    if not 0.0 < usual <= LONGEST_USUAL_S:
        return time_s, []
    hour = np.abs(steps - HOUR_S - usual) <= 0.5 * usual
    found, mended = [], time_s.copy()
    for place in np.flatnonzero(hour)[:LEAPS].tolist():
        before = starts_at + timedelta(seconds=float(time_s[place]))
        after = starts_at + timedelta(seconds=float(time_s[place + 1]))
        if not _put_forward(before, after) or _hour_seen(time_s, voltage_V, current_A, place):
            continue
        mended[place + 1 :] -= HOUR_S
        row = int(rows[place + 1])
        text = (
            f"Row {row}: the clock jumps forward by one hour at {_change(before):%H:%M} on "
            f"{after:%Y-%m-%d}, as when summer time begins, and the voltage goes on as if no time "
            "had passed: taken as a clock change, no hour was counted."
        )
        found.append(Finding(text, (row,), severity=WARNING))
    return mended, found


def _change(before: datetime) -> datetime:
    """Return the full hour at or after a time."""
    just = before - timedelta(microseconds=1)
    return just.replace(minute=0, second=0, microsecond=0) + timedelta(hours=1)


def _put_forward(before: datetime, after: datetime) -> bool:
    """Tell whether just the hour is missing that a clock skips on a Sunday in spring."""
    skipped = _change(before)
    ends = skipped + timedelta(hours=1)
    day = skipped.weekday() == SUNDAY and skipped.month in IN_MONTHS
    return day and skipped.hour in AT_HOURS and before <= skipped and after >= ends


def _hour_seen(time_s: Floats, voltage_V: Floats, current_A: Floats, place: int) -> bool:
    """Tell whether current or voltage stand where only an hour more could have brought them."""
    sides = [
        slice(int(np.searchsorted(time_s, time_s[place] - NEAR_S)), place + 1),
        slice(place + 1, int(np.searchsorted(time_s, time_s[place + 1] + NEAR_S, "right"))),
    ]
    reach_A = float(np.abs(current_A).max(initial=0.0))
    ends_A = current_A[place], current_A[place + 1]
    if abs(ends_A[1] - ends_A[0]) > max(ALIKE_A * max(map(abs, ends_A)), 0.02 * reach_A):
        return True
    slopes, noise = [], 0.0
    for side in sides:
        time, volts = time_s[side], voltage_V[side]
        if time.size < 3 or np.ptp(time) <= 0.0:
            continue
        slope, level = np.polyfit(time - time[0], volts, 1)
        slopes.append(float(slope))
        noise = max(noise, float(np.std(volts - level - slope * (time - time[0]))))
    if not slopes:
        return True
    expected = float(np.mean(slopes)) * HOUR_S
    leap = float(voltage_V[place + 1] - voltage_V[place])
    return abs(expected) > CLEAR * noise and leap / expected > ANSWERED
