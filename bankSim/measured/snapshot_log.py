"""A cut-out snapshot from a log with cell voltages: the instant before the current stops.

The log also shows the knee itself: while the deciding cell came down to where it stopped, the
charge that flowed from each voltage on was counted. That measures how far this battery's knee is
stretched against the program's curve, and replaces the wide assumption.
"""

from dataclasses import dataclass, replace

import numpy as np

from bankSim.measured.knee_facts import KNEE_WIDTH
from bankSim.measured.log import Log, LogError
from bankSim.measured.snapshot import Circumstances, take_snapshot
from bankSim.model.curve import Floats

STOPPED = 0.1  # of the current before
HALF_WAY = 0.8  # of the current one sample earlier: less is a mean across the cut-out
OWN_KNEE_SD = 0.15  # logarithm; of a stretch read from one cell for all: choice
SAME_CURRENT = 0.2  # the current may vary by so much over the stretch that is read
LEAST_DROP_V = 0.1  # of the deciding cell, for its own knee to be read


@dataclass(frozen=True, slots=True)
class LogShot:
    """The instant in a log.

    Parameters
    ----------
    file : str
    row : int
        Row of the file.
    at_s : float
        Since the first sample. [s]
    voltages_V : tuple of float
        Cells, cell 1 first. [V]
    battery_V, current_A, given_Ah : float
        At the instant; given since the first sample, discharge only. [V], [A], [Ah]
    temperature_C : float or None
        [degC]
    ends : int
        How many times the discharge stopped in the log.
    """

    file: str
    row: int
    at_s: float
    voltages_V: tuple[float, ...]
    battery_V: float
    current_A: float
    given_Ah: float
    temperature_C: float | None
    ends: int


@dataclass(frozen=True, slots=True)
class OwnKnee:
    """How far the knee of the deciding cell is stretched, from the log.

    Parameters
    ----------
    stretch : float
        Charge counted over charge computed. [1]
    from_V, to_V : float
        Of the deciding cell. [V]
    counted_Ah : float
        [Ah]
    """

    stretch: float
    from_V: float
    to_V: float
    counted_Ah: float


def shot_from_log(log: Log) -> LogShot:
    """Return the instant before the discharge current stops at the lowest cell voltage.

    Raises
    ------
    LogError
        Without cell voltages, or where no discharge stops with all cells measured.
    """
    if log.cells_V.shape[1] == 0:
        raise LogError(f"{log.file}: no cell voltages; name their columns with --cells, or type "
                       "the voltages on the command line")  # fmt: skip
    ends = [_before_half_way(log.current_A, place) for place in discharge_ends(log.current_A)]
    whole = [place for place in ends if np.isfinite(log.cells_V[place]).all()]
    if not whole:
        raise LogError(f"{log.file}: no discharge that stops with all cell voltages there; "
                       "expected a log over the end of a discharge")  # fmt: skip
    at = min(whole, key=lambda place: float(log.cells_V[place].min()))
    given = replace(log, current_A=np.maximum(log.current_A, 0.0)).counted_Ah()[at]
    warm = None if log.temperature_C is None else float(log.temperature_C[at])
    return LogShot(
        file=log.file,
        row=int(log.rows[at]),
        at_s=float(log.time_s[at]),
        voltages_V=tuple(float(volts) for volts in log.cells_V[at]),
        battery_V=float(log.voltage_V[at]),
        current_A=float(log.current_A[at]),
        given_Ah=float(given),
        temperature_C=warm if warm is not None and np.isfinite(warm) else None,
        ends=len(ends),
    )


def _before_half_way(current_A: Floats, at: int) -> int:
    """Return the sample before one whose readings are means across the cut-out, else this one."""
    stops = 0 < at < current_A.size - 1 and current_A[at - 1] > 0.0
    return at - 1 if stops and current_A[at] < HALF_WAY * current_A[at - 1] else at


def discharge_ends(current_A: Floats) -> list[int]:
    """Return the samples after which a discharge stops, the last sample too if it still flows.

    Parameters
    ----------
    current_A : array (n,)
        Discharge positive. [A]
    """
    flowing = current_A > STOPPED * max(float(np.max(current_A, initial=0.0)), 1e-9)
    ends = np.nonzero(flowing[:-1] & ~flowing[1:])[0].tolist()
    return [*ends, current_A.size - 1] if flowing.size and flowing[-1] else ends


def own_knee(log: Log, shot: LogShot, around: Circumstances) -> OwnKnee | None:
    """Return the stretch of the deciding cell's knee over the last steady stretch, if there is one.

    Parameters
    ----------
    log : Log
    shot : LogShot
    around : Circumstances
        Its stretch is not used.
    """
    at = int(np.searchsorted(log.rows, shot.row))
    cell = log.cells_V[: at + 1, int(np.argmin(shot.voltages_V))]
    steady = np.abs(log.current_A[: at + 1] - shot.current_A) < SAME_CURRENT * shot.current_A
    usable = steady & np.isfinite(cell) & (cell < around.facts.knee_V)
    start = at - int(np.argmin(usable[::-1])) + 1 if not usable.all() else 0
    end_V = float(cell[at])
    if at - start < 3 or cell[start] - end_V < LEAST_DROP_V:
        return None
    top = start + int(np.argmin(np.abs(cell[start : at + 1] - min(max(shot.voltages_V), 9.0))))
    if cell[top] - end_V < LEAST_DROP_V:
        top = start
    counted = float(np.diff(log.counted_Ah()[[top, at]])[0])
    plain = replace(around, limit_V=end_V, rest_s=None, stretch=1.0, stretch_sd=0.0)
    computed = take_snapshot((float(cell[top]),), plain, draws=10).cells[0].left_Ah.value
    if computed <= 0.0 or counted <= 0.0:
        return None
    fading = float(np.exp(-((computed / plain.cell_Ah / KNEE_WIDTH) ** 2)))
    stretch = float(np.clip(1.0 + (counted / computed - 1.0) / max(fading, 0.3), 0.1, 3.0))
    return OwnKnee(stretch, float(cell[top]), end_V, counted)
