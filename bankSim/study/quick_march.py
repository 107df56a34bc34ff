"""One draw after the other with a coarse timeline, on a bank that is packed once."""

from dataclasses import dataclass

import numpy as np

from bankSim.errors import SimulationError
from bankSim.kernels import arrays as k
from bankSim.kernels.arrays import FIXED, PER_BATTERY, Floats
from bankSim.kernels.draws import march_draws
from bankSim.model.bank import Bank
from bankSim.sim import pack
from bankSim.sim.engine import NO_DRAWS, STEPS_PER_CALL, Engine
from bankSim.study.draws import columns_of
from bankSim.study.ensemble import Ensemble
from bankSim.study.pokes import Poke, pokes
from bankSim.study.pool import Pool, pool_of

ROWS = 2048  # of the log; what does not fit is fetched in portions
BEYOND = 1.1  # the steps are chosen for draws that last so much longer than the central run


class Track:
    """A bank on which draws are marched with a timeline; of one thread.

    Parameters
    ----------
    ensemble : Ensemble
        Whose draws they are; the timeline does not change their steps.
    values : array (draws, unknowns)
    points : int
        About so many steps of time.
    """

    def __init__(self, ensemble: Ensemble, values: Floats, points: int) -> None:
        self.ensemble, self.values = ensemble, values
        bank = ensemble.scenario.bank
        self._pool = _packed(bank, ensemble.tolerance)
        self._fresh = self._pool.numbers[: self._pool.fresh].copy()
        self.edges_s = self._even_steps(points)
        self._pokes: Poke | None = None
        if all(unknown.effects for unknown in ensemble.unknowns):
            self._pokes = pokes(bank, self._pool, columns_of(bank, ensemble.unknowns, values))

    def march(self, draw: int) -> "Course":
        """Return the course of one draw."""
        pool = self._made_anew(draw) if self._pokes is None else self._poked(self._pokes, draw)
        pool.bank.setting[k.EVERY] = self.edges_s[1]
        firsts, cell = pool.bank.battery["first"], pool.bank.cell
        counts = pool.bank.battery["end"] - firsts
        charge_C, efficiency = (
            np.add.reduceat(cell[name], firsts) / counts for name in ("charge", "efficiency")
        )
        return Course(_marched(pool, draw), charge_C, efficiency)

    def _poked(self, poke: Poke, draw: int) -> Pool:
        spots, numbers = poke
        self._pool.numbers[: self._pool.fresh] = self._fresh
        if spots.size:
            self._pool.numbers[spots] = numbers[draw]
        return self._pool

    def _made_anew(self, draw: int) -> Pool:
        """Pack a draw whose keys make another bank."""
        bank, columns = self.ensemble.bank_of(self.values[draw], draw)
        pool = _packed(bank, self.ensemble.tolerance)
        spots, numbers = pokes(bank, pool, columns)
        if spots.size:
            pool.numbers[spots] = numbers[0]
        return pool

    def _even_steps(self, points: int) -> Floats:
        """Return the ends of even steps of time up to the duration; from the central run. [s]"""
        duration_s = self.ensemble.scenario.bank.duration_s
        self._pool.bank.setting[k.EVERY] = duration_s
        end_s = float(_marched(self._pool, 0)[-1, 0])
        step_s = min(duration_s, BEYOND * max(end_s, 1e-3 * duration_s)) / points
        count = int(np.ceil(duration_s / step_s - 1e-9))
        return step_s * np.arange(count + 1, dtype=float)


def _packed(bank: Bank, tolerance: float) -> Pool:
    engine = Engine(bank, tolerance, keep_trace=False)
    pool = pool_of(engine.packed, pack.start_run(bank, engine.packed, rows=ROWS))
    pool.bank.setting[k.TRACE_EDGES] = 1.0  # a coarse timeline needs the jumps between its rows
    return pool


def _marched(pool: Pool, draw: int) -> Floats:
    """March to the end in short calls; return all rows."""
    rows, status = [], k.PAUSED
    while status == k.PAUSED:
        status = march_draws(pool.bank, pool.run, STEPS_PER_CALL, *NO_DRAWS)
        rows.append(pool.run.rows[: pool.run.used[0]].copy())
        pool.run.used[:] = 0
    if status == k.FAILED:
        raise SimulationError(
            f"draw {draw}: the network could not be solved; please report this scenario"
        )
    return np.concatenate(rows) if len(rows) > 1 else rows[0]


@dataclass(frozen=True, eq=False, slots=True)
class Course:
    """One draw over time.

    Parameters
    ----------
    trace : array (rows, ...)
        As in a result. In the units of `Result`.
    charge_C, efficiency : array (n,)
        Of every battery, mean over its cells. [C], [1]
    """

    trace: Floats
    charge_C: Floats
    efficiency: Floats


def means_in_steps(course: Course, edges_s: Floats) -> Floats:
    """Return bus voltage, currents and states of charge, mean over what runs of each step.

    The voltage is the mean while the bus is live, 0 where it never is. Steps that begin after the
    end are NaN.

    Parameters
    ----------
    course : Course
    edges_s : array (t + 1,)
        [s]

    Returns
    -------
    means : array (1 + 2 batteries, t)
        [V, A, 1]
    """
    trace, batteries = course.trace, course.charge_C.size
    time, bus = trace[:, 0], trace[:, [2]]
    at = FIXED + PER_BATTERY * np.arange(batteries)
    lines = np.hstack([np.ones_like(bus), bus != 0.0, bus, trace[:, at], trace[:, at + 2]])
    parts = np.diff(time)[:, None] * (lines[1:] + lines[:-1]) / 2.0
    parts[:, 3 : 3 + batteries] = _passed(course, lines[:, 3 : 3 + batteries])
    area = np.vstack([np.zeros(lines.shape[1]), np.cumsum(parts, axis=0)])
    last = int(np.searchsorted(edges_s, time[-1]))  # steps from here on do not run
    amounts = np.diff(_areas(time, area, np.minimum(edges_s[: last + 1], time[-1])), axis=0)
    ran, alive, rest = amounts[:, :1], amounts[:, 1:2], amounts[:, 2:]
    length = np.hstack([alive, np.repeat(ran, rest.shape[1] - 1, axis=1)])
    found = np.full((rest.shape[1], edges_s.size - 1), np.nan)
    found[:, :last] = (rest / np.where(length > 0.0, length, np.inf)).T
    return found


def _passed(course: Course, current_A: Floats) -> Floats:
    """Return the charge between rows, (rows - 1, n). [C]

    A straight line between rows far apart makes too much of a surge that fades within seconds. What
    the cells have lost tells the charge better; as it also tells standing draw and balancing, the
    mean current stays between those at both rows.
    """
    at = FIXED + PER_BATTERY * np.arange(course.charge_C.size) + 2
    length = np.diff(course.trace[:, 0])[:, None]
    lost_C = -np.diff(course.trace[:, at], axis=0) * course.charge_C
    lost_C = np.where(lost_C < 0.0, lost_C / course.efficiency, lost_C)
    ends_C = length * current_A[1:], length * current_A[:-1]
    return np.clip(lost_C, np.minimum(*ends_C), np.maximum(*ends_C))


def _areas(time: Floats, area: Floats, at: Floats) -> Floats:
    """Return integrals, known at the rows (rows, q), at some instants between them; (t, q)."""
    if time.size < 2:
        return np.repeat(area, at.size, axis=0)
    place = np.clip(np.searchsorted(time, at, side="right") - 1, 0, time.size - 2)
    length = time[place + 1] - time[place]
    part = np.where(length > 0.0, (at - time[place]) / np.where(length > 0.0, length, 1.0), 1.0)
    return np.asarray(area[place] + part[:, None] * (area[place + 1] - area[place]))
