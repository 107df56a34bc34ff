"""Several snapshots of one battery: how repeatable its cut-out is."""

from dataclasses import dataclass, replace

import numpy as np

from bankSim.measured.snapshot import Circumstances, Range, Snapshot, take_snapshot


@dataclass(frozen=True, slots=True)
class Repeats:
    """What repeats have in common.

    Parameters
    ----------
    deciders : tuple of int
        Cell of the lowest reading of each.
    lowest_V, sum_V : (float, float)
        Smallest and largest. [V]
    won_Ah : (float, float)
        Smallest and largest central value. [Ah]
    explained_Ah : Range
        By how much what was given should differ, as the deciding cell stopped at different
        voltages. [Ah]
    delivered_percent : float or None
        Largest less smallest Ah given, of their mean. [%]
    same_cell : bool
        One cell was the lowest every time.
    """

    deciders: tuple[int, ...]
    lowest_V: tuple[float, float]
    sum_V: tuple[float, float]
    won_Ah: tuple[float, float]
    explained_Ah: Range
    delivered_percent: float | None
    same_cell: bool


def compare_repeats(
    shots: tuple[Snapshot, ...], around: Circumstances, delivered_Ah: tuple[float, ...]
) -> Repeats:
    """Return what repeats have in common; at least two snapshots."""
    lows, sums = [one.lowest_V for one in shots], [one.sum_V for one in shots]
    won = [one.won_Ah.value for one in shots]
    percent = None
    if len(delivered_Ah) > 1:
        percent = 100.0 * (max(delivered_Ah) - min(delivered_Ah)) / float(np.mean(delivered_Ah))
    return Repeats(
        deciders=tuple(one.decider for one in shots),
        lowest_V=(min(lows), max(lows)),
        sum_V=(min(sums), max(sums)),
        won_Ah=(min(won), max(won)),
        explained_Ah=left_between(max(lows), min(lows), around),
        delivered_percent=percent,
        same_cell=len({one.decider for one in shots}) == 1,
    )


def left_between(high_V: float, low_V: float, around: Circumstances) -> Range:
    """Return what one cell gives from one voltage down to a lower one, under the same current."""
    if high_V <= low_V:
        return Range(0.0, 0.0, 0.0)
    shot = take_snapshot((high_V,), replace(around, limit_V=low_V))
    left = shot.cells[0].left_Ah
    return Range(max(left.value, 0.0), max(left.low, 0.0), max(left.high, 0.0))
