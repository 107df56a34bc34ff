"""What capacity tests at different rates say of the exponent of the rate."""

from collections.abc import Iterator, Sequence

from bankSim.measured.capacity_test import CapacityAnswer
from bankSim.measured.correct import RATE, usual_exponent
from bankSim.measured.trial import Trial
from bankSim.show.bench_conditions import called
from bankSim.show.words import counted
from bankSim.sim.numbers import listing, number, sentence

FAR_APART = 1.5  # ratio of currents from which no mean of tests is told
MOST_TOLD = 5
TWICE = 2.0  # standard deviations: about 95 %


def rates_differ(trials: Sequence[Trial], ratio: float) -> bool:
    """Tell whether the mean currents of the whole tests among these differ by more than a ratio."""
    currents = [one.counted.mean_A for one in trials if one.whole]
    return len(currents) > 1 and max(currents) > ratio * min(currents)


def apart(answer: CapacityAnswer) -> bool:
    """Tell whether tests as measured ran at too different currents for a mean."""
    return rates_differ(answer.trials, FAR_APART)


def apart_still(answer: CapacityAnswer) -> bool:
    """Tell whether they do so after the corrections asked for, too."""
    return apart(answer) and not _corrects(answer)


def no_repeats(answer: CapacityAnswer) -> tuple[str, ...]:
    """Return the units that were tested at too different currents for a mean of their own."""
    units = dict.fromkeys(one.unit for one in answer.trials)
    return tuple(
        unit
        for unit in units
        if rates_differ([one for one in answer.trials if one.unit == unit], FAR_APART)
    )


def each_alone(answer: CapacityAnswer) -> str:
    """Tell tests at different rates one by one: a mean of them says nothing."""
    told = [
        f"{called(one)} gave {'' if one.whole else 'at least '}{number(one.counted.Ah.value)} Ah "
        f"at {number(one.counted.mean_A)} A"
        for one in answer.trials
    ]
    held = "" if answer.question.rated_Ah is None else " or held against the label"
    hint = "" if _corrects(answer) else " (--correct rate brings them to one)"
    return (
        f"{sentence(listing(told, MOST_TOLD))}: at such different currents they are no repeats "
        f"of each other, so no mean of them is told{held}{hint}."
    )


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
