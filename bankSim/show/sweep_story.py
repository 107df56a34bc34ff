"""A sweep of one or two keys, told for somebody at the bench."""

from collections.abc import Callable

from bankSim.show.blocks import Grid, Section, Story
from bankSim.show.figure_words import draws_words
from bankSim.show.study_words import (
    HIGH,
    LOW,
    MIDDLE,
    SAFETY_OF_CHANCES,
    bare_of_100,
)
from bankSim.show.sweep_headline import sweep_headline
from bankSim.show.sweep_words import are_equalising, is_charged_only, value_text, where, written
from bankSim.show.unknowns_table import drawn_section
from bankSim.show.words import beside, counted, left_over
from bankSim.sim.numbers import clean, number
from bankSim.sim.summary import SAFETY_TEXT
from bankSim.study.sweep import SweepResult, SweptPoint
from bankSim.study.traced import SEVERITIES

MOST_ROWS = 30  # on a terminal
PLUS_MINUS = "+-: how well the middle is known from so many draws."
WORK = (
    " Hours: until the loads are fed no longer (middle). Hardest: the largest current out of any "
    "battery until the first one cuts out (middle of {traced} draws)."
)
MOST_NAMED, NAME_LETTERS = 4, 14


def tell_sweep(result: SweepResult, *, briefly: bool = False) -> Story:
    """Turn the result of `study sweep` into a headline and sections.

    Parameters
    ----------
    result : SweepResult
    briefly : bool
        For a terminal: long tables are cut.
    """
    sections = [
        _points(result, briefly=briefly),
        _first(result, briefly=briefly),
        _sharing(result, briefly=briefly),
        _cautions(result),
        _how_sure(result),
        drawn_section(result.plan.unknowns, briefly=briefly),
        Section("Safety", (SAFETY_OF_CHANCES, SAFETY_TEXT)),
    ]
    told = tuple(section for section in sections if section is not None)
    title = f"{clean(result.scenario.title)}: what if"
    return Story(title, tuple(sweep_headline(result)), told)


def _points(result: SweepResult, *, briefly: bool) -> Section:
    heads, more = _heads(result), () if is_charged_only(result) else ("hours", "hardest A")
    columns = (*heads, "Bank 5 % Ah", "middle Ah", "95 % Ah", "+- Ah", *more, "danger")
    scale = max(point.bank.percentiles[HIGH].value for point in result.points)
    shown = _shown(result, briefly=briefly)
    rows = tuple(
        (
            *_values(result, point),
            *_charge(point, scale),
            *(_work(point) if more else ()),
            _danger(result, point),
        )
        for point in shown
    )
    lines = [
        f"{head}: {key.key}."
        for head, key in zip(heads, result.keys, strict=True)
        if head != key.key
    ]
    lines.append(
        PLUS_MINUS
        + (WORK.format(traced=result.traced) if more else "")
        + f" Danger: in how many of {result.traced} draws run in full there is one."
    )
    lines += _left_out(result, shown)
    return Section("Point by point", tuple(lines), Grid(columns, rows, words=0))


def _charge(point: SweptPoint, scale: float) -> tuple[str, ...]:
    ends = point.bank.percentiles
    return (
        *(beside(ends[place].value, scale) for place in (LOW, MIDDLE, HIGH)),
        number(ends[MIDDLE].half_width, 2),
    )


def _work(point: SweptPoint) -> tuple[str, ...]:
    middles = (one.percentiles[MIDDLE].value for one in (point.runtime, point.hardest))
    return tuple(number(middle) for middle in middles)


def _danger(result: SweepResult, point: SweptPoint) -> str:
    """In how many of the draws run in full there is the most frequent danger."""
    chances = [one.chance.value for one in point.cautions if one.severity == "danger"]
    return f"{round(max(chances, default=0.0) * result.traced)}"


def _first(result: SweepResult, *, briefly: bool) -> Section | None:
    """Who cuts out first at every point; not where charge is all there is, and nobody does."""
    if is_charged_only(result) and all(point.nobody.value == 1.0 for point in result.points):
        return None
    line = "Of 100 cases, this battery cuts out before all others."
    if any(point.together.value > 0.0 for point in result.points):
        line += " In the rest several do, all at once."
    return _by_battery(result, "Who cuts out first", line, _chances, ("nobody",), briefly=briefly)


def _sharing(result: SweepResult, *, briefly: bool) -> Section | None:
    """How the current is shared at the start of every point."""
    line = (
        "Part of the current at the start, in per cent, of the single run with all values in the "
        "middle."
    )
    if any(are_equalising(point.shares) for point in result.points):
        line += " -: the load is small beside what flows from one battery into another."
    return _by_battery(result, "How they share the current", line, _shares, (), briefly=briefly)


def _by_battery(
    result: SweepResult,
    title: str,
    line: str,
    read: Callable[[SweptPoint, list[int]], tuple[str, ...]],
    more: tuple[str, ...],
    *,
    briefly: bool,
) -> Section | None:
    batteries = result.scenario.bank.batteries
    if len(batteries) == 1:
        return None
    named = _named(result)
    names = [clean(batteries[place].name, NAME_LETTERS) for place in named]
    shown = _shown(result, briefly=briefly)
    rows = tuple((*_values(result, point), *read(point, named)) for point in shown)
    lines = [line, *_left_out(result, shown)]
    left = len(batteries) - len(named)
    if left:
        others = left_over(left, "battery", "is", "are", "batteries")
        lines.append(f"{others} less often the first.")
    return Section(title, tuple(lines), Grid((*_heads(result), *names, *more), rows, words=0))


def _named(result: SweepResult) -> list[int]:
    """Return the batteries that are most often first, in the order of the file."""
    count = len(result.scenario.bank.batteries)
    often = [max(point.first[place].value for point in result.points) for place in range(count)]
    return sorted(sorted(range(count), key=lambda place: -often[place])[:MOST_NAMED])


def _chances(point: SweptPoint, named: list[int]) -> tuple[str, ...]:
    chances = [point.first[place] for place in named]
    return tuple(bare_of_100(one) for one in [*chances, point.nobody])


def _shares(point: SweptPoint, named: list[int]) -> tuple[str, ...]:
    shares = [None if are_equalising(point.shares) else point.shares[place] for place in named]
    return tuple("-" if share is None else f"{100.0 * share:.0f}" for share in shares)


def _shown(result: SweepResult, *, briefly: bool) -> tuple[SweptPoint, ...]:
    return result.points[:MOST_ROWS] if briefly else result.points


def _left_out(result: SweepResult, shown: tuple[SweptPoint, ...]) -> list[str]:
    left = len(result.points) - len(shown)
    return [f"{counted(left, 'more row')}: story.txt."] if left else []


def _heads(result: SweepResult) -> list[str]:
    """Return short names of the keys, for columns: their last words, if those differ."""
    short = [key.key.rpartition(".")[2] for key in result.keys]
    alike = len(set(short)) < len(short)
    return [f"key {place}" for place in (1, 2)][: len(short)] if alike else short


def _values(result: SweepResult, point: SweptPoint) -> list[str]:
    pairs = zip(result.keys, point.values, strict=True)
    return [value_text(key, value) for key, value in pairs]


def _cautions(result: SweepResult) -> Section:
    """Every topic with its severity, where it is raised, and how often at most."""
    found: dict[tuple[str, str], list[float]] = {}
    for number_of, point in enumerate(result.points):
        for one in point.cautions:
            parts = found.setdefault((one.severity, one.topic), [0.0] * len(result.points))
            parts[number_of] = one.chance.value
    told = sorted(found.items(), key=lambda item: SEVERITIES.index(item[0][0]))
    rows = tuple(
        (f"{severity}: {clean(topic)}", where(result, [part > 0.0 for part in parts]),
         f"{round(max(parts) * result.traced)}")
        for (severity, topic), parts in told
    )  # fmt: skip
    line = (
        f"From {result.traced} draws run in full at every point; the number is that of the point "
        "with the most. A caution that is in none of them may still come. What to do about each: "
        "the question spread."
    )
    grid = Grid(("Caution", "where", f"of {result.traced} draws"), rows, words=2) if rows else None
    return Section("Cautions", (line,), grid)


def _how_sure(result: SweepResult) -> Section:
    given = [
        f"{key.key}: the file has {written(value) if value is not None else 'nothing there'}."
        for key, value in zip(result.keys, result.given, strict=True)
    ]
    at_each = f" at each of {len(result.points)} points"
    return Section(
        "How sure this is",
        (
            *(clean(line) for line in given),
            f"{draws_words(result.draws, result.seed, at_each)}; "
            "the same draws at all of them, so differences between points are sharper than each "
            "point itself.",
        ),
    )
