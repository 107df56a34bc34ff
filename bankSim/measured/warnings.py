"""What the logs of a calibration cannot tell."""

from collections.abc import Sequence

import numpy as np

from bankSim.measured.ends import drawn_Ah, end_of, usual_A
from bankSim.measured.fit import Fit
from bankSim.measured.followed import Followed
from bankSim.measured.log import Log
from bankSim.measured.parameters import Recipe
from bankSim.measured.quantities import SELDOM, SURE, CellValue, Value
from bankSim.measured.zero import zero_of_log
from bankSim.sim.numbers import listing, number

NOT_FULL = 0.9  # state of charge whose voltage at rest a full battery surely exceeds
BELOW_V = 0.015  # of a cell: by how much typical curves and meters may be off; own choice
RESTS_PART = 0.02  # of the largest current: less counts as rest
STEP_PART = 0.25  # of the largest current
FEWEST_STEPS = 2
BETWEEN = (0.05, 0.95)  # of the charge given: elsewhere the voltage curve is too steep to tell
RATES_APART = 1.5
AT_ONCE_PART = 0.5  # of the shortest relaxation: samples further apart miss what happens at once
DEEP = 0.9  # of the capacity: less leaves the knee unseen
CHARGING_PART = 0.01  # of the charge that passed


def warnings_of(
    logs: Sequence[Log],
    recipe: Recipe,
    found: Fit,
    values: Sequence[Value],
    cells: Sequence[CellValue],
    followed: Sequence[Followed],
    interval_s: float,
) -> tuple[str, ...]:
    """Return a sentence for everything that was asked of the logs and is not in them."""
    told = [
        *_settled(found),
        *_misfits(followed),
        *_zeros(logs),
        *_levels(logs),
        *_blurred(values, interval_s),
        *_unlearned(values),
        *_starts(logs, recipe),
        *_depth(logs, recipe, values, cells),
        *_charging(logs),
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


def _settled(found: Fit) -> list[str]:
    if found.settled:
        return []
    return [
        f"The search for these values was broken off after {found.turns} turns, while they still "
        "moved, and follows the logs worse than it should: do not build on them. Check the "
        "chemistry, the cells in series, the starts and how the columns were read; of several "
        "logs, one less shows which does not go with the others."
    ]


def _zeros(logs: Sequence[Log]) -> list[str]:
    return [f"{log.file}: {told}" for log in logs for told in zero_of_log(log)]


def _misfits(followed: Sequence[Followed]) -> list[str]:
    return [
        f"{one.file}: the model stays {one.middle_rms_mV:.1f} mV a cell off this log, whose own "
        f"noise is {one.noise_mV:.1f} mV. Something is not as it was taken: are all logs of one "
        "battery, with these starts and temperatures, and do their meters agree? Take the values, "
        "resistances above all, with more care than their errors ask for."
        for one in followed
        if one.unexplained
    ]


def _blurred(values: Sequence[Value], interval_s: float) -> list[str]:
    """Tell that samples are too far apart to see what happens at once."""
    times_s = (one.value for one in values if one.name.startswith("relaxation") and one.unit == "s")
    first_s = min(times_s, default=np.inf)
    if interval_s <= AT_ONCE_PART * first_s or np.isinf(interval_s):
        return []
    return [
        f"At load steps there is a sample every {interval_s:.3g} s only, and relaxation begins "
        f"within {number(first_s, 2)} s: what happens at once and what relaxes first are hardly "
        "told apart, only their sum. A log every second around the steps would tell."
    ]


def separates(logs: Sequence[Log]) -> bool:
    """Tell whether the logs can separate resistance from the voltage curve.

    They do with a load step away from full and empty, or with different rates.
    """
    return any(has_steps(log) for log in logs) or _rates_differ(logs)


def has_steps(log: Log) -> bool:
    """Tell whether the current steps while the battery is neither full nor empty."""
    given = log.counted_Ah()
    part = (given - given.min()) / max(float(np.ptp(given)), 1e-12)
    steps = np.abs(np.diff(log.current_A)) > STEP_PART * float(np.abs(log.current_A).max())
    between = (part[:-1] > BETWEEN[0]) & (part[:-1] < BETWEEN[1])
    return int(np.count_nonzero(steps & between)) >= FEWEST_STEPS


def _rates_differ(logs: Sequence[Log]) -> bool:
    rates = [usual_A(log) for log in logs]
    return max(rates) > RATES_APART * min(rates)


def _levels(logs: Sequence[Log]) -> list[str]:
    if not separates(logs):
        return [
            "All logs run at one constant current: that does not separate resistance from the "
            "voltage curve. Only their sum at this current is known; both keep wide spreads. A "
            "second rate, or a few load steps of some minutes with rests, would separate them."
        ]
    if not any(has_steps(log) for log in logs):
        return [
            "No load step inside a log: only what resists after long is told, not how it is shared "
            "between what drops at once and what relaxes, nor in which times. A few steps of some "
            "minutes with rests would tell."
        ]
    return []


def _spoken(name: str) -> str:
    """Return a name for a list of names: "relaxation 1 (time)", without a comma of its own."""
    what, comma, of_it = name.partition(", ")
    return f"{what} ({of_it})" if comma else name


def _unlearned(values: Sequence[Value]) -> list[str]:
    names = [_spoken(one.name) for one in values if one.learned < SELDOM]
    if not names:
        return []
    return [
        f"The logs hardly tell: {listing(names)}. What stands there leans on typical values and on "
        "a typical voltage curve, with wide errors."
    ]


def _starts(logs: Sequence[Log], recipe: Recipe) -> list[str]:
    """Tell of logs that were said to start full, and rest too low for that before any load."""
    cells, curve = recipe.label.cells_in_series, recipe.chemistry.ocv_V()
    least_V = float(curve(NOT_FULL)) - BELOW_V
    told = []
    for log, (_, full) in zip(logs, recipe.starts, strict=True):
        rest_V = float(log.voltage_V[0]) / cells
        rests = abs(float(log.current_A[0])) < RESTS_PART * float(np.abs(log.current_A).max())
        if full and rests and rest_V < least_V:
            told.append(
                f"{log.file} rests at {rest_V:.3f} V a cell before any load: a full one usually "
                f"stands above {least_V:.2f} V. If it was not full, the battery holds more than "
                "found, well beyond the error told; say --start-percent."
            )
    return told


def _depth(
    logs: Sequence[Log], recipe: Recipe, values: Sequence[Value], cells: Sequence[CellValue]
) -> list[str]:
    """Tell what part of the charge no log has seen: below where it ended, above where it began."""
    capacity = values[0]
    begun = [start for start, _ in recipe.starts]
    drawn = [drawn_Ah(log) / capacity.value for log in logs]
    told = _upper(
        max(
            start - float(log.counted_Ah().min()) / capacity.value
            for log, start in zip(logs, begun, strict=True)
        )
    )
    if any(part >= DEEP * start for part, start in zip(drawn, begun, strict=True)):
        return told
    if recipe.label.rated_guessed and not any(end_of(log) for log in logs):
        return [
            "No log reaches the end of a discharge, and no --rated-Ah is given: how much the "
            f"battery holds is not known, only that it is {max(drawn) * capacity.value:.3g} Ah or "
            "more. Discharge once until the battery cuts out."
        ]
    part = 100.0 * max(drawn)
    if cells and any(end_of(log) for log in logs):
        weakest = min(cells, key=lambda one: one.left_at_end_Ah)
        return [
            f"Cell {weakest.cell} ends the discharge at {part:.0f} % of the mean capacity: what "
            "the others hold below that rests on the typical curve.", *told
        ]  # fmt: skip
    if recipe.typical.available_fraction < 1.0:
        return [
            f"No log draws more than {part:.0f} % of the charge found: what a slower discharge "
            "would give beyond rests on typical wells. Discharge once over 20 h.", *told
        ]  # fmt: skip
    return [
        f"No log draws more than {part:.0f} % of the capacity found: capacity and the knee rest "
        "on the typical curve. Discharge once until the battery cuts out.", *told
    ]  # fmt: skip


def _upper(fullest: float) -> list[str]:
    if fullest >= DEEP:
        return []
    return [
        f"No log begins or comes above {100.0 * fullest:.0f} %: how much the battery takes above "
        "that is only as sure as where that log began. Discharge once from full."
    ]


def _charging(logs: Sequence[Log]) -> list[str]:
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
    which = f"Cells {who}: what each has" if len(unsure) > 1 else f"Cell {who}: what it has"
    return [
        f"{which} left at the end is sure; whether it is larger, or was fuller at the start, is "
        "not. Cell voltages up to full charge would tell."
    ]
