"""Whether a discharge can have begun at full: what the log had drawn before, and its voltage."""

import math
from dataclasses import dataclass

import numpy as np

from bankSim.measured.around import Before
from bankSim.measured.count import DEFAULTS, Counted, Instrument
from bankSim.measured.discharge import RETURNED_PART, Discharge
from bankSim.measured.knee import Drive, loaded_voltage
from bankSim.measured.knee_facts import CURVE_V
from bankSim.measured.label import FLAT_LFP_V, nearest_lead_cells
from bankSim.measured.log import Log
from bankSim.measured.regained import UnderLoad
from bankSim.measured.rests import returned_Ah, unseen_charge, usual_step_s
from bankSim.model.chemistry import Chemistry, chemistry_of, is_lead
from bankSim.model.lead_acid import CELLS, SPREAD_V
from bankSim.model.lfp import LFP
from bankSim.sim.numbers import number, span

MISSING_PART = 0.05  # of the Ah of a test: as much drawn before and not put back is no full start
NEARLY_FULL = 0.9  # state of charge that any full battery surely passes
AT_START_PART = 0.02  # of the Ah: the samples under load that are held against a full battery
REFERENCE_C = 25.0
LEAST_GUESSED_V = 3.19  # of a cell, 12.76 V for 4: lead-acid under load stands below in its middle
FLAT_CELLS = (4, 8)  # 12 and 24 V; lead-acid in its middle stands below these, with 48 V it may not
ROUNDING = 0.02  # of a cell: a slow discharge may stay that little above
STEEP_LFP_V = 3.5  # of a cell: a charge that reaches it leaves little out
LEAST_REST_S = 60.0  # a shorter rest says less than the load


@dataclass(frozen=True, slots=True)
class Start:
    """What a log says of the charge at the start of one of its discharges.

    Parameters
    ----------
    missing_Ah : float
        Drawn earlier in the log and not put back. [Ah]
    rested : bool
        Nothing but rest lies between this and the discharge before.
    unseen_s : float
        Length of the rest before, where an earlier discharge was broken off and the log does not
        show whether the battery was charged since; else 0. [s]
    follows : bool
        An earlier discharge is in the log, so that it shows what was drawn and put back.
    """

    missing_Ah: float = 0.0
    rested: bool = False
    unseen_s: float = 0.0
    follows: bool = False


@dataclass(frozen=True, slots=True)
class Said:
    """What a person says of the battery and the meter.

    Parameters
    ----------
    chemistry : str or None
    rated_Ah : float or None
        [Ah]
    temperature_C : float or None
        During the discharge. [degC]
    instrument : Instrument
    """

    chemistry: str | None
    rated_Ah: float | None
    temperature_C: float | None
    instrument: Instrument


def starts_of(log: Log, discharges: list[Discharge]) -> list[Start]:
    """Return what a log says of the start of each of its discharges, in their order."""
    usual_s, loaded = usual_step_s(log), UnderLoad.of(log, discharges[0].on_A)
    counted = loaded.counted_Ah
    since, told = 0, []
    for previous, one in zip([None, *discharges[:-1]], discharges, strict=True):
        rested, unseen_s = False, 0.0
        if previous is not None:
            given = counted[previous.last] - counted[previous.first]
            back = returned_Ah(log, previous.last, one.first, one.on_A)
            hidden = unseen_charge(log, previous.first, previous.last, one.first, usual_s, loaded)
            since = one.first if hidden else since
            rested = not hidden and back <= RETURNED_PART * max(given, 0.0)
            if hidden and not previous.complete and back <= RETURNED_PART * max(given, 0.0):
                unseen_s = float(log.time_s[one.first] - log.time_s[previous.last])
        begin = max(one.first - 1, since)
        missing = float(counted[begin] - counted[since : begin + 1].min())
        told.append(Start(missing, rested, unseen_s, previous is not None))
    return told


def why_not_full(
    log: Log, one: Discharge, start: Start, seen: Before, counted: Counted, said: Said
) -> str:
    """Return why a discharge cannot have begun at full, in words; empty where nothing says so.

    Parameters
    ----------
    log : Log
    one : Discharge
    start : Start
        Of this discharge.
    seen : Before
        What preceded it.
    counted : Counted
        Its Ah.
    said : Said
        What the person says of battery and meter.
    """
    if start.missing_Ah > MISSING_PART * max(counted.Ah.value, 0.0):
        return (
            f"the log shows {number(start.missing_Ah)} Ah drawn before it and not put back, so it "
            "did not start full"
        )
    if start.unseen_s > 0.0:
        return (
            f"it goes on {span(start.unseen_s, 2)} after a discharge that was broken off, and the "
            "log does not show whether the battery was charged in between"
        )
    stopped = "" if start.follows else _by_charge(log, one, seen, counted, said)
    return stopped or _by_voltage(log, one, counted, said)


def _by_charge(log: Log, one: Discharge, seen: Before, counted: Counted, said: Said) -> str:
    """Tell of a charge that was stopped at its full current, before LFP came to its steep end."""
    if seen.tapered is not False or seen.full(counted.Ah.value):
        return ""
    chemistry = _chemistry(log, one, said.chemistry)
    tail_A, tail_V = seen.tail_A or 0.0, seen.tail_V or 0.0
    if chemistry is LFP and tail_V >= STEEP_LFP_V * cells_of(log, one, chemistry):
        return ""
    return (
        f"the charge before it was stopped at its full current ({number(tail_A)} A at "
        f"{tail_V:.2f} V), before it tapered off, so it perhaps did not start full"
    )


def _chemistry(log: Log, one: Discharge, word: str | None) -> Chemistry | None:
    """What was told; LFP where the middle voltage under load can be nothing else."""
    if word is not None:
        return chemistry_of(word)
    here = slice(one.first, one.last + 1)
    if log.cells_V.shape[1]:
        seen = log.cells_V[here]
        middles = [float(np.median(seen[np.isfinite(seen)]))] if np.isfinite(seen).any() else []
    else:
        middle_V = float(np.median(log.voltage_V[here]))
        middles = [middle_V / cells for cells in FLAT_CELLS]
    low_V, high_V = FLAT_LFP_V
    if not log.cells_V.shape[1]:
        low_V = LEAST_GUESSED_V
    return LFP if any(low_V <= middle <= high_V for middle in middles) else None


def cells_of(log: Log, one: Discharge, chemistry: Chemistry) -> int:
    """Return the number of cells: the columns of the log, or as few as the voltage allows."""
    if log.cells_V.shape[1]:
        return int(log.cells_V.shape[1])
    middle_V = float(np.median(log.voltage_V[one.first : one.last + 1]))
    if is_lead(chemistry.word):
        return nearest_lead_cells(max(middle_V, 0.1) / chemistry.nominal_V)
    nearly_V = float(chemistry.ocv_V()(np.asarray(NEARLY_FULL)))
    return max(1, math.ceil(middle_V / nearly_V - ROUNDING))


def _by_voltage(log: Log, one: Discharge, counted: Counted, said: Said) -> str:
    chemistry = _chemistry(log, one, said.chemistry)
    if chemistry is None or not counted.Ah.value > 0.0:
        return ""
    cells = cells_of(log, one, chemistry)
    rest_V = _rest_V(log, one)
    if rest_V is not None:
        usual_V = cells * float(chemistry.ocv_V()(np.asarray(NEARLY_FULL)))
        seen_V, under = rest_V, "at rest"
        least_V = usual_V - _unsure_V(chemistry, cells, usual_V, said.instrument, 0.0)
    else:
        seen_V, amperes = _first_loaded(log, one, counted.Ah.value)
        under = f"under {number(amperes)} A"
        usual_V, drop_V = _full_loaded(chemistry, cells, amperes, counted, said)
        least_V = usual_V - _unsure_V(chemistry, cells, usual_V, said.instrument, drop_V)
    if seen_V >= least_V:
        return ""
    guessed = "" if said.chemistry is not None else " (taken from its voltage)"
    return (
        f"it starts at {seen_V:.2f} V {under}, and a full {chemistry.word} battery of {cells} "
        f"cells{guessed} stands above {least_V:.2f} V there, the usual errors of meter "
        "and curve allowed for: it did not start full, or has a fault"
    )


def _rest_V(log: Log, one: Discharge) -> float | None:  # noqa: N802 - the unit as printed
    """Voltage right before the load where the log shows some rest there. [V]"""
    busy = np.flatnonzero(np.abs(log.current_A[: one.first]) > one.on_A)
    begin = int(busy[-1]) + 1 if busy.size else 0
    if one.first - begin < 1 or log.time_s[one.first] - log.time_s[begin] < LEAST_REST_S:
        return None
    return float(log.voltage_V[one.first - 1])


def _first_loaded(log: Log, one: Discharge, charge_Ah: float) -> tuple[float, float]:
    """Voltage and current in the middle of the first charge given. [V], [A]"""
    counted = log.counted_Ah()
    end = one.first + int(
        np.searchsorted(
            counted[one.first : one.last + 1], counted[one.first] + AT_START_PART * charge_Ah,
            side="right",
        )
    )  # fmt: skip
    on = np.flatnonzero(log.current_A[one.first : end] > one.on_A) + one.first
    if not on.size:
        return float(log.voltage_V[one.first]), float(log.current_A[one.first])
    return float(np.median(log.voltage_V[on])), float(np.median(log.current_A[on]))


def _full_loaded(
    chemistry: Chemistry, cells: int, amperes: float, counted: Counted, said: Said
) -> tuple[float, float]:
    """Voltage of a usual battery that is nearly full under a load, and what it drops there. [V]"""
    capacity_Ah = said.rated_Ah or counted.Ah.value
    warm = REFERENCE_C if said.temperature_C is None else said.temperature_C
    drive = Drive(
        np.asarray(amperes / capacity_Ah), np.asarray(1.0), np.asarray(warm), np.asarray(0.0)
    )
    idle = Drive(np.asarray(0.0), np.asarray(1.0), np.asarray(warm), np.asarray(0.0))
    place = np.asarray(NEARLY_FULL)
    loaded_V = float(loaded_voltage(chemistry, place, drive))
    drop_V = float(loaded_voltage(chemistry, place, idle)) - loaded_V
    return cells * loaded_V, cells * drop_V


def _unsure_V(  # noqa: N802 - the unit as printed
    chemistry: Chemistry, cells: int, voltage_V: float, instrument: Instrument, drop_V: float
) -> float:
    """How far below a usual full battery a full one may read: curve, meter, resistance. [V]

    The meter counts with its limits, the resistance as twice the usual one, the curve with half of
    what published tables differ by (lead), or 15 mV a cell; independent, so by squares.
    """
    curve_V = SPREAD_V / 2.0 / CELLS if is_lead(chemistry.word) else CURVE_V
    percent, offset_V = (
        DEFAULTS[name] if value is None else value
        for name, value in (
            ("voltage_percent", instrument.voltage_percent),
            ("voltage_offset_V", instrument.voltage_offset_V),
        )
    )
    meter_V = percent / 100.0 * voltage_V + offset_V
    return math.hypot(cells * curve_V, meter_V, drop_V)
