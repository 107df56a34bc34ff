"""Where the course of a gauge check comes from: a measured log, or a simulated run."""

from pathlib import Path

import numpy as np

from bankSim.measured.gauge import Course
from bankSim.measured.log import Log, LogError
from bankSim.model.battery import Battery
from bankSim.model.chemistry import chemistry_of
from bankSim.model.curve import Floats
from bankSim.sim.numbers import number, quoted
from bankSim.sim.result import Result
from bankSim.sim.timeline import timeline_frame

LEAST_LEFT_PERCENT = -200.0  # counted further down, label or log is another one
DARK_V = 1.0  # below this nothing is connected, and a gauge shows nothing


def course_of_log(
    log: Log, rated_Ah: float | None, start_percent: float, ohm: float | None
) -> Course:
    """Return the course of a log, counted from an assumed start.

    Parameters
    ----------
    log : Log
    rated_Ah : float or None
        What counts as 100 %; None takes the most that the log gives, from full to empty. [Ah]
    start_percent : float
        What was in the battery at the first sample. [%]
    ohm : float or None
    """
    if log.count < 2:
        raise LogError(f"{log.file}: {log.count} samples; expected 2 or more")
    spoilt = next((one.text for one in log.findings if one.spoils), None)
    if spoilt is not None:
        raise LogError(f"{log.file}: nothing can be counted in it; expected another log. {spoilt}")
    counted = log.counted_Ah()
    basis = [
        f"At the start of the log the battery held {number(start_percent)} % (--start-percent)."
    ]
    if rated_Ah is None:
        most = float(counted.max())
        if most <= 0.0:
            raise LogError(f"{log.file}: gives no charge; expected a discharge, or --rated-Ah")
        rated_Ah = most * 100.0 / start_percent
        basis.append(
            f"The log is taken to end empty, so that 100 % is {number(rated_Ah)} Ah; if the "
            "battery was not empty in the end, say what it holds with --rated-Ah."
        )
    else:
        basis.append(f"100 % is {number(rated_Ah)} Ah, as given.")
    left = start_percent - 100.0 * counted / rated_Ah
    if float(left.min()) < LEAST_LEFT_PERCENT:
        raise LogError(
            f"{log.file}: gives {number(float(counted.max()))} Ah, more than 100 % = "
            f"{number(rated_Ah)} Ah can hold; expected another --rated-Ah or --start-percent"
        )
    basis += _outside(left)
    return Course(
        f"log {Path(log.file).name}", log.time_s, log.voltage_V, log.current_A, counted, left,
        rated_Ah, ohm, tuple(basis),
    )  # fmt: skip


def _outside(left: Floats) -> list[str]:
    """Say so when counting leaves 0 to 100 %."""
    low, high = float(left.min()), float(left.max())
    if low >= -1.0 and high <= 101.0:
        return []
    return [
        f"WARNING: by counting it held {number(low)} to {number(high)} %, which cannot be: the "
        "start, the 100 % or the current is not as assumed, and all errors below shift with it."
    ]


def course_of_run(result: Result, battery_number: int) -> Course:
    """Return the course of one battery of a run, as a gauge on the bus sees it.

    The remainder is counted to the instant the battery's weakest cell is empty: for lead-acid to
    the end of the rated 20 h discharge.
    """
    battery = result.scenario.bank.batteries[battery_number]
    frame = timeline_frame(result, jumps=False)
    lit = frame["bank.voltage_V"].to_numpy() > DARK_V
    if lit.sum() < 2:
        raise LogError(f"{quoted(battery.name)}: the bus is dark all the time; nothing to check")
    time, bus = (frame[name].to_numpy()[lit] for name in ("time_s", "bank.voltage_V"))
    current = frame[f"{battery.name}.current_A"].to_numpy()[lit]
    held = frame[f"{battery.name}.state_of_charge"].to_numpy()[lit]
    left_Ah, capacity_Ah = _left(battery, held)
    counted = left_Ah[0] - left_Ah
    basis = [
        f"100 % is {number(capacity_Ah)} Ah, what the battery holds in this prediction; the "
        "voltage is that of the bus.",
    ]
    if not lit.all():
        basis.append("The time in which the bus is dark is left out.")
    return Course(
        quoted(battery.name), time, bus, current, counted, 100.0 * left_Ah / capacity_Ah,
        capacity_Ah, resistance_of(battery), tuple(basis), battery.chemistry,
    )  # fmt: skip


def _left(battery: Battery, held: Floats) -> tuple[Floats, float]:
    """Return what can still be drawn and what a full battery gives, at a slow rate. [Ah]"""
    charge = np.array([cell.charge_C for cell in battery.cells]) / 3600.0
    start = np.array([cell.state_of_charge for cell in battery.cells])
    own = chemistry_of(battery.chemistry)
    beyond = 0.0 if own is None else float(charge.mean()) * (1.0 - 1.0 / own.capacity_per_rated)
    stranded = float((charge * start).mean() - (charge * start).min())
    capacity = float(charge.min()) - beyond
    return held * charge.mean() - stranded - beyond, capacity


def resistance_of(battery: Battery) -> float:
    """Return what a battery resists mid-way after some minutes of load, its lead included. [ohm]"""
    cells = sum(
        float(cell.ohmic_ohm(np.asarray(0.5)))
        + sum(pair.resistance_ohm for pair in cell.relaxation)
        for cell in battery.cells
    )
    return cells + battery.internal_ohm + battery.lead_ohm
