"""Peukert's law in its two conventions: from a rating over so many hours, and from 1 A.

They are easily mixed up: 100 Ah "at 20 h" and 100 Ah "at 1 A" are different batteries. The name of
each function says which one it takes. The law is for one discharge at constant current from full;
it says nothing of what is left after a fast discharge (two wells do, see `Cell`).

Source: W. Peukert, Elektrotechnische Zeitschrift 20 (1897) 287; usual exponents are 1.05 to 1.15
for AGM, 1.10 to 1.25 for gel, 1.2 to 1.6 for flooded batteries.
"""

import math

from bankSim.errors import ParameterError


def time_from_rating_h(
    current_A: float, rated_Ah: float, rated_over_h: float, exponent: float
) -> float:
    """Return how long a battery lasts, t = H (C / (I H))^k with C rated over H hours.

    Parameters
    ----------
    current_A : float
        I > 0. [A]
    rated_Ah : float
        C > 0. [Ah]
    rated_over_h : float
        H > 0, often 20. [h]
    exponent : float
        k, 1 or more. [1]

    Returns
    -------
    time : float
        [h]

    Raises
    ------
    ParameterError
        If a value is outside these ranges.

    Source
    ------
    docs/theory.md, eq. 20.1.
    """
    _check(current_A=current_A, rated_Ah=rated_Ah, rated_over_h=rated_over_h)
    _check_exponent(exponent)
    return float(rated_over_h * (rated_Ah / (current_A * rated_over_h)) ** exponent)


def time_from_one_ampere_h(current_A: float, one_ampere_Ah: float, exponent: float) -> float:
    """Return how long a battery lasts, t = Cp / I^k with Cp the capacity at 1 A.

    Parameters
    ----------
    current_A : float
        I > 0. [A]
    one_ampere_Ah : float
        Cp > 0; what it gives at 1 A, not its label. [Ah]
    exponent : float
        k, 1 or more. [1]

    Returns
    -------
    time : float
        [h]

    Raises
    ------
    ParameterError
        If a value is outside these ranges.

    Source
    ------
    docs/theory.md, eq. 20.2.
    """
    _check(current_A=current_A, one_ampere_Ah=one_ampere_Ah)
    _check_exponent(exponent)
    return float(one_ampere_Ah / current_A**exponent)


def one_ampere_Ah(  # noqa: N802 - the unit as printed
    rated_Ah: float, rated_over_h: float, exponent: float
) -> float:
    """Return the 1 A capacity of a battery rated over H hours: C (C / H)^(k - 1). [Ah]

    Source: docs/theory.md, eq. 20.2.
    """
    return time_from_rating_h(1.0, rated_Ah, rated_over_h, exponent)


def exponent_of(first_A: float, first_h: float, second_A: float, second_h: float) -> float:
    """Return k from two discharges of one battery: log(t1 / t2) / log(I2 / I1).

    Parameters
    ----------
    first_A, second_A : float
        Two different currents > 0. [A]
    first_h, second_h : float
        How long each lasted, > 0. [h]

    Returns
    -------
    exponent : float
        1 for a battery whose capacity does not depend on the rate. [1]

    Raises
    ------
    ParameterError
        If a value is not above 0, or the currents are the same.

    Source
    ------
    docs/theory.md, eq. 20.3.
    """
    _check(first_A=first_A, first_h=first_h, second_A=second_A, second_h=second_h)
    if first_A == second_A:
        raise ParameterError("second_A", second_A, "another current than first_A")
    return math.log(first_h / second_h) / math.log(second_A / first_A)


def exponent_of_wells(
    available_fraction: float, rate_per_h: float, fast_h: float, slow_h: float
) -> float:
    """Return k of two wells between two times: from what full wells give until one is empty.

    `part_given` of both times, put into the law.

    Parameters
    ----------
    available_fraction : float
        c, above 0, at most 1. [1]
    rate_per_h : float
        k' > 0. [1/h]
    fast_h, slow_h : float
        Two different lengths of a discharge > 0. [h]

    Source
    ------
    docs/theory.md, eq. 2.11, 20.3.
    """
    fast, slow = (part_given(available_fraction, rate_per_h, t) for t in (fast_h, slow_h))
    return exponent_of(slow / slow_h, slow_h, fast / fast_h, fast_h)


def part_given(available_fraction: float, rate_per_h: float, over_h: float) -> float:
    """Return which part of its charge a full cell of two wells gives at a steady current. [1]

    q(t) / Q = k' c t / (1 - E + c (k' t - 1 + E)), E = exp(-k' t). What it keeps back depends on
    that current, not on how full it was.

    Parameters
    ----------
    available_fraction : float
        c, above 0, at most 1. [1]
    rate_per_h : float
        k' > 0. [1/h]
    over_h : float
        t > 0, until the available well is empty. [h]

    Source
    ------
    docs/theory.md, eq. 2.11.
    """
    _check(available_fraction=available_fraction, rate_per_h=rate_per_h, over_h=over_h)
    c, grown = available_fraction, rate_per_h * over_h
    gone = -math.expm1(-grown)
    return c * grown / (gone + c * (grown - gone))


def _check(**values: float) -> None:
    for field, value in values.items():
        if not 0.0 < value < math.inf:
            raise ParameterError(field, value, "more than 0")


def _check_exponent(exponent: float) -> None:
    if not 1.0 <= exponent < math.inf:
        raise ParameterError("exponent", exponent, "1 or more")
