"""What else a snapshot hints at: what stopped the discharge, slips of the pen, charge or size."""

from dataclasses import dataclass
from enum import Enum

import numpy as np

from bankSim.measured.snapshot import Circumstances, Snapshot

RULE_TOLERANCE_V = 0.1  # seen in public specifications of electronics
PACK_TOLERANCE_V = 0.05  # of a whole-battery meter
LEAST_FULL_V = 0.015  # cells at the end of charge that differ by less say nothing
FAILING_V = 0.2  # of a lead-acid cell below the mean of the others under load; own choice


class Stopped(Enum):
    """What probably stopped the discharge."""

    CELL_RULE = "the limit of one cell"
    BATTERY_RULE = "a limit of the whole battery, or the load's own cut-off"
    EITHER = "the limit of one cell, or one of the whole battery"
    OTHER = "neither: another limit (current, temperature), the load, or a hand"
    TOO_LOW = "the limit of one cell, passed by far"
    RESTED = "not to be read from cells at rest"


class Kind(Enum):
    """Why the deciding cell is first."""

    LESS_CHARGE = "less charge"
    SMALLER = "smaller or older"
    UNCLEAR = "unclear"


@dataclass(frozen=True, slots=True)
class SumCheck:
    """The cells' sum against the battery's own voltage.

    Parameters
    ----------
    sum_V, battery_V : float
        [V]
    expected_drop_V : float
        Of straps and switches inside, which the battery's terminals lack. [V]
    allowed_V : float
        What meters and drop leave open. [V]
    off_V : float
        What is left unexplained, cells less battery. [V]
    fits : bool
        Whether that lies within what is allowed.
    """

    sum_V: float
    battery_V: float
    expected_drop_V: float
    allowed_V: float
    off_V: float
    fits: bool


@dataclass(frozen=True, slots=True)
class FullHint:
    """What cell voltages at the end of a charge hint at.

    Parameters
    ----------
    voltages_V : tuple of float
        [V]
    above_others_mV : float
        The deciding cell (at empty) less the mean of the others. [mV]
    kind : Kind
    """

    voltages_V: tuple[float, ...]
    above_others_mV: float
    kind: Kind


def what_stopped(shot: Snapshot, around: Circumstances) -> Stopped:
    """Return what probably stopped the discharge, from the lowest cell and the sum."""
    if around.rest_s is not None:
        return Stopped.RESTED
    facts = around.facts
    low, high = facts.limits_V
    if around.limit_V is not None:
        low = high = around.limit_V
    lowest = shot.lowest_V
    by_sum = _in_battery_band(shot, around)
    if not facts.has_cell_rule and around.limit_V is None:
        return Stopped.BATTERY_RULE if by_sum else Stopped.OTHER
    if lowest < low - RULE_TOLERANCE_V - around.meter_V:
        return Stopped.TOO_LOW
    by_cell = lowest <= high + RULE_TOLERANCE_V + around.meter_V
    if by_cell and by_sum:
        return Stopped.EITHER
    if by_cell:
        return Stopped.CELL_RULE
    return Stopped.BATTERY_RULE if by_sum else Stopped.OTHER


def _in_battery_band(shot: Snapshot, around: Circumstances) -> bool:
    """Tell whether the whole battery stands where such limits usually are."""
    count = len(shot.cells)
    if count == 1:
        return False
    low, high = (count * volts for volts in around.facts.battery_V)
    return low - PACK_TOLERANCE_V <= shot.sum_V <= high + PACK_TOLERANCE_V


def behind_others_V(shot: Snapshot, around: Circumstances) -> float | None:  # noqa: N802 - unit
    """Return how far the lowest lead-acid cell lies below the mean of the others. [V]

    None where that is no more than `FAILING_V`, where the others are at their end too, where
    electronics watch the cells, and at rest.
    """
    if around.facts.has_cell_rule or around.rest_s is not None or len(shot.cells) < 2:
        return None
    others_V = (shot.sum_V - shot.lowest_V) / (len(shot.cells) - 1)
    behind_V = others_V - shot.lowest_V
    return behind_V if behind_V > FAILING_V and others_V > around.facts.limits_V[1] else None


def check_sum(shot: Snapshot, around: Circumstances, battery_V: float) -> SumCheck:
    """Hold the cells' sum against the battery's voltage."""
    kind, count = around.material, len(shot.cells)
    drop = 0.0 if around.rest_s is not None else around.per_h * kind.internal_ohm_Ah
    meters = 2.0 * float(np.hypot(np.sqrt(count) * around.meter_V, PACK_TOLERANCE_V / 2.0))
    off, allowed = shot.sum_V - drop - battery_V, meters + drop
    return SumCheck(shot.sum_V, battery_V, drop, allowed, off, fits=abs(off) <= allowed)


def hint_of_full(shot: Snapshot, full_V: tuple[float, ...], meter_V: float) -> FullHint:
    """Return what the end of a charge says of the cell that decided at empty.

    A cell with less charge is behind at both ends; a smaller one is first at both.
    """
    place = shot.decider - 1
    others = [volts for number, volts in enumerate(full_V) if number != place]
    above = full_V[place] - float(np.mean(others)) if others else 0.0
    least = max(LEAST_FULL_V, 1.5 * meter_V)
    kind = Kind.UNCLEAR
    if others and abs(above) >= least:
        kind = Kind.SMALLER if above > 0.0 else Kind.LESS_CHARGE
    return FullHint(full_V, 1000.0 * above, kind)
