"""Lone rows of a current that stand far above their neighbours, and that the voltage ignores."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from bankSim.measured.log import WARNING, Finding, Rows
from bankSim.measured.noted import FEW, rows_told
from bankSim.model.curve import Floats
from bankSim.sim.numbers import number

TIMES = 2.0  # the larger neighbour: less may be a load
ALIKE = 0.15  # of the larger neighbour: both go on as before
FLOWS = 0.05  # of a usual large current: above it some flows
LARGE_PERCENTILE = 99.0
MOST_PART = 0.005  # of all rows: more is the habit of a load
ANSWERED = 0.25  # of what the steps of the log make one expect
STEPS = 0.3  # of a usual large current: a change that the voltage must answer
USUAL_OHM_A = 0.005  # of the voltage for a usual large current, where no step tells; own choice
NOISES = 3.0  # times the usual change from row to row: less is no answer
DIGITS = 2.0  # times the finest change of the voltage in the log: less is no answer


@dataclass(frozen=True, eq=False)
class Spikes:
    """Lone rows of current.

    Parameters
    ----------
    at : array (m,)
        Samples.
    calm_A : array (n,)
        The current with their neighbours' mean in their place. [A]
    each_Ah : array (m,)
        What they add to the charge counted, by size. [Ah]
    """

    at: NDArray[np.int64]
    calm_A: Floats
    each_Ah: Floats

    def charge_Ah(self, first: int, last: int) -> float:  # noqa: N802 - the unit
        """Return what those from sample `first` to `last` add, by size. [Ah]"""
        return float(self.each_Ah[(self.at >= first) & (self.at <= last)].sum())


def find_spikes(time_s: Floats, voltage_V: Floats, current_A: Floats) -> Spikes:
    """Return lone rows whose current stands out while the voltage goes on.

    A surge of a load moves the voltage by what the current drops in the battery, as the other steps
    of the log do.

    Parameters
    ----------
    time_s, voltage_V, current_A : array (n,)
        In the order of time; the sign as in the file. [s], [V], [A]
    """
    none = Spikes(np.empty(0, np.int64), current_A, np.empty(0))
    if current_A.size < 8:
        return none
    before, here, after = current_A[:-2], current_A[1:-1], current_A[2:]
    large = float(np.percentile(np.abs(current_A), LARGE_PERCENTILE))
    size = np.maximum(np.abs(before), np.abs(after))
    lone = np.abs(before - after) <= np.maximum(ALIKE * size, FLOWS * large)
    lone &= np.abs(here - 0.5 * (before + after)) > np.maximum((TIMES - 1.0) * size, STEPS * large)
    lone &= np.abs(here) > size
    at = np.flatnonzero(lone) + 1
    if not 0 < at.size <= max(MOST_PART * current_A.size, 1.0):
        return none
    at = at[_unanswered(voltage_V, current_A, at, large)]
    if not at.size:
        return none
    calm = current_A.copy()
    calm[at] = 0.5 * (current_A[at - 1] + current_A[at + 1])
    extra = np.abs(current_A[at] - calm[at]) * (time_s[at + 1] - time_s[at - 1]) / 7200.0
    return Spikes(at, calm, extra)


def _unanswered(
    voltage_V: Floats, current_A: Floats, at: NDArray[np.int64], large: float
) -> NDArray[np.bool_]:
    """Tell which spikes the voltage does not follow as it follows the steps of the log."""
    jumps, answers = np.diff(current_A), np.diff(voltage_V)
    own = np.zeros(jumps.size, bool)
    own[at] = own[at - 1] = True
    steps = (np.abs(jumps) > STEPS * large) & ~own
    usual_V = float(np.median(np.abs(voltage_V)))
    ohm = USUAL_OHM_A * usual_V / large if large > 0.0 else 0.0
    if steps.any():
        ohm = float(np.median(np.abs(answers[steps] / jumps[steps])))
    quiet = np.abs(answers[~steps & ~own])
    seen = np.abs(answers[answers != 0.0])
    digit = DIGITS * float(seen.min(initial=np.inf)) if seen.size else np.inf
    noise = max(NOISES * float(np.median(quiet)), digit) if quiet.size else digit
    leap = np.abs(voltage_V[at] - 0.5 * (voltage_V[at - 1] + voltage_V[at + 1]))
    expected = ohm * np.abs(current_A[at] - 0.5 * (current_A[at - 1] + current_A[at + 1]))
    return np.asarray((expected > noise) & (leap < ANSWERED * expected))


def spikes_finding(spikes: Spikes, current_A: Floats, rows: Rows) -> list[Finding]:
    """Name them, and tell how much charge hangs on them."""
    if not spikes.at.size:
        return []
    few, count = tuple(rows[spikes.at[:FEW]].tolist()), int(spikes.at.size)
    first = int(spikes.at[0])
    before_A, here_A, after_A = (number(float(one)) for one in current_A[first - 1 : first + 2])
    each, it = ("", "it") if count == 1 else (" each, the first time", "them")
    text = (
        f"{rows_told(few, count)}: the current leaps for one row{each} to {here_A} A between "
        f"{before_A} and {after_A} A, and the voltage does not answer: rather a fault of the meter "
        f"than a load. Kept; {number(float(spikes.each_Ah.sum()), 2)} Ah hang on {it}."
    )
    return [Finding(text, few, count, WARNING)]
