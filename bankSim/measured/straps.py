"""What drops between the cells and the terminals: read where both were logged."""

from dataclasses import dataclass, replace

import numpy as np

from bankSim.measured.log import Log
from bankSim.measured.plausible import SUM_APART
from bankSim.model.curve import Floats

MOVES = 0.3  # of the largest current: less spread does not tell a resistance from an offset
FEWEST = 10
NOTHING_V = 1e-9
ODD = 4.0  # standard deviations: a sample further off is no pair of readings at one instant


@dataclass(frozen=True, slots=True)
class Straps:
    """Battery voltage less the sum of its cells: offset_V - ohm x current.

    Parameters
    ----------
    ohm, sd_ohm : float
        Of straps, switches and clamps together, and its standard error. [ohm]
    offset_V : float
        By which the two meters differ. [V]
    """

    ohm: float
    sd_ohm: float
    offset_V: float

    @property
    def told(self) -> bool:
        """Whether it is known, and not below nothing."""
        return self.ohm > 2.0 * self.sd_ohm


def straps_of(log: Log, cells: int) -> Straps | None:
    """Return what lies between cells and terminals; None where a log does not tell it.

    A straight line through sum of cells less battery voltage over the current.

    Parameters
    ----------
    log : Log
    cells : int
        In series.

    Source
    ------
    docs/theory.md, eq. 25.8.
    """
    if log.cells_V.shape[1] != cells or cells < 2:
        return None
    total = log.cells_V.sum(axis=1)
    gap = log.voltage_V - total
    good = np.isfinite(gap) & (np.abs(gap) < SUM_APART * np.abs(total))
    if np.count_nonzero(good) < max(FEWEST, 0.5 * log.count) or np.ptp(gap[good]) < NOTHING_V:
        return None  # also where the sum of the cells stands for the battery
    found = _line(log.current_A[good], gap[good])
    left = gap - found.offset_V + found.ohm * log.current_A
    good &= np.abs(left) <= ODD * (float(left[good].std()) + 1e-9)
    if np.count_nonzero(good) < FEWEST:
        return None
    return _line(log.current_A[good], gap[good])


def at_terminals(log: Log, straps: Straps | None) -> Log:
    """Return a log whose cells bear their share of what drops up to the terminals.

    A log of the battery alone shows cells and straps together; so both kinds of log tell the same.
    """
    if straps is None:
        return log
    share = (straps.offset_V - straps.ohm * log.current_A) / log.cells_V.shape[1]
    return replace(log, cells_V=log.cells_V + share[:, None])


def _line(current_A: Floats, gap_V: Floats) -> Straps:
    """Return the line of least squares; all is offset where the current hardly moves."""
    centred = current_A - current_A.mean()
    power = float(centred @ centred)
    if float(np.ptp(current_A)) < MOVES * float(np.abs(current_A).max()) or power <= 0.0:
        return Straps(0.0, np.inf, float(gap_V.mean()))
    slope = float(centred @ gap_V) / power
    offset = float(gap_V.mean()) - slope * float(current_A.mean())
    left = gap_V - offset - slope * current_A
    sd = float(np.sqrt(left @ left / max(left.size - 2, 1) / power))
    return Straps(-slope, sd, offset)
