"""A band for a screen: a few dozen draws over time, in less than a tenth of a second."""

import threading
import time
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from bankSim.kernels.arrays import Floats
from bankSim.scenario.record import Scenario
from bankSim.sim.cautions.lost_takers import loses_takers
from bankSim.sim.lost_takers import charge_blocked
from bankSim.study.answers import main_answer
from bankSim.study.draws import drawn_values
from bankSim.study.ensemble import Ensemble
from bankSim.study.find_unknowns import find_unknowns
from bankSim.study.outcomes import (
    FIRST,
    NOBODY,
    RUNTIME_H,
    TOGETHER,
    Table,
    battery_column,
    stacked,
)
from bankSim.study.plan import DEFAULT_SEED
from bankSim.study.quick_march import Track, means_in_steps
from bankSim.study.traced import BAND_PERCENT, Fan, coarser
from bankSim.study.uniforms import RandomDraws

QUICK_DRAWS, QUICK_POINTS = 64, 240
TABLE_DRAWS = 200
BUDGET_S = 0.4
LEAST_DRAWS = 8
BAND_PART = 0.6  # of the budget, where the chances need some of it too
STEPS_A_PORTION, MOST_A_PORTION = 4000, 50  # of the chances, between two looks at the clock
THREE_PERCENT = (5.0, 50.0, 95.0)


@dataclass(frozen=True, eq=False)
class QuickSpread:
    """A band and the chances beside it, from the first draws of a study of the same seed.

    Parameters
    ----------
    fan : Fan
    bank_Ah : array (3,)
        Delivered by the bank at 5, 50 and 95 % of the draws; taken in where it has no load. [Ah]
    first : tuple of (str, float)
        Name and chance to cut out before all others, likeliest first; batteries that never do
        are left out. [1]
    nobody, together : float
        Chance that none cuts out, and that several are the first at once. [1]
    cut_out_h : dict of str to array (3,)
        Each battery's first cut-out at 5, 50 and 95 % of the draws in which it cuts out; no entry
        where there is none. [h]
    cuts_out : dict of str to float
        Chance of each battery to cut out at all. [1]
    delivered_Ah, stranded_Ah : dict of str to array (3,)
        Of each battery at 5, 50 and 95 %. [Ah]
    runtime_h : array (3,)
        Until the loads cannot be fed, or the end. [h]
    draws : int
        So many draws stand behind the chances; `fan.draws` behind the band.
    blocks_charge, loses_takers : float
        Parts of the draws of the band: any battery blocks its charge, and chargers are left
        without batteries as the caution about it tells. [1]
    """

    fan: Fan
    bank_Ah: Floats
    first: tuple[tuple[str, float], ...]
    nobody: float
    together: float
    cut_out_h: dict[str, Floats]
    cuts_out: dict[str, float]
    delivered_Ah: dict[str, Floats]
    stranded_Ah: dict[str, Floats]
    runtime_h: Floats
    draws: int
    blocks_charge: float = 0.0
    loses_takers: float = 0.0


def quick_fan(
    scenario: Scenario,
    *,
    draws: int = QUICK_DRAWS,
    seed: int = DEFAULT_SEED,
    points: int = QUICK_POINTS,
    budget_s: float = BUDGET_S,
    stop: threading.Event | None = None,
) -> Fan:
    """Return the band of the first draws of a scenario.

    Parameters
    ----------
    scenario : Scenario
    draws : int
        Wanted; `Fan.draws` tells how many were made.
    seed : int
        As of a study.
    points : int
        About so many steps of time.
    budget_s : float
        After this long no further draws are begun (8 are made in any case); the draws that are
        made do not depend on it. [s]
    stop : threading.Event, optional
        Ends the work early in the same way.
    """
    wanted = max(draws, 1)
    return _Work(scenario, wanted, seed).fan(wanted, points, _Clock(budget_s, stop))[0]


def quick_spread(
    scenario: Scenario,
    *,
    draws: int = QUICK_DRAWS,
    table_draws: int = TABLE_DRAWS,
    seed: int = DEFAULT_SEED,
    points: int = QUICK_POINTS,
    budget_s: float = BUDGET_S,
    stop: threading.Event | None = None,
    before_each: Callable[[], None] | None = None,
) -> QuickSpread:
    """Return the band and, from more draws without a timeline, the chances beside it.

    Parameters
    ----------
    scenario, draws, seed, points, budget_s, stop
        As in `quick_fan`; the budget is of all work together.
    table_draws : int
        Wanted for the chances.
    before_each : callable, optional
        Called before each draw, or few of them; what it raises ends the work without an answer.
    """
    clock = _Clock(budget_s, stop, before_each)
    part = _Clock(BAND_PART * budget_s, stop, before_each)
    work = _Work(scenario, max(draws, table_draws, 1), seed)
    fan, blocks = work.fan(max(draws, 1), points, part)
    return _summed_up(scenario, fan, blocks, work.table(max(table_draws, 1), clock))


class _Clock:
    """Tells when no further draws are to be begun."""

    def __init__(
        self,
        budget_s: float,
        stop: threading.Event | None,
        before_each: Callable[[], None] | None = None,
    ) -> None:
        self.until, self.stop, self.before_each = time.perf_counter() + budget_s, stop, before_each

    def is_over(self, done: int) -> bool:
        """Tell whether so many draws have to do."""
        if self.before_each is not None:
            self.before_each()
        if done < LEAST_DRAWS:
            return False
        return time.perf_counter() > self.until or (self.stop is not None and self.stop.is_set())


class _Work:
    """The draws of a scenario, made as far as the time reaches."""

    def __init__(self, scenario: Scenario, most: int, seed: int) -> None:
        unknowns = find_unknowns(scenario)
        chances = RandomDraws(tuple(one.label for one in unknowns), seed).chances(0, most)
        self.values = drawn_values(unknowns, chances)
        self.bank = scenario.bank
        self.ensemble = Ensemble(scenario, unknowns)

    def fan(self, draws: int, points: int, clock: _Clock) -> tuple[Fan, Floats]:
        """Return the band of the first draws, and in which parts of them charge is blocked, lost.

        Units: [as of a fan], [1]
        """
        track = Track(self.ensemble, self.values[:draws], points)
        made: list[Floats] = []
        seen: list[tuple[bool, bool]] = []
        while len(made) < draws and not clock.is_over(len(made)):
            course = track.march(len(made))
            made.append(means_in_steps(course, track.edges_s))
            seen.append(self._blocks(course.trace))
        return fan_of(np.array(made), track.edges_s), np.mean(seen, axis=0)

    def _blocks(self, trace: Floats) -> tuple[bool, bool]:
        """Tell whether any battery blocks its charge, and whether chargers lose the last one."""
        blocks = bool(charge_blocked(trace, len(self.bank.batteries)).any())
        return blocks, loses_takers(trace, self.bank)

    def table(self, draws: int, clock: _Clock) -> Table:
        """Return the outcomes of the first draws."""
        made: list[Table] = []
        done, portion = 0, min(max(STEPS_A_PORTION // self.ensemble.steps, 1), MOST_A_PORTION)
        while done < draws and not clock.is_over(done):
            end = min(draws, done + portion)
            made.append(self.ensemble.evaluate(self.values[done:end], done))
            done = end
        return stacked(made)


def fan_of(columns: Floats, edges_s: Floats) -> Fan:
    """Return the percentiles of what `means_in_steps` found of draws.

    Parameters
    ----------
    columns : array (draws, 1 + 2 n, t)
        Bus voltage, currents, states of charge. [V, A, 1]
    edges_s : array (t + 1,)
        [s]
    """
    columns, edges_s = coarser(columns, edges_s)
    running = np.isfinite(columns[:, 0]).mean(axis=0)
    ended = np.where(np.isnan(columns[:, 0]), -np.inf, columns[:, 0])
    voltage = np.percentile(ended, BAND_PERCENT, axis=0, method="lower")
    voltage[~np.isfinite(voltage)] = np.nan
    others = _known_percentiles(columns[:, 1:])
    others[:, :, running <= 0.5] = np.nan
    batteries = others.shape[0] // 2
    middles_h = (edges_s[1:] + edges_s[:-1]) / 7200.0
    return Fan(middles_h, running, voltage, others[:batteries], len(columns), others[batteries:])


def _known_percentiles(columns: Floats) -> Floats:
    """Return the band of the numbers that are there; (draws, q, t) to (q, 5, t).

    Linear between ranks, as numpy does it by habit, but for all columns at once.
    """
    ranked = np.sort(columns, axis=0)  # NaN go to the end
    last = np.maximum(np.isfinite(columns).sum(axis=0) - 1, 0)
    place = np.array(BAND_PERCENT)[:, None, None] / 100.0 * last
    low = place.astype(np.intp)
    high = np.minimum(low + 1, last)
    below, above = (np.take_along_axis(ranked, one, axis=0) for one in (low, high))
    return np.asarray(below + (place - low) * (above - below)).transpose(1, 0, 2)


def _summed_up(scenario: Scenario, fan: Fan, blocks: Floats, table: Table) -> QuickSpread:
    names = [battery.name for battery in scenario.bank.batteries]
    first = np.asarray(table[FIRST], dtype=int)
    chances = [(name, float((first == number).mean())) for number, name in enumerate(names, 1)]

    def each(what: str) -> dict[str, Floats]:
        found = {name: _three(_numbers(table, battery_column(name, what))) for name in names}
        return {name: three for name, three in found.items() if np.isfinite(three).all()}

    return QuickSpread(
        fan=fan,
        bank_Ah=_three(main_answer(scenario.bank).of_table(table)),
        first=tuple(sorted((one for one in chances if one[1] > 0.0), key=lambda one: -one[1])),
        nobody=float((first == NOBODY).mean()),
        together=float((first == TOGETHER).mean()),
        cut_out_h=each("cut_out_h"),
        cuts_out={
            name: float(np.isfinite(table[battery_column(name, "cut_out_h")]).mean())
            for name in names
        },
        delivered_Ah=each("delivered_Ah"),
        stranded_Ah=each("stranded_Ah"),
        runtime_h=_three(_numbers(table, RUNTIME_H)),
        draws=len(first),
        blocks_charge=float(blocks[0]),
        loses_takers=float(blocks[1]),
    )


def _numbers(table: Table, column: str) -> Floats:
    return np.asarray(table[column], dtype=float)


def _three(values: Floats) -> Floats:
    """Return 5, 50 and 95 % of the numbers that are there; NaN of none."""
    known = values[np.isfinite(values)]
    return np.percentile(known, THREE_PERCENT) if known.size else np.full(3, np.nan)
