"""Where the course of a gauge check comes from: a measured log, or a simulated run."""

from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from bankSim.measured.gauge import Course
from bankSim.measured.log import Log, LogError
from bankSim.model.battery import Battery
from bankSim.model.chemistry import chemistry_of
from bankSim.model.curve import Floats
from bankSim.sim.numbers import number, quoted
from bankSim.sim.result import BatteryOutcome, Result
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
    held, current = (
        frame[f"{battery.name}.{name}"].to_numpy() for name in ("state_of_charge", "current_A")
    )
    full = _Full.of(battery)
    left_Ah = full.left_Ah(held)
    did = result.batteries[battery_number]
    counted = _counted(frame["time_s"].to_numpy(), current, did.delivered_Ah - did.charged_Ah)
    inside_Ah = float(left_Ah[0] - left_Ah[-1] - counted[-1])
    course = Course(
        quoted(battery.name), time, bus, current[lit], counted[lit],
        100.0 * left_Ah[lit] / full.capacity_Ah, full.capacity_Ah, resistance_of(battery), (),
        battery.chemistry, inside_Ah, _lag_V(battery, held[lit], current[lit]),
    )  # fmt: skip
    basis = [*_reference(full, held, left_Ah), *_unseen(course, did)]
    if not lit.all():
        basis.append("The time in which the bus is dark is left out.")
    return replace(course, basis=tuple(basis))


def _lag_V(battery: Battery, held: Floats, current_A: Floats) -> Floats:  # noqa: N802 - the unit as printed
    """Return what steady charges come to besides R I, at 25 degC, wells taken as even. [V]"""
    into_A = np.maximum(-current_A, 0.0)
    lags = [
        cell.charge_lag.volts(held, cell.coulombic_efficiency * into_A)
        for cell in battery.cells
        if cell.relaxation
    ]
    return np.sum(lags, axis=0) if lags else np.zeros(held.size)


def _counted(time_s: Floats, current_A: Floats, net_Ah: float) -> Floats:
    """Charge given at the terminals, net; ends where the run's own count does. [Ah]

    Trapezoids of the rows, with what they miss (jumps between rows) put where current flowed.
    """
    steps = np.diff(time_s) / 7200.0
    net = np.concatenate([[0.0], np.cumsum(steps * (current_A[1:] + current_A[:-1]))])
    flown = np.cumsum(steps * (np.abs(current_A[1:]) + np.abs(current_A[:-1])))
    flown = np.concatenate([[0.0], flown])
    if not flown[-1] > 0.0:
        return net
    return np.asarray(net + (net_Ah - net[-1]) * flown / flown[-1])


@dataclass(frozen=True, slots=True)
class _Full:
    """What counts as full and as empty in a prediction.

    Parameters
    ----------
    charge_Ah : float
        Mean over cells, all wells. [Ah]
    kept_Ah : float
        Of that, what does not come out in 20 h: bound in the second well. [Ah]
    stranded_Ah : float
        What the mean cell holds above the weakest. [Ah]
    capacity_Ah : float
        What a full battery gives. [Ah]
    """

    charge_Ah: float
    kept_Ah: float
    stranded_Ah: float
    capacity_Ah: float

    @classmethod
    def of(cls, battery: Battery) -> "_Full":
        """Return that of a battery, at a slow rate: lead-acid over the 20 h of its label."""
        charge = np.array([cell.charge_C for cell in battery.cells]) / 3600.0
        start = np.array([cell.state_of_charge for cell in battery.cells])
        own = chemistry_of(battery.chemistry)
        mean = float(charge.mean())
        kept = 0.0 if own is None else mean * (1.0 - 1.0 / own.capacity_per_rated)
        stranded = float((charge * start).mean() - (charge * start).min())
        return cls(mean, kept, stranded, float(charge.min()) - kept)

    def left_Ah(self, held: Floats) -> Floats:  # noqa: N802 - the unit as printed
        """Return what can still be drawn at a state of charge. [Ah]"""
        return np.asarray(held * self.charge_Ah - self.stranded_Ah - self.kept_Ah)


def _reference(full: _Full, held: Floats, left_Ah: Floats) -> list[str]:
    """Say what 100 % is, and how that compares with the state of charge of a run."""
    what = f"100 % is {number(full.capacity_Ah)} Ah"
    if full.kept_Ah <= 0.0:
        return [
            f"{what}, what the battery holds in this prediction; the voltage is that of the bus."
        ]
    end = number(100.0 * float(left_Ah[-1]) / full.capacity_Ah, 2)
    return [
        f"{what}, what it gives from full in 20 h at 25 degrees C; the voltage is that of the bus.",
        f"Its cells hold {number(full.charge_Ah)} Ah in both wells, and the state of charge that "
        f"a prediction tells is of that: {number(100.0 * float(held[-1]), 2)} % at the "
        f"end is {end} % here.",
    ]


def _unseen(course: Course, did: BatteryOutcome) -> list[str]:
    """Say what a counter at the terminals misses."""
    if course.counts_all:
        return []
    shown = course.counter_percent(float(course.counted_Ah[-1]))
    return [
        "Given is net at its terminals, as a counter there counts: by the end "
        f"{number(did.delivered_Ah)} Ah given less {number(did.charged_Ah)} Ah taken.",
        f"Another {number(course.inside_Ah)} Ah went inside it, by self-discharge and what "
        "charging loses. A counter does not see that: it would show "
        f"{number(shown, 2)} % at the end.",
    ]


def resistance_of(battery: Battery) -> float:
    """Return what a battery resists mid-way after some minutes of load, its lead included. [ohm]"""
    cells = sum(
        float(cell.ohmic_ohm(np.asarray(0.5)))
        + sum(pair.resistance_ohm for pair in cell.relaxation)
        for cell in battery.cells
    )
    return cells + battery.internal_ohm + battery.lead_ohm
