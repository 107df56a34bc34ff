"""Corrections of the tests of one question, with the exponent that they themselves give."""

from collections.abc import Sequence
from dataclasses import replace

from bankSim.measured.claims import Repeats
from bankSim.measured.correct import RATE, Exponent, Wanted, corrected
from bankSim.measured.own_exponent import OwnExponent, Rated, own_exponent
from bankSim.measured.trial import Trial


def corrected_trials(
    trials: Sequence[tuple[str, Trial]], wanted: Wanted, own: OwnExponent | None
) -> tuple[Trial, ...]:
    """Return tests with the corrections asked for.

    Parameters
    ----------
    trials : sequence of (str, Trial)
        Name of the log, for messages, and the test.
    wanted : Wanted
    own : OwnExponent or None
        By the tests themselves; used where no exponent was given.
    """
    taken = own.used() if own is not None and own.possible and wanted.exponent is None else None
    return tuple(_corrected(file, one, wanted, taken) for file, one in trials)


def exponent_of_trials(
    trials: Sequence[tuple[str, Trial]], wanted: Wanted, repeats: Repeats
) -> OwnExponent | None:
    """Return what complete tests say of the exponent, their Ah corrected for temperature if asked.

    Parameters
    ----------
    trials : sequence of (str, Trial)
    wanted : Wanted
    repeats : Repeats
    """
    first = replace(wanted, names=tuple(name for name in wanted.names if name != RATE))
    warm = (_corrected(file, one, first, None) for file, one in trials if one.whole)
    tests = [
        Rated(one.unit, (one.corrected or one.counted.Ah).value, one.counted.mean_A) for one in warm
    ]
    return own_exponent(tests, repeats, wanted.chemistry)


def _corrected(file: str, one: Trial, wanted: Wanted, taken: Exponent | None) -> Trial:
    if not wanted.names:
        return one
    mean_C = None if one.temperature_C is None else one.temperature_C[0]
    done = corrected(one.counted.Ah, one.counted.hours_on, mean_C, wanted, file, taken)
    return replace(one, corrected=done[0], corrections=done[1])
