"""What the logs of a calibration cannot tell."""

from collections.abc import Sequence

import numpy as np

from bankSim.measured.fit import Fit
from bankSim.measured.log import Log
from bankSim.measured.parameters import Recipe
from bankSim.measured.quantities import SELDOM, SURE, CellValue, Value
from bankSim.model.curve import Floats
from bankSim.sim.numbers import listing

LEVELS_APART = 0.25  # of the largest current
LEVEL_PART = 0.005  # of the samples: shorter stays do not count as a level
DEEP = 0.9  # of the capacity: less leaves the knee unseen
CHARGING_PART = 0.01  # of the charge that passed


def warnings_of(
    logs: Sequence[Log],
    recipe: Recipe,
    found: Fit,
    values: Sequence[Value],
    cells: Sequence[CellValue],
) -> tuple[str, ...]:
    """Return a sentence for everything that was asked of the logs and is not in them."""
    told = [
        *_levels(logs, recipe),
        *_unlearned(values),
        *_depth(logs, recipe, values),
        *_charging(logs, recipe),
        *_cells(recipe, cells),
    ]
    limits = [
        one.name
        for one, number in zip(found.parameters, found.numbers, strict=True)
        if min(number - one.low, one.high - number) < 1e-3 * one.sd and one.cell is None
        and one.log is None
    ]  # fmt: skip
    if limits:
        told.append(
            f"At the edge of what was allowed: {listing(limits, 4)}. The model does not fit these "
            "logs there; look at the residuals."
        )
    return tuple(told)


def current_levels(logs: Sequence[Log]) -> list[float]:
    """Return the distinct currents that flow for a while, in A, smallest first; rest counts."""
    everything = np.concatenate([log.current_A for log in logs])
    apart = LEVELS_APART * float(np.abs(everything).max(initial=0.0))
    levels: list[float] = []
    for log in logs:
        for level in _held(log.current_A, apart):
            if all(abs(level - one) > apart for one in levels):
                levels.append(level)
    return sorted(levels)


def _held(current: Floats, apart: float) -> list[float]:
    grid = np.round(current / max(apart, 1e-12)).astype(int)
    numbers, counts = np.unique(grid, return_counts=True)
    return [
        float(np.median(current[grid == number]))
        for number, count in zip(numbers, counts, strict=True)
        if count >= max(3, LEVEL_PART * current.size)
    ]


def _levels(logs: Sequence[Log], recipe: Recipe) -> list[str]:
    steps = any(len(current_levels([log])) > 1 for log in logs)
    several = len(current_levels(logs)) > 1
    if recipe.slow is not None and (several or len(logs) > 1):
        return []
    if not several:
        return [
            "All logs run at one constant current: that does not separate resistance from the "
            "voltage curve. Only their sum at this current is known; both keep wide spreads. A "
            "second rate, or a few load steps of some minutes with rests, would separate them."
        ]
    if not steps:
        return [
            "No load step inside a log: the times of relaxation stay typical. A few steps of some "
            "minutes with rests would tell them."
        ]
    return []


def _unlearned(values: Sequence[Value]) -> list[str]:
    names = [one.name for one in values if one.learned < SELDOM]
    if not names:
        return []
    return [f"The logs hardly tell: {listing(names)}. Typical values stand, with wide spreads."]


def _depth(logs: Sequence[Log], recipe: Recipe, values: Sequence[Value]) -> list[str]:
    deepest_Ah = max(float(np.ptp(log.counted_Ah())) for log in logs)
    capacity = values[0]
    if deepest_Ah >= DEEP * capacity.value:
        return []
    part = 100.0 * deepest_Ah / capacity.value
    return [
        f"No log goes deeper than {part:.0f} % of the capacity found: capacity and the knee rest "
        "on the typical curve. Discharge once until the battery cuts out."
    ]


def _charging(logs: Sequence[Log], recipe: Recipe) -> list[str]:
    into = sum(float(np.clip(-log.current_A[1:], 0.0, None) @ np.diff(log.time_s)) for log in logs)
    out = sum(float(np.clip(log.current_A[1:], 0.0, None) @ np.diff(log.time_s)) for log in logs)
    if into > CHARGING_PART * out:
        return []
    return ["Nothing was charged: hysteresis and the efficiency of charging stay typical."]


def _cells(recipe: Recipe, cells: Sequence[CellValue]) -> list[str]:
    if recipe.label.cells_in_series == 1:
        return []
    if not cells:
        return [
            "No cell voltages: all cells are taken as equal, the weakest and the strongest share "
            "what was measured. Log the cells, or read them just before the cut-out."
        ]
    unsure = [
        one for one in cells
        if abs(one.capacity_percent) < SURE * one.capacity_sd
        and abs(one.charge_percent) < SURE * one.charge_sd
        and one.left_at_end_Ah > SURE * one.left_sd_Ah
    ]  # fmt: skip
    if not unsure:
        return []
    who = listing([str(one.cell) for one in unsure])
    return [
        f"Cells {who}: what each has left at the end is sure; whether it is larger, or was fuller "
        "at the start, is not. Cell voltages up to full charge would tell."
    ]
