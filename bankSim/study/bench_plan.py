"""How a capacity test will go: how long, when to be there, how often to log and repeat."""

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from bankSim.kernels.arrays import Floats
from bankSim.model.cell import ZERO_C_K
from bankSim.model.rule import Watch
from bankSim.scenario.record import Assumed, Scenario
from bankSim.sim.result import Caution, Result
from bankSim.sim.run import simulate
from bankSim.sim.timeline import timeline_frame
from bankSim.study.bench_scenario import PlanError, changed, hold_back_s
from bankSim.study.bench_too_large import too_large
from bankSim.study.blocks import Workers, run_draws
from bankSim.study.outcomes import BANK_AH, RUNTIME_H, battery_column
from bankSim.study.plan import DEFAULT_SEED, make_plan
from bankSim.study.priors import FULL
from bankSim.study.sampling import SamplingError, longest_interval, sampling_errors, shortest_on_s

DRAWS = 200
PERCENTS = (0.5, 2.5, 5.0, 50.0, 95.0, 97.5, 99.5)
ALLOWED_PERCENT = 0.5  # of the Ah, by sampling
KNEE_V = 0.010
FINE_ROWS = 20_000
COARSEST_S = 60.0
FLOWS = 0.05  # of the largest current: the load counts as on
STEP_K = 5.0
MOST_SHOWN = 3000  # points of a course
ROOM_K = 2.0  # how far the room differs from test to test; choice
RESTS = 5.0  # time constants until less than 1 % of a drift is left
TINY_H = 1e-9
LEAST_H = 0.25  # shorter is no capacity test; choice
LEAST_PART = 0.5  # of the charge; less tells of the load, not of the battery; choice
BY_VOLTAGE = (Watch.LOWEST_CELL.value, Watch.BATTERY_VOLTAGE.value)
SURE = 1.96  # standard deviations, 95 of 100


@dataclass(frozen=True, slots=True)
class Knee:
    """The last stretch before the cut-out, with every value in the middle.

    Parameters
    ----------
    voltage_V : float
        Of the battery just before it cuts out, at its terminals.
    slope_mV_per_min : float
        Over the last 10 mV of the battery.
    battery_s, cell_s : float
        How long the battery and its fastest cell take over their last 10 mV: a logger must look at
        least that often for a cut-out voltage good to 10 mV.
    """

    voltage_V: float
    slope_mV_per_min: float
    battery_s: float
    cell_s: float


@dataclass(frozen=True, eq=False)
class BenchPlan:
    """All that is known of a test before it starts.

    Parameters
    ----------
    scenario : Scenario
        The battery and load alone.
    draws : int
    cut_out_part : float
        Of the draws that end by a cut-out.
    duration_h, given_Ah : tuple of float
        At `PERCENTS` of the draws.
    middle_h, middle_Ah, mean_A, peak_A, end_A : float
        With every value in the middle; current averaged over the test, at most, and when it ends.
    ended_by : str
        What the rule that ends it watches, with every value in the middle, in the file's words.
    capacity_Ah : float
        What its weakest cell holds when full. [Ah]
    knee : Knee
    sampling : tuple of SamplingError
    interval_s : float or None
        Longest for `ALLOWED_PERCENT`; None: not even 1 s will do.
    shortest_on_s : float or None
        Of a load that switches.
    per_degree_percent : float
        Ah lost for each kelvin the room is colder.
    rest_s : float
        Until a drift has gone to less than 1 %.
    repeat_sd_percent : float
        How far two tests of one battery differ, by its start and the room.
    cautions : tuple of Caution
        Of the run with every value in the middle.
    course_h, course_V : array (m,)
        Of that run, thinned. [h], [V]
    unknowns, assumed
        What was drawn, with the source; what the file left open.
    """

    scenario: Scenario
    draws: int
    seed: int
    cut_out_part: float
    duration_h: tuple[float, ...]
    given_Ah: tuple[float, ...]
    middle_h: float
    middle_Ah: float
    mean_A: float
    peak_A: float
    end_A: float
    ended_by: str
    capacity_Ah: float
    knee: Knee
    sampling: tuple[SamplingError, ...]
    interval_s: float | None
    shortest_on_s: float | None
    per_degree_percent: float
    rest_s: float
    repeat_sd_percent: float
    unknowns: tuple[tuple[str, str], ...]
    assumed: tuple[Assumed, ...]
    cautions: tuple[Caution, ...]
    course_h: Floats
    course_V: Floats

    def at(self, percent: float) -> float:
        """Return the duration at one of `PERCENTS`. [h]"""
        return self.duration_h[PERCENTS.index(percent)]

    @property
    def safe_interval_s(self) -> float | None:
        """Interval that keeps `ALLOWED_PERCENT` whatever the rhythm of a load that switches. [s]

        Of an on-time a, samples every T count a whole number of T: off by less than T / a.
        """
        on_s = self.shortest_on_s
        return None if on_s is None else ALLOWED_PERCENT / 100.0 * on_s

    @property
    def is_capacity_test(self) -> bool:
        """Whether it lasts, gives a good part of the charge and ends for want of it."""
        enough = self.at(50.0) >= LEAST_H and self.middle_Ah >= LEAST_PART * self.capacity_Ah
        return enough and self.ended_by in BY_VOLTAGE

    @property
    def starts_at_s(self) -> float:
        """Wall clock of the start. [s after midnight]"""
        return self.scenario.bank.starts_at_s


def plan_test(
    scenario: Scenario,
    workers: Workers,
    *,
    draws: int = DRAWS,
    seed: int = DEFAULT_SEED,
    progress: Callable[[int], None] | None = None,
) -> BenchPlan:
    """Draw the test many times, march it once finely, and once colder.

    Raises
    ------
    PlanError
        When the battery does not cut out.
    """
    plan = make_plan(scenario, seed=seed)
    drawn = run_draws(plan, draws, workers, progress=progress)
    name = scenario.bank.batteries[0].name
    ends = drawn.column(battery_column(name, "cut_out_h")).astype(float)
    out = np.isfinite(ends)
    if not out.any():
        raise PlanError(_never(scenario, drawn.column(RUNTIME_H).astype(float)))
    coarse = simulate(scenario)
    result = _finely(scenario, coarse)
    course = _course(result)
    errors = sampling_errors(course[0], course[1])
    per_degree = _per_degree(scenario, coarse)
    return BenchPlan(
        scenario=scenario,
        draws=drawn.count,
        seed=seed,
        cut_out_part=float(out.mean()),
        duration_h=_points(ends[out]),
        given_Ah=_points(drawn.column(BANK_AH).astype(float)[out]),
        middle_h=float(course[0][-1]) / 3600.0,
        middle_Ah=result.bank.delivered_Ah,
        mean_A=result.bank.delivered_Ah / max(float(course[0][-1]) / 3600.0, TINY_H),
        peak_A=float(course[1].max()),
        end_A=float(course[1][-1]),
        ended_by=_ended_by(result),
        capacity_Ah=min(cell.charge_C for cell in scenario.bank.batteries[0].cells) / 3600.0,
        knee=_knee(result, course),
        sampling=errors,
        interval_s=longest_interval(errors, ALLOWED_PERCENT),
        shortest_on_s=shortest_on_s(course[0], course[1], FLOWS * float(course[1].max())),
        per_degree_percent=per_degree,
        rest_s=RESTS * hold_back_s(scenario),
        repeat_sd_percent=math.hypot(_start_sd_percent(), per_degree * ROOM_K),
        unknowns=tuple((one.label, one.source) for one in plan.unknowns),
        assumed=scenario.assumed,
        cautions=coarse.cautions,
        course_h=_thin(course[0]) / 3600.0,
        course_V=_thin(course[2]),
    )


def repeats(sd_percent: float, wanted_percent: float) -> int:
    """Return how many tests bring their mean that near in 95 of 100 cases: (1.96 s / p)^2."""
    return max(1, math.ceil((SURE * sd_percent / wanted_percent) ** 2 - 1e-9))


def _thin(values: Floats) -> Floats:
    """Return every so many values, and the last."""
    each = max(1, values.size // MOST_SHOWN)
    return np.concatenate([values[:-1:each], values[-1:]])


def _points(values: Floats) -> tuple[float, ...]:
    return tuple(np.percentile(values, PERCENTS).tolist())


def _never(scenario: Scenario, runtime_h: Floats) -> str:
    hours = scenario.bank.duration_s / 3600.0
    fed = float(np.median(runtime_h))
    if fed < 0.999 * hours:
        return too_large(scenario) or (
            f"the load cannot be fed after {fed:.3g} h, but no rule ends the test; expected "
            "[[battery.protection]] that blocks discharge"
        )
    return (
        f"the battery does not cut out within {hours:g} h; expected a larger load, one "
        "that goes on, or [[battery.protection]] that blocks discharge"
    )


def _start_sd_percent() -> float:
    """Return the standard deviation of what counts as full: a triangle between low and high."""
    low, mode, high = FULL.spread.low, FULL.spread.value, FULL.spread.high
    square = low**2 + mode**2 + high**2 - low * mode - low * high - mode * high
    return 100.0 * math.sqrt(square / 18.0)  # variance of a triangular distribution


def _finely(scenario: Scenario, coarse: Result) -> Result:
    step_s = min(COARSEST_S, max(0.1, coarse.end_time_s / FINE_ROWS))
    hours = min(scenario.bank.duration_s, 1.01 * coarse.end_time_s + 60.0) / 3600.0
    finer = {"output_every_s": round(step_s, 3), "duration_h": hours}
    return simulate(changed(scenario, "simulation", finer))


def _course(result: Result) -> tuple[Floats, Floats, Floats, Floats]:
    """Return time, current, voltage and cell voltages of the battery up to its cut-out."""
    name = result.batteries[0].name
    end = result.batteries[0].first_cut_out
    if end is None:
        raise PlanError(
            "with every value in the middle the battery does not cut out; expected a larger load"
        )
    frame = timeline_frame(result, jumps=True)
    times = frame["time_s"].to_numpy()
    current = frame[f"{name}.current_A"].to_numpy()
    stop = int(np.searchsorted(times, end.time_s, side="left")) + 1  # the row just before it
    cells = [one for one in frame.columns if one.startswith(f"{name}.cell")]
    here = slice(0, stop)
    voltage = frame[f"{name}.voltage_V"].to_numpy()
    return times[here], current[here], voltage[here], frame[cells].to_numpy()[here]


def _ended_by(result: Result) -> str:
    """Return what the rule watches that ends the test."""
    end = result.batteries[0].first_cut_out
    return "" if end is None else end.watches or ""


def _knee(result: Result, course: tuple[Floats, Floats, Floats, Floats]) -> Knee:
    """Look back from the cut-out over the time for which the load has been on."""
    time, current, voltage, cells = course
    off = np.flatnonzero(current < FLOWS * current.max())
    first = int(off[-1]) + 1 if off.size else 0
    here = slice(min(first, time.size - 2), None)
    battery_s = last_fall_s(time[here], voltage[here])
    cell_s = min(last_fall_s(time[here], cells[here, n]) for n in range(cells.shape[1]))
    return Knee(float(voltage[-1]), 60e3 * KNEE_V / battery_s, battery_s, cell_s)


def last_fall_s(time_s: Floats, voltage_V: Floats, fall_V: float = KNEE_V) -> float:
    """Return how long the last 10 mV took; the whole stretch where it never was that high. [s]"""
    above = np.flatnonzero(voltage_V >= voltage_V[-1] + fall_V)
    if not above.size:
        return max(float(time_s[-1] - time_s[0]), 1e-3)
    at = int(above[-1])
    over, under = float(voltage_V[at]), float(voltage_V[at + 1])
    part = (over - (float(voltage_V[-1]) + fall_V)) / (over - under)
    crossed = float(time_s[at]) + part * float(time_s[at + 1] - time_s[at])
    return max(float(time_s[-1]) - crossed, 1e-3)


def _per_degree(scenario: Scenario, coarse: Result) -> float:
    """Return the Ah lost for each kelvin colder, from one run 5 K colder. [%/K]"""
    colder_C = scenario.bank.temperature_K - ZERO_C_K - STEP_K
    if coarse.bank.delivered_Ah <= 0.0:
        return 0.0  # it cuts out at once
    cold = simulate(changed(scenario, "surroundings", {"temperature_C": colder_C}))
    return 100.0 * (1.0 - cold.bank.delivered_Ah / coarse.bank.delivered_Ah) / STEP_K
