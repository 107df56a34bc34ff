"""A sweep of one or two keys, told for somebody at the bench."""

import itertools

from bankSim.show.blocks import Grid, Section, Story
from bankSim.show.study_words import HIGH, LOW, MIDDLE, SAFETY_OF_CHANCES, bare, bare_of_100
from bankSim.show.words import whole_or
from bankSim.sim.numbers import clean, number, quoted
from bankSim.sim.summary import SAFETY_TEXT
from bankSim.study.sweep import SweepResult, SweptKey, SweptPoint

MOST_ROWS = 60
TRACE = 0.002  # of the median: a change below it is none


def tell_sweep(result: SweepResult, *, briefly: bool = False) -> Story:
    """Turn the result of `study sweep` into a headline and sections."""
    sections = (
        _table(result, briefly=briefly),
        _how_sure(result),
        Section("Safety", (SAFETY_OF_CHANCES, SAFETY_TEXT)),
    )
    title = f"{clean(result.scenario.title)}: what if"
    return Story(title, tuple(sweep_headline(result)), sections)


def sweep_headline(result: SweepResult) -> list[str]:
    """Say what the key does to the bank's Ah, and when somebody else cuts out first."""
    if len(result.keys) == 2:
        return _two_keys(result)
    return [*_change(result), *_strongest(result), *_first(result)]


def _median(point: SweptPoint) -> float:
    return point.bank.percentiles[MIDDLE].value


def _value(key: SweptKey, value: object) -> str:
    return f"{_written(value)} {key.unit}".rstrip()


def _written(value: object) -> str:
    """Return a value as one would write it in the file, numbers rounded."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int | float):
        return whole_or(float(value), 4)
    if isinstance(value, dict):
        return f"{{ {', '.join(f'{name} = {_written(one)}' for name, one in value.items())} }}"
    return f'"{value}"'


def _change(result: SweepResult) -> list[str]:
    key, points = result.keys[0], result.points
    if not key.is_numbers:
        best, worst = max(points, key=_median), min(points, key=_median)
        if _is_trace(_median(best) - _median(worst), _median(best)):
            return [f"{key.key} changes next to nothing in what the bank delivers."]
        return [
            f"The bank delivers most with {key.key} = {_value(key, best.values[0])}: "
            f"{number(_median(best))} Ah (median); least with {_value(key, worst.values[0])}: "
            f"{number(_median(worst))} Ah."
        ]
    first, last = points[0], points[-1]
    gap = _median(last) - _median(first)
    span = f"From {_value(key, first.values[0])} to {_value(key, last.values[0])} of {key.key}"
    if _is_trace(gap, _median(first)) and not _has_bend(points):
        return [f"{span} what the bank delivers changes next to nothing."]
    ends = f"from {number(_median(first))} to {number(_median(last))} Ah"
    if _is_trace(gap, _median(first)):
        told = f"{span} what the bank delivers ends where it began, at {number(_median(last))} Ah"
        return [f"{told} (median).", *_turn(key, points)]
    way = "rises" if gap > 0.0 else "falls"
    told = f"{span} what the bank delivers {way} by {number(abs(gap))} Ah (median), {ends}."
    return [told, *_turn(key, points)]


def _turn(key: SweptKey, points: tuple[SweptPoint, ...]) -> list[str]:
    """Name what lies clearly above or below both ends."""
    ends = (_median(points[0]), _median(points[-1]))
    told = []
    for word, pick, beyond in (("most", max, 1.0), ("least", min, -1.0)):
        place = pick(points, key=_median)
        gap = beyond * (_median(place) - pick(ends))
        if gap > 0.0 and not _is_trace(gap, pick(ends)):
            value = _value(key, place.values[0])
            told.append(f"On the way it is {word} at {value}: {number(_median(place))} Ah.")
    return told


def _is_trace(gap: float, scale: float) -> bool:
    return abs(gap) <= TRACE * abs(scale)


def _has_bend(points: tuple[SweptPoint, ...]) -> bool:
    values = [_median(point) for point in points]
    return not _is_trace(max(values) - min(values), max(values))


def _strongest(result: SweepResult) -> list[str]:
    """Say where the key matters most, when that is not everywhere alike."""
    key, points = result.keys[0], result.points
    if not key.is_numbers or len(points) < 4:
        return []
    steps = [abs(_median(b) - _median(a)) for a, b in itertools.pairwise(points)]
    total = sum(steps)
    place = max(range(len(steps)), key=steps.__getitem__)
    if _is_trace(total, _median(points[0])) or steps[place] < 2.5 * total / len(steps):
        return []
    low, high = points[place].values[0], points[place + 1].values[0]
    return [
        f"Most of it happens between {_value(key, low)} and {_value(key, high)}: "
        f"{number(steps[place])} Ah."
    ]


def _likeliest(point: SweptPoint) -> int:
    """Number of the battery that most probably cuts out first; -1 when rather nobody does."""
    chances = [one.value for one in point.first]
    best = max(range(len(chances)), key=chances.__getitem__)
    return best if sum(chances) > 0.5 else -1


def _first(result: SweepResult) -> list[str]:
    """Say at which values somebody else becomes the likeliest to cut out first."""
    key, names = result.keys[0], [one.name for one in result.scenario.bank.batteries]
    who = [_likeliest(point) for point in result.points]

    def named(number: int) -> str:
        return quoted(names[number]) if number >= 0 else "nobody"

    if len(set(who)) == 1:
        if who[0] < 0:
            return ["No battery cuts out in most cases."]
        return (
            [f"{named(who[0])} most probably cuts out first all the way."] if len(names) > 1 else []
        )
    told = [f"{named(who[0])} most probably cuts out first at {_value(key, key.values[0])}"]
    for place in range(1, len(who)):
        if who[place] != who[place - 1]:
            told.append(f"{named(who[place])} from {_value(key, key.values[place])} on")
    return [f"{', '.join(told[:5])}{', and so on' if len(told) > 5 else ''}."]


def _two_keys(result: SweepResult) -> list[str]:
    best, worst = max(result.points, key=_median), min(result.points, key=_median)
    if _is_trace(_median(best) - _median(worst), _median(best)):
        return ["Neither of the two keys changes what the bank delivers by more than a trace."]

    def at(point: SweptPoint) -> str:
        pairs = zip(result.keys, point.values, strict=True)
        return " and ".join(f"{key.key} = {_value(key, value)}" for key, value in pairs)

    return [
        f"The bank delivers most, {number(_median(best))} Ah (median), at {at(best)}, and least, "
        f"{number(_median(worst))} Ah, at {at(worst)}."
    ]


def _table(result: SweepResult, *, briefly: bool) -> Section:
    names = [clean(one.name, 20) for one in result.scenario.bank.batteries]
    columns = (
        *_heads(result),
        "Bank 5 % Ah", "middle Ah", "95 % Ah", "single run Ah", "hours",
        *(f"{name} first" for name in names[:4]),
    )  # fmt: skip
    points = result.points
    if briefly and len(points) > MOST_ROWS:
        points = points[:MOST_ROWS]
    rows = tuple(_row(result, point) for point in points)
    lines = [
        f"{head}: {key.key}."
        for head, key in zip(_heads(result), result.keys, strict=True)
        if head != key.key
    ]
    lines.append("First: of 100 cases, this battery cuts out first.")
    if len(points) < len(result.points):
        lines.append(f"{len(result.points) - len(points)} more rows: story.txt.")
    return Section("Point by point", tuple(lines), Grid(columns, rows, words=0))


def _heads(result: SweepResult) -> list[str]:
    """Return short names of the keys, for columns: their last words, if those differ."""
    short = [key.key.rpartition(".")[2] for key in result.keys]
    alike = len(set(short)) < len(short)
    return [f"key {place}" for place in (1, 2)][: len(short)] if alike else short


def _row(result: SweepResult, point: SweptPoint) -> tuple[str, ...]:
    values = zip(result.keys, point.values, strict=True)
    return (
        *(_value(key, value) for key, value in values),
        *(bare(point.bank, place, 4) for place in (LOW, MIDDLE, HIGH)),
        number(point.bank.central, 4),
        bare(point.runtime, MIDDLE),
        *(bare_of_100(one) for one in point.first[:4]),
    )


def _how_sure(result: SweepResult) -> Section:
    given = [
        f"{key.key}: the file has {_written(value) if value is not None else 'nothing there'}."
        for key, value in zip(result.keys, result.given, strict=True)
    ]
    return Section(
        "How sure this is",
        (
            *(clean(line) for line in given),
            f"{result.draws:,} draws at each of {len(result.points)} points, seed {result.seed}; "
            "the same draws at all of them, so differences between points are sharper than each "
            "point itself.",
        ),
    )
