"""What a comparison is asked with, and what it finds."""

from dataclasses import dataclass, field

import numpy as np

from bankSim.measured.compare_frame import Meter
from bankSim.measured.compare_moves import Explained
from bankSim.model.curve import Floats
from bankSim.scenario.record import Scenario
from bankSim.sim.result import ALL_OVER, Result
from bankSim.study.unknown import Unknown

SCENARIO, MEASURED = LOADS = ("scenario", "measured")
DRAWS = 100
SEED = 1
CHANCE = 0.05  # of the draws: measurements farther off than all but these are not consistent


@dataclass(frozen=True, kw_only=True)
class Settings:
    """How a prediction is compared.

    Parameters
    ----------
    load : str
        `SCENARIO`: its own loads. `MEASURED`: the bank is driven by the measured current.
    shift_s : float or None
        What the log's clock shows when the scenario's shows 0; None brings the starts of the
        current together. [s]
    stopped_early : bool
        Recording stopped while the bank went on.
    sign_is_guessed : bool
        Nobody said what the log writes as positive.
    meter : Meter
    draws, seed : int
    """

    load: str = SCENARIO
    shift_s: float | None = None
    stopped_early: bool = False
    sign_is_guessed: bool = False
    meter: Meter = field(default_factory=Meter)
    draws: int = DRAWS
    seed: int = SEED


@dataclass(frozen=True, eq=False)
class Compared:
    """One number, predicted and measured.

    Parameters
    ----------
    key, text, unit : str
    battery : str or None
        Name; None for the bank.
    predicted, measured : float
        In `unit`.
    difference : float
        Measured less predicted. In `unit`.
    part : float or None
        Of the prediction. [1]
    low, high : float
        5 and 95 % of the draws. In `unit`.
    error : float
        Standard deviation of the measured number, from the instruments and the sampling. In `unit`.
    inside : bool
        The measured number lies between low and high, give or take two errors.
    """

    key: str
    text: str
    unit: str
    battery: str | None
    predicted: float
    measured: float
    difference: float
    part: float | None
    low: float
    high: float
    error: float
    inside: bool


@dataclass(frozen=True, eq=False)
class Stop:
    """When the current of a battery stops while the bank goes on.

    Parameters
    ----------
    battery : str
    predicted_h, measured_h : float or None
        None: with the bank, or not at all.
    predicted_V, measured_V : float or None
        Of the bus at that moment.
    """

    battery: str
    predicted_h: float | None
    measured_h: float | None
    predicted_V: float | None
    measured_V: float | None


@dataclass(frozen=True, eq=False)
class Lines:
    """Both courses as means over even steps of time, and the band of the draws.

    Parameters
    ----------
    time_h : array (t,)
        Middles of the steps.
    predicted, measured, low, high : array (2 + n, t)
        Voltage at the bus, current of the bank, current of each battery; NaN after the end, and
        where it is not measured. Of the voltage `low` is -inf once 5 % of the draws have ended.
        [V, A]
    """

    time_h: Floats
    predicted: Floats
    measured: Floats
    low: Floats
    high: Floats

    @property
    def residual_V(self) -> Floats:  # noqa: N802 - the unit as printed
        """Measured less predicted voltage while both run. [V]"""
        return np.asarray(self.measured[0] - self.predicted[0])


@dataclass(frozen=True, slots=True)
class Residual:
    """How far the measured voltage is from the predicted one, while both run. [V]

    Parameters
    ----------
    rms_V, largest_V : float
        `largest_V` with its sign: measured less predicted.
    largest_at_h : float
    thirds_V : tuple of float
        Means over the first, second and last third; empty where there are fewer steps.
    """

    rms_V: float
    largest_V: float
    largest_at_h: float
    thirds_V: tuple[float, ...]


@dataclass(frozen=True, eq=False)
class Comparison:
    """All that `compare` finds.

    Parameters
    ----------
    scenario : Scenario
    log_file : str
    load : str
    names : tuple of str
    told : tuple of str
        How the log was read and put in time.
    warnings : tuple of str
    numbers : tuple of Compared
    stops : tuple of Stop
    order_predicted, order_measured : tuple of (tuple of str)
        Batteries in the order in which their current stops; together what stops at once.
    residual : Residual
    inside_band : float
        Part of the time that the measured voltage lies in the band. [1]
    inside_currents : tuple of (str, float)
        The same of each battery's current. [1]
    farther : float
        Part of the draws that are at least as far off as the measurement, each by its worst number.
        [1]
    explained : Explained
    lines : Lines
    draws, seed : int
    unknowns : tuple of Unknown
        What was drawn.
    exact : tuple of Unknown
        What the file gives as exact; tried as an explanation only.
    meter : Meter
    result : Result
        Of the prediction.
    """

    scenario: Scenario
    log_file: str
    load: str
    names: tuple[str, ...]
    told: tuple[str, ...]
    warnings: tuple[str, ...]
    numbers: tuple[Compared, ...]
    stops: tuple[Stop, ...]
    order_predicted: tuple[tuple[str, ...], ...]
    order_measured: tuple[tuple[str, ...], ...]
    residual: Residual
    inside_band: float
    inside_currents: tuple[tuple[str, float], ...]
    farther: float
    explained: Explained
    lines: Lines
    draws: int
    seed: int
    unknowns: tuple[Unknown, ...]
    exact: tuple[Unknown, ...]
    meter: Meter
    result: Result

    def mean_currents_A(self) -> tuple[float, float] | None:  # noqa: N802 - the unit as printed
        """Return the bank's mean currents while both run, predicted and measured. [A]

        None where they never run together.
        """
        predicted, measured = self.lines.predicted[1], self.lines.measured[1]
        both = np.isfinite(predicted) & np.isfinite(measured)
        if not both.any():
            return None
        means = float(predicted[both].mean()), float(measured[both].mean())
        return means if min(means) > 0.0 else None

    @property
    def outlasts(self) -> bool:
        """Tell whether the prediction went on past the test and was not empty when it was ended."""
        return self.load == MEASURED and self.result.end_reason == ALL_OVER

    @property
    def consistent(self) -> bool:
        """Tell whether the measurement could be one of the draws.

        One of many numbers may lie outside its range of 5 to 95 % by chance; so that one counts
        against the worst number of each draw.
        """
        return self.farther >= CHANCE
