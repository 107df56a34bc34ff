"""How far a prediction and a log can be compared, and whether only the recording stopped."""

from dataclasses import dataclass

import numpy as np

from bankSim.measured.compare_course import Course
from bankSim.measured.compare_found import SCENARIO, Settings
from bankSim.sim.numbers import span
from bankSim.sim.result import ALL_OVER, Result

LAST_SAMPLES = 3
FAR_ABOVE = 1.04  # times the voltage at which the prediction ends: 12.0 V beside 11.5 V

STOPPED = (
    "if only the recording stopped there, say --stopped-early; now its Ah and hours count as those "
    "of an empty bank"
)


@dataclass(frozen=True, slots=True)
class Horizon:
    """Until when both are compared.

    Parameters
    ----------
    end_s : float
        In the scenario's time; infinite where nothing cuts it short.
    told : tuple of str
    under_load : bool
        The log's last row counts as the end of the bank although a current flows in it.
    """

    end_s: float
    told: tuple[str, ...]
    under_load: bool


def horizon_of(settings: Settings, result: Result, measured: Course, floor_A: float) -> Horizon:
    """Return how far both can be compared, and say what ends it; `floor_A` in ampere."""
    end_s, told = np.inf, []
    under_load = bool(measured.current_A[-1] > 10.0 * floor_A) and not settings.stopped_early
    if settings.stopped_early:
        end_s = measured.end_s
        told.append(f"nothing after the end of the log, {span(measured.end_s)}, is compared")
    elif under_load:
        told.append(
            "the log ends under load: that counts as the end of the bank; if only the recording "
            "stopped there, say --stopped-early"
        )
    if settings.load == SCENARIO and result.end_reason == ALL_OVER:
        end_s = min(end_s, result.end_time_s)
        told.append(
            f"the scenario ends by its duration, {span(result.end_time_s)}: nothing after it is "
            "compared"
        )
    return Horizon(end_s, tuple(told), under_load)


def looks_cut_off(central: Course, measured: Course, floor_A: float) -> tuple[str, ...]:
    """Warn where a log that ends under load stands far above the predicted end.

    A prediction that still feeds its load after the log has no end to hold that against: then
    always.

    Parameters
    ----------
    central, measured : Course
    floor_A : float
        Below it nothing flows.
    """
    loaded = central.voltage_V[central.current_A > floor_A]
    if not loaded.size:
        return ()
    if central.current_A[-1] > floor_A and central.end_s > measured.end_s:
        return (f"the log ends under load, and the prediction goes on after it: {STOPPED}",)
    last_V, end_V = float(measured.voltage_V[-1]), float(loaded[-1])
    falls_V = float(np.max(-np.diff(measured.voltage_V[-LAST_SAMPLES:]), initial=0.0))
    if last_V - falls_V < FAR_ABOVE * end_V:  # there, or where the next sample would have been
        return ()
    return (
        f"the log ends under load at {last_V:.2f} V, the prediction at {end_V:.2f} V: {STOPPED}",
    )
