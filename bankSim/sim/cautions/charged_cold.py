"""Charge taken below freezing: how much, at which temperature, and from whom."""

from collections.abc import Iterator

import numpy as np

from bankSim.model.cell import ZERO_C_K
from bankSim.model.chemistry import Chemistry, chemistry_of
from bankSim.model.curve import Floats
from bankSim.sim.numbers import number, quoted
from bankSim.sim.result import BatteryOutcome, Caution, Result
from bankSim.sim.returns import column

COLD_SHARE = 1e-3  # of the label capacity: less charge in the cold is not worth a word
TAKES_PER_H = 1e-3  # of the label, as a current: 0.1 A into 100 Ah; less is next to nothing
FROM_OTHERS = 0.1  # of the charge taken in the cold, before others count as its source; own choice


def of_charged_cold(result: Result, number_of: int) -> Iterator[Caution]:
    """Warn of a battery that takes charge below 0 degrees C though its chemistry must not.

    Parameters
    ----------
    result : Result
    number_of : int
        Place of the battery, from 0.
    """
    outcome = result.batteries[number_of]
    chemistry = chemistry_of(result.scenario.bank.batteries[number_of].chemistry)
    if chemistry is not None and chemistry.may_not_charge_below_K is None:
        return
    if outcome.charged_below_freezing_Ah <= COLD_SHARE * outcome.rated_Ah:
        return
    coldest_C = coldest_charged_C(result, number_of)
    yield Caution(
        "charged below freezing",
        "warning" if chemistry is None else "danger",
        coldest_C,
        0.0,
        "degC",
        f"{quoted(outcome.name)} takes {number(outcome.charged_below_freezing_Ah)} Ah below 0 "
        f"degrees C, down to {number(coldest_C)} degrees C: {_harm(chemistry)}.",
        "Warm the battery before it is charged, or have its electronics block charge below 0 "
        f"degrees C{_by_whom(result, number_of)}.",
    )


def _harm(chemistry: Chemistry | None) -> str:
    if chemistry is None:
        return "if it is lithium, metal can plate out, which is lasting damage and a fire risk"
    return "lithium can plate out, which is lasting damage and a fire risk"


def coldest_charged_C(result: Result, number_of: int) -> float:  # noqa: N802 - the unit as printed
    """Return the lowest temperature at which a battery takes charge in earnest. [degC]

    Of any charge where it never takes `TAKES_PER_H` of its label.

    Parameters
    ----------
    result : Result
    number_of : int
        Place of the battery, from 0.
    """
    outcome = result.batteries[number_of]
    into_A = -column(result.trace, number_of, 0)
    cold_C = column(result.trace, number_of, 3) - ZERO_C_K
    for least_A in (_takes_A(outcome), 0.0):
        takes = (into_A > least_A) & (cold_C < 0.0)
        if takes.any():
            return float(cold_C[takes].min())
    return outcome.coldest_C


def _takes_A(outcome: BatteryOutcome) -> float:  # noqa: N802 - the unit as printed
    return TAKES_PER_H * outcome.rated_Ah


def _by_whom(result: Result, number_of: int) -> str:
    """Say that other batteries charge it in the cold as well, where they do."""
    into_A, from_others_A = _in_the_cold_A(result, number_of)
    steps_s = np.diff(result.trace[:, 0])
    taken_C, from_others_C = (float(steps_s @ one) for one in (into_A, from_others_A))
    if from_others_C <= FROM_OTHERS * taken_C:
        return ""
    if from_others_C < (1.0 - FROM_OTHERS) * taken_C:
        return "; the charger is not alone, other batteries of the bank charge it as well"
    return "; here it is the other batteries of the bank that charge it"


def _in_the_cold_A(result: Result, number_of: int) -> tuple[Floats, Floats]:  # noqa: N802 - unit
    """Charge current of a battery below 0 degrees C, and what of it others give; (rows - 1,). [A]

    What the others give is counted first as that which it takes.
    """
    trace, places = result.trace, range(len(result.batteries))
    amps = [column(trace, place, 0) for place in places]
    means_A = [0.5 * (one[1:] + one[:-1]) for one in amps]
    cold = column(trace, number_of, 3)[:-1] < ZERO_C_K
    into_A = np.where(cold, np.maximum(-means_A[number_of], 0.0), 0.0)
    others_A = sum(
        (np.maximum(means_A[place], 0.0) for place in places if place != number_of),
        np.zeros(len(trace) - 1),
    )
    return into_A, np.minimum(into_A, others_A)
