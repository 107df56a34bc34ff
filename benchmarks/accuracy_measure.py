"""How far a run is from the truth: Ah of each battery, times of events, bus voltage."""

from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from bankSim.crosscheck.twin import solve_twin
from bankSim.crosscheck.twin_result import STAGE as TWIN_STAGE
from bankSim.scenario.record import Scenario
from bankSim.sim.engine import ABSOLUTE_TOLERANCE_PER_H, RELATIVE_TOLERANCE, Engine
from bankSim.sim.result import MAY_RETURN, TRIP
from bankSim.sim.run import simulate
from benchmarks.accuracy_banks import CLOSED_FORM, TWIN, single_answer
from benchmarks.timing import stopwatch

HOUR_S = 3600.0
FINEST = 1e-9
ON_THE_WAY = 0.6  # of the time to the end
CLEAR_S = 3.0  # around a switching each side switches at its own instant
MOST_LOOKS = 150  # at the bus voltage: the twin solves a network for each


@dataclass(frozen=True, eq=False)
class Truth:
    """What a bank really does.

    Parameters
    ----------
    through_Ah : array (2, n, 2)
        Given and taken by every battery, on the way (`on_the_way_s`) and at the end. [Ah]
    on_the_way_s : float
        A time of its own: Ah at a cut-out follow from the curve, however late it comes. [s]
    events : list of (time [s], what, who)
        All that happens, in order; who is a battery counted from 0, or None.
    voltage_V : callable
        Of the bus at an array of times [s]. [V]
    """

    through_Ah: Any
    on_the_way_s: float
    events: list
    voltage_V: Any


@dataclass(frozen=True)
class Error:
    """How far a run is off.

    Parameters
    ----------
    charge : float
        Worst of any battery's Ah, given or taken, on the way or at the end, relative to all that
        had gone through it by then. [1]
    of_allowed : float
        The same as a part of what the tolerances allow. [1]
    event_s : float
        Worst time of an event; infinite when events or their order differ. [s]
    voltage_rms_V, voltage_worst_V : float
        Of the bus, away from switchings. [V]
    steps : int
        Tried ones.
    """

    charge: float
    of_allowed: float
    event_s: float
    voltage_rms_V: float
    voltage_worst_V: float
    steps: int


def truth_of(case):
    """Find the truth by the means that the case names."""
    if case.reference == CLOSED_FORM:
        end_s, given_Ah, voltage_V = single_answer()
        times_s = np.array([ON_THE_WAY * end_s, end_s])
        through = np.stack([given_Ah(times_s), np.zeros(2)], axis=-1)[:, None, :]
        return Truth(through, times_s[0], [(end_s, TRIP, 0)], voltage_V)
    if case.reference == TWIN:
        return _truth_of_twin(solve_twin(case.bank, rtol=FINEST, atol=0.1 * FINEST))
    return _truth_of_run(case.bank)


def march(bank, tolerance):
    """Run a bank; the absolute tolerance goes with the relative one."""
    absolute_A = absolute_tolerance_A(bank, tolerance)
    scenario = Scenario("accuracy", bank)
    return simulate(scenario, relative_tolerance=tolerance, absolute_tolerance_A=absolute_A)


def absolute_tolerance_A(bank, tolerance):  # noqa: N802 - the unit as printed
    """Scale the usual absolute tolerance as the relative one is scaled. [A]"""
    smallest_Ah = min(battery.rated_C for battery in bank.batteries) / HOUR_S
    wished_A = ABSOLUTE_TOLERANCE_PER_H * smallest_Ah * tolerance / RELATIVE_TOLERANCE
    return min(max(wished_A, 1e-12), 1.0)


def march_seconds(bank, tolerance):
    """Processor time of one march without its timeline; packing is not counted. [s]"""
    engine = Engine(bank, tolerance, absolute_tolerance_A(bank, tolerance), keep_trace=False)
    return stopwatch(engine.finish)


def error_of(bank, tolerance, truth):
    """March a bank at a tolerance and compare it with the truth."""
    result = march(bank, tolerance)
    found = _through_Ah(bank, tolerance, truth.on_the_way_s, result)
    miss, through = np.abs(found - truth.through_Ah), truth.through_Ah.sum(axis=-1, keepdims=True)
    hours = np.array([truth.on_the_way_s, result.end_time_s])[:, None, None] / HOUR_S
    allowed = tolerance * through + absolute_tolerance_A(bank, tolerance) * hours
    used = through > 0.0
    return Error(
        float(np.max(miss / np.where(used, through, np.inf))),
        float(np.max(miss / allowed)),
        _event_error_s(_events(result), truth.events),
        *_voltage_error(result, truth),
        result.numerics.steps,
    )


def _through_Ah(bank, tolerance, on_the_way_s, result):  # noqa: N802 - the unit as printed
    """Given and taken on the way, by a march that stops there, and at the end. [Ah]"""
    part = march(replace(bank, duration_s=on_the_way_s), tolerance)
    return np.array(
        [[(one.delivered_Ah, one.charged_Ah) for one in run.batteries] for run in (part, result)]
    )


def _event_error_s(found, right):
    """Worst difference of times, infinite unless the same things happen in the same order."""
    if [one[1:] for one in found] != [one[1:] for one in right]:
        return np.inf
    return max((abs(a[0] - b[0]) for a, b in zip(found, right, strict=True)), default=0.0)


def _voltage_error(result, truth):
    """Return the rms and the worst error of the bus voltage on the rows of the timeline. [V]"""
    table = result.timeline()
    time_s, volts = (table[name].to_numpy() for name in ("time_s", "bank.voltage_V"))
    edges = _switchings(result, truth)
    clear = np.min(np.abs(time_s[:, None] - edges[None, :]), axis=1) > CLEAR_S
    rows = np.flatnonzero(clear & np.isfinite(volts))
    rows = rows[:: max(1, -(-rows.size // MOST_LOOKS))]
    miss = np.abs(volts[rows] - truth.voltage_V(time_s[rows]))
    return float(np.sqrt(np.mean(miss**2))), float(miss.max())


def _switchings(result, truth):
    """Every instant at which something switches, here or there. [s]"""
    bank = result.scenario.bank
    devices = [*bank.loads, *bank.chargers]
    planned = [one.schedule.edges_s(bank.duration_s, bank.starts_at_s) for one in devices]
    profiles = [load.profile_s for load in bank.loads]
    happened = [one[0] for one in [*truth.events, *_events(result)]]
    ends = [0.0, result.end_time_s, bank.duration_s]
    return np.unique(np.concatenate([*planned, *profiles, happened, ends]))


def _events(result):
    names = [battery.name for battery in result.scenario.bank.batteries]
    return [
        (event.time_s, event.what, names.index(event.battery) if event.battery else None)
        for event in result.events
        if event.what != MAY_RETURN
    ]


def _truth_of_twin(twin):
    """The twin also tells when a schedule switches a charger on."""
    events = [
        (one.time_s, one.what, one.battery)
        for one in twin.events
        if not (one.what == TWIN_STAGE and one.value == 1)
    ]
    on_the_way_s = ON_THE_WAY * twin.end_time_s
    _, _, _, given, taken, *_ = twin.plant.split(twin.state_at(on_the_way_s))
    way = np.stack([given, taken], axis=-1) * twin.plant.unit_C / HOUR_S
    end = np.stack([twin.delivered_Ah, twin.charged_Ah], axis=-1)
    return Truth(np.stack([way, end]), on_the_way_s, events, twin.voltage_V)


def _truth_of_run(bank):
    """Our own run at the finest tolerance, told on the same rows of time."""
    result = march(bank, FINEST)
    on_the_way_s = ON_THE_WAY * result.end_time_s
    table = result.timeline()
    time_s, volts = (table[name].to_numpy() for name in ("time_s", "bank.voltage_V"))
    return Truth(
        _through_Ah(bank, FINEST, on_the_way_s, result),
        on_the_way_s,
        _events(result),
        lambda times: np.interp(times, time_s, volts),
    )
