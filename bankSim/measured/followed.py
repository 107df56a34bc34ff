"""How well a calibrated battery follows one log."""

from dataclasses import dataclass, replace

import numpy as np

from bankSim.measured.ends import End, end_of, flows_A, scatter
from bankSim.measured.fit import Fit
from bankSim.measured.fit_samples import FINEST_V, Samples
from bankSim.measured.log import Log
from bankSim.measured.parameters import Recipe
from bankSim.measured.replay import replay
from bankSim.measured.told_cells import mean_cell, start_of
from bankSim.model.cell import ZERO_C_K
from bankSim.model.curve import Floats

MIDDLE_PART = (0.10, 0.95)  # of the charge: where the voltage is told for itself
UNEXPLAINED = 2.5  # times what is expected: worse is told; own choice
BEGAN = 5  # samples whose median is the temperature at the start
LONGER = 0.5  # of the log's length: how far on a replay looks for the end voltage


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
        State of charge of the fullest cell at its start, found or given. [1]
    is_curve : bool
        Its voltage became the voltage curve.
    rms_mV, middle_rms_mV, worst_mV : float
        Of a cell: all samples; between 10 and 95 % of the charge (all samples where
        none lies there); the largest. [mV]
    held_out_rms_mV : float or None
        Of the stretches that were kept out of the fit; None for the log that is the curve, since
        following it proves nothing. [mV]
    noise_mV : float
        Of the log itself, of a cell: what no model can follow. [mV]
    began_C : float or None
        What the battery itself had at the start, where that was logged. [degC]
    air_C : float
        Of the air around it: logged, told, or what the battery began with. [degC]
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
    noise_mV: float
    began_C: float | None
    air_C: float
    end: End | None
    model_Ah: float | None
    time_s: Floats
    residual_mV: Floats
    z: Floats

    @property
    def unexplained(self) -> bool:
        """Whether it is followed worse than its noise and what a model misses explain."""
        expected_mV = float(np.hypot(1e3 * FINEST_V, self.noise_mV))
        return self.middle_rms_mV > UNEXPLAINED * expected_mV

    @property
    def error_percent(self) -> float | None:
        """Error of the modelled Ah. [%]"""
        if self.end is None or self.model_Ah is None:
            return None
        return 100.0 * (self.model_Ah / self.end.given_Ah - 1.0)


def follow_log(log: Log, seen: End | None, number: int, recipe: Recipe, found: Fit) -> Followed:
    """Return how well a log is followed.

    Parameters
    ----------
    log : Log
        Its cells as at the terminals.
    seen : End or None
        How it ended, as the log tells it.
    number : int
        Its place among all logs of the recipe.
    recipe : Recipe
    found : Fit
    """
    samples = found.samples[number]
    cells = recipe.cells_of(found.numbers, number)
    left = replay(cells, samples.course, log.time_s).mean(axis=1)
    left -= _mean_V(log, samples, recipe.label.cells_in_series)
    known = np.isfinite(left)
    given = log.counted_Ah()
    charge_Ah = mean_cell(recipe, found.numbers).charge_C / 3600.0
    start = start_of(recipe, found.numbers, number)
    z = start - given / charge_Ah
    inside = (z > MIDDLE_PART[0]) & (z < MIDDLE_PART[1])
    discharging = log.current_A > flows_A(log)
    end = end_of(log)
    is_curve = recipe.slow is not None and recipe.slow.log == number
    began_C = _began_C(log)
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
        noise_mV=noise_mV(log, recipe.label.cells_in_series),
        began_C=began_C,
        air_C=samples.course.temperature_K - ZERO_C_K if began_C is None else began_C,
        end=seen,
        model_Ah=None if end is None else _model_Ah(log, end, number, recipe, found),
        time_s=samples.time_s,
        residual_mV=1e3 * found.residual_V[number].mean(axis=1),
        z=z[samples.index],
    )


def _began_C(log: Log) -> float | None:  # noqa: N802 - the unit as printed
    """Return the battery's own temperature over the first samples that tell one; None without."""
    if log.temperature_C is None or log.of_air:
        return None
    known = log.temperature_C[np.isfinite(log.temperature_C)]
    return float(np.median(known[:BEGAN])) if known.size else None


def _mean_V(log: Log, samples: Samples, cells: int) -> Floats:  # noqa: N802 - the unit as printed
    """Return the mean voltage of the cells: of those that were fitted; (n,)."""
    if cells > 1 and samples.voltage_V.shape[1] == cells:
        return np.asarray(log.cells_V.mean(axis=1))
    return log.voltage_V / cells


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


def noise_mV(log: Log, cells: int) -> float:  # noqa: N802 - the unit as printed
    """Return the noise of a log's voltage, of one cell: of second differences, and its steps. [mV]

    A meter of steps s adds s^2 / 12.
    """
    volts = log.voltage_V / cells
    if log.count < 3:
        return 0.0
    apart = np.abs(np.diff(volts))
    step = float(apart[apart > 1e-6].min(initial=np.inf))
    steps = step / np.sqrt(12.0) if np.isfinite(step) else 0.0
    return 1e3 * float(np.hypot(scatter(volts), steps))
