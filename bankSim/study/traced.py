"""Draws that are run again in full: their timelines as bands, and the cautions they raise."""

from collections.abc import Callable, Sequence
from concurrent.futures import Future
from dataclasses import dataclass

import numpy as np

from bankSim.kernels import arrays as k
from bankSim.kernels.arrays import Floats
from bankSim.kernels.log import FIXED, PER_BATTERY
from bankSim.sim.result import Caution, Result
from bankSim.study.blocks import Workers
from bankSim.study.plan import Plan, ready
from bankSim.study.statistics import Estimate, chance

MOST_POINTS = 400
BAND_PERCENT = (5.0, 25.0, 50.0, 75.0, 95.0)
SEVERITIES = ("danger", "warning", "note")


@dataclass(frozen=True, eq=False)
class Fan:
    """Percentiles over time of some draws; NaN from where that part of them has ended.

    Draws that have ended count as the lowest voltage, so the 5 % line of the voltage stops when
    5 % of the draws have ended. Currents are those of the draws still running, while more than
    half of them do.

    Parameters
    ----------
    time_h : array (t,)
    running : array (t,)
        Part of the draws still running. [1]
    voltage_V : array (5, t)
        At the bus.
    current_A : array (batteries, 5, t)
        Discharge positive.
    draws : int
    """

    time_h: Floats
    running: Floats
    voltage_V: Floats
    current_A: Floats
    draws: int


@dataclass(frozen=True, slots=True)
class CautionChance:
    """How often a caution of one topic is raised.

    Parameters
    ----------
    topic, severity : str
        The worst severity of any draw.
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


@dataclass(frozen=True, eq=False)
class Traced:
    """What draws run in full tell beside the table."""

    fan: Fan
    cautions: tuple[CautionChance, ...]


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
    grid_s = _grid(plan)
    futures: list[Future[tuple[Floats, tuple[Caution, ...]]]] = [
        workers.executor.submit(_one, plan, values[[draw]], draw, grid_s) for draw in range(draws)
    ]
    columns, cautions = [], []
    for number, future in enumerate(futures):
        column, raised = future.result()
        columns.append(column)
        cautions.append(raised)
        if progress is not None:
            progress(number + 1)
    return Traced(_fan(np.array(columns), grid_s), _chances(cautions))


def _grid(plan: Plan) -> Floats:
    """Return instants of the timeline to look at, every few rows. [s]"""
    bank = plan.scenario.bank
    rows = int(bank.duration_s / bank.output_every_s)
    stride = max(1, -(-rows // MOST_POINTS))
    return bank.output_every_s * np.arange(0, rows + 1, stride, dtype=float)


def _one(
    plan: Plan, values: Floats, draw: int, grid_s: Floats
) -> tuple[Floats, tuple[Caution, ...]]:
    result = ready(plan).story_of(values, draw)
    return _on_grid(result, grid_s), result.cautions


def _on_grid(result: Result, grid_s: Floats) -> Floats:
    """Return voltage and currents at the instants of the grid; NaN after the end; (1 + n, t)."""
    rows = result.trace[result.trace[:, 1] == k.GRID]
    n = len(result.batteries)
    wanted = [2, *(FIXED + PER_BATTERY * battery for battery in range(n))]
    place = np.searchsorted(rows[:, 0], grid_s - 1e-6)
    there = place < len(rows)
    there[there] &= np.abs(rows[place[there], 0] - grid_s[there]) < 1e-3
    found = np.full((1 + n, grid_s.size), np.nan)
    found[:, there] = rows[place[there]][:, wanted].T
    return found


def _fan(columns: Floats, grid_s: Floats) -> Fan:
    """Return percentiles of (draws, 1 + n, t)."""
    running = np.isfinite(columns[:, 0]).mean(axis=0)
    last = int(np.flatnonzero(running)[-1]) + 1 if running.any() else 1
    columns, grid_s, running = columns[:, :, :last], grid_s[:last], running[:last]
    ended = np.where(np.isnan(columns[:, 0]), -np.inf, columns[:, 0])
    voltage = np.percentile(ended, BAND_PERCENT, axis=0, method="lower")
    voltage[~np.isfinite(voltage)] = np.nan
    many = running > 0.5
    current = np.full((columns.shape[1] - 1, len(BAND_PERCENT), last), np.nan)
    for battery in range(current.shape[0]):
        own = columns[:, 1 + battery][:, many]
        current[battery][:, many] = np.nanpercentile(own, BAND_PERCENT, axis=0)
    return Fan(grid_s / 3600.0, running, voltage, current, len(columns))


def _chances(cautions: Sequence[tuple[Caution, ...]]) -> tuple[CautionChance, ...]:
    topics: dict[str, list[tuple[int, Caution]]] = {}
    for draw, raised in enumerate(cautions):
        for caution in raised:
            topics.setdefault(caution.topic, []).append((draw, caution))
    found = []
    for topic, cases in topics.items():
        worst = min((caution.severity for _, caution in cases), key=SEVERITIES.index)
        draw, example = next(case for case in cases if case[1].severity == worst)
        times = len({draw for draw, _ in cases})
        found.append(CautionChance(topic, worst, chance(times, len(cautions)), example, draw))
    found.sort(key=lambda one: (SEVERITIES.index(one.severity), -one.chance.value))
    return tuple(found)
