"""Two batteries compared at cut-out: larger cells, or the same cells taken deeper?

Both are converted to the same end of the discharge: the one that was taken deeper loses what its
deciding cell gave between the two end voltages. What is then left of the difference is due to
balance (all cells counted, not only the first one) and to the cells themselves.
"""

from dataclasses import dataclass
from enum import Enum

import numpy as np

from bankSim.measured.snapshot import (
    DRAWS,
    HIGH,
    LOW,
    Circumstances,
    Range,
    Snapshot,
    left_draws,
    take_snapshot,
)
from bankSim.model.curve import Floats

COUNT_SD = 0.01  # of Ah given, between tests of one battery: within 2 % (common practice)
CELL_MASS_PART = 0.8  # cells over whole battery
SAME_PERCENT = 2.0  # differences up to this are within repeats


class Verdict(Enum):
    """What the comparison says."""

    SAME = "no difference beyond repeats"
    DEEPER = "the same cells taken deeper explain it"
    LARGER = "more charge in the cells"
    BALANCE = "better balance explains it"
    MIXED = "partly deeper, partly the cells"
    UNCLEAR = "too little difference for what is not known"
    KIND = "different chemistries"
    UNKNOWN = "depth unknown: cell voltages are missing"


@dataclass(frozen=True, slots=True)
class Side:
    """One battery.

    Parameters
    ----------
    name : str
    given_Ah : float
        From full to cut-out. [Ah]
    around : Circumstances
    voltages_V : tuple of float
        Cells at cut-out; empty when not known. [V]
    step_V : float
        [V]
    mass_kg : float or None
        Of the whole battery. [kg]
    given_Wh : float or None
        Measured energy. [Wh]
    cells : int
        In series.
    """

    name: str
    given_Ah: float
    around: Circumstances
    voltages_V: tuple[float, ...]
    step_V: float
    mass_kg: float | None
    given_Wh: float | None
    cells: int

    @property
    def energy_Wh(self) -> float:  # noqa: N802 - the unit as printed
        """Measured energy, else Ah times nominal voltage. [Wh]"""
        if self.given_Wh is not None:
            return self.given_Wh
        return self.given_Ah * self.cells * self.around.material.nominal_V


@dataclass(frozen=True, slots=True)
class Parts:
    """Where the difference in Ah comes from, two less one; they add up to it. [Ah]

    Parameters
    ----------
    total : Range
        Two less one as given, with what repeats differ by.
    depth, balance, cells : Range
        Taken deeper; better balanced; what is left: the cells themselves.
    """

    total: Range
    depth: Range
    balance: Range
    cells: Range


@dataclass(frozen=True, eq=False)
class Comparison:
    """Two batteries at cut-out.

    Parameters
    ----------
    sides : (Side, Side)
    shots : (Snapshot, Snapshot) or None
        None where cell voltages of either are missing.
    common_V : float or None
        End voltage that both are converted to. [V]
    at_common_Ah : (Range, Range) or None
        What each would have given down to it. [Ah]
    parts : Parts or None
    sure : float or None
        Part of the draws in which the cells themselves are the largest part of the difference. [1]
    verdict : Verdict
    mass_gap_kg, mass_expected_kg : float or None
        Two less one as weighed; and as it would be if the difference in Ah were more of the same
        cells. [kg]
    told : tuple of str
        How the input was read.
    """

    sides: tuple[Side, Side]
    shots: tuple[Snapshot, Snapshot] | None
    common_V: float | None
    at_common_Ah: tuple[Range, Range] | None
    parts: Parts | None
    sure: float | None
    verdict: Verdict
    mass_gap_kg: float | None
    mass_expected_kg: float | None
    told: tuple[str, ...] = ()


def compare_depth(one: Side, two: Side, *, seed: int = 1, told: tuple[str, ...] = ()) -> Comparison:
    """Return what explains the difference between two batteries.

    Parameters
    ----------
    one, two : Side
    seed : int
    told : tuple of str

    Source
    ------
    docs/theory.md, eq. 28.4.
    """
    gap, expected = _masses(one, two)
    same_kind = one.around.chemistry == two.around.chemistry
    if not (one.voltages_V and two.voltages_V and same_kind):
        verdict = Verdict.UNKNOWN if same_kind else Verdict.KIND
        return Comparison((one, two), _shots(one, two, seed), None, None, None, None, verdict, gap,
                          expected, told)  # fmt: skip
    common_V = max(min(one.voltages_V), min(two.voltages_V))
    depths, balances, counts = _drawn(one, two, common_V, seed)
    ends = counts - depths
    total, depth = counts[:, 1] - counts[:, 0], depths[:, 1] - depths[:, 0]
    balance = balances[:, 0] - balances[:, 1]
    cells = total - depth - balance
    parts = Parts(*(range_of(one) for one in (total, depth, balance, cells)))
    way = 1.0 if total[0] >= 0.0 else -1.0
    most = way * cells[1:] > np.maximum(way * depth, way * balance)[1:]
    return Comparison(
        sides=(one, two),
        shots=_shots(one, two, seed),
        common_V=common_V,
        at_common_Ah=(range_of(ends[:, 0]), range_of(ends[:, 1])),
        parts=parts,
        sure=float(np.mean(most)),
        verdict=_verdict(parts, float(np.mean(counts[0]))),
        mass_gap_kg=gap,
        mass_expected_kg=expected,
        told=told,
    )


def range_of(values: Floats) -> Range:
    """Central case (row 0) and 5 to 95 % of the others. [any unit]"""
    low, high = np.quantile(values[1:], (LOW, HIGH))
    middle = float(values[0])
    return Range(middle, min(float(low), middle), max(float(high), middle))


def _shots(one: Side, two: Side, seed: int) -> tuple[Snapshot, Snapshot] | None:
    """Take both snapshots where there are cells."""
    if not (one.voltages_V and two.voltages_V):
        return None
    first, second = (
        take_snapshot(side.voltages_V, side.around, step_V=side.step_V, seed=seed)
        for side in (one, two)
    )
    return first, second


def _drawn(one: Side, two: Side, common_V: float, seed: int) -> tuple[Floats, Floats, Floats]:
    """Draw depth beyond the common end, balance to be won there, Ah given; (draws + 1, 2). [Ah]"""
    depths, balances = np.empty((DRAWS + 1, 2)), np.empty((DRAWS + 1, 2))
    counts = np.empty((DRAWS + 1, 2))
    random = np.random.default_rng((seed, 3))
    for place, side in enumerate((one, two)):
        left = left_draws(side.voltages_V, side.around, common_V, side.step_V, seed)
        low = left.min(axis=1)
        depths[:, place], balances[:, place] = -low, left.mean(axis=1) - low
        errors = random.normal(0.0, COUNT_SD, DRAWS + 1)
        errors[0] = 0.0
        counts[:, place] = side.given_Ah * (1.0 + errors)
    return depths, balances, counts


def _verdict(parts: Parts, base_Ah: float) -> Verdict:
    """Judge by which part explains the difference."""
    total = parts.total.value
    if abs(total) <= 0.01 * SAME_PERCENT * base_Ah:
        return Verdict.SAME
    sign = 1.0 if total > 0.0 else -1.0
    cells, depth = sign * parts.cells.value / abs(total), sign * parts.depth.value / abs(total)
    clear = parts.cells.low > 0.0 if sign > 0.0 else parts.cells.high < 0.0
    if clear and cells >= 0.7:  # of the difference: choice, like the shares below
        return Verdict.LARGER
    if (clear or cells >= 0.3) and depth >= 0.15:
        return Verdict.MIXED
    balance = sign * parts.balance.value / abs(total)
    if max(depth, balance) < 0.5:
        return Verdict.UNCLEAR
    return Verdict.BALANCE if balance > depth else Verdict.DEEPER


def _masses(one: Side, two: Side) -> tuple[float | None, float | None]:
    """Return the difference in mass, and what the difference in Ah would weigh in cells."""
    if one.mass_kg is None or two.mass_kg is None:
        return None, None
    per_Ah = CELL_MASS_PART * one.mass_kg / one.given_Ah
    return two.mass_kg - one.mass_kg, per_Ah * (two.given_Ah - one.given_Ah)
