"""What capacity tests at different rates say of the exponent of the rate."""

from collections.abc import Iterator

from bankSim.measured.capacity_test import CapacityAnswer
from bankSim.measured.correct import RATE, usual_exponent
from bankSim.show.words import counted
from bankSim.sim.numbers import number

TWICE = 2.0  # standard deviations: about 95 %


def rate_lines(answer: CapacityAnswer) -> Iterator[str]:
    """Say which exponent tests at different rates give, and which was used."""
    own, wanted = answer.exponent, answer.question.wanted
    if own is None:
        return
    usual = usual_exponent(wanted.chemistry)
    beside = "" if usual is None else f"; usual for {wanted.chemistry}: {number(usual.value)}"
    yield (
        f"{counted(own.tests, 'complete test')} at {number(own.slow_A)} to {number(own.fast_A)} A "
        f"by themselves give a Peukert exponent of {number(own.value)} +- "
        f"{number(TWICE * own.deviation, 2)} (I^n t is the same in all{beside}). "
        f"{_used(answer)}"
    )


def _used(answer: CapacityAnswer) -> str:
    own, wanted = answer.exponent, answer.question.wanted
    if own is not None and not own.possible:
        return (
            "No battery has that: something else differs between these tests (temperature, charge "
            "at the start, end), and it is not used."
        )
    if wanted.exponent is not None:
        return f"The {number(wanted.exponent)} that was given is used." if _corrects(answer) else ""
    return "It is used below." if _corrects(answer) else "--correct rate uses it."


def _corrects(answer: CapacityAnswer) -> bool:
    return RATE in answer.question.wanted.names


def alike(answer: CapacityAnswer) -> Iterator[str]:
    """Say what an exponent out of the same two tests does to them."""
    own = answer.exponent
    used = own is not None and own.possible and answer.question.wanted.exponent is None
    if own is not None and used and _corrects(answer) and own.tests == 2:
        yield (
            "With the exponent of these two tests both are led to the same Ah: that they agree is "
            "no proof; a third test at another rate would be one."
        )
