"""How a bank without loads is spoken of: which battery blocks its charge, what the run leaves."""

from bankSim.show.fed_words import first_times, too_short
from bankSim.show.figure_words import draws_words
from bankSim.show.study_words import of_100
from bankSim.show.words import left_over
from bankSim.sim.numbers import quoted
from bankSim.study.happenings import Happenings

MOST_NAMED = 3


def charge_blocks(happenings: Happenings) -> list[str]:
    """Say which batteries block their charge, how often and when first; the likeliest first."""
    every = happenings.charge_blocks
    seen = [one for one in every if one.chance.value > 0.0]
    if every and not seen:
        draws = draws_words(every[0].hours.size, None)
        return [f"No battery blocks its charge in {draws} run in full."]
    seen.sort(key=lambda one: -one.chance.value)
    told = [f"{quoted(one.name)} blocks its charge in {first_times(one)}." for one in seen]
    left = len(told) - MOST_NAMED
    others = left_over(left, "battery", "blocks its", "block theirs", "batteries")
    more = [f"{others} in some cases."] if left > 0 else []
    return [*told[:MOST_NAMED], *more]


def not_yet_full(happenings: Happenings) -> list[str]:
    """Say how often the run ends while the bank still takes in charge."""
    part = happenings.still_charging
    if part.value == 0.0:
        return []
    what = f"In {of_100(part)} the run ends while the bank still takes in charge"
    return [f"{what}: {too_short(charging=True)}."]
