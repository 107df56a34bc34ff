"""How long a battery stands above its voltage before a pause: rest, or a charge nobody logged."""

from dataclasses import dataclass

import numpy as np

from bankSim.measured.log import Log
from bankSim.model.curve import Floats

LEAST_PAUSE_S = 300.0  # a shorter one is not looked at
RELAXING_S = 300.0  # under load again: for so long a voltage that a rest raised may stay above
SMALL = 0.01  # of the Ah that follow: relaxation is taken to explain no more than that
ALIKE = 0.2  # of the current before the pause: only like currents are compared, if there are some
WINDOW = 5  # samples whose median is held against that before
BLOCKS = (1_000, 20_000)  # samples looked at first, for logs that switch often


@dataclass(frozen=True, eq=False)
class UnderLoad:
    """What is worked out once for a log.

    Parameters
    ----------
    counted_Ah : array (n,)
        Given since the first sample. [Ah]
    on : array (m,)
        Indices of samples with the load on. [1]
    charging : array (k,)
        Indices of samples that show a charge. [1]
    """

    counted_Ah: Floats
    on: np.ndarray
    charging: np.ndarray

    @classmethod
    def of(cls, log: Log, on_A: float) -> "UnderLoad":
        """Look at a log; above `on_A` the load is on. [A]"""
        on, charging = (np.flatnonzero(one > on_A) for one in (log.current_A, -log.current_A))
        return cls(log.counted_Ah(), on, charging)


def regained_Ah(log: Log, last: int, again: int, loaded: UnderLoad) -> float:  # noqa: N802 - unit
    """Return the charge given after a pause until the voltage was back where it stood before it.

    It is compared with the last samples at like current before the pause; where there are none, the
    step of the current corrects it. 0 where relaxation alone may explain it. [Ah]

    Parameters
    ----------
    log : Log
    last, again : int
        Last sample under load before the pause, and the first one under load after it.
    loaded : UnderLoad
    """
    if log.time_s[again] - log.time_s[last] < LEAST_PAUSE_S:
        return 0.0
    place = int(np.searchsorted(loaded.on, last)) + 1
    near, _ = _reference(log, last, again, loaded)
    before_V, before_A = (float(np.median(one[near])) for one in (log.voltage_V, log.current_A))
    later = loaded.on[place : np.searchsorted(loaded.on, _charged_at(loaded, again, log.count))]
    ohms = _step_ohms(log, again)
    at = again
    for size in (*BLOCKS, later.size):
        block = _comparable(log, later[:size], before_A)
        level_V = log.voltage_V[block] + ohms * (log.current_A[block] - before_A)
        fallen = np.flatnonzero(_medians(level_V) <= before_V)
        if fallen.size or size >= later.size:
            at = int(block[fallen[0]] if fallen.size else block[-1])
            break
    regained = float(loaded.counted_Ah[at] - loaded.counted_Ah[again])
    relaxing = before_A * RELAXING_S / 3600.0
    if regained <= min(relaxing, SMALL * later_Ah(log, again, loaded)):
        return 0.0
    return regained + float(loaded.counted_Ah[last] - loaded.counted_Ah[near[-1]])


def is_comparable(log: Log, last: int, again: int, loaded: UnderLoad) -> bool:
    """Tell whether the load after a pause is like one that ran before it."""
    return _reference(log, last, again, loaded)[1]


def _reference(log: Log, last: int, again: int, loaded: UnderLoad) -> tuple[np.ndarray, bool]:
    """Last samples before a pause at a current like that after it, if any; else the last ones."""
    place = int(np.searchsorted(loaded.on, last)) + 1
    after_A = float(np.median(log.current_A[loaded.on[place : place + WINDOW]]))
    charged = int(np.searchsorted(loaded.charging, last))
    since = int(loaded.charging[charged - 1]) if charged else -1
    earlier = loaded.on[max(place - BLOCKS[-1], 0) : place]
    earlier = earlier[earlier > since]
    alike = earlier[np.abs(log.current_A[earlier] - after_A) <= ALIKE * after_A]
    return (alike if alike.size else earlier)[-WINDOW:], bool(alike.size)


def later_Ah(log: Log, again: int, loaded: UnderLoad) -> float:  # noqa: N802 - unit
    """Return what is given from a sample on until the log ends or shows a charge. [Ah]"""
    end = _charged_at(loaded, again, log.count)
    return float(loaded.counted_Ah[end - 1] - loaded.counted_Ah[again])


def _charged_at(loaded: UnderLoad, again: int, count: int) -> int:
    """First sample of the next charge in the log."""
    place = int(np.searchsorted(loaded.charging, again))
    return int(loaded.charging[place]) if place < loaded.charging.size else count


def _step_ohms(log: Log, again: int) -> float:
    """What the step of the load shows of the resistance. [Ohm]"""
    volts = float(log.voltage_V[again - 1] - log.voltage_V[again])
    amperes = float(log.current_A[again] - log.current_A[again - 1])
    return max(volts / amperes, 0.0) if amperes > 0.0 else 0.0


def _comparable(log: Log, block: np.ndarray, before_A: float) -> np.ndarray:
    alike = np.abs(log.current_A[block] - before_A) <= ALIKE * before_A
    return block[alike] if alike.any() else block


def _medians(values: Floats) -> Floats:
    """Median of each value and those that follow it, the last ones repeated."""
    padded = np.concatenate([values, np.full(WINDOW - 1, values[-1])])
    medians: Floats = np.median(np.lib.stride_tricks.sliding_window_view(padded, WINDOW), axis=1)
    return medians
