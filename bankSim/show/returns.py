"""Sentences of the headline on what comes back: blocked charge, come-backs, surges."""

from bankSim.kernels.arrays import MOST_FRUITLESS
from bankSim.show.crowds import names, sentence
from bankSim.show.episodes import Episode, episodes, ways_given_up
from bankSim.show.surges import is_loud, jump
from bankSim.show.whens import at
from bankSim.sim.numbers import listing, quoted, span
from bankSim.sim.result import Result

TOLD_PER_H = 0.1  # of the label capacity: smaller surges are no news for the first sentences


def returns(result: Result) -> list[str]:
    """Say what a list of first cut-outs does not: that some come back, and with how much."""
    found = episodes(result)
    return [
        *_come_backs(result, [one for one in found if one.direction != "charge"]),
        *_charge_blocked(result, [one for one in found if one.direction == "charge"]),
        *_surge(result, found),
    ]


def has_returns(result: Result) -> bool:
    """Tell whether some battery that had cut out gave current again later."""
    return any(one.direction != "charge" and one.end_s is not None for one in episodes(result))


def _come_backs(result: Result, found: list[Episode]) -> list[str]:
    """As in: "a" and "b" come back once, "c" comes back 37 times."""
    backs: dict[int, set[float]] = {}
    for one in found:
        if one.end_s is not None:
            backs.setdefault(one.battery, set()).add(one.end_s)
    counts = {place: len(times) for place, times in backs.items()}
    texts = []
    for count in sorted(set(counts.values())):
        places = [place for place, times in counts.items() if times == count]
        verb = "comes" if len(places) == 1 else "come"
        texts.append(f"{names(result, places)} {verb} back {_times(count)}")
    lost = _given_up(result, {"discharge", "both"})
    out = [place for place in counts if place in lost]
    return [f"{sentence(listing(texts))}.", *_stay_out(result, out)] if texts else []


def _given_up(result: Result, ways: set[str | None]) -> list[int]:
    """Return the batteries whose returns in vain, in one of these directions, are cut short."""
    found = ways_given_up(result)
    return [n for n, one in enumerate(result.batteries) if ways & found.get(one.name, set())]


def _stay_out(result: Result, places: list[int]) -> list[str]:
    """Say that the run gives up on some, and what hangs on that."""
    if not places:
        return []
    stay = "stays" if len(places) == 1 else "stay"
    return [
        f"After {MOST_FRUITLESS} returns in vain {names(result, places)} {stay} out; the Ah and "
        "the runtime from there on hang on that assumption."
    ]


def _times(count: int) -> str:
    return "once" if count == 1 else f"{count} times"


def _charge_blocked(result: Result, found: list[Episode]) -> list[str]:
    if not found:
        return []
    hours: dict[int, float] = {}
    for one in found:
        hours[one.battery] = hours.get(one.battery, 0.0) + one.length_s(result.end_time_s)
    places = sorted(hours, key=lambda place: -hours[place])
    first = found[0]
    who = sentence(names(result, places))
    verb = "blocks" if len(places) == 1 else "block"
    told = span(hours[places[0]])
    most = [place for place in places if span(hours[place]) == told]
    longest = f"{names(result, most)} the longest, " if len(most) < len(places) else ""
    each = "each " if len(most) == len(places) > 1 else ""
    return [
        f"{who} {verb} charge, the first time {at(result, first.start_s)}, {longest}{each}for "
        f"{told} in all.",
        *_takes_no_more(result, _given_up(result, {"charge"})),
    ]


def _takes_no_more(result: Result, places: list[int]) -> list[str]:
    """Say of which batteries the run does not try to charge again, and what hangs on that."""
    if not places:
        return []
    take = "takes" if len(places) == 1 else "take"
    return [
        f"After {MOST_FRUITLESS} returns in vain {names(result, places)} {take} no more charge "
        "until something switches; the Ah from there on hang on that assumption."
    ]


def _surge(result: Result, found: list[Episode]) -> list[str]:
    loud = [one for one in found if one.opened is not None and is_loud(result, one)]
    if not loud:
        return []
    one = max(loud, key=Episode.jump_A)
    if one.jump_A() <= TOLD_PER_H * result.batteries[one.battery].rated_Ah:
        return []
    name, when = quoted(result.batteries[one.battery].name), at(result, one.end_s or 0.0)
    return [f"The largest surge at a come-back, {when}: {name} {jump(one)}."]
