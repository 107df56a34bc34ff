"""A current that a shunt reads at rest: its zero error, or a load that stays on."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from bankSim.measured.log import Log
from bankSim.model.curve import Floats
from bankSim.model.runs import runs_of
from bankSim.sim.numbers import number, span

USUAL_LIMIT_A = 0.05  # a zero that is off by less is usual; own choice
REST_PART, LEAST_REST_A = 0.05, 0.02  # of the largest current: below it a log may be at rest
LARGEST_PERCENTILE = 99.0
LEAST_S, LEAST_SAMPLES = 60.0, 5  # a shorter rest tells no zero
STILL_V = 0.01  # of the usual voltage: more of a drift is no rest
NOISE_PART = 0.5  # of the mean: what varies more is no zero but something that switches
DRIFT_PART = 0.2  # of the mean, between the halves of a rest: what drifts more is a taper
APART_PART = 0.3  # of the mean, between rests: zeros differ less


@dataclass(frozen=True, slots=True)
class Zero:
    """A steady current at rest, the same in all rests of a log.

    Parameters
    ----------
    mean_A : float
        Discharge positive. [A]
    spread_A : float
        Standard deviation of the readings at rest. [A]
    rest_s : float
        Length of these rests together. [s]
    rests : int
    """

    mean_A: float
    spread_A: float
    rest_s: float
    rests: int

    def told(self, hours: float, over: str) -> str:
        """Say what was seen, and how many Ah it makes in these hours; no cause is claimed."""
        charge = number(abs(self.mean_A) * hours, 3)
        giving = self.mean_A > 0.0
        cause = "a load that stays on" if giving else "a charger that stays on"
        effect = "many" if giving else "few"
        seen = "in one rest" if self.rests == 1 else f"in all {self.rests} rests"
        return (
            f"the shunt reads {self.mean_A:+.3f} A ({'discharge' if giving else 'charge'}) at rest "
            f"({seen}, {span(self.rest_s, 2)} together, scatter {self.spread_A:.3f} A): zero "
            f"error, or {cause}, the log cannot tell which. If it is the zero, {charge} Ah too "
            f"{effect} were counted in {over}. A few minutes logged with the battery's "
            "cable off would tell."
        )


def find_zero(log: Log, rest_A: float | None = None, limit_A: float = USUAL_LIMIT_A) -> Zero | None:
    """Return the steady current that a log reads in all of its rests, None within the usual.

    A rest is a stretch of small current in which current and voltage lie still. One rest that reads
    otherwise, such as 0, shows that what the others read did flow.

    Parameters
    ----------
    log : Log
    rest_A : float or None
        Below it the battery may be at rest; None takes 5 % of the largest current. [A]
    limit_A : float
        A zero that is off by no more than this is no news. [A]
    """
    if rest_A is None:
        largest = float(np.percentile(np.abs(log.current_A), LARGEST_PERCENTILE))
        rest_A = max(REST_PART * largest, LEAST_REST_A)
    usual_V = float(np.median(log.voltage_V))
    rests = [rest for rest in _stretches(log, rest_A) if _still(log, rest, usual_V, limit_A)]
    if not rests:
        return None
    means = np.array([log.current_A[rest].mean() for rest in rests])
    lengths = np.array([np.ptp(log.time_s[rest]) for rest in rests])
    mean = float(means @ lengths / lengths.sum())
    if np.abs(means).min() <= limit_A or np.ptp(means) > max(APART_PART * abs(mean), limit_A):
        return None
    readings = np.concatenate([log.current_A[rest] for rest in rests])
    return Zero(mean, float(readings.std()), float(lengths.sum()), len(rests))


def zero_of_log(log: Log) -> list[str]:
    """Say what the shunt reads at rest over a whole log, where that is more than usual."""
    zero = find_zero(log)
    return [] if zero is None else [zero.told(float(log.time_s[-1]) / 3600.0, "this log")]


def _stretches(log: Log, rest_A: float) -> Iterator[slice]:
    """Yield stretches of small current, without the samples next to the load."""
    for first, last in runs_of(np.abs(log.current_A) <= rest_A):
        inner = slice(first + (first > 0), last + (last + 1 == log.count))
        time = log.time_s[inner]
        if time.size >= LEAST_SAMPLES and time[-1] - time[0] >= LEAST_S:
            yield inner


def _still(log: Log, rest: slice, usual_V: float, limit_A: float) -> bool:
    """Tell whether current and voltage lie still; the voltage may come back first."""
    current, voltage = log.current_A[rest], log.voltage_V[rest]
    mean, half = float(current.mean()), current.size // 2
    moved_V = abs(
        _middle(voltage[half : half + max(half // 4, 1)]) - _middle(voltage[-half // 4 :])
    )
    moved_A = abs(float(current[:half].mean() - current[half:].mean()))
    return bool(
        moved_V <= STILL_V * abs(usual_V)
        and moved_A <= max(DRIFT_PART * abs(mean), limit_A)
        and current.std() <= max(NOISE_PART * abs(mean), limit_A)
    )


def _middle(values: Floats) -> float:
    return float(np.median(values))
