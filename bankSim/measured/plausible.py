"""Values that a battery can hardly have."""

import numpy as np
from numpy.typing import NDArray

from bankSim.measured.log import WARNING, Finding, Rows
from bankSim.measured.noted import FEW, rows_told
from bankSim.model.curve import Floats

HIGHEST_V = 1_000.0
LOWEST_USUAL_V = 0.3
HIGHEST_A = 5_000.0
HIGHEST_CELL_V = 5.5
OVERFLOW = 5.0  # times the usual voltage: no battery shows that
OVERFLOW_PART = 0.02  # of the samples: more is another trouble
SUM_FITS = 0.04  # of the sum of the cells: a column so near is the battery's voltage
SUM_APART = 0.1  # of the sum of the cells: further off, a column is not what it is taken for
SPIKE = 0.25  # of the voltage, against both neighbours


def without_overflows(
    voltage_V: Floats, time_s: Floats, rows: Rows
) -> tuple[Floats, list[Finding]]:
    """Put a straight line where a meter wrote a mark for "no reading", such as 99999; tell it.

    Parameters
    ----------
    voltage_V, time_s : array (n,)
        In the order of time. [V], [s]
    rows : array (n,)
        Rows of the file.
    """
    usual = float(np.median(np.abs(voltage_V)))
    mark = np.abs(voltage_V) > OVERFLOW * usual
    few = 0 < np.count_nonzero(mark) <= OVERFLOW_PART * mark.size
    if usual <= 0.0 or not few:
        return voltage_V, []
    mended = voltage_V.copy()
    mended[mark] = np.interp(time_s[mark], time_s[~mark], voltage_V[~mark])
    text = (
        f"a voltage of more than {OVERFLOW:g} times the usual one; taken as no reading, "
        "replaced by a straight line between its neighbours."
    )
    told = _told(rows, mark, text)
    return mended, [] if told is None else [told]


def odd_values(voltage_V: Floats, current_A: Floats, cells_V: Floats, rows: Rows) -> list[Finding]:
    """Tell of values that are hardly possible; they are kept."""
    low = np.full(rows.size, 0.0 < np.median(voltage_V) < LOWEST_USUAL_V)
    found = [
        _told(rows, low, "less than 0.3 V; kept: is the unit right, are dots thousands?"),
        _told(
            rows,
            voltage_V <= 0.0,
            "a voltage of 0 or below; kept: did it cut out, are the leads on?",
        ),
        _told(rows, voltage_V > HIGHEST_V, "more than 1,000 V; kept: is the unit right?"),
        _told(rows, np.abs(current_A) > HIGHEST_A, "more than 5,000 A; kept: is the unit right?"),
        _told(rows, _spikes(voltage_V), "the voltage leaps for one sample and returns; kept."),
    ]
    if cells_V.shape[1]:
        high = np.any(cells_V > HIGHEST_CELL_V, axis=1) | np.any(cells_V < 0.0, axis=1)
        found.append(_told(rows, high, "a cell below 0 or above 5.5 V; kept."))
        lost = np.any(np.isnan(cells_V), axis=1)
        found.append(_told(rows, lost, "a cell voltage is missing; the row was kept."))
        found.append(_apart(voltage_V, cells_V))
    return [one for one in found if one is not None]


def sums_apart(voltage_V: Floats, cells_V: Floats) -> tuple[float, float] | None:
    """Return the sum of the cells and the battery's voltage where they disagree grossly. [V]

    Both in the middle of a log; None where most rows agree, or no cells were logged.

    Parameters
    ----------
    voltage_V : array (n,)
        Of the battery. [V]
    cells_V : array (n, m)
        NaN where missing. [V]
    """
    if cells_V.shape[1] < 2:
        return None
    total = cells_V.sum(axis=1)
    known = np.isfinite(total)
    off = np.abs(voltage_V - total)[known] > SUM_APART * np.abs(total[known])
    if np.count_nonzero(off) <= 0.5 * off.size:
        return None
    return float(np.median(total[known])), float(np.median(voltage_V[known]))


def _apart(voltage_V: Floats, cells_V: Floats) -> Finding | None:
    """Tell that the cells and the battery contradict each other: not one answer rests on that."""
    apart = sums_apart(voltage_V, cells_V)
    if apart is None:
        return None
    text = (
        f"the {cells_V.shape[1]} cells add up to {apart[0]:.4g} V where the battery reads "
        f"{apart[1]:.4g} V (middle of the log): a column is not what it was taken for, or not all "
        "cells were logged. --voltage, --current and --cells set it right."
    )
    return Finding(text, severity=WARNING, on_top=True)


def _spikes(voltage_V: Floats) -> NDArray[np.bool_]:
    spikes = np.zeros(voltage_V.size, bool)
    if voltage_V.size > 2:
        before, here, after = voltage_V[:-2], voltage_V[1:-1], voltage_V[2:]
        least = SPIKE * np.abs(np.median(voltage_V))
        away = np.minimum(np.abs(here - before), np.abs(here - after))
        spikes[1:-1] = (away > least) & (np.sign(here - before) == np.sign(here - after))
    return spikes


def _told(rows: Rows, odd: NDArray[np.bool_], text: str) -> Finding | None:
    places = np.flatnonzero(odd)
    if not places.size:
        return None
    few = tuple(rows[places[:FEW]].tolist())
    return Finding(f"{rows_told(few, int(places.size))}: {text}", few, int(places.size), WARNING)
