"""What the digits of a log hide of its current."""

import math

import numpy as np

from bankSim.measured.log import Written
from bankSim.measured.uncertainty import Contribution, Shape
from bankSim.model.curve import Floats

FEW_READINGS = 3  # different ones; fewer do not show the last digit
MANY_LEVELS = 20  # different readings: that many are no set currents, so their step is the meter's
SAME_READING = 0.001
MOST_DECIMALS = 4  # finer readings: their rounding does not matter
FLICKER_PART = 0.05  # of the samples that go up or down by one step: set currents change rarely
FLICKER_STEP = 0.2  # of the largest reading: larger steps are loads switched on and off
ROUND = 5.0  # whole amperes that are a multiple of it are rather set than rounded
ON_PART = 0.05  # of the largest reading: below it the load is off
DIGITS = "digits of the log; half the last one, taken as lasting"
WRITTEN = "decimals written in the file; half the last one, taken as lasting"
WHOLE = "written without decimals; half the last digit, taken as lasting"


def rounding_line(values: Floats, hours: float, written: Written | None = None) -> Contribution:
    """Return what the digits hide; half the last one, for it may be the same all along.

    Parameters
    ----------
    values : array (n,)
        Readings of one discharge, in the order of time. [A]
    hours : float
        Its length: Ah for an ampere. [h]
    written : Written or None
        How finely the file writes them.
    """
    width, source, assumed = _limit(values)
    if assumed and written is not None and _fits(values, written) and not _set(values, written):
        width, source, assumed = written.step_A / 2.0, WHOLE if written.whole else WRITTEN, False
    return Contribution(
        "rounding of the current", width, "A", hours, Shape.RECTANGULAR, source=source,
        assumed=assumed,
    )  # fmt: skip


def _fits(values: Floats, written: Written) -> bool:
    """Tell whether all readings are whole steps, and not only those that were looked at."""
    return np.allclose(np.round(values / written.step_A) * written.step_A, values, 0.0, 1e-9)


def _set(values: Floats, written: Written) -> bool:
    """Tell whether readings without decimals are rather set currents: several, or a round one.

    A person who sets 15 and 40 A leaves out decimals that a meter would round to.
    """
    size = np.abs(values)
    on = np.unique(size[size > ON_PART * size.max(initial=0.0)])
    if not written.whole or written.step_A / 2.0 <= SAME_READING * size.max(initial=0.0):
        return False
    return bool(on.size != 1 or on[0] % (ROUND * written.step_A) == 0.0)


def _limit(values: Floats) -> tuple[float, str, bool]:
    """Half the last digit, where it comes from, and whether it is assumed. [A]"""
    whole, decimals = _whole(values)
    if whole is None:
        return (*_assumed(values), True) if _count(values) < FEW_READINGS else (0.0, DIGITS, False)
    levels = np.unique(whole)
    step = math.gcd(*np.diff(levels).tolist()) if levels.size > 1 else 0
    if levels.size >= MANY_LEVELS or _flickers(whole, levels, step):
        return step * 10.0**-MOST_DECIMALS / 2.0, DIGITS, False
    if levels.size < FEW_READINGS or not decimals:
        return (*_assumed(values), True)
    return 10.0**-decimals / 2.0, DIGITS, False


def _assumed(values: Floats) -> tuple[float, str]:
    """Return what is taken where readings do not show their last digit."""
    told = "all readings are the same" if _count(values) < 2 else "only a few different readings"
    width = SAME_READING * float(np.abs(values).max(initial=0.0))
    return width, f"{told}, so their digits cannot be told: 0.1 %, our own choice"


def _count(values: Floats) -> int:
    return int(np.unique(values).size)


def _whole(values: Floats) -> tuple[np.ndarray | None, int]:
    """Return the readings in units of the finest digit, and the decimals they show; None: finer."""
    for decimals in range(MOST_DECIMALS + 1):
        if np.allclose(values, np.round(values, decimals), rtol=0.0, atol=1e-9):
            return np.round(values * 10.0**MOST_DECIMALS).astype(np.int64), decimals
    return None, 0


def _flickers(whole: np.ndarray, levels: np.ndarray, step: int) -> bool:
    """Tell whether readings go to and fro between neighbours on a ladder, as a coarse meter's."""
    if levels.size < FEW_READINGS or step > FLICKER_STEP * np.abs(whole).max():
        return False
    in_row = np.any((levels[1:-1] - levels[:-2] == step) & (levels[2:] - levels[1:-1] == step))
    return bool(in_row and np.mean(np.abs(np.diff(whole)) == step) >= FLICKER_PART)
