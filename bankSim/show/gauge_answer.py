"""A gauge that knows only the voltage, checked along a run or a log or at one reading."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from bankSim.measured.gauge import Course, Judged, judge
from bankSim.measured.gauge_courses import course_of_log, course_of_run
from bankSim.measured.gauge_typed import judge_typed
from bankSim.measured.label import label_of
from bankSim.measured.log import Log, LogError
from bankSim.measured.typical_tables import (
    TABLES,
    line_table,
    typical_resistance,
    typical_table,
)
from bankSim.measured.voltage_table import VoltageTable
from bankSim.model.chemistry import is_lead
from bankSim.show.answer import Answer
from bankSim.show.gauge_files import course_csv, gauge_summary, typed_summary
from bankSim.show.gauge_story import tell_gauge, tell_typed
from bankSim.sim.result import Result

if TYPE_CHECKING:
    from matplotlib.figure import Figure

Found = tuple[Course, VoltageTable, VoltageTable | None]
Pairs = Sequence[tuple[Judged, Judged | None]]
MOST_CELLS, MOST_V, MOST_A, MOST_AH = 200, 1000.0, 100_000.0, 1_000_000.0


@dataclass(frozen=True)
class Said:
    """What a person says beside the log or the run.

    Parameters
    ----------
    battery : str or None
        Of a run; None for all.
    table : VoltageTable or None
        The gauge's own.
    chemistry : str or None
    cells : int or None
        In series.
    rated_Ah : float or None
        What counts as 100 %. [Ah]
    start_percent : float
        Of a log. [%]
    typed_V : float or None
        [V]
    at_A : float
        Discharge positive. [A]
    """

    battery: str | None = None
    table: VoltageTable | None = None
    chemistry: str | None = None
    cells: int | None = None
    rated_Ah: float | None = None
    start_percent: float = 100.0
    typed_V: float | None = None
    at_A: float = 0.0


def check(said: Said) -> None:
    """Refuse numbers that no battery has; one line each."""

    def within(option: str, value: float | None, low: float, high: float, words: str) -> None:
        if value is not None and not low <= value <= high:
            raise LogError(f"{option} = {value:g}; expected {words}")

    within("--cells-in-series", said.cells, 1, MOST_CELLS, f"1 to {MOST_CELLS}")
    within("--rated-Ah", said.rated_Ah, 0.01, MOST_AH, "0.01 to 1,000,000")
    within("--start-percent", said.start_percent, 1.0, 100.0, "1 to 100")
    within("--typed-voltage", said.typed_V, 0.1, MOST_V, "0.1 to 1000 V")
    within("--at-A", said.at_A, -MOST_A, MOST_A, "a current of up to 100,000 A")


def gauge_answer(found: Sequence[Found]) -> Answer:
    """Return how a check along courses is told and written."""
    pairs = [
        (judge(course, table), None if line is None else judge(course, line))
        for course, table, line in found
    ]
    story = tell_gauge(pairs, ())
    numbered = [("" if len(pairs) == 1 else f"-{place}") for place in range(1, len(pairs) + 1)]
    texts = {
        f"gauge{ending}.csv": course_csv(*pair)
        for ending, pair in zip(numbered, pairs, strict=True)
    }
    return Answer(story, story, gauge_summary(pairs, ()), _figures(pairs, numbered), texts)


def _figures(pairs: Pairs, endings: Sequence[str]) -> "Callable[[], dict[str, Figure]]":
    def draw() -> "dict[str, Figure]":
        from bankSim.show.gauge_figure import gauge_figure

        named = zip(endings, pairs, strict=True)
        return {f"gauge{ending}": gauge_figure(*pair) for ending, pair in named}

    return draw


def typed_answer(said: Said) -> Answer:
    """Return what one voltage on a meter says."""
    chemistry, remarks = said.chemistry, []
    if said.table is None and chemistry is None:
        chemistry = "LFP"
        remarks.append("The chemistry was not given and taken as LFP (--chemistry).")
    cells = said.cells
    if said.table is None and cells is None:
        cells = 6 if is_lead(chemistry) else 4
        remarks.append(f"{cells} cells in series, as in a 12 V battery (--cells-in-series).")
    table, line = _tables(said, chemistry, cells)
    rated = said.rated_Ah
    if rated is None and cells is not None and chemistry is not None:
        rated = 100.0
        remarks.append("The resistance is that of a typical 100 Ah battery (--rated-Ah).")
    ohm = typical_resistance(chemistry, cells, rated) if cells and rated else None
    typed = judge_typed(said.typed_V or 0.0, said.at_A, table, line, ohm, rated)
    story = tell_typed(typed, remarks)
    return Answer(story, story, typed_summary(typed, remarks))


def of_log(log: Log, name: str, said: Said) -> Found:
    """Return a log as a course, and the tables to hold against it."""
    chemistry, cells = said.chemistry, said.cells
    guessed: tuple[str, ...] = ()
    if said.table is None and (chemistry is None or cells is None):
        label = label_of([log], name, chemistry, cells, said.rated_Ah or 1.0)
        chemistry, cells, guessed = label.chemistry, label.cells_in_series, label.guessed
    table, line = _tables(said, chemistry, cells)
    first = course_of_log(log, said.rated_Ah, said.start_percent, None)
    first = replace(first, chemistry=chemistry, basis=(*guessed, *first.basis))
    if chemistry is None or cells is None:
        return first, table, line
    ohm = typical_resistance(chemistry, cells, first.capacity_Ah)
    return replace(first, ohm=ohm), table, line


def of_run(result: Result, said: Said) -> list[Found]:
    """Return the batteries of a run as courses, each with its tables."""
    batteries = result.scenario.bank.batteries
    names = [one.name for one in batteries]
    if said.battery is not None and said.battery not in names:
        known = ", ".join(repr(name) for name in names)
        raise LogError(f"--battery = {said.battery!r}; expected one of: {known}")
    found: list[Found] = []
    for number, battery in enumerate(batteries):
        if said.battery in (None, battery.name):
            chemistry = said.chemistry or battery.chemistry
            table, line = _tables(said, chemistry, said.cells or len(battery.cells))
            found.append((course_of_run(result, number), table, line))
    return found


def _tables(
    said: Said, chemistry: str | None, cells: int | None
) -> tuple[VoltageTable, VoltageTable | None]:
    """Return the table and, where the chemistry is known, a straight-line gauge beside it."""
    own = said.table
    if own is None and (chemistry is None or cells is None):
        raise LogError(
            "no voltage table; expected --table TABLE.csv, or --chemistry and --cells-in-series"
        )
    known = cells is not None and (own is None or chemistry in TABLES)
    if not known or cells is None:
        assert own is not None
        return own, None
    return own or typical_table(chemistry, cells), line_table(chemistry, cells)
