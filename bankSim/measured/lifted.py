"""A discharge at a voltage that only a charge reaches: a charge written without its sign."""

from dataclasses import dataclass

import numpy as np

from bankSim.measured.direction import one_signed
from bankSim.measured.discharge import Discharge
from bankSim.measured.fullness import cells_of
from bankSim.measured.log import WARNING, Finding, Log, Rows
from bankSim.measured.sign import present
from bankSim.model.chemistry import Chemistry, is_lead
from bankSim.model.curve import Floats
from bankSim.model.runs import runs_of
from bankSim.sim.numbers import number

FLOWS = 0.05  # of the largest current: above it some flows
FIRST = 5  # samples under load that still count as the voltage before it
ABOVE = 1.015  # of the highest voltage before the load and as it came on
FAR_ABOVE = 1.03  # of that, where it rises there without a leap
LEAP = 0.01  # of the voltage: between two samples under a current that is no smaller
NO_SMALLER = 0.9  # of the current before a leap
LAGS = 6  # samples by which a meter may show a voltage later than its current; own choice
RISES = 0.005  # of the voltage, over a stretch
# Of a cell: a full one rests at 2.15 V and loses what a charge left; own choice.
HIGHEST_LEAD_V = 2.25
LEAST_SAMPLES, LEAST_PART = 4, 0.005  # of a stretch; of all charge that flows
GAP = 3.0  # times the usual interval: across it anything may happen


@dataclass(frozen=True, slots=True)
class Lifted:
    """A stretch under load that stands above what any discharge shows.

    Parameters
    ----------
    first, last : int
        Samples.
    highest_V, before_V : float
        Highest voltage of it, and the highest one before the load and as it came on. [V]
    charge_Ah : float
        That was counted as discharge in all such stretches. [Ah]
    """

    first: int
    last: int
    highest_V: float
    before_V: float
    charge_Ah: float


def find_lifted(time_s: Floats, voltage_V: Floats, current_A: Floats) -> Lifted | None:
    """Return where a log of one direction shows what only a charge does; None without it.

    Under load no battery leaps far above its voltage at rest before the load and as it came on, nor
    rises there. A battery charged in a pause does stand higher, but falls under load. A cold one
    rises as it warms, but slowly, and not above its rest.

    Parameters
    ----------
    time_s, voltage_V, current_A : array (n,)
        In the order of time, discharge positive. [s], [V], [A]
    """
    reach_A = float(np.max(np.abs(current_A), initial=0.0))
    flows = (current_A > FLOWS * reach_A) & present(voltage_V)
    if not flows.any() or not one_signed(current_A):
        return None
    begin = int(np.argmax(flows))
    before_V = float(np.max(voltage_V[: begin + FIRST]))
    high = flows & (voltage_V > ABOVE * before_V)
    high[: begin + FIRST] = False
    charge_C = np.gradient(time_s) * current_A
    least_C = LEAST_PART * float(charge_C[flows].sum())
    found = [
        (first, last + 1) for first, last in runs_of(high)
        if last + 1 - first >= LEAST_SAMPLES and charge_C[first : last + 1].sum() >= least_C
        and _by_charge(time_s, voltage_V, current_A, first, last + 1, FAR_ABOVE * before_V, begin)
    ]  # fmt: skip
    if not found:
        return None
    first, end = found[0]
    charge_Ah = sum(float(charge_C[a:b].sum()) for a, b in found) / 3600.0
    return Lifted(first, end - 1, float(voltage_V[first:end].max()), before_V, charge_Ah)


def _by_charge(
    time_s: Floats, voltage_V: Floats, current_A: Floats, first: int, end: int, far_V: float,
    begin: int,
) -> bool:  # fmt: skip
    """Tell whether the voltage leaps into a stretch under no less current, or rises far in it."""
    near = slice(max(first - 2, 0), min(first + 3, end))
    steps = np.diff(voltage_V[near])
    at = near.start + int(np.argmax(steps))
    usual_s = float(np.median(np.diff(time_s)))
    seen = time_s[at + 1] - time_s[at] <= GAP * usual_s
    around = current_A[max(at + 1 - LAGS, 0) : at + 1], current_A[at + 1 : at + 3]
    pushed = around[1].min() >= NO_SMALLER * around[0].max()
    if seen and pushed and steps.max() > LEAP * voltage_V[at]:
        return True
    few = max((end - first) // 10, 1)
    rise = float(np.median(voltage_V[end - few : end]) - np.median(voltage_V[first : first + few]))
    rested = begin > 0
    return rested and rise > RISES * far_V and float(voltage_V[first:end].max()) > far_V


def lifted_finding(lifted: Lifted, rows: Rows) -> Finding:
    """Warn of it."""
    few = int(rows[lifted.first]), int(rows[lifted.last])
    text = (
        f"The current has one sign throughout, but in rows {few[0]} to {few[1]} the voltage stands "
        f"at up to {number(lifted.highest_V, 4)} V while it flows, above the "
        f"{number(lifted.before_V, 4)} V before the load: no discharge does that. It looks like a "
        "charge written without sign, or a charger that feeds the load; "
        f"{number(lifted.charge_Ah, 3)} Ah were counted as discharge, so Ah and Wh are wrong. "
        "Log the sign or a column with the direction, or cut the file there."
    )
    return Finding(text, few, severity=WARNING, spoils=True)


def lifted_lead(log: Log, one: Discharge, chemistry: Chemistry | None) -> tuple[str, ...]:
    """Warn of a "discharge" of lead-acid above any voltage at which it can rest, however short.

    Parameters
    ----------
    log : Log
    one : Discharge
    chemistry : Chemistry or None
        As told by the person.
    """
    if chemistry is None or not is_lead(chemistry.word):
        return ()
    cells = cells_of(log, one, chemistry)
    here = slice(one.first, one.last + 1)
    time, current = log.time_s[here], log.current_A[here]
    high = (current > one.on_A) & (log.voltage_V[here] > HIGHEST_LEAD_V * cells)
    if np.count_nonzero(high) < LEAST_SAMPLES or time.size < 2:
        return ()
    charge_C = np.gradient(time) * current
    if charge_C[high].sum() < LEAST_PART * charge_C.sum():
        return ()
    places = np.flatnonzero(high) + one.first
    text = (
        f"Rows {int(log.rows[places[0]])} to {int(log.rows[places[-1]])}: "
        f"{number(float(charge_C[high].sum()) / 3600.0, 3)} Ah were counted as discharge above "
        f"{HIGHEST_LEAD_V * cells:.1f} V, up to {number(float(log.voltage_V[places].max()), 4)} V: "
        f"{cells} lead cells stand there only on charge. A charge was written without sign, or a "
        "charger fed the load; Ah and Wh are wrong."
    )
    return (text,)
