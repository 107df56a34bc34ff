"""Is a claim met? One-sided, with a guard, at a stated confidence."""

from dataclasses import dataclass, replace
from enum import Enum

from bankSim.measured.uncertainty import Budget


class Word(Enum):
    """The three answers."""

    MET = "met"
    NOT_MET = "not met"
    UNDECIDED = "cannot be decided"


@dataclass(frozen=True, slots=True)
class Verdict:
    """A value held against a claim.

    Parameters
    ----------
    about : str
        What the value is of.
    word : Word or None
        None without a claim.
    value : float
        [Ah]
    standard : float
        Combined standard uncertainty. [Ah]
    degrees : float
        Effective degrees of freedom. [1]
    factor : float
        One-sided factor of Student's t.
    guard : float
        factor x standard. [Ah]
    low, high : float
        value - guard, value + guard: each is passed with the stated confidence. [Ah]
    at_least : bool
        The value is only a lower bound, so that it can prove a claim but never disprove it.
    spoilt : bool
        The value rests on a log whose Ah are wrong, so that it decides nothing.
    sure_Ah : tuple of float or None
        Least and most of the value that the logs prove, where the claim lies between and the value
        alone would have decided it; else None. [Ah]
    """

    about: str
    word: Word | None
    value: float
    standard: float
    degrees: float
    factor: float
    guard: float
    low: float
    high: float
    at_least: bool
    spoilt: bool = False
    sure_Ah: tuple[float, float] | None = None


def judge(
    about: str, budget: Budget, claim: float | None, confidence: float, *, at_least: bool = False
) -> Verdict:
    """Hold a value against a claim, with one-sided tests at this confidence in both directions.

    The claim is met only if the value lies above it by the guard or more, not met only if it lies
    below by more than the guard; in between this measurement cannot decide.

    Parameters
    ----------
    about : str
    budget : Budget
    claim : float or None
        In the unit of the budget.
    confidence : float
        Between 0 and 1.
    at_least : bool
        The true value may be larger than was measured, by any amount.

    Source
    ------
    Decision rule with a guard band as in JCGM 106:2012, 8.3 (from memory).
    Equations: docs/theory.md, eq. 27.1.
    """
    factor = budget.factor(confidence, one_sided=True)
    guard = factor * budget.combined
    low, high = budget.value - guard, budget.value + guard
    return Verdict(
        about, _word(low, high, claim, at_least), budget.value, budget.combined, budget.degrees,
        factor, guard, low, high, at_least,
    )  # fmt: skip


def _word(low: float, high: float, claim: float | None, at_least: bool) -> Word | None:
    if claim is None:
        return None
    if low >= claim:
        return Word.MET
    return Word.NOT_MET if high < claim and not at_least else Word.UNDECIDED


def within_proof(one: Verdict, least: float, most: float, claim: float) -> Verdict:
    """Return a verdict that decides only what the least and the most of its value decide as well.

    Parameters
    ----------
    one : Verdict
    least, most : float
        Of the value: without what a log does not prove, and with all that it may hide. [Ah]
    claim : float
        [Ah]
    """
    doubtful = (one.word is Word.MET and least < claim) or (
        one.word is Word.NOT_MET and most >= claim
    )
    return replace(one, word=Word.UNDECIDED, sure_Ah=(least, most)) if doubtful else one


def withheld(one: Verdict) -> Verdict:
    """Return a verdict that decides nothing, since the log behind its value is wrong."""
    return replace(one, word=None if one.word is None else Word.UNDECIDED, spoilt=True)
