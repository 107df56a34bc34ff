"""What a model battery would have shown under the current of a log: the solver itself runs it."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Self

import numpy as np

from bankSim.kernels.arrays import FIXED, PER_BATTERY
from bankSim.measured.ends import NOISES, scatter
from bankSim.measured.log import Log
from bankSim.model.bank import Bank, Wiring
from bankSim.model.battery import Battery
from bankSim.model.cell import ZERO_C_K, Cell
from bankSim.model.curve import Curve, Floats
from bankSim.model.load import Load
from bankSim.model.upkeep import Thermal
from bankSim.sim import pack
from bankSim.sim.engine import ABSOLUTE_TOLERANCE_PER_H, MOST_ROWS, Engine

TOLERANCE = 1e-4
STEADY_PART = 0.01  # of the largest current: samples closer than this share one step
NOISY = 3.0  # times that at most, where the noise of the current is more
FINEST_ROWS, COARSEST_S = 3_000, 60.0
MOST_EDGES = 1_000_000
STANDING_CURRENT_A = 1e-9
MOST_NUMBERS = 4_000_000  # of the trace of replays that run together: 32 MB
SOURCE_V = 1000.0  # in series with each battery, where a run fell to 0 V


@dataclass(frozen=True, eq=False)
class Course:
    """The current of a log as steps, and the samples at which voltages are compared.

    Every sample holds from midway to the sample before to midway to the next one, which keeps the
    charge counted by trapezoids; samples of nearly the same current share a step.

    Parameters
    ----------
    edges_s : array (k,)
        Rising, first 0. [s]
    current_A : array (k,)
        From each edge on, discharge positive. [A]
    end_s : float
        [s]
    temperature_K : float
        Of the battery where `thermal` is None, else of the air around it. [K]
    thermal : Thermal or None
        Of the cells that are replayed.
    """

    edges_s: Floats
    current_A: Floats
    end_s: float
    temperature_K: float
    thermal: Thermal | None = None

    @classmethod
    def of(cls, log: Log, temperature_C: float, thermal: Thermal | None = None) -> Self:
        """Return the course of a log."""
        time, current = log.time_s, log.current_A
        middles = 0.5 * (time[1:] + time[:-1])
        bounds = np.concatenate([[0.0], middles, time[-1:]])
        lengths = np.diff(bounds)
        steady_A = STEADY_PART * float(np.abs(current).max(initial=0.0))
        noise_A = min(NOISES * scatter(current), NOISY * steady_A)
        starts = _starts(current, max(steady_A, noise_A))
        charge = np.add.reduceat(current * lengths, starts)
        length = np.add.reduceat(lengths, starts)
        kept = length > 0.0
        return cls(
            bounds[starts][kept], charge[kept] / length[kept], float(time[-1]),
            temperature_C + ZERO_C_K, thermal,
        )  # fmt: skip

    def drawn_C(self, at_s: Floats) -> Floats:  # noqa: N802 - the unit as printed
        """Return the charge given up to some times [s], the last current flowing on. [C]"""
        bounds = np.append(self.edges_s, self.end_s)
        charge = np.concatenate([[0.0], np.cumsum(self.current_A * np.diff(bounds))])
        beyond = np.clip(at_s - self.end_s, 0.0, None) * self.current_A[-1]
        return np.asarray(np.interp(at_s, bounds, charge) + beyond)


def _starts(current: Floats, width: float) -> "np.typing.NDArray[np.intp]":
    """Return where a new step begins: the current has left a band around the step's first value."""
    starts, first = [0], float(current[0])
    changes = np.flatnonzero(np.abs(np.diff(current)) > 0.0) + 1
    for place in changes.tolist():
        if abs(float(current[place]) - first) > width:
            starts.append(place)
            first = float(current[place])
    return np.array(starts, dtype=np.intp)


@dataclass(frozen=True, slots=True)
class Instants:
    """What a replay shows at some times.

    Parameters
    ----------
    cells_V : array (m, cells)
        [V]
    state : array (m, cells)
        States of charge. [1]
    current_A, temperature_K : array (m,)
        Of the battery, discharge positive. [A], [K]
    """

    cells_V: Floats
    state: Floats
    current_A: Floats
    temperature_K: Floats


def replay(
    cells: tuple[Cell, ...], course: Course, at_s: Floats, *, longer_s: float = 0.0
) -> Floats:
    """Return the voltage of every cell at some times, the log's current flowing.

    Parameters
    ----------
    cells : tuple of Cell
        In series.
    course : Course
    at_s : array (m,)
        Rising. [s]
    longer_s : float
        Let the last current flow on for this long after the end of the log. [s]

    Returns
    -------
    voltage : array (m, cells)
        [V]
    """
    return follow(cells, course, at_s, longer_s=longer_s).cells_V


def follow(
    cells: tuple[Cell, ...], course: Course, at_s: Floats, *, longer_s: float = 0.0
) -> Instants:
    """Return all that a replay shows. Parameters as of `replay`. `at_s` [s].

    What all cells lost together is shared out alike, as one current flows through all of them.
    """
    return _string([cells], course, at_s, longer_s)[0]


def follow_each(
    batteries: Sequence[tuple[Cell, ...]], course: Course, at_s: Floats
) -> list[Instants]:
    """Return all that replays of some batteries show, each of as many cells.

    At a given temperature they run in one string, which costs little more than one of them: a
    current in series couples nothing. Batteries that warm up run one by one. As in `follow`, what
    all lost together is shared out alike.

    Parameters
    ----------
    batteries : sequence of tuple of Cell
        [SI]
    course : Course
    at_s : array (m,)
        Rising. [s]
    """
    together = 1
    if course.thermal is None:
        rows = min(at_s.size, FINEST_ROWS) + course.edges_s.size
        together = max(MOST_NUMBERS // (rows * len(batteries[0])), 1)
    return [
        one
        for first in range(0, len(batteries), together)
        for one in _string(batteries[first : first + together], course, at_s, 0.0)
    ]


def _string(
    batteries: Sequence[tuple[Cell, ...]], course: Course, at_s: Floats, longer_s: float
) -> list[Instants]:
    """Return what each of some batteries shows that are run in series."""
    cells = tuple(cell for battery in batteries for cell in battery)
    trace, source_C = _run(cells, course, at_s, course.end_s + longer_s, SOURCE_V * len(batteries))
    time = trace[:, 0]

    def column(place: int) -> Floats:
        return np.interp(at_s, time, trace[:, place])

    charge_C = np.array([cell.charge_C for cell in cells])
    start = np.array([cell.state_of_charge for cell in cells])
    held_C = column(FIXED + 2) * (charge_C.sum() + source_C)
    if source_C > 0.0:
        held_C -= source_C - course.drawn_C(at_s)
    drawn_C = (start @ charge_C - held_C) / len(cells)
    first = FIXED + PER_BATTERY
    cells_V = np.column_stack([column(first + one) for one in range(len(cells))])
    state = start - drawn_C[:, None] / charge_C
    current_A, temperature_K = column(FIXED), column(FIXED + 3)
    count = len(batteries[0])
    return [
        Instants(cells_V[:, at : at + count], state[:, at : at + count], current_A, temperature_K)
        for at in range(0, len(cells), count)
    ]


def _run(
    cells: tuple[Cell, ...], course: Course, at_s: Floats, end_s: float, source_V: float
) -> tuple[Floats, float]:
    """Return the trace, and how much charge a cell held that was added to those of the log. [C]

    The log's current flows whatever the cells show. At 0 V a load would draw nothing, and what is
    fitted would jump there: so a run that falls to 0 V is run again with a source in series.
    """
    engine = _engine(cells, course, at_s, end_s).finish()
    if not np.isfinite(float(engine.run.clock["fed_until"][0])):
        return engine.trace(), 0.0
    source = Cell(
        Curve.constant(source_V), Curve.constant(0.0), sum(one.charge_C for one in cells),
        activation_J_mol=cells[0].activation_J_mol, usable_part=cells[0].usable_part,
    )  # fmt: skip
    return _engine((*cells, source), course, at_s, end_s).finish().trace(), source.charge_C


def _engine(cells: tuple[Cell, ...], course: Course, at_s: Floats, end_s: float) -> Engine:
    charge_C = float(np.mean([cell.charge_C for cell in cells]))
    battery = Battery("battery", cells, 0.0, 0.0, (), charge_C, thermal=course.thermal)
    load = Load("log", 1.0, course.edges_s, course.current_A)
    bank = Bank(
        (battery,),
        Wiring(),
        (load,),
        temperature_K=course.temperature_K,
        duration_s=end_s,
        stop_when_empty=False,
        output_every_s=min(max(end_s / FINEST_ROWS, 0.5), COARSEST_S),
    )
    packed = pack.pack_bank(
        bank,
        relative=TOLERANCE,
        absolute_A=max(ABSOLUTE_TOLERANCE_PER_H * charge_C / 3600.0, STANDING_CURRENT_A),
        every_s=bank.output_every_s,
        most_edges=MOST_EDGES,
    )
    packed = packed._replace(row_s=_rows_around(at_s, bank.output_every_s))
    rows = min(packed.row_s.size + 4 * course.edges_s.size + 64, MOST_ROWS)
    return Engine(bank, TOLERANCE, prepared=(packed, pack.start_run(bank, packed, rows=rows)))


def _rows_around(at_s: Floats, every_s: float) -> Floats:
    """Return the even instants next to some times: what lies between others is asked of nobody."""
    before = np.floor(np.clip(at_s, 0.0, None) / every_s)
    return np.unique(np.concatenate([before, before + 1.0])) * every_s
