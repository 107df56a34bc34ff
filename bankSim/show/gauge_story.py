"""Tells how far a gauge that knows only the voltage is off."""

from collections.abc import Sequence

from bankSim.measured.gauge import Judged, Place
from bankSim.measured.gauge_typed import Typed
from bankSim.show.blocks import Grid, Section, Story
from bankSim.show.gauge_why import verdict, why
from bankSim.sim.numbers import number, sentence, span

LEAST_PERCENT = 0.05  # less reads 0
CAUTION = (
    "A voltage is no fuel gauge: count ampere-hours, and let the limits of the battery maker "
    "protect the cells, never a percentage. Follow the battery maker and local codes first."
)


def tell_gauge(pairs: Sequence[tuple[Judged, Judged | None]], remarks: Sequence[str]) -> Story:
    """Return the story of one or several batteries.

    Parameters
    ----------
    pairs : sequence of (Judged, Judged or None)
        The table's gauge, and a straight-line gauge of the same course.
    remarks : sequence of str
        What else was assumed.
    """
    sections = [section for pair in pairs for section in _chapters(*pair, len(pairs) > 1)]
    said = dict.fromkeys(line for pair in pairs for line in _sources(pair))
    sources = Section("Voltage tables", tuple(said))
    one = pairs[0][0].table.name
    title = one if len(pairs) == 1 else f"{len(pairs)} batteries of one bank"
    basis = Section("Taken for granted", tuple(remarks)) if remarks else None
    ends = [sources, *([basis] if basis else []), Section("Safety", (CAUTION,))]
    headline = tuple(_headline(judged) for judged, _ in pairs)
    return Story(f"Gauge check: {title}", headline, (*sections, *ends))


def _headline(judged: Judged) -> str:
    worst = judged.worst
    return (
        f"{sentence(judged.course.name)}: a gauge that knows only the voltage is off by up to "
        f"{number(abs(worst.error_points), 2)} points: it shows {_percent(worst.reading_percent)} "
        f"% at {number(worst.voltage_V, 4)} V when {_percent(worst.true_percent)} % is left"
        f"{_by_counting(judged, worst)}. {verdict(judged)}"
    )


def _percent(value: float) -> str:
    """Two digits, none behind a tenth of a percent: what is counted is not known that well. [%]"""
    return "0" if abs(value) < LEAST_PERCENT else number(value, 2)


def _by_counting(judged: Judged, place: Place) -> str:
    """What a counter at the terminals says of the same instant."""
    if judged.course.counts_all:
        return " by counting"
    shown = judged.course.counter_percent(place.counted_Ah)
    return f" (a counter of Ah would show {number(shown, 2)} %)"


def _chapters(judged: Judged, line: Judged | None, many: bool) -> list[Section]:
    name = f" of {judged.course.name}" if many else ""
    rows = [*_rows(judged, "table"), *(_rows(line, "straight line") if line else [])]
    columns = (
        "gauge", "what", "after", "given Ah", "bus V", "A", "shows %", "left %", "error points",
        "tables %",
    )  # fmt: skip
    lines = []
    if line is not None:
        lines.append(
            f"The second gauge goes by {line.table.name}: bars over voltage, as on simple meters; "
            f"it is within 10 points in {number(100.0 * line.within_10_points, 2)} % of the time."
        )
    return [
        Section(f"Largest errors{name}", tuple(lines), Grid(columns, tuple(rows), words=2)),
        Section(f"Why{name}", why(judged)),
        Section(f"Counting{name}", judged.course.basis),
    ]


def _rows(judged: Judged, word: str) -> list[tuple[str, ...]]:
    spread = judged.table.has_spread
    return [
        _row(judged.over, word, "too high", spread),
        _row(judged.under, word, "too low", spread),
    ]


def _row(place: Place, word: str, what: str, spread: bool) -> tuple[str, ...]:
    error = place.error_points
    if (what == "too high") != (error > 0.0):
        what = f"never {what}"
    return (
        word,
        what,
        span(place.time_s),
        number(place.counted_Ah),
        number(place.voltage_V, 4),
        number(place.current_A),
        _percent(place.reading_percent),
        _percent(place.true_percent),
        f"{error:+.0f}",
        f"{place.low_percent:.0f} to {place.high_percent:.0f}" if spread else "-",
    )


def _sources(pair: tuple[Judged, Judged | None]) -> list[str]:
    return [
        f"{sentence(judged.table.name)}: {source}."
        for judged in pair
        if judged is not None
        for source in judged.table.sources
    ]


def tell_typed(typed: Typed, remarks: Sequence[str]) -> Story:
    """Return what one voltage says."""
    flow = f"{number(abs(typed.current_A))} A of {'load' if typed.current_A >= 0 else 'charge'}"
    headline = (
        f"At {number(typed.voltage_V, 4)} V under {flow} {typed.table} shows "
        f"{number(typed.reading_percent, 2)} %; what is really left may be anything from "
        f"{number(typed.low_percent, 2)} to {number(typed.high_percent, 2)} %."
    )
    lines = []
    if typed.line_percent is not None:
        lines.append(f"A gauge that follows {typed.line} shows {number(typed.line_percent, 2)} %.")
    if typed.drop_V is None:
        lines.append(
            "The drop by the load is not known (that takes --chemistry, --cells-in-series and "
            "--rated-Ah) and left out."
        )
    else:
        what = "load takes off" if typed.drop_V >= 0.0 else "charge adds"
        lines.append(
            f"Without current the battery would stand near {number(typed.rest_V, 4)} V: the {what} "
            f"{number(1000.0 * abs(typed.drop_V), 2)} mV (typical resistance)."
        )
    by = number(typed.points_per_10mV, 2)
    moved = f"10 mV of meter error move the table's reading by {by} points"
    if typed.points_per_C10 is not None:
        moved += f", a load of C/10 more by {number(typed.points_per_C10, 2)}"
    lines.append(f"{moved}.")
    lines.append(
        "The range allows for 10 mV of meter error and for every table listed below; which one "
        "fits your cells only a counted discharge can tell."
    )
    sections = [
        Section("What one voltage can tell", tuple(lines)),
        Section("Voltage tables", tuple(f"{sentence(one)}." for one in typed.sources)),
    ]
    if remarks:
        sections.append(Section("Taken for granted", tuple(remarks)))
    sections.append(Section("Safety", (CAUTION,)))
    return Story("Gauge check of one voltage", (headline,), tuple(sections))
