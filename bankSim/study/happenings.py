"""What only a draw run in full tells: loads that cut themselves off, charge that is blocked."""

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from bankSim.kernels.arrays import FIXED, PER_BATTERY, Floats
from bankSim.sim.demand import cutting_loads
from bankSim.sim.result import LOAD_OFF, LOAD_ON, TRIP, Event, Result
from bankSim.study.statistics import Estimate, chance

S_PER_H = 3600.0
NEARLY_ALL = 0.95  # of the charge that enters
LEAST_C = 3.6  # entering: less is nothing
STILL_CHARGING = 0.1  # of the largest current into the bank: more than that at the end is no tail
UNSEEN = Estimate(0.0, 0.0, 1.0)


@dataclass(frozen=True, eq=False)
class FirstTimes:
    """When something happens to one load or battery for the first time, draw by draw.

    Parameters
    ----------
    name : str
        Of the load or battery.
    hours : array (draws,)
        NaN in draws in which it never does. [h]
    """

    name: str
    hours: Floats

    @property
    def chance(self) -> Estimate:
        """How often it happens at all."""
        return chance(int(np.isfinite(self.hours).sum()), self.hours.size)


@dataclass(frozen=True, slots=True)
class Happened:
    """What happens in one draw; NaN for what never does.

    Parameters
    ----------
    own_cut_offs_h : tuple of float
        Of every load that can cut itself off, the first time that it does. [h]
    charge_blocks_h : tuple of float
        Of every battery, the first time that it blocks its charge. [h]
    still_charging : bool
        At the end of the run more than `STILL_CHARGING` of the largest current still enters.
    charging_h : float
        Until `NEARLY_ALL` of the charge that enters the bank is in. [h]
    off_for_good_h : tuple of float
        Of every load that can cut itself off, when it does so and is not back until the end. [h]
    until_off_h : float
        Until a load is off for good or, before that, the loads cannot be fed; one that is off for
        a while only does not count. [h]
    loads_Wh : float
        Energy that the loads get. [Wh]
    """

    own_cut_offs_h: tuple[float, ...]
    charge_blocks_h: tuple[float, ...]
    still_charging: bool
    charging_h: float
    off_for_good_h: tuple[float, ...]
    until_off_h: float
    loads_Wh: float = 0.0


@dataclass(frozen=True, eq=False)
class Happenings:
    """The same of all draws run in full.

    Parameters
    ----------
    own_cut_offs : tuple of FirstTimes
        Of the loads that can cut themselves off.
    charge_blocks : tuple of FirstTimes
        Of the batteries.
    still_charging : Estimate
        Chance that the bank still takes in charge when the run ends.
    charging_h, until_off_h : array (draws,)
        As in `Happened`. [h]
    off_for_good : tuple of FirstTimes
        Of the loads that can cut themselves off: when they do and are not back until the end.
    loads_Wh : array (draws,)
        As in `Happened`; empty where it was not asked for. [Wh]
    """

    own_cut_offs: tuple[FirstTimes, ...] = ()
    charge_blocks: tuple[FirstTimes, ...] = ()
    still_charging: Estimate = UNSEEN
    charging_h: Floats = field(default_factory=lambda: np.empty(0))
    off_for_good: tuple[FirstTimes, ...] = ()
    until_off_h: Floats = field(default_factory=lambda: np.empty(0))
    loads_Wh: Floats = field(default_factory=lambda: np.empty(0))


def happened(result: Result) -> Happened:
    """Read from one run what happens in it."""
    bank = result.scenario.bank
    off = [event for event in result.events if event.what == LOAD_OFF]
    blocked = [
        event
        for event in result.events
        if event.what == TRIP and event.blocks in ("charge", "both")
    ]
    for_good_h = tuple(_for_good_h(result, load.name) for load in cutting_loads(bank))
    return Happened(
        tuple(_first_h(off, load.name) for load in cutting_loads(bank)),
        tuple(_first_h(blocked, battery.name) for battery in bank.batteries),
        is_still_charging(_into_A(result)),
        charging_hours(result.trace[:, 0], _into_A(result)),
        for_good_h,
        float(np.nanmin([result.bank.runtime_s / S_PER_H, *for_good_h])),
        result.bank.energy.loads_Wh if result.bank.energy is not None else 0.0,
    )


def gathered(
    loads: Sequence[str], batteries: Sequence[str], draws: Sequence[Happened]
) -> Happenings:
    """Put the draws together.

    Parameters
    ----------
    loads : sequence of str
        Names of those that can cut themselves off, in the order of the file.
    batteries : sequence of str
    draws : sequence of Happened
        One or more.
    """
    return Happenings(
        _times(loads, [one.own_cut_offs_h for one in draws]),
        _times(batteries, [one.charge_blocks_h for one in draws]),
        chance(sum(one.still_charging for one in draws), len(draws)),
        np.array([one.charging_h for one in draws]),
        _times(loads, [one.off_for_good_h for one in draws]),
        np.array([one.until_off_h for one in draws]),
        np.array([one.loads_Wh for one in draws]),
    )


def _times(names: Sequence[str], rows: Sequence[tuple[float, ...]]) -> tuple[FirstTimes, ...]:
    table = np.array(rows, dtype=float)
    return tuple(FirstTimes(name, table[:, place]) for place, name in enumerate(names))


def _first_h(events: Sequence[Event], name: str) -> float:
    """Return when the first of them happens to a load or battery; NaN: never. [h]"""
    own = [event.time_s for event in events if name in (event.battery, event.source)]
    return min(own, default=np.nan) / S_PER_H


def _for_good_h(result: Result, name: str) -> float:
    """Return when a load cuts itself off without coming back; NaN: never. [h]"""
    own = [e for e in result.events if e.source == name and e.what in (LOAD_OFF, LOAD_ON)]
    return own[-1].time_s / S_PER_H if own and own[-1].what == LOAD_OFF else np.nan


def _into_A(result: Result) -> Floats:  # noqa: N802 - the unit as printed
    """Return what flows into all batteries together, row by row of the trace. [A]"""
    places = FIXED + PER_BATTERY * np.arange(len(result.batteries))
    return np.asarray(np.maximum(-result.trace[:, places].sum(axis=1), 0.0))  # out is positive


def is_still_charging(into_A: Floats) -> bool:
    """Tell whether at the end more than a tail still flows into the bank.

    Parameters
    ----------
    into_A : array (rows,)
        >= 0. [A]
    """
    return bool(into_A[-1] > STILL_CHARGING * float(into_A.max()))


def charging_hours(time_s: Floats, into_A: Floats) -> float:
    """Return the hours until `NEARLY_ALL` of the charge is in; 0 where none enters.

    Parameters
    ----------
    time_s : array (rows,)
        May stand still. [s]
    into_A : array (rows,)
        >= 0; straight between rows. [A]
    """
    parts = np.diff(time_s) * (into_A[1:] + into_A[:-1]) / 2.0
    entered_C = np.concatenate([[0.0], np.cumsum(parts)])
    if entered_C[-1] < LEAST_C:
        return 0.0
    return float(np.interp(NEARLY_ALL * entered_C[-1], entered_C, time_s)) / S_PER_H
