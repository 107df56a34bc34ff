"""Rows in which a logger dropped out: both readings at 0 between rows that go on as before."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from bankSim.measured.log import WARNING, Finding, Gap, Rows
from bankSim.measured.noted import FEW, rows_told
from bankSim.model.curve import Floats
from bankSim.model.runs import runs_of
from bankSim.sim.numbers import number

NOTHING_V, NOTHING_A = 0.02, 0.02  # of the usual voltage, of the largest current: reads as 0
MOST_ROWS = 5  # in a row; a longer silence may be a battery that cut out
MOST_PART = 0.02  # of all rows: more is the habit of a battery or a meter behind a switch
SOUND_ROWS = 10  # that must go on as before on each side: what cuts out once does so again soon
LEVEL = 3  # rows whose middle is held against that of the other side
ALIKE_V, ALIKE_A = 0.015, 0.15  # of the values: within it they go on as before


@dataclass(frozen=True, eq=False)
class Lost:
    """Rows that were lost.

    Parameters
    ----------
    keep : array (n,)
        False for these rows.
    after : tuple of int
        The last row before each of these stretches, as an index among those kept.
    charge_Ah : float
        Of the straight lines across them. [Ah]
    """

    keep: NDArray[np.bool_]
    after: tuple[int, ...]
    charge_Ah: float

    def gaps(self, time_s: Floats, found: tuple[Gap, ...]) -> tuple[Gap, ...]:
        """Return the gaps of the rows kept, those of lost rows among them."""
        own = {gap.before: gap for gap in found}
        for before in self.after:
            length = float(time_s[before + 1] - time_s[before])
            own.setdefault(before, Gap(before, length, float(np.median(np.diff(time_s)))))
        return tuple(own[before] for before in sorted(own))

    def finding(self, rows: Rows) -> list[Finding]:
        """Tell of them; `rows` are all rows, lost ones too."""
        places = np.flatnonzero(~self.keep)
        if not places.size:
            return []
        few = tuple(rows[places[:FEW]].tolist())
        one = places.size == 1
        charge = f"; {number(self.charge_Ah, 3)} Ah hang on it" if self.charge_Ah > 0.0 else ""
        text = (
            f"{rows_told(few, int(places.size))}: voltage and current both read 0, and go on as "
            f"before in the next {'row' if one else 'rows'}: taken as a drop-out of the logger or "
            f"of a lead, left out, and bridged by a straight line{charge}."
        )
        return [Finding(text, few, int(places.size), WARNING)]


def find_lost(time_s: Floats, voltage_V: Floats, current_A: Floats, cells_V: Floats) -> Lost:
    """Return the rows in which a logger dropped out.

    Not those before which the voltage was falling away or after which it stands elsewhere, nor
    those with live cells: there the battery itself has opened its switch.

    Parameters
    ----------
    time_s, voltage_V, current_A : array (n,)
        In the order of time. [s], [V], [A]
    cells_V : array (n, m)
        NaN where missing. [V]
    """
    keep = np.ones(time_s.size, bool)
    charge_Ah = 0.0
    for first, last in _silences(voltage_V, current_A, cells_V):
        if _goes_on(voltage_V, current_A, first, last):
            keep[first : last + 1] = False
            length = time_s[last + 1] - time_s[first - 1]
            charge_Ah += abs(current_A[first - 1] + current_A[last + 1]) * length / 7200.0
    places = np.cumsum(keep) - 1
    starts = np.flatnonzero(keep[:-1] & ~keep[1:])
    return Lost(keep, tuple(int(places[one]) for one in starts), float(charge_Ah))


def _silences(voltage_V: Floats, current_A: Floats, cells_V: Floats) -> list[tuple[int, int]]:
    """Return first and last row of short stretches that read nothing; none where they are many."""
    usual_V = float(np.median(np.abs(voltage_V)))
    reach_A = float(np.max(np.abs(current_A), initial=0.0))
    silent = (np.abs(voltage_V) <= NOTHING_V * usual_V) & (np.abs(current_A) <= NOTHING_A * reach_A)
    if cells_V.shape[1]:
        live = np.nan_to_num(np.abs(cells_V)).max(axis=1) > NOTHING_V * usual_V
        silent &= ~live
    firsts, lasts = np.array(runs_of(silent), dtype=np.int64).reshape(-1, 2).T
    short = lasts - firsts < MOST_ROWS
    if usual_V <= 0.0 or np.sum((lasts - firsts + 1)[short]) > max(MOST_PART * silent.size, 1.0):
        return []
    ends = np.concatenate([[-1], lasts]), np.concatenate([firsts, [silent.size]])
    sound = (firsts - ends[0][:-1] > SOUND_ROWS) & (ends[1][1:] - lasts > SOUND_ROWS)
    chosen = short & sound
    return list(zip(firsts[chosen].tolist(), lasts[chosen].tolist(), strict=True))


def _goes_on(voltage_V: Floats, current_A: Floats, first: int, last: int) -> bool:
    """Tell whether both values stand after a silence where they stood before it."""
    before, after = slice(first - LEVEL, first), slice(last + 1, last + 1 + LEVEL)
    volts = [float(np.median(voltage_V[one])) for one in (before, after)]
    amperes = [float(np.median(current_A[one])) for one in (before, after)]
    if abs(volts[1] - volts[0]) > ALIKE_V * abs(volts[0]):
        return False
    reach_A = float(np.max(np.abs(current_A)))
    apart_A = abs(amperes[1] - amperes[0])
    return apart_A <= max(ALIKE_A * max(map(abs, amperes)), NOTHING_A * reach_A)
