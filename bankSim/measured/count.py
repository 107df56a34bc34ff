"""Counts the Ah and Wh of one discharge, with all that makes them uncertain."""

import math
from dataclasses import dataclass, replace

import numpy as np

from bankSim.errors import ParameterError
from bankSim.measured.current_spikes import Spikes
from bankSim.measured.discharge import Discharge, sees_end, trace
from bankSim.measured.log import Log
from bankSim.measured.rounding import rounding_line
from bankSim.measured.uncertainty import Budget, Contribution, Shape
from bankSim.measured.zero import Zero
from bankSim.model.curve import Floats

TYPICAL = "typical, our own choice"
GIVEN = "given"
DEFAULTS = {
    "shunt_gain_percent": 0.5,
    "shunt_offset_A": 0.05,
    "voltage_percent": 0.5,
    "voltage_offset_V": 0.02,
}


@dataclass(frozen=True, slots=True)
class Instrument:
    """Limits of error of a meter, plus and minus; None takes a typical one, which is told.

    Parameters
    ----------
    shunt_gain_percent, shunt_offset_A : float or None
        Of the current reading. [%], [A]
    voltage_percent, voltage_offset_V : float or None
        Of the voltage reading. [%], [V]
    shape : Shape
        NORMAL: what is given are standard uncertainties instead of limits.
    """

    shunt_gain_percent: float | None = None
    shunt_offset_A: float | None = None
    voltage_percent: float | None = None
    voltage_offset_V: float | None = None
    shape: Shape = Shape.RECTANGULAR

    def __post_init__(self) -> None:
        for name in DEFAULTS:
            value = getattr(self, name)
            if value is not None and not 0.0 <= value < math.inf:
                raise ParameterError(name, value, "0 or more")

    @property
    def offset_limit_A(self) -> float:  # noqa: N802 - the unit as printed
        """What the zero of the shunt may be off; twice a standard uncertainty. [A]"""
        given = self.shunt_offset_A
        if given is None:
            return DEFAULTS["shunt_offset_A"]
        return 2.0 * given if self.shape is Shape.NORMAL else given

    def line(self, name: str, field: str, unit: str, sensitivity: float) -> Contribution:
        """Return the contribution of one of the four errors; the same in all repeats.

        `sensitivity` is the change of the result with the error. [unit of the result per `unit`]
        """
        given = getattr(self, field)
        width = DEFAULTS[field] if given is None else given
        shape = Shape.RECTANGULAR if given is None else self.shape
        source = TYPICAL if given is None else GIVEN
        return Contribution(
            name, width, unit, sensitivity, shape,
            source=source, assumed=given is None, shared=True,
        )  # fmt: skip


@dataclass(frozen=True, slots=True)
class Counted:
    """What one discharge gave.

    Parameters
    ----------
    Ah, Wh : Budget
        Net of what was taken in meanwhile.
    hours_on : float
        With the load on. [h]
    mean_A, mean_V : float
        While it was on; voltage is Wh / Ah. [A], [V]
    start_V, end_V : float
        First and last voltage under load. [V]
    returned_Ah : float
        Taken in meanwhile. [Ah]
    bridged_Ah : float
        Part of the Ah that lies in gaps of the log. [Ah]
    most_Ah : float
        The Ah if the largest current had run all through these gaps, and while both readings
        were 0. [Ah]
    zero : Zero or None
        What the log reads at rest, where that is beyond the limit of the shunt's offset.
    """

    Ah: Budget
    Wh: Budget
    hours_on: float
    mean_A: float
    mean_V: float
    start_V: float
    end_V: float
    returned_Ah: float
    bridged_Ah: float
    most_Ah: float
    zero: Zero | None = None


def count(
    log: Log, one: Discharge, instrument: Instrument, end_V: float | None,
    zero: Zero | None = None, spikes: Spikes | None = None,
) -> Counted:  # fmt: skip
    """Count one discharge by trapezoids.

    The true current is taken as reading x (1 + gain error) + offset, the true voltage likewise, so
    the sensitivities are the Ah for the gain and the hours for the offset.

    Parameters
    ----------
    log : Log
    one : Discharge
    instrument : Instrument
    end_V : float or None
        The end voltage, where the test was ended by it: an error of the voltage reading then
        moves the end. [V]
    zero : Zero or None
        What the whole log reads at rest beyond the limit of the shunt's offset.
    spikes : Spikes or None
        Lone leaps of the current in the whole log.

    Source
    ------
    docs/theory.md, eq. 26.1, 26.2.
    """
    time, current, voltage = trace(log, one)
    charge = float(np.trapezoid(current, time)) / 3600.0
    energy = float(np.trapezoid(current * voltage, time)) / 3600.0
    hours = float(time[-1] - time[0]) / 3600.0
    off_s = sum(pause.length_s for pause in one.pauses) + _off_edges(log, one, time)
    on_hours = hours - off_s / 3600.0
    own, bridged, through = _log_lines(log, one, time, current, voltage, spikes)
    gain = instrument.line("shunt gain", "shunt_gain_percent", "%", charge / 100.0)
    offset = _offset(instrument, zero, hours)
    end = _end_lines(instrument, time, current, voltage, end_V)
    mean_V = energy / charge if charge > 0.0 else 0.0
    energy_lines = (
        _times(gain, mean_V), _times(offset, mean_V),
        instrument.line("voltage gain", "voltage_percent", "%", energy / 100.0),
        instrument.line("voltage offset", "voltage_offset_V", "V", charge),
        *(_times(line, mean_V) for line in own),
    )  # fmt: skip
    return Counted(
        Budget(charge, "Ah", (gain, offset, *end, *own)),
        Budget(energy, "Wh", energy_lines),
        on_hours,
        _mean_on(time, current, one.on_A, charge / on_hours if on_hours > 0.0 else math.nan),
        mean_V,
        float(log.voltage_V[one.first]),
        float(voltage[-1] if math.isfinite(one.end_s) else log.voltage_V[one.last]),
        sum(pause.returned_Ah for pause in one.pauses),
        bridged,
        charge - bridged + through,
        zero,
    )


def _offset(instrument: Instrument, zero: Zero | None, hours: float) -> Contribution:
    """Return the part of the shunt's zero, as wide as what the log reads at rest asks for."""
    line = instrument.line("shunt offset", "shunt_offset_A", "A", hours)
    if zero is None:
        return line
    return replace(
        line, width=abs(zero.mean_A) + instrument.offset_limit_A, shape=Shape.RECTANGULAR,
        source=f"reads {zero.mean_A:+.3f} A at rest; that and its limit", assumed=False,
    )  # fmt: skip


def _mean_on(time: Floats, current: Floats, on_A: float, otherwise: float) -> float:
    """Mean current of the intervals that the load was on at both ends of. [A]"""
    on = (current[1:] > on_A) & (current[:-1] > on_A)
    steps = np.diff(time)[on]
    if not steps.sum() > 0.0:
        return min(otherwise, float(current.max(initial=0.0)))
    return float(steps @ (current[1:] + current[:-1])[on] / (2.0 * steps.sum()))


def _off_edges(log: Log, one: Discharge, time: Floats) -> float:
    """Half of the intervals in which the load went on and off: about when it was off. [s]"""
    first = time[1] - time[0] if one.first > 0 else 0.0
    open_end = sees_end(log, one) and not math.isfinite(one.end_s)
    return float(first + (time[-1] - time[-2] if open_end else 0.0)) / 2.0


def _times(line: Contribution, factor: float) -> Contribution:
    return replace(line, sensitivity=line.sensitivity * factor)


def _end_lines(
    instrument: Instrument,
    time: Floats,
    current: Floats,
    voltage: Floats,
    end_V: float | None,
) -> tuple[Contribution, ...]:
    """What a wrong voltage reading does to the end: Ah for a volt, where the voltage ends."""
    if end_V is None or time.size < 3:
        return ()
    back = max(time.size - 4, 0)
    fallen = voltage[back] - voltage[-1]
    if fallen <= 0.0:
        return ()
    given = float(np.trapezoid(current[back:], time[back:])) / 3600.0
    slope = given / fallen
    return (
        instrument.line("end voltage, gain", "voltage_percent", "%", slope * end_V / 100.0),
        instrument.line("end voltage, offset", "voltage_offset_V", "V", slope),
    )


def _log_lines(
    log: Log, one: Discharge, time: Floats, current: Floats, voltage: Floats,
    spikes: Spikes | None,
) -> tuple[tuple[Contribution, ...], float, float]:  # fmt: skip
    """What the log leaves open, the Ah bridged over gaps, and those of the largest current."""
    rectangular = Shape.RECTANGULAR
    begin = max(one.first - 1, 0)
    steps = np.diff(time)
    inside = [gap for gap in log.gaps if begin <= gap.before < begin + steps.size]
    gapped = np.zeros(steps.size, bool)
    gapped[[gap.before - begin for gap in inside]] = True
    parts = steps * (current[1:] + current[:-1]) / 7200.0
    bridged = float(parts[gapped].sum())
    most = float(current.max() * steps[gapped].sum() / 3600.0)
    silent_Ah = float(current.max()) * sum(p.length_s for p in one.pauses if p.silent) / 3600.0
    lines = [
        rounding_line(
            log.current_A[one.first : one.last + 1], float(steps.sum()) / 3600.0, log.written
        ),
        Contribution(
            "samples too far apart", _trapezoid_error(steps, current, gapped), "Ah", 1.0,
            rectangular, source="difference to every second sample",
        ),
        Contribution(
            "moment of start and end", _edge_charge(log, one, steps, current, gapped), "Ah", 1.0,
            rectangular, source="half the distance of samples at both edges",
        ),
    ]  # fmt: skip
    leapt_Ah = 0.0 if spikes is None else spikes.charge_Ah(one.first, one.last)
    unseen = (
        (bool(inside), "gaps in the log", max(bridged, most - bridged),
         "between no current and the largest one all through the gaps"),
        (silent_Ah > 0.0, "readings of 0 inside the test", silent_Ah,
         "between no current and the largest one while both readings were 0"),
        (leapt_Ah > 0.0, "lone leaps of the current", leapt_Ah,
         "the voltage does not answer: between a fault of the meter and a load"),
    )  # fmt: skip
    lines += [
        Contribution(name, width, "Ah", 1.0, rectangular, source=source)
        for there, name, width, source in unseen
        if there
    ]
    return tuple(lines), bridged, most + silent_Ah


def _trapezoid_error(steps: Floats, current: Floats, gapped: np.ndarray) -> float:
    """Return what every second sample would have counted differently. [Ah]

    Leaves out the edges, which are told apart, and gaps. The error of the trapezoids themselves is
    about a third of it for a smooth current.
    """
    pairs = np.arange(1, steps.size - 2, 2)
    pairs = pairs[~(gapped[pairs] | gapped[pairs + 1])] if pairs.size else pairs
    first, second = steps[pairs], steps[pairs + 1]
    fine = first * (current[pairs] + current[pairs + 1])
    fine = fine + second * (current[pairs + 1] + current[pairs + 2])
    coarse = (first + second) * (current[pairs] + current[pairs + 2])
    return float(abs((coarse - fine).sum())) / 7200.0


def _edge_charge(
    log: Log, one: Discharge, steps: Floats, current: Floats, gapped: np.ndarray
) -> float:
    """Half the charge of the intervals in which the load went on and off. [Ah]"""
    total = 0.0
    if one.first > 0 and not gapped[0]:
        total += steps[0] * abs(current[1]) / 7200.0
    if sees_end(log, one) and not gapped[-1]:
        total += steps[-1] * abs(current[-2]) / 7200.0
    return float(total)
