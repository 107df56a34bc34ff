"""Corrections of a capacity for temperature and rate: never silent, each with its uncertainty."""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from bankSim.errors import ParameterError
from bankSim.measured.log import LogError
from bankSim.measured.uncertainty import Budget, Contribution, Shape
from bankSim.model.chemistry import chemistry_of, is_lead
from bankSim.model.peukert import exponent_of_wells

TEMPERATURE, RATE = "temperature", "rate"
CORRECTIONS = (TEMPERATURE, RATE)
REFERENCE_C = 25.0
THERMOMETER_K = 2.0  # limits: a sensor on the case against the cells; our own choice
UNSURE_PERCENT = 50.0  # of the correction for temperature
SLOW_H, FAST_H = 10.0, 3.0
SLOW_PER_K, FAST_PER_K = 0.006, 0.01
LFP_C = (-20.0, 0.0, 25.0, 55.0)
LFP_PART = (0.70, 0.80, 1.0, 0.95)
LEAD_SOURCE = (
    "C25 = C / (1 + L (T - 25)); L 0.006 a kelvin at 10 h and slower, 0.01 at 3 h and faster, a "
    "straight line between; IEC 60896-21 has the same pair at 20 degrees C (from memory)"
)
LFP_SOURCE = (
    "what a published 12 V LFP specification promises at 0.33C: 70 % at -20, 80 % at 0, 100 % at "
    "25, 95 % at 55 degrees C, straight lines between"
)
FAST_RATE_H, SLOW_RATE_H = 1.0, 20.0  # the rates between which typical exponents are told
# Peukert's exponent: what is published (encyclopaedic)
PUBLISHED = {"AGM": (1.05, 1.15), "gel": (1.10, 1.25), "flooded": (1.2, 1.6), "LFP": (1.01, 1.05)}


@dataclass(frozen=True, slots=True)
class Exponent:
    """Peukert's exponent, and how sure it is.

    Parameters
    ----------
    value : float
        [1]
    width : float
        As the shape says: limits plus and minus, or one standard deviation. [1]
    shape : Shape
    source : str
        Where it comes from.
    why : str
        Where the width comes from.
    assumed : bool
        Neither given nor measured.
    """

    value: float
    width: float
    shape: Shape
    source: str
    why: str
    assumed: bool = False


@dataclass(frozen=True, slots=True)
class Wanted:
    """Which corrections are asked for.

    Parameters
    ----------
    names : tuple of str
        Of `CORRECTIONS`.
    chemistry : str or None
    to_rate_h : float
        Hours of the rate that is corrected to. [h]
    exponent : float or None
        Peukert's, 1 or more; None takes the usual one of the chemistry.
    """

    names: tuple[str, ...] = ()
    chemistry: str | None = None
    to_rate_h: float = 20.0
    exponent: float | None = None

    def __post_init__(self) -> None:
        for name in self.names:
            if name not in CORRECTIONS:
                raise ParameterError("correct", name, f"one of: {', '.join(CORRECTIONS)}")
        if len(set(self.names)) < len(self.names):
            raise ParameterError("correct", self.names, "each correction once")
        if not 0.0 < self.to_rate_h < math.inf:
            raise ParameterError("to_rate_h", self.to_rate_h, "more than 0")
        if self.exponent is not None and not 1.0 <= self.exponent <= 2.0:
            raise ParameterError("peukert", self.exponent, "1 to 2")


@dataclass(frozen=True, slots=True)
class Correction:
    """One factor on the Ah.

    Parameters
    ----------
    name : str
    factor : float
    change_Ah : float
        [Ah]
    text : str
        From what to what.
    source : str
    """

    name: str
    factor: float
    change_Ah: float
    text: str
    source: str


def corrected(
    budget: Budget,
    hours: float,
    temperature_C: float | None,
    wanted: Wanted,
    where: str,
    own: Exponent | None = None,
) -> tuple[Budget, tuple[Correction, ...]]:
    """Return the corrected Ah with the uncertainty of the corrections, and each of them.

    Parameters
    ----------
    budget : Budget
        Ah as measured.
    hours : float
        How long the load was on. [h]
    temperature_C : float or None
        Mean during the discharge. [degC]
    wanted : Wanted
    where : str
        The log, for messages.
    own : Exponent or None
        Of the rate, by the tests themselves; None takes what was given, or the usual one.

    Raises
    ------
    LogError
        Where the chemistry or the temperature is missing.
    """
    told: list[Correction] = []
    for name in wanted.names:
        if name == TEMPERATURE:
            budget, one = _for_temperature(budget, hours, temperature_C, wanted.chemistry, where)
        else:
            budget, one = _for_rate(budget, hours, wanted, where, own)
        told.append(one)
    return budget, tuple(told)


def capacity_part(chemistry: str, temperature_C: float, hours: float) -> float:
    """Return the part of the capacity at 25 degrees C that is there at a temperature.

    Source: docs/theory.md, eq. 26.9.
    """
    if is_lead(chemistry):
        return 1.0 + lead_per_K(hours) * (temperature_C - REFERENCE_C)
    return _between(temperature_C, LFP_C, LFP_PART)


def lead_per_K(hours: float) -> float:  # noqa: N802 - the unit as printed
    """Return the temperature coefficient of a lead-acid battery's capacity. [1/K]"""
    return _between(hours, (FAST_H, SLOW_H), (FAST_PER_K, SLOW_PER_K))


def at_rate(charge_Ah: float, hours: float, to_rate_h: float, exponent: float) -> float:
    """Return what a battery gives over `to_rate_h` that gave `charge_Ah` over `hours`. [Ah]

    Peukert's law, I^k t the same in both: C (H / t)^(1 - 1/k).

    Source: docs/theory.md, eq. 20.4.
    """
    return float(charge_Ah * (to_rate_h / hours) ** (1.0 - 1.0 / exponent))


def _between(x: float, places: Sequence[float], values: Sequence[float]) -> float:
    import numpy as np

    return float(np.interp(x, places, values))


def _for_temperature(
    budget: Budget, hours: float, temperature_C: float | None, chemistry: str | None, where: str
) -> tuple[Budget, Correction]:
    if chemistry is None or not (is_lead(chemistry) or chemistry == "LFP"):
        raise LogError(
            f"--correct temperature with --chemistry {chemistry}; expected LFP, AGM, gel or "
            "flooded: for others no factor is known here"
        )
    if temperature_C is None:
        raise LogError(
            f"{where}: no temperature in the log for --correct temperature; expected a column "
            "(--temperature) or --temperature-C"
        )
    part = capacity_part(chemistry, temperature_C, hours)
    if not part > 0.3:
        raise LogError(
            f"{where}: {temperature_C:g} degC; expected a temperature nearer to 25 degC for "
            "--correct temperature"
        )

    def change(at_C: float) -> float:
        return budget.value / capacity_part(chemistry, at_C, hours)

    new = budget.value / part
    lines = (
        Contribution(
            "temperature reading", THERMOMETER_K, "K", _slope(change, temperature_C, 0.5),
            Shape.RECTANGULAR, source="typical, our own choice", assumed=True, shared=True,
        ),
        Contribution(
            "temperature correction", UNSURE_PERCENT, "% of it", (new - budget.value) / 100.0,
            Shape.RECTANGULAR, source="half of the correction, our own choice", assumed=True,
            shared=True,
        ),
    )  # fmt: skip
    source = LEAD_SOURCE if is_lead(chemistry) else LFP_SOURCE
    text = f"from {temperature_C:.1f} to {REFERENCE_C:.0f} degC, {chemistry}"
    told = Correction(TEMPERATURE, 1.0 / part, new - budget.value, text, source)
    return _scaled(budget, 1.0 / part, lines), told


def _for_rate(
    budget: Budget, hours: float, wanted: Wanted, where: str, own: Exponent | None
) -> tuple[Budget, Correction]:
    if not hours > 0.0:
        raise LogError(f"{where}: a discharge of no length; expected some hours for --correct rate")
    which = own or _exponent(wanted)

    def change(value: float) -> float:
        return at_rate(budget.value, hours, wanted.to_rate_h, max(value, 1.0))

    new = change(which.value)
    line = Contribution(
        "Peukert's exponent", which.width, "", _slope(change, which.value, 0.01), which.shape,
        source=which.why, assumed=which.assumed, shared=True,
    )  # fmt: skip
    factor = new / budget.value if budget.value else 1.0
    text = (
        f"from {hours:.3g} h to {wanted.to_rate_h:.3g} h by Peukert's law, exponent "
        f"{which.value:.3g}"
    )
    return _scaled(budget, factor, (line,)), Correction(
        RATE, factor, new - budget.value, text, which.source
    )


def _exponent(wanted: Wanted) -> Exponent:
    """Return the exponent that was given, else the usual one."""
    if wanted.exponent is not None:
        return Exponent(
            wanted.exponent, 0.02, Shape.RECTANGULAR, "given", "our own choice", assumed=True
        )
    found = usual_exponent(wanted.chemistry)
    if found is None:
        raise LogError(
            f"--correct rate with --chemistry {wanted.chemistry}; expected one of "
            f"{', '.join(PUBLISHED)}, or --peukert"
        )
    return found


def usual_exponent(chemistry: str | None) -> Exponent | None:
    """Return the usual exponent of a chemistry; None where none is known.

    Lead-acid: what this program's typical battery gives from 1 to 20 h, so that tests and
    predictions agree. Lithium: the middle of what is published. The limits take in what is
    published; where they are not symmetric, half of their span counts (JCGM 100:2008, 4.3.8, from
    memory).
    """
    published = PUBLISHED.get(chemistry or "")
    known = chemistry_of(chemistry)
    if published is None or known is None:
        return None
    low, high = published
    value, words = (low + high) / 2.0, "the middle of what is published"
    if known.available_fraction < 1.0:
        value = exponent_of_wells(
            known.available_fraction, known.well_rate_per_h, FAST_RATE_H, SLOW_RATE_H
        )
        words = f"that of a typical {chemistry} battery of this program from 1 to 20 h"
    half = (max(high, value) - min(low, value)) / 2.0
    source = f"{words}; published: {low:.2f} to {high:.2f} (encyclopaedic)"
    return Exponent(value, half, Shape.RECTANGULAR, source, source, assumed=True)


def _slope(function: Callable[[float], float], at: float, step: float) -> float:
    slope = (function(at + step) - function(at - step)) / (2.0 * step)
    return slope if math.isfinite(slope) else 0.0


def _scaled(budget: Budget, factor: float, more: tuple[Contribution, ...]) -> Budget:
    old = (replace(line, sensitivity=line.sensitivity * factor) for line in budget.contributions)
    return Budget(budget.value * factor, budget.unit, (*old, *more))
