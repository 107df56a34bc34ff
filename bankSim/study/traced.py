"""Draws that are run again in full: their timelines as bands, and the cautions they raise."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from functools import partial

import numpy as np

from bankSim.kernels.arrays import AFTER, FIXED, PER_BATTERY, Floats
from bankSim.sim.cautions import urgency
from bankSim.sim.demand import cutting_loads
from bankSim.sim.numbers import AT_ONCE_S
from bankSim.sim.result import Caution, Result
from bankSim.study.blocks import Workers
from bankSim.study.happenings import Happened, Happenings, gathered, happened
from bankSim.study.plan import Plan, ready
from bankSim.study.statistics import Estimate, chance
from bankSim.study.window import in_order

MOST_POINTS = 400
MOST_STEPS = 1600  # of one draw, before it is known when the last draw ends
BAND_PERCENT = (5.0, 25.0, 50.0, 75.0, 95.0)
SEVERITIES = ("danger", "warning", "note")


@dataclass(frozen=True, eq=False)
class Fan:
    """Percentiles over time of some draws; NaN from where that part of them has ended.

    Of every draw they are means over even steps of time, so that loads which switch within a step
    count by the part of it that they are on; of the voltage only while the bus is live.
    Draws that have ended count as the lowest voltage, so the 5 % line of the voltage stops when
    5 % of the draws have ended. Currents are those of the draws still running, while more than
    half of them do.

    Parameters
    ----------
    time_h : array (t,)
        Middles of the steps.
    running : array (t,)
        Part of the draws that run in a step. [1]
    voltage_V : array (5, t)
        At the bus.
    current_A : array (batteries, 5, t)
        Discharge positive.
    draws : int
    state_of_charge : array (batteries, 5, t) or None
        As the currents; None where it was not asked for. [1]
    """

    time_h: Floats
    running: Floats
    voltage_V: Floats
    current_A: Floats
    draws: int
    state_of_charge: Floats | None = None


@dataclass(frozen=True, slots=True)
class CautionChance:
    """How often a caution of one topic is raised as being so severe.

    Parameters
    ----------
    topic, severity : str
        A draw counts for the worst severity that the topic has in it.
    chance : Estimate
    example : Caution
        Of the first draw that has it.
    draw : int
        Number of that draw.
    """

    topic: str
    severity: str
    chance: Estimate
    example: Caution
    draw: int


@dataclass(frozen=True, slots=True)
class MiddleRun:
    """The run with every value in the middle of its spread, in full.

    Parameters
    ----------
    cautions : tuple of Caution
    shares_at_start : tuple of float or None
        Of each battery in the first current; None where there is none. [1]
    first_out : tuple of str
        Names of those that cut out first, several where they do so at once.
    """

    cautions: tuple[Caution, ...]
    shares_at_start: tuple[float | None, ...]
    first_out: tuple[str, ...] = ()


@dataclass(frozen=True, eq=False)
class Traced:
    """What draws run in full tell beside the table.

    Parameters
    ----------
    fan : Fan
    cautions : tuple of CautionChance
    hardest_A : array (draws,)
        Largest discharge current of any battery until the first one cuts out. [A]
    happenings : Happenings
        Loads that cut themselves off, batteries that block their charge.
    middle : MiddleRun or None
        None where it was not made.
    """

    fan: Fan
    cautions: tuple[CautionChance, ...]
    hardest_A: Floats = field(default_factory=lambda: np.empty(0))
    happenings: Happenings = field(default_factory=Happenings)
    middle: MiddleRun | None = None


def trace_draws(
    plan: Plan, draws: int, workers: Workers, progress: Callable[[int], None] | None = None
) -> Traced:
    """Run the first draws of a plan in full.

    Parameters
    ----------
    plan : Plan
    draws : int
        1 or more.
    workers : Workers
    progress : callable, optional
        Told how many are done.
    """
    values = plan.values(0, draws)
    edges_s = _edges(plan)
    cases = ((draw, values[[draw]]) for draw in range(draws))
    told = list(in_order(workers, partial(_one, plan, edges_s), cases, progress))
    columns, cautions, hardest_A, happenings = zip(*told, strict=True)
    bank = plan.scenario.bank
    loads, batteries = ([one.name for one in of] for of in (cutting_loads(bank), bank.batteries))
    return Traced(
        _fan(np.array(columns), edges_s),
        _chances(cautions),
        np.array(hardest_A),
        gathered(loads, batteries, happenings),
        _middle_run(plan),
    )


def _middle_run(plan: Plan) -> MiddleRun:
    result = ready(plan).story_of(plan.middle, 0)
    shares = tuple(one.share_at_start for one in result.batteries)
    return MiddleRun(result.cautions, shares, _first_out(result))


def _first_out(result: Result) -> tuple[str, ...]:
    out = [event for event in result.events if event.cuts_out and event.battery is not None]
    return tuple(one.battery or "" for one in out if one.time_s - out[0].time_s < AT_ONCE_S)


def _edges(plan: Plan) -> Floats:
    """Return the ends of even steps of time, from 0 to the end of the duration or beyond. [s]"""
    bank = plan.scenario.bank
    rows = int(bank.duration_s / bank.output_every_s)
    stride = max(1, -(-rows // MOST_STEPS))
    return bank.output_every_s * np.arange(0, rows + stride + 1, stride, dtype=float)


def _one(
    plan: Plan, edges_s: Floats, case: tuple[int, Floats]
) -> tuple[Floats, tuple[Caution, ...], float, Happened]:
    draw, values = case
    result = ready(plan).story_of(values, draw)
    hardest_A = hardest_before_cut_out(result)
    return _in_steps(result, edges_s), result.cautions, hardest_A, happened(result)


def hardest_before_cut_out(result: Result) -> float:
    """Return the largest discharge current of any battery until the first one cuts out. [A]"""
    out = min((event.time_s for event in result.events if event.cuts_out), default=np.inf)
    time, kind = result.trace[:, 0], result.trace[:, 1]
    before = (time < out) | ((time == out) & (kind != AFTER))
    places = FIXED + PER_BATTERY * np.arange(len(result.batteries))
    return float(result.trace[before][:, places].max(initial=0.0))


def _in_steps(result: Result, edges_s: Floats) -> Floats:
    """Return voltage and currents, mean over the part of each step that runs; (1 + n, t).

    The voltage is the mean while the bus is live, 0 where it never is. Steps that begin after the
    end are NaN.
    """
    time, bus = result.trace[:, 0], result.trace[:, 2]
    ran = np.diff(np.minimum(edges_s, time[-1]))
    alive = np.diff(_area(time, (bus != 0.0).astype(float), edges_s))
    found = [np.diff(_area(time, bus, edges_s)) / np.where(alive > 0.0, alive, np.inf)]
    for battery in range(len(result.batteries)):
        amperes = result.trace[:, FIXED + PER_BATTERY * battery]
        found.append(np.diff(_area(time, amperes, edges_s)) / np.where(ran > 0.0, ran, np.inf))
    return np.where(ran > 0.0, np.array(found), np.nan)


def _area(time: Floats, values: Floats, at: Floats) -> Floats:
    """Return the integral of a line from its start to some instants; time may stand still."""
    parts = np.diff(time) * (values[1:] + values[:-1]) / 2.0
    return np.asarray(np.interp(at, time, np.concatenate([[0.0], np.cumsum(parts)])))


def _fan(columns: Floats, edges_s: Floats) -> Fan:
    """Return percentiles of (draws, 1 + n, t)."""
    columns, edges_s = coarser(columns, edges_s)
    running = np.isfinite(columns[:, 0]).mean(axis=0)
    ended = np.where(np.isnan(columns[:, 0]), -np.inf, columns[:, 0])
    voltage = np.percentile(ended, BAND_PERCENT, axis=0, method="lower")
    voltage[~np.isfinite(voltage)] = np.nan
    many = running > 0.5
    current = np.full((columns.shape[1] - 1, len(BAND_PERCENT), running.size), np.nan)
    for battery in range(current.shape[0]):
        own = columns[:, 1 + battery][:, many]
        current[battery][:, many] = np.nanpercentile(own, BAND_PERCENT, axis=0)
    middles_h = (edges_s[1:] + edges_s[:-1]) / 7200.0
    return Fan(middles_h, running, voltage, current, len(columns))


def coarser(columns: Floats, edges_s: Floats) -> tuple[Floats, Floats]:
    """Leave out the steps after the last draw's end; join steps so that few enough are left.

    Unit: [units of the columns]
    """
    ran = np.flatnonzero(np.isfinite(columns[:, 0]).any(axis=0))
    last = int(ran[-1]) + 1 if ran.size else 1
    join = -(-last // MOST_POINTS)
    count = -(-last // join)
    room = np.full((*columns.shape[:2], count * join), np.nan)
    room[:, :, :last] = columns[:, :, :last]
    parts = room.reshape(*columns.shape[:2], count, join)
    known = np.isfinite(parts)
    sums = np.where(known, parts, 0.0).sum(axis=3)
    counts = known.sum(axis=3)
    means = np.where(counts > 0, sums / np.maximum(counts, 1), np.nan)
    step_s = float(edges_s[1] - edges_s[0])
    return means, step_s * np.arange(0, count * join + 1, join, dtype=float)


def _chances(cautions: Sequence[tuple[Caution, ...]]) -> tuple[CautionChance, ...]:
    """Count the draws of every topic and severity, the worst, urgent and frequent first."""
    cases: dict[tuple[str, str], list[tuple[int, Caution]]] = {}
    for draw, raised in enumerate(cautions):
        for topic, caution in _worst_of_each(raised).items():
            cases.setdefault((topic, caution.severity), []).append((draw, caution))
    found = [
        CautionChance(topic, severity, chance(len(own), len(cautions)), own[0][1], own[0][0])
        for (topic, severity), own in cases.items()
    ]
    found.sort(
        key=lambda one: (SEVERITIES.index(one.severity), urgency(one.topic), -one.chance.value)
    )
    return tuple(found)


def _worst_of_each(raised: Sequence[Caution]) -> dict[str, Caution]:
    """Return the gravest caution of each topic, the first where several are as grave."""
    worst: dict[str, Caution] = {}
    for caution in sorted(raised, key=lambda one: SEVERITIES.index(one.severity)):
        worst.setdefault(caution.topic, caution)
    return worst
