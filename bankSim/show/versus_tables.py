"""Tables of two scenarios side by side: the bank in numbers, battery by battery."""

from collections.abc import Iterable

from bankSim.show.blocks import Grid, Section
from bankSim.show.fed_words import WHAT_FED_COUNTS, WHAT_STAYS_OFF_COUNTS
from bankSim.show.study_words import HIGH, LOW, MIDDLE, bare_of_100
from bankSim.show.versus_names import Side
from bankSim.show.versus_numbers import decimals_at, decimals_of, plain, signed
from bankSim.show.versus_words import words_of
from bankSim.sim.demand import cutting_loads
from bankSim.sim.numbers import clean
from bankSim.study.answers import CHARGED
from bankSim.study.spread import Band
from bankSim.study.versus import UNTIL_OFF, Difference, VersusResult

# headings, what they mean, which numbers of a battery
CHARGING = (("Battery", "Bank", "takes in Ah"), "Medians.", ("charged",))
DISCHARGING = (
    ("Battery", "Bank", "gives Ah", "peak A", "cuts out first"),
    "Medians; peak: of the whole run, after cut-outs, too; cuts out first: of 100 cases.",
    ("delivered", "peak"),
)


def numbers_section(result: VersusResult, sides: tuple[Side, Side]) -> Section:
    """Return both sides and their difference in every answer."""
    rows = [row for one in result.differences for row in _rows(one, sides)]
    columns = ("", "5 %", "middle", "95 %", "single run")
    lines: tuple[str, ...] = (
        f"Differences are of the same draw: {sides[1].said} less {sides[0].said}.",
    )
    if any(cutting_loads(draws.plan.scenario.bank) for draws in (result.one, result.other)):
        lines = (*lines, WHAT_FED_COUNTS)
    if any(one.answer == UNTIL_OFF for one in result.differences):
        lines = (*lines, WHAT_STAYS_OFF_COUNTS)
    return Section("In numbers", lines, Grid(columns, tuple(rows), words=1))


def _rows(one: Difference, sides: tuple[Side, Side]) -> list[tuple[str, ...]]:
    """Return a row for each side and one for their difference."""
    what, places = words_of(one.answer).counted, decimals_of(one)
    names = [*(side.name for side in sides), "difference"]
    rows = []
    for name, band in zip(names, (one.one, one.other, one.difference), strict=True):
        write = signed if band is one.difference else plain
        points = (band.percentiles[place].value for place in (LOW, MIDDLE, HIGH))
        told = (write(point, places) for point in (*points, band.central))
        rows.append((f"{what}, {name}", *told))
    return rows


def batteries_section(result: VersusResult, sides: tuple[Side, Side]) -> Section:
    """Return what every battery does on the sides that have it."""
    charging = result.differences[0].answer.word == CHARGED.word
    titles, line, columns = CHARGING if charging else DISCHARGING
    scales = [_largest(getattr(one, what) for one in result.batteries) for what in columns]
    rows = []
    for one in result.batteries:
        for place, (side, first) in enumerate(zip(sides, one.first, strict=True)):
            if first is None:
                continue
            bands = [getattr(one, what)[place] for what in columns]
            told = [_median(band, scale) for band, scale in zip(bands, scales, strict=True)]
            told += [] if charging else [bare_of_100(first)]
            rows.append((clean(one.name), side.name, *told))
    return Section("Battery by battery", (line,), Grid(titles, tuple(rows), words=2))


def _largest(pairs: Iterable[tuple[Band | None, Band | None]]) -> float:
    medians = [_middle(band) for pair in pairs for band in pair if band is not None]
    return max(medians, default=0.0)


def _median(band: Band | None, scale: float) -> str:
    return plain(None if band is None else _middle(band), decimals_at(scale, 3))


def _middle(band: Band) -> float:
    return band.percentiles[MIDDLE].value
