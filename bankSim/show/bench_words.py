"""Words for capacity tests: Ah with their uncertainty, verdicts, degrees of freedom."""

import math

from bankSim.measured.discharge import Ending
from bankSim.measured.trial import Trial
from bankSim.measured.uncertainty import Budget
from bankSim.measured.verdict import Verdict, Word
from bankSim.show.words import volts, whole_or
from bankSim.sim.numbers import number

CAME_BACK_V = 0.005  # less is told as 0.00 V


def amount(value: float, beside: float, unit: str = "Ah") -> str:
    """Round a value to the second digit of what it is uncertain by. Both in one unit. [any unit]"""
    return f"{rounded(value, beside)} {unit}"


def rounded(value: float, beside: float) -> str:
    """Round to the second digit of an uncertainty, at most 3 decimals (JCGM 100, 7.2.6).

    Both in one unit. [any unit]
    """
    if not math.isfinite(value):
        return "-"
    decimals = 2
    if math.isfinite(beside) and beside > 0.0:
        decimals = min(max(1 - math.floor(math.log10(beside)), 0), 3)
    return f"{value:.{decimals}f}"


def with_reach(budget: Budget, confidence: float) -> str:
    """Return "98.3 +- 0.8 Ah"."""
    reach = budget.expanded(confidence)
    return f"{rounded(budget.value, reach)} +- {number(reach, 2)} {budget.unit}"


def sure(confidence: float) -> str:
    """Return "95 %"."""
    return f"{whole_or(100.0 * confidence, 4)} %"


def degrees_text(degrees: float) -> str:
    """Degrees of freedom, rounded down; many where they are infinite or above 999. [1]"""
    return "many" if degrees > 999.0 else f"{math.floor(degrees + 1e-9)}"


def verdict_text(one: Verdict, claim_Ah: float, confidence: float) -> str:
    """Say in one sentence whether a claim is met, by how much, and with what guard."""
    claim, guard = f"{whole_or(claim_Ah, 4)} Ah", f"{number(one.guard, 2)} Ah"
    value = amount(one.value, one.guard)
    at_least = "at least " if one.at_least else ""
    held = f"{at_least}{value}, guard {guard}, one-sided at {sure(confidence)}"
    if one.spoilt:
        return f"{claim} cannot be decided: the Ah are wrong, see Beware."
    low, high = (amount(max(edge, 0.0), one.guard) for edge in (one.low, one.high))
    if one.word is Word.MET:
        return f"{claim} is met ({held}: so more than {low})."
    if one.word is Word.NOT_MET:
        return f"{claim} is not met ({held}: so less than {high})."
    if one.sure_Ah is not None:
        why = _sure_text(one.value, claim_Ah, one.sure_Ah)
        return f"{claim} cannot be decided ({held}; {why})."
    if one.at_least:
        return f"{claim} cannot be decided ({held}; the test did not run from full to its end)."
    return (
        f"{claim} cannot be decided ({held}: the truth may be between {low} and {high}; each end "
        f"is passed with {sure(1.0 - confidence)} chance)."
    )


def _sure_text(value_Ah: float, claim_Ah: float, sure_Ah: tuple[float, float]) -> str:
    """Say why a value that lies clear of a claim decides nothing."""
    least, most = sure_Ah
    if value_Ah >= claim_Ah:
        return (
            f"only {number(least)} Ah of it are sure: the rest lies in gaps of the log, or was "
            "given after a pause before the voltage was back where it stood, so the rest, or a "
            "charge that the log does not show, may have given it back"
        )
    return f"with the largest current all through the gaps of the log it would be {number(most)} Ah"


def why_it_ended(one: Trial) -> str:
    """Say why a test ended; a voltage that has not come back is not said to have.

    Parameters
    ----------
    one : Trial
    """
    rebound_V, why = one.after.rebound_V, str(one.ending.value)
    if one.ending is Ending.EMPTY and rebound_V is not None and rebound_V < CAME_BACK_V:
        return why.replace(", and the voltage came back:", ":")
    return why


def once_off(rebound_V: float) -> str:
    """Say what the voltage did once the load had gone. [V]"""
    if abs(rebound_V) < CAME_BACK_V:
        return "it stayed there"
    if rebound_V > 0.0:
        return f"it came back by {volts(rebound_V)}"
    return f"it fell by another {volts(-rebound_V)}"
