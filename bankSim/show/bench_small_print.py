"""What a capacity test cannot tell, and what to beware of when making one."""

from collections.abc import Iterator

from bankSim.measured.capacity_test import CapacityAnswer
from bankSim.measured.discharge import Ending
from bankSim.measured.trial import Trial
from bankSim.show.blocks import Section
from bankSim.sim.numbers import number

SAFETY = (
    "A capacity test drives a battery to empty: stay within the maker's limits of current, voltage "
    "and temperature, fuse the battery at its own terminal, keep the load clear of anything that "
    "burns, do not leave it alone, and charge it again soon after. Never bypass a protection to "
    "get a few more Ah. The maker's instructions, local codes and licensed practice come first."
)
START = (
    "For a test that counts: charge fully by the maker's instructions until the current has "
    "tapered off, rest an hour or more at room temperature, zero the meter with no current, "
    "discharge without a break to the end criterion, and log some minutes before and after."
)


def small_print(answer: CapacityAnswer) -> Section:
    """Say what stays open after these tests."""
    return Section("Small print: what the test cannot tell", tuple(_lines(answer)))


def safety_section() -> Section:
    """Say how to test, and what to beware of."""
    return Section("Safety", (START, SAFETY))


def _lines(answer: CapacityAnswer) -> Iterator[str]:
    question, trials = answer.question, answer.trials
    currents = sorted({number(one.counted.mean_A, 2) for one in trials}, key=float)
    rate = " to ".join(dict.fromkeys((currents[0], currents[-1])))
    yield (
        f"One rate: the Ah hold for about {rate} A. A label "
        "usually holds for a rate of its own (20 h for most lead-acid batteries, 5 h or 1 h for "
        "others); at a faster rate a battery gives less, lead-acid far more so."
    )
    if all(one.temperature_C is None for one in trials):
        yield (
            "Temperature: not in the log. Cold takes Ah away: some 0.6 to 1 % a kelvin for "
            "lead-acid, around 20 % at freezing for LFP."
        )
    yield from _fullness(trials)
    yield (
        "The end: the Ah are those up to the cut-out, which the weakest cell and the battery's own "
        "protection set. Cells out of balance cost Ah although each may be good; a balanced "
        "battery, or another protection, would give other Ah."
    )
    if any(one.ending is Ending.EMPTY for one in trials) and question.end_V is None:
        yield (
            "Where the log cannot tell whether the battery or the load stopped, a load that gave "
            "up early makes the battery look worse than it is; --end-V fixes the criterion."
        )
    yield (
        "Age: this is the battery as it is today. The test says nothing of how many cycles are "
        "left, of resistance under heavy load, of self-discharge, or of safety."
    )
    if len(answer.measured.units) == 1:
        yield (
            "Other units: one unit says nothing of the spread from unit to unit; test several, "
            "bought at random, for a statement about the product (--units)."
        )
    yield "The meter: all tests are taken to be made with one meter, whose error repeats in all."


def _fullness(trials: tuple[Trial, ...]) -> Iterator[str]:
    states = [one.before.full(one.counted.Ah.value) for one in trials]
    if any(state is None for state in states):
        yield (
            "The start: at least one log does not show the charge before, so whether the battery "
            "was full rests on the tester. What was missing at the start is missing in the Ah."
        )
    if any(state is False for state in states):
        yield (
            "The start: at least one charge ended before its current had tapered off to 5 % of the "
            "Ah, so that battery was perhaps not full."
        )
