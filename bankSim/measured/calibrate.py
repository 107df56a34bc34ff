"""One or more logs of a battery alone: the battery that would have shown them."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from bankSim.measured.cell_guess import guess_cells
from bankSim.measured.ends import End, drawn_Ah, end_of
from bankSim.measured.first_guess import first_guess_Ah
from bankSim.measured.fit import CLOSE, NEAR, Fit, fit
from bankSim.measured.fit_samples import Samples, samples_of
from bankSim.measured.label import Label
from bankSim.measured.log import Log, LogError
from bankSim.measured.parameters import Recipe
from bankSim.measured.quantities import (
    Beside,
    CellValue,
    Pair,
    Value,
    cell_values,
    pairs_of,
    values_of,
)
from bankSim.measured.replay import replay
from bankSim.measured.slow_curve import slow_curve
from bankSim.measured.warnings import separates, warnings_of
from bankSim.model.chemistry import chemistry_of
from bankSim.model.curve import Floats

ROOM_C = 25.0
SHUNT_GAIN_PERCENT = 0.5  # limit of a usual shunt, our own choice
MIDDLE_PART = (0.10, 0.95)  # of the charge: where the voltage is told for itself
LEAST_SAMPLES = 20
UNKNOWN_START = 0.7  # state of charge from which a fit sets out where nobody knows it
MISSED_PERCENT = {
    True: 5.0,
    False: 40.0,
}  # by whether there are load steps or several rates; own choice
HOPELESS_MV = 150.0  # rms of a cell: what is further off is another kind of battery
LONGER = 0.5  # of the log's length: how far on a replay looks for the end voltage


@dataclass(frozen=True, slots=True)
class Told:
    """What a person says of the logs besides the label.

    Parameters
    ----------
    starts : tuple of float or None
        State of charge at the start of each log; None: not known. Empty: all full. [1]
    temperature_C : float or None
        Of the air, where a log has no temperature of the battery; None takes 25. [degC]
    shunt_gain_percent : float
        Limit of the error of the current's scale. [%]
    hold_out : float
        Part of the time that is kept out of the fit and predicted. [1]
    mass_kg : float or None
        Of the battery. [kg]
    """

    starts: tuple[float | None, ...] = ()
    temperature_C: float | None = None
    shunt_gain_percent: float = SHUNT_GAIN_PERCENT
    hold_out: float = 0.0
    mass_kg: float | None = None


@dataclass(frozen=True, eq=False)
class Followed:
    """How well the calibrated battery follows one log; model less measured.

    Parameters
    ----------
    file : str
    hours : float
        [h]
    mean_A, highest_A : float
        While discharging. [A]
    start : float
        State of charge at its start, found or given. [1]
    is_curve : bool
        Its voltage became the voltage curve.
    rms_mV, middle_rms_mV, worst_mV : float
        Of a cell: all samples; between 10 and 95 % of the charge (all samples where
        none lies there); the largest. [mV]
    held_out_rms_mV : float or None
        Of the stretches that were kept out of the fit; None for the log that is the curve, since
        following it proves nothing. [mV]
    end : End or None
    model_Ah : float or None
        What the model gives until the voltage at which the measured discharge ended. [Ah]
    time_s, residual_mV, z : array (m,)
        For drawing; of the mean over cells. [s], [mV], [1]
    """

    file: str
    hours: float
    mean_A: float
    highest_A: float
    start: float
    is_curve: bool
    rms_mV: float
    middle_rms_mV: float
    worst_mV: float
    held_out_rms_mV: float | None
    end: End | None
    model_Ah: float | None
    time_s: Floats
    residual_mV: Floats
    z: Floats

    @property
    def error_percent(self) -> float | None:
        """Error of the modelled Ah. [%]"""
        if self.end is None or self.model_Ah is None:
            return None
        return 100.0 * (self.model_Ah / self.end.given_Ah - 1.0)


@dataclass(frozen=True, eq=False)
class Calibration:
    """A battery found from its logs.

    Parameters
    ----------
    label : Label
    told : Told
    recipe : Recipe
    fit : Fit
    followed : tuple of Followed
        One of each log.
    values : tuple of Value
        With standard errors.
    cells : tuple of CellValue
        Empty where no cell voltages were logged.
    pairs : tuple of Pair
        Values that the logs hardly separate, most entangled first.
    warnings : tuple of str
        What the logs cannot tell.
    assumed : tuple of (str, str)
        What was taken without being measured, and from where.
    """

    label: Label
    told: Told
    recipe: Recipe
    fit: Fit
    followed: tuple[Followed, ...]
    values: tuple[Value, ...]
    cells: tuple[CellValue, ...]
    pairs: tuple[Pair, ...]
    warnings: tuple[str, ...]
    assumed: tuple[tuple[str, str], ...]

    def value(self, name: str) -> Value:
        """Return one of the values by its name."""
        return next(one for one in self.values if one.name == name)


def calibrate(
    logs: Sequence[Log],
    label: Label,
    told: Told = Told(),
    progress: Callable[[int, int], None] | None = None,
) -> Calibration:
    """Find the battery that would have shown some logs.

    Parameters
    ----------
    logs : sequence of Log
        Of the same battery, alone.
    label : Label
    told : Told
    progress : callable, optional
        Told how many turns of the fit are done, and of how many at most.

    Raises
    ------
    LogError
        For logs that hold no discharge, or too few samples.
    """
    for log in logs:
        _check(log)
    recipe = _recipe(logs, label, told)
    room_C = ROOM_C if told.temperature_C is None else told.temperature_C
    found = _fitted(logs, recipe, told, room_C, progress)
    followed = tuple(_followed(log, number, recipe, found) for number, log in enumerate(logs))
    for one in followed:
        if one.middle_rms_mV > HOPELESS_MV:
            raise LogError(
                f"{one.file}: no {label.chemistry} battery of {label.cells_in_series} cells would "
                f"show this ({one.middle_rms_mV:.0f} mV off a cell); expected another --chemistry, "
                "--cells-in-series, --start-percent or --sign"
            )
    values = values_of(recipe, found, _beside(logs, label, told))
    cells = cell_values(recipe, found)
    return Calibration(
        label, told, recipe, found, followed, values, cells, pairs_of(recipe, found),
        warnings_of(logs, recipe, found, values, cells), _assumed(logs, recipe, told, room_C),
    )  # fmt: skip


def _fitted(
    logs: Sequence[Log],
    recipe: Recipe,
    told: Told,
    room_C: float,
    progress: Callable[[int, int], None] | None,
    wins: float = CLOSE,
) -> Fit:
    """Fit; where cells differ, first all cells alike, since that is quick and leads near."""
    curve = recipe.slow.log if recipe.slow else None
    samples = [
        samples_of(
            log,
            recipe,
            room_C,
            hold_out=told.hold_out,
            is_curve=number == curve,
            start_full=recipe.starts[number][1] and recipe.typical.available_fraction == 1.0,
        )
        for number, log in enumerate(logs)
    ]
    if recipe.each_cell:
        rough = _fitted(logs, replace(recipe, each_cell=False), told, room_C, progress, NEAR)
        rest = len(recipe.parameters()) - rough.numbers.size
        first = np.concatenate([rough.numbers, np.zeros(rest)])
        found = fit(recipe, samples, progress, guess_cells(recipe, first, samples), wins)
        if found.settled:
            return found
        other = fit(recipe, samples, progress, first, wins)
        return min(found, other, key=lambda one: one.scale)
    return fit(recipe, samples, progress, None, wins)


def _beside(logs: Sequence[Log], label: Label, told: Told) -> Beside:
    """Return the errors that no residual shows; a capacity that nothing tells is all doubtful."""
    told_of = not label.rated_guessed or any(end_of(log) is not None for log in logs)
    deepest_Ah = max(drawn_Ah(log) for log in logs) if told_of else 0.0
    return Beside(told.shunt_gain_percent, missed_percent(logs), deepest_Ah)


def missed_percent(logs: Sequence[Log]) -> float:
    """Return the standard error of resistances from what the model misses. [%]"""
    return MISSED_PERCENT[separates(logs)]


def _check(log: Log) -> None:
    if log.count < LEAST_SAMPLES:
        raise LogError(f"{log.file}: {log.count} samples; expected at least {LEAST_SAMPLES}")
    if float(np.ptp(log.counted_Ah())) <= 0.0:
        raise LogError(f"{log.file}: no current flows; expected a discharge")
    if log.current_A.max() <= 0.0:
        raise LogError(f"{log.file}: it only charges; expected a discharge (see --sign)")


def _recipe(logs: Sequence[Log], label: Label, told: Told) -> Recipe:
    starts = told.starts or (1.0,) * len(logs)
    if len(starts) != len(logs):
        raise LogError(
            f"--start-percent has {len(starts)} values; expected {len(logs)}, one for each log"
        )
    largest_Ah = max(drawn_Ah(log) for log in logs)
    cells = label.cells_in_series
    curves = (
        slow_curve(log, number, cells, largest_Ah)
        for number, (log, start) in enumerate(zip(logs, starts, strict=True))
        if start == 1.0
    )
    slow = next((one for one in curves if one is not None), None)
    chemistry = chemistry_of(label.chemistry)
    if chemistry is None:
        raise LogError(f"chemistry {label.chemistry!r} has no typical values to start from")
    each = cells > 1 and any(log.cells_V.shape[1] == cells for log in logs)
    if chemistry.available_fraction < 1.0:
        slow = None  # with two wells no discharge, however slow, shows the voltage over all charge
    pairs = tuple((UNKNOWN_START if s is None else s, s == 1.0) for s in starts)
    begun = [start for start, _ in pairs]
    charge_Ah = slow.charge_Ah if slow else first_guess_Ah(logs, begun, label, chemistry)
    typical = chemistry.typical_cell(label.rated_Ah, charge_Ah * 3600.0)
    return Recipe(label, typical, slow, pairs, each, told.mass_kg)


def _followed(log: Log, number: int, recipe: Recipe, found: Fit) -> Followed:
    samples = found.samples[number]
    cells = recipe.cells_of(found.numbers, number)
    left = replay(cells, samples.course, log.time_s).mean(axis=1)
    left -= _mean_V(log, samples, recipe.label.cells_in_series)
    known = np.isfinite(left)
    given = log.counted_Ah()
    charge_Ah = float(np.mean([cell.charge_C for cell in cells])) / 3600.0
    start = recipe.starts[number][0] + _start(found, number)
    z = start - given / charge_Ah
    inside = (z > MIDDLE_PART[0]) & (z < MIDDLE_PART[1])
    discharging = log.current_A > 0.02 * log.current_A.max()
    end = end_of(log)
    is_curve = recipe.slow is not None and recipe.slow.log == number
    kept_out = found.residual_V[number][~samples.fitted] if not is_curve else np.empty(0)
    return Followed(
        file=log.file,
        hours=float(log.time_s[-1]) / 3600.0,
        mean_A=float(log.current_A[discharging].mean()),
        highest_A=float(log.current_A.max()),
        start=start,
        is_curve=is_curve,
        rms_mV=_rms(left[known]),
        middle_rms_mV=_rms(left[known & inside] if (known & inside).any() else left[known]),
        worst_mV=1e3 * float(left[np.nanargmax(np.abs(left))]),
        held_out_rms_mV=_rms(kept_out) if kept_out.size else None,
        end=end,
        model_Ah=None if end is None else _model_Ah(log, end, number, recipe, found),
        time_s=samples.time_s,
        residual_mV=1e3 * found.residual_V[number].mean(axis=1),
        z=z[samples.index],
    )


def _mean_V(log: Log, samples: Samples, cells: int) -> Floats:  # noqa: N802 - the unit as printed
    """Return the mean voltage of the cells: of those that were fitted; (n,)."""
    if cells > 1 and samples.voltage_V.shape[1] == cells:
        return np.asarray(log.cells_V.mean(axis=1))
    return log.voltage_V / cells


def _start(found: Fit, number: int) -> float:
    return sum(
        float(value)
        for one, value in zip(found.parameters, found.numbers, strict=True)
        if one.log == number
    )


def _rms(volts: Floats) -> float:
    return 1e3 * float(np.sqrt(np.mean(volts**2))) if volts.size else 0.0


def _model_Ah(log: Log, end: End, number: int, recipe: Recipe, found: Fit) -> float | None:  # noqa: N802
    """Return the charge at which the model reaches the voltage at which the log ended.

    The log's current flows; after the end of the discharge the last current flows on.
    """
    course = found.samples[number].course
    before = course.edges_s < end.time_s - 1e-9
    edges, current = course.edges_s[before], course.current_A[before]
    if not edges.size or end.current_A <= 0.0:
        return None
    mean_A = float(current[-1])
    shorter = replace(course, edges_s=edges, current_A=current, end_s=end.time_s)
    longer_s = LONGER * end.time_s
    at = np.concatenate(
        [np.linspace(0.0, end.time_s, 4000), end.time_s + np.linspace(0.0, longer_s, 2000)[1:]]
    )
    volts = replay(recipe.cells_of(found.numbers, number), shorter, at, longer_s=longer_s)
    lowest = volts.min(axis=1) if end.cells_V else volts.mean(axis=1)
    limit = min(end.cells_V) if end.cells_V else end.voltage_V / recipe.label.cells_in_series
    late = at > 0.5 * end.time_s
    below = np.flatnonzero(late & (lowest <= limit))
    if not below.size:
        return None
    place = int(below[0])
    high, low = float(lowest[place - 1]), float(lowest[place])
    part = (high - limit) / (high - low) if high > low else 1.0
    when = float(at[place - 1] + min(max(part, 0.0), 1.0) * (at[place] - at[place - 1]))
    counted = np.interp(min(when, end.time_s), log.time_s, log.counted_Ah())
    return float(counted) + mean_A * max(when - end.time_s, 0.0) / 3600.0


def _assumed(
    logs: Sequence[Log], recipe: Recipe, told: Told, room_C: float
) -> tuple[tuple[str, str], ...]:
    """Return what was taken without being measured, each with its source."""
    chemistry = recipe.chemistry
    rows = [
        ("error of the shunt's scale",
         f"up to {told.shunt_gain_percent:g} %, rectangular (JCGM 100, Type B); "
         "our own choice unless given"),
        ("hysteresis", f"{1e3 * chemistry.hysteresis_V:g} mV, {chemistry.sources.hysteresis}"),
        ("what a model of this kind misses",
         f"{missed_percent(logs):g} % of resistances, standard error, our own choice; more where "
         "all logs run at one current, since the first drop of a full battery holds more than "
         "resistance"),
        ("charge below the deepest point of the logs",
         "half of it counts as standard error of the capacity, our own choice"),
        ("where each fit began and may stray to",
         "typical values of the chemistry; spreads are our own choice"),
    ]  # fmt: skip
    if any(log.temperature_C is None for log in logs):
        given = "given" if told.temperature_C is not None else "not given, room taken"
        rows.append(("temperature of the air", f"{room_C:g} degrees C, {given}"))
        rows.append(("how the battery warms up", chemistry.mass_source))
    if not told.starts:
        rows.append(("start of every log", "full: 100 % (change with --start-percent)"))
    if recipe.slow is None:
        rows.append(("voltage curve", f"{chemistry.sources.curve}; moved to fit the logs"))
    return tuple(rows)
