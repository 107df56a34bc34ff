"""The first sentences on a sweep: what the key does, who is first where, what gets dangerous."""

import itertools
from collections.abc import Sequence

from bankSim.show.study_words import MIDDLE, per_100
from bankSim.show.sweep_ends import told_ends
from bankSim.show.sweep_paper import Ah_of, is_paper, median, told_paper
from bankSim.show.sweep_words import (
    are_equalising,
    at,
    does,
    is_charged_only,
    value_text,
    where,
)
from bankSim.show.words import beside
from bankSim.sim.numbers import clean, listing, number, quoted, sentence
from bankSim.study.statistics import Estimate
from bankSim.study.sweep import SweepResult, SweptPoint

TRACE = 0.002  # of the median: a change below it is none
WORTH = 0.05  # of a battery's share, of hours beside Ah: smaller changes are not worth a sentence
MOST_TURNS, MOST_TOPICS = 6, 4
OPEN, NOBODY, TOGETHER = -1, -2, -3


def sweep_headline(result: SweepResult) -> list[str]:
    """Say what the keys do to the bank's Ah, and to who cuts out first."""
    own = _two_keys(result) if len(result.keys) == 2 else _one_key(result)
    return [*own, *told_ends(result), *_share(result), *_dangers(result)]


def _one_key(result: SweepResult) -> list[str]:
    told = [*_change(result), *told_paper(result), *_strongest(result)]
    return [*told, *_hours(result), *_first(result)]


def _is_trace(gap: float, scale: float) -> bool:
    return abs(gap) <= TRACE * abs(scale)


def _best_and_worst(result: SweepResult) -> tuple[SweptPoint, SweptPoint]:
    return max(result.points, key=median), min(result.points, key=median)


def _change(result: SweepResult) -> list[str]:
    key, (best, worst) = result.keys[0], _best_and_worst(result)
    still = _is_trace(median(best) - median(worst), median(best))
    if not key.is_numbers:
        if still:
            return [f"{key.key} changes next to nothing in what the bank {does(result)}."]
        return [
            f"The bank {does(result)} most with {key.key} = {value_text(key, best.values[0])}: "
            f"{Ah_of(best, 'median')}; least with "
            f"{value_text(key, worst.values[0])}: {Ah_of(worst)}."
        ]
    first, last = result.points[0], result.points[-1]
    ends = [value_text(key, point.values[0]) for point in (first, last)]
    what = f"From {ends[0]} to {ends[1]} of {key.key} what the bank {does(result)}"
    if still:
        return [f"{what} changes next to nothing."]
    gap, told = median(last) - median(first), Ah_of(last)
    if _is_trace(gap, median(best)):
        return [f"{what} ends where it began, at {told} (median).", *_turns(result)]
    way = "rises" if gap > 0.0 else "falls"
    start = Ah_of(first) if is_paper(first) else number(median(first))
    return [
        f"{what} {way} by {number(abs(gap))} Ah (median), from {start} to {told}.",
        *_turns(result),
    ]


def _turns(result: SweepResult) -> list[str]:
    """Name what lies clearly above or below both ends."""
    key, ends = result.keys[0], (median(result.points[0]), median(result.points[-1]))
    told = []
    places = zip(("most", "least"), _best_and_worst(result), (max(ends), min(ends)), strict=True)
    for word, point, end in places:
        if not _is_trace(median(point) - end, end) and median(point) != end:
            value = value_text(key, point.values[0])
            told.append(f"On the way it is {word} at {value}: {Ah_of(point)}.")
    return told


def _strongest(result: SweepResult) -> list[str]:
    """Say between which two of many even steps the key does most, when not everywhere alike."""
    key, points = result.keys[0], result.points
    if not key.is_numbers or len(points) < 4 or not _is_even(key.values):
        return []
    steps = [abs(median(b) - median(a)) for a, b in itertools.pairwise(points)]
    place = max(range(len(steps)), key=steps.__getitem__)
    if _is_trace(steps[place], median(points[0])) or steps[place] < 2.5 * sum(steps) / len(steps):
        return []
    low, high = (value_text(key, points[place + n].values[0]) for n in (0, 1))
    return [f"Most of it happens between {low} and {high}: {number(steps[place])} Ah."]


def _is_even(values: Sequence[object]) -> bool:
    numbers = [float(value) for value in values if isinstance(value, int | float)]
    steps = [b - a for a, b in itertools.pairwise(numbers)]
    return max(steps) - min(steps) <= 0.01 * max(abs(step) for step in steps)


def _hours(result: SweepResult) -> list[str]:
    """Tell the hours where they do not simply follow the Ah."""
    if not result.scenario.bank.loads:
        return []
    hours = [point.runtime.percentiles[MIDDLE].value for point in result.points]
    low, high = min(hours), max(hours)
    best, worst = _best_and_worst(result)
    follows = 1.0 - median(worst) / median(best) if median(best) > 0.0 else 0.0
    drop = 1.0 - low / high if high > 0.0 else 0.0
    if drop <= WORTH or abs(drop - follows) <= WORTH:
        return []
    shortest, longest = (at(result, result.points[hours.index(one)]) for one in (low, high))
    return [
        f"The loads are fed for {number(high)} h {longest} and for {number(low)} h {shortest} "
        "(medians)."
    ]


def leader(point: SweptPoint) -> int:
    """Return who clearly most often cuts out first: a battery from 0, NOBODY, TOGETHER, or OPEN."""
    rivals = [*enumerate(point.first), (NOBODY, point.nobody), (TOGETHER, point.together)]
    best, second = sorted(rivals, key=lambda rival: -rival[1].value)[:2]
    return best[0] if best[1].low > second[1].high else OPEN


def _first(result: SweepResult) -> list[str]:
    """Say who most often cuts out first, and where somebody else does."""
    leaders = [leader(point) for point in result.points]
    who = list(dict.fromkeys(leaders))
    if len(who) == 1:
        return [*_all_the_way(result, who[0]), *_rise(result)]
    if len(who) > MOST_TURNS:
        return ["Who most often cuts out first changes many times.", *_rise(result)]
    parts = [
        f"{_called(result, one)} {where(result, [other == one for other in leaders])}"
        for one in who
    ]
    start = "Most often cuts out first: " if len(result.scenario.bank.batteries) > 1 else ""
    return [sentence(f"{start}{', '.join(parts)}."), *_rise(result)]


def _all_the_way(result: SweepResult, who: int) -> list[str]:
    every = "at all values"
    if who == NOBODY:
        part = _reach([point.nobody for point in result.points])
        told = f"No battery cuts out in {part} of 100 cases {every}."
        return [] if is_charged_only(result) else [told]
    if len(result.scenario.bank.batteries) == 1:
        return []
    if who == TOGETHER:
        return [f"Several most often cut out first, all at once {every}."]
    if who == OPEN:
        return [f"Who cuts out first is open {every}."]
    part = _reach([point.first[who] for point in result.points])
    return [f"{_called(result, who)} most often cuts out first {every}, in {part} of 100 cases."]


def _reach(chances: Sequence[Estimate]) -> str:
    low, high = (per_100(pick(one.value for one in chances)) for pick in (min, max))
    return low if low == high else f"{low} to {high}"


def _called(result: SweepResult, who: int) -> str:
    batteries = result.scenario.bank.batteries
    if who >= 0:
        return quoted(batteries[who].name) if len(batteries) > 1 else "the battery cuts out"
    return {NOBODY: "nobody", TOGETHER: "several at once", OPEN: "open"}[who]


def _rise(result: SweepResult) -> list[str]:
    """Tell the chance of the battery that gains or loses most from end to end, if it is clear."""
    key, names = result.keys[0], [one.name for one in result.scenario.bank.batteries]
    first, last = result.points[0].first, result.points[-1].first
    place = max(range(len(names)), key=lambda n: abs(last[n].value - first[n].value))
    before, after = first[place], last[place]
    apart = before.high < after.low or after.high < before.low
    if not key.is_numbers or len(names) == 1 or not apart:
        return []
    way = "rises" if after.value > before.value else "falls"
    ends = f"from {per_100(before.value)} to {per_100(after.value)} of 100 cases"
    return [f"The chance that {quoted(names[place])} is the first {way} {ends}."]


def _share(result: SweepResult) -> list[str]:
    """Name the battery whose part of the current at the start changes most."""
    found = []
    for place, battery in enumerate(result.scenario.bank.batteries):
        shares = [(p.shares[place], p) for p in result.points if not are_equalising(p.shares)]
        known = [(part, point) for part, point in shares if part is not None]
        if known:
            low, high = (pick(known, key=lambda pair: pair[0]) for pick in (min, max))
            found.append((high[0] - low[0], battery.name, low, high))
    if not found:
        return []
    gap, name, low, high = max(found, key=lambda one: one[0])
    if gap < WORTH:
        return []
    return [
        f"At the start {quoted(name)} carries {100.0 * low[0]:.0f} % of the current "
        f"{at(result, low[1])} and {100.0 * high[0]:.0f} % {at(result, high[1])}."
    ]


def _two_keys(result: SweepResult) -> list[str]:
    best, worst = _best_and_worst(result)
    if _is_trace(median(best) - median(worst), median(best)):
        told = f"Neither of the two keys changes what the bank {does(result)} by more than a trace."
        return [told]
    return [
        f"The bank {does(result)} most, {Ah_of(best, 'median')}, "
        f"{at(result, best)}, and least, {Ah_of(worst)}, {at(result, worst)}.",
        _which_of_two(result),
        *told_paper(result),
    ]


def _which_of_two(result: SweepResult) -> str:
    """Say how much each key does while the other stands still."""
    grid = result.grid(median)
    gaps = [float((grid.max(axis=axis) - grid.min(axis=axis)).max()) for axis in (0, 1)]
    scale = median(max(result.points, key=median))
    told = [
        f"{key.key} by up to {beside(gap, scale)} Ah"
        for key, gap in zip(result.keys, gaps, strict=True)
    ]
    return f"Each alone changes that: {told[0]}, {told[1]}."


def _dangers(result: SweepResult) -> list[str]:
    """Name the dangers, and where along the way they are."""
    topics = dict.fromkeys(
        one.topic for point in result.points for one in point.cautions if one.severity == "danger"
    )
    told = []
    for topic in list(topics)[:MOST_TOPICS]:
        seen = [_chance_of(point, topic) for point in result.points]
        chances = [one for one in seen if one is not None]
        place = where(result, [one is not None for one in seen])
        counts = [round(one.value * result.traced) for one in chances]
        ends = f"{min(counts)} to {max(counts)}" if min(counts) < max(counts) else f"{counts[0]}"
        told.append(f"DANGER {place}, in {ends} of {result.traced} draws: {clean(topic)}.")
    left = list(topics)[MOST_TOPICS:]
    more = [f"More dangers: {listing(left)}."] if left else []
    return [*told, *more, *_instead(result, list(topics))]


def _instead(result: SweepResult, dangers: list[str]) -> list[str]:
    """Name warnings that stand just where a danger does not: its cure may be another fault."""
    safe = {tuple(_chance_of(point, topic) is None for point in result.points) for topic in dangers}
    warned: dict[str, list[bool]] = {}
    for place, point in enumerate(result.points):
        for one in point.cautions:
            if one.severity == "warning":
                flags = warned.setdefault(one.topic, [False] * len(result.points))
                flags[place] = True
    return [
        f"WARNING {where(result, flags)}, where a danger is gone: {clean(topic)}."
        for topic, flags in warned.items()
        if topic not in dangers and tuple(flags) in safe
    ][:MOST_TOPICS]


def _chance_of(point: SweptPoint, topic: str) -> Estimate | None:
    return next(
        (one.chance for one in point.cautions if one.topic == topic and one.severity == "danger"),
        None,
    )
