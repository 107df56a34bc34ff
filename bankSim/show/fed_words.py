"""How long loads are fed, in words: runs that are too short, loads that cut themselves off."""

import numpy as np

from bankSim.model.bank import Bank
from bankSim.show.figure_words import draws_words
from bankSim.show.study_words import hours_of, of_100
from bankSim.show.words import left_over
from bankSim.sim.numbers import number, quoted
from bankSim.sim.runtime import all_may_go
from bankSim.study.happenings import FirstTimes, Happenings
from bankSim.study.spread import band

MOST = 0.5  # of the cases: from here on the end of the run decides
MOST_NAMED = 3
WHAT_FED_COUNTS = (
    "Fed: until the bank can feed no load that wants current. A load that cuts itself off wants "
    "none, so it counts as fed; not where every load does so for good: then until the last one has."
)
WHAT_STAYS_OFF_COUNTS = (
    "Until a load stays off: until one cuts itself off and is not back by the end of the run, or "
    "the loads cannot be fed. A load that is off for a while only does not count."
)


def too_short(*, charging: bool = False) -> str:
    """Say what a run tells that ends before the bank is empty (full), and what to do."""
    told, hidden = ("chargers gave", "takes") if charging else ("loads took", "holds")
    return (
        f"the Ah then tell how much the {told} until then, not how much the bank {hidden}; for "
        "that, give a longer duration_h"
    )


def counts_as_fed(bank: Bank) -> str:
    """Say of loads that cut themselves off that they count as fed, where they do."""
    if not all_may_go(bank):
        return ", where one that cuts itself off counts as fed"
    before_last = ", where one that cuts itself off before the last one counts as fed"
    return before_last if len(bank.loads) > 1 else ""


def are_mostly_off(happenings: Happenings) -> bool:
    """Tell whether some load cuts itself off in most draws: a longer run then shows no more."""
    return any(one.chance.value >= MOST for one in happenings.own_cut_offs)


def own_cut_offs(happenings: Happenings) -> list[str]:
    """Say how often, and when first, loads cut themselves off; the likeliest first."""
    seen = [one for one in happenings.own_cut_offs if one.chance.value > 0.0]
    seen.sort(key=lambda one: -one.chance.value)
    told = [_cut_off(one) for one in seen[:MOST_NAMED]]
    left = len(seen) - len(told)
    others = left_over(left, "load", "cuts itself off", "cut themselves off")
    return [*told, *([f"{others} in some cases."] if left else [])]


def _cut_off(one: FirstTimes) -> str:
    return f"{quoted(one.name)} cuts itself off in {first_times(one)}."


def off_for_good(happenings: Happenings) -> list[str]:
    """Say which loads mostly cut themselves off and stay off, and when, the likeliest first."""
    seen = [one for one in happenings.off_for_good if one.chance.value >= MOST]
    seen.sort(key=lambda one: -one.chance.value)
    told = [f"{quoted(one.name)} cuts itself off and stays off {_when(one)}" for one in seen]
    left = len(told) - MOST_NAMED
    others = left_over(left, "load", "does so, too", "do so, too")
    return [*told[:MOST_NAMED], *([others] if left > 0 else [])]


def _when(one: FirstTimes) -> str:
    middle_h = float(np.nanmedian(one.hours))
    often = "in all cases" if one.chance.value == 1.0 else f"in {of_100(one.chance)}"
    return f"after {number(middle_h)} h (median, {often} run in full)"


def first_times(one: FirstTimes) -> str:
    """Say in how many cases something happens, and when first."""
    hours = hours_of(band("", "h", one.hours, None))
    count = f"of {draws_words(one.hours.size, None)} run in full"
    return f"{of_100(one.chance)}, first after {hours} ({count})"
