"""One bank, packed, marched to its end in short calls that can be watched and stopped."""

import math
from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np

from bankSim.errors import ParameterError, SimulationError
from bankSim.kernels import arrays as k
from bankSim.model.bank import Bank
from bankSim.model.curve import Floats
from bankSim.sim import pack
from bankSim.sim.giving_up import MOST_STEPS, check_work

RELATIVE_TOLERANCE = 2e-5
ABSOLUTE_TOLERANCE_PER_H = 1e-6  # of the smallest label capacity
FINEST_TOLERANCE = 1e-12
STEPS_PER_CALL = 20_000  # of a few cells some 50 ms: short enough to be stopped by hand
FEW_CELLS, LEAST_STEPS = 16, 250  # of more cells fewer steps: 64 batteries take 0.5 ms for one
LEAST_ROWS, MOST_ROWS = 4_096, 200_000  # of the timeline, in one call
MOST_TRACED_EDGES = 2_000
NO_DRAWS = (
    np.empty(0),
    np.empty(0),
    np.empty(0, np.int64),
    np.empty((0, 0)),
    np.empty(0, np.int64),
    np.empty((0, 0)),
    np.empty((0, 0, 0)),
    0,
    0,
)


@dataclass(eq=False)
class Engine:
    """A bank on its way: packed arrays, and everything logged so far.

    Parameters
    ----------
    events : list of array
        In SI, see `bankSim.kernels.log.write_event`.
    rows : list of array
        In the units of `Result`.
    bank : Bank
    relative_tolerance : float
        Allowed error of each battery's Ah, relative to what went through it. [1]
    absolute_tolerance_A : float or None
        Allowed error of each battery's Ah per hour, beside the relative one; None takes a
        millionth of the smallest label capacity per hour. [A]
    keep_trace : bool
        Also log the timeline.
    prepared : (kernels Bank, kernels Run), optional
        Arrays to march instead of packing the bank, as for a draw of a study.

    Raises
    ------
    ParameterError
        For a tolerance out of range.
    """

    bank: Bank
    relative_tolerance: float = RELATIVE_TOLERANCE
    absolute_tolerance_A: float | None = None
    keep_trace: bool = True
    prepared: tuple[k.Bank, k.Run] | None = None
    status: int = k.PAUSED
    rows: list[Floats] = field(default_factory=list)
    events: list[Floats] = field(default_factory=list)

    def __post_init__(self) -> None:
        if self.absolute_tolerance_A is None:
            smallest_Ah = min(battery.rated_C for battery in self.bank.batteries) / 3600.0
            wished_A = ABSOLUTE_TOLERANCE_PER_H * smallest_Ah
            self.absolute_tolerance_A = min(max(wished_A, FINEST_TOLERANCE), 1.0)
        check_tolerances(self.relative_tolerance, self.absolute_tolerance_A)
        if self.prepared is not None:
            self.packed, self.run = self.prepared
            return
        self.packed = pack.pack_bank(
            self.bank,
            relative=float(self.relative_tolerance),
            absolute_A=float(self.absolute_tolerance_A),
            every_s=float(self.bank.output_every_s) if self.keep_trace else math.inf,
            most_edges=MOST_TRACED_EDGES,
        )
        self.run = pack.start_run(
            self.bank, self.packed, rows=self._rows() if self.keep_trace else 0
        )

    def go_on(self, steps: int = STEPS_PER_CALL) -> bool:
        """March at most `steps` trial steps further; True once the run has ended."""
        from bankSim.kernels.draws import march_draws  # loads the compiler: not for a faulty file

        self.status = march_draws(self.packed, self.run, steps, *NO_DRAWS)
        self._drain()
        if self.status == k.FAILED:
            raise SimulationError("the network could not be solved; please report this scenario")
        if not np.isfinite(self.run.moment[:, k.SOC]).all():
            raise SimulationError("a charge came out as no number; please report this scenario")
        return self.status != k.PAUSED

    @property
    def steps_at_once(self) -> int:
        """How many trial steps of this bank take a moment: between them a run can be stopped."""
        part = FEW_CELLS / max(int(self.packed.cell.size), FEW_CELLS)
        return max(int(STEPS_PER_CALL * part), LEAST_STEPS)

    def finish(
        self, progress: Callable[[float], None] | None = None, most_steps: int = MOST_STEPS
    ) -> "Engine":
        """March to the end, telling `progress` the part of the duration that is done.

        Raises
        ------
        GivenUpError
            After `most_steps` trial steps, or with more events than there is room for.
        """
        while not self.go_on(min(self.steps_at_once, most_steps)):
            check_work(self.bank, self.run.clock[0], self.events, most_steps)
            if progress is not None:
                progress(float(self.run.clock["time"][0]) / self.bank.duration_s)
        return self

    def trace(self) -> Floats:
        """Return all logged rows, (rows, 5 + 3 n + m). Columns in the units of `Result`."""
        if not self.rows:
            return self.run.rows[:0]
        shape = sum(map(len, self.rows)), self.run.rows.shape[1]
        trace = np.empty(shape, order="F")  # read by columns, thousands of times in a long run
        return np.concatenate(self.rows, out=trace)

    def _rows(self) -> int:
        """Return room for the whole timeline if possible: a step longer than the log is cut."""
        wanted = int(self.bank.duration_s / self.bank.output_every_s) + LEAST_ROWS
        return min(wanted, MOST_ROWS)

    def _drain(self) -> None:
        rows, events = (int(used) for used in self.run.used)
        self.rows.append(self.run.rows[:rows].copy())
        self.events.extend(self.run.events[:events].copy())
        self.run.used[:] = 0


def check_tolerances(relative: float, absolute_A: float) -> None:
    """Raise ParameterError unless both tolerances make sense. `relative` [1]."""
    if not FINEST_TOLERANCE <= relative <= 0.1:
        raise ParameterError("relative_tolerance", relative, "1e-12 to 0.1")
    if not FINEST_TOLERANCE <= absolute_A <= 1.0:
        raise ParameterError("absolute_tolerance_A", absolute_A, "1e-12 to 1")
