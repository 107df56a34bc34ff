"""The unit of numbers of time that name none: settled by a column of charge or energy."""

from collections.abc import Mapping, Sequence

import numpy as np

from bankSim.measured.column import Column
from bankSim.measured.log import NOTE, WARNING, Finding
from bankSim.measured.sign import present
from bankSim.model.curve import Floats
from bankSim.sim.numbers import quoted, span

UNITS_S = {"s": 1.0, "min": 60.0, "h": 3600.0, "ms": 1e-3}
SPELLED = {"s": "seconds", "min": "minutes", "h": "hours", "ms": "milliseconds"}
COUNTED = {"Ah": 3600.0, "mAh": 3.6, "As": 1.0, "C": 1.0}  # in coulombs
ENERGY = {"Wh": 3600.0, "mWh": 3.6, "kWh": 3.6e6, "J": 1.0, "kJ": 1e3}  # in joules
AGREES = 1.5  # times more or less: still the same
SHORT_S = 300.0
MOVES = 0.05  # of the voltage


def counters_of(columns: Sequence[Column]) -> list[Column]:
    """Return the columns that count charge or energy."""
    return [c for c in columns if c.numeric and (c.header.unit in COUNTED or c.header.unit in ENERGY
            or (not c.header.unit and {"ah", "wh", "capacity"} & set(c.header.words)))]  # fmt: skip


def settle_unit(
    time: Floats, voltage_V: Floats, current_A: Floats,
    counters: Mapping[str, tuple[str, Floats]],
) -> tuple[str, Finding]:  # fmt: skip
    """Return the unit of time, and how it was found.

    Parameters
    ----------
    time : array (n,)
        Numbers of the file without unit. [unit to be found]
    voltage_V, current_A : array (n,)
    counters : mapping
        From header to the unit and the values (n,) of a column of charge or energy. [Ah or Wh]
    """
    good = np.isfinite(time) & np.isfinite(voltage_V) & np.isfinite(current_A)
    time, voltage_V, current_A = time[good], voltage_V[good], current_A[good]
    for name, (unit, values) in counters.items():
        found = _by_counter(time, voltage_V, current_A, unit, values[good])
        if found:
            text = (f"The times name no unit; they were taken as {SPELLED[found]}, since column "
                    f"{quoted(name)} agrees with current times time only then.")  # fmt: skip
            return found, Finding(text, severity=NOTE)
    return "s", _as_seconds(time, voltage_V)


def _by_counter(
    time: Floats, voltage_V: Floats, current_A: Floats, unit: str, values: Floats
) -> str:
    """Return the one unit with which a counter agrees, "" without."""
    there = np.isfinite(values)
    if np.count_nonzero(there) < 3:
        return ""
    rate = current_A * voltage_V if unit in ENERGY else current_A
    rate, steps = np.abs(rate[there]), np.maximum(np.diff(time[there]), 0.0)
    moves = np.diff(values[there])
    steady = np.abs(moves) < 0.5 * max(float(np.ptp(values[there])), 1e-12)  # no resets
    flowed = float(np.sum((steps * (rate[1:] + rate[:-1]) / 2.0)[steady]))
    counted = float(np.sum(np.abs(moves[steady]))) * (COUNTED | ENERGY).get(unit, 3600.0)
    if flowed <= 0.0 or counted <= 0.0:
        return ""
    ratio = counted / flowed  # how many seconds one of the numbers is
    fits = [word for word, scale in UNITS_S.items() if 1 / AGREES < ratio / scale < AGREES]
    return fits[0] if fits else ""


def _as_seconds(time: Floats, voltage_V: Floats) -> Finding:
    text = "The times name no unit; they were taken as seconds"
    there = voltage_V[present(voltage_V)]
    if time.size < 3 or not there.size:
        return Finding(f"{text}.", severity=NOTE)
    whole = float(np.ptp(time))
    middle = abs(float(np.median(there))) or 1.0
    low, high = np.percentile(there, (1.0, 99.0))
    if whole >= SHORT_S or (high - low) <= MOVES * middle:
        return Finding(f"{text}.", severity=NOTE)
    part = 100.0 * float(high - low) / middle
    text += (
        f": the whole log would last {span(whole)}, and the voltage moves by {part:.0f} %. Are "
        'they minutes or hours? Write the unit into the header, such as "time / h".'
    )
    return Finding(text, severity=WARNING)
