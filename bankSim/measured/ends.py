"""How a discharge in a log ended: cut out, or the log itself ended."""

from dataclasses import dataclass

import numpy as np

from bankSim.measured.log import Log
from bankSim.model.curve import Floats

FLOWS = 0.02  # of the largest current: less counts as no current
NOISES = 5.0  # standard deviations of the meter's noise: less counts as no current, either
NOISE_PART = 0.1  # of the largest current: what switches all the time is no noise
GONE = 0.3  # of the current before: below it, it has been cut
REBOUND_PART = 0.002  # of the voltage: what must come back when a current is cut
KNEE_PART = 0.05  # below the median under load: less is no end, only a stop
MOSTLY = 0.5  # of the charge that passed: less drawn makes it a log of charging
DEAD_PART = 0.2  # of the voltage before: below it the terminals are dead, a switch has opened
LAST_DEEP = 0.15  # of the charge given: only ends this near to the deepest point count


@dataclass(frozen=True, slots=True)
class End:
    """The end of the deepest discharge of a log.

    Parameters
    ----------
    cut : bool
        True: the current was cut while the voltage was low; False: the log ended while it flowed.
    dead : bool
        The terminals went dead with it: a switch of the battery opened. Else the voltage came
        back, and who stopped the current is not seen.
    time_s, current_A, voltage_V : float
        Just before. [s], [A], [V]
    cells_V : tuple of float
        Just before; empty where not logged. [V]
    given_Ah, returned_Ah : float
        Since the first sample: net, and how much was put back meanwhile. [Ah]
    """

    cut: bool
    dead: bool
    time_s: float
    current_A: float
    voltage_V: float
    cells_V: tuple[float, ...]
    given_Ah: float
    returned_Ah: float

    @property
    def cell(self) -> int | None:
        """Number of the lowest cell, counted from 1."""
        return int(np.argmin(self.cells_V)) + 1 if self.cells_V else None


def drawn_Ah(log: Log) -> float:  # noqa: N802 - the unit as printed
    """Return the most charge that a log draws, put back or not, recharge not counted. [Ah]

    A recharge puts back more than was drawn, and is no capacity. Of a log that mostly charges it
    is the charge that passed.
    """
    given: Floats = log.counted_Ah()
    drawn = float((given - np.minimum.accumulate(given)).max(initial=0.0))
    passed = float(np.ptp(given))
    return drawn if drawn > MOSTLY * passed else passed


def scatter(values: Floats) -> float:
    """Return the standard deviation of the noise of even samples. In the unit of `values`.

    Half of all second differences lie within 0.6745 standard deviations, and each holds the noise
    of three samples, 1 + 4 + 1 times its square.
    """
    if values.size < 3:
        return 0.0
    return float(np.median(np.abs(np.diff(values, 2)))) / 0.6745 / float(np.sqrt(6.0))


def flows_A(log: Log) -> float:  # noqa: N802 - the unit as printed
    """Return the current below which nothing flows. [A]"""
    largest_A = float(log.current_A.max(initial=0.0))
    return min(max(FLOWS * largest_A, NOISES * scatter(log.current_A)), NOISE_PART * largest_A)


def usual_A(log: Log) -> float:  # noqa: N802 - the unit as printed
    """Return the usual current of discharge: half of the charge was drawn at more. [A]

    A median over samples would be that of a rest where a log ran on long after the cut-out: of
    the noise of its current half is above 0.
    """
    drawn = np.clip(log.current_A, 0.0, None)
    charge = drawn * np.gradient(log.time_s) if log.count > 1 else drawn
    turn = np.argsort(drawn)
    total = np.cumsum(charge[turn])
    return float(drawn[turn[int(np.searchsorted(total, 0.5 * total[-1]))]])


def while_live(log: Log) -> Log:
    """Return a log up to where its terminals read next to nothing: nothing of cells is seen there.

    Dead samples before the first live one are left out, too.
    """
    dead = log.voltage_V < DEAD_PART * float(log.voltage_V.max(initial=0.0))
    first = int(np.argmin(dead))
    after = np.flatnonzero(dead[first:])
    end = first + int(after[0]) if after.size else log.count
    return log if end - first in (log.count, 1) else log.part(first, end)


def end_of(log: Log) -> End | None:
    """Return how the deepest discharge ended; None where it was stopped before the knee.

    A voltage that falls to next to nothing with the current is a switch that opened.
    """
    given = log.counted_Ah()
    live = log.voltage_V > DEAD_PART * float(log.voltage_V.max(initial=0.0))
    flowing = np.flatnonzero(live & (log.current_A > flows_A(log)))
    if not flowing.size or given.max() <= 0.0:
        return None
    last = int(flowing[-1])
    loaded_V = float(np.median(log.voltage_V[flowing]))
    if given[last] < given.max() * (1.0 - LAST_DEEP):
        return None
    if float(log.voltage_V[last]) > (1.0 - KNEE_PART) * loaded_V:
        return None
    if last == log.count - 1:
        return _end(log, given, last, cut=False, dead=False)
    fell = log.current_A[last + 1] < GONE * log.current_A[last]
    back = float(log.voltage_V[last + 1 :].max()) - float(log.voltage_V[last])
    returns = fell and back >= REBOUND_PART * float(log.voltage_V[last])
    dead = not live[last + 1]
    return _end(log, given, last, cut=True, dead=dead) if returns or dead else None


def _end(log: Log, given: Floats, last: int, *, cut: bool, dead: bool) -> End:
    cells = log.cells_V[last]
    known = bool(cells.size) and bool(np.isfinite(cells).all())
    return End(
        cut,
        dead,
        float(log.time_s[last]),
        float(log.current_A[last]),
        float(log.voltage_V[last]),
        tuple(cells.tolist()) if known else (),
        float(given[last]),
        -float(np.clip(np.diff(given[: last + 1]), None, 0.0).sum()),
    )
