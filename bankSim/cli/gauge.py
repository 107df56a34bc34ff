"""``banksim gauge``: what a gauge that knows only the voltage would show."""

from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from bankSim.cli.guard import guarded
from bankSim.cli.log_options import (
    CellColumns,
    CurrentColumn,
    JsonFile,
    NoPlots,
    OutFolder,
    SignOption,
    TemperatureColumn,
    TimeColumn,
    VoltageColumn,
    asked_of,
)

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from matplotlib.figure import Figure

    from bankSim.cli.hand_over import Target
    from bankSim.measured.gauge import Course, Judged
    from bankSim.measured.log import Asked
    from bankSim.measured.voltage_table import VoltageTable
    from bankSim.show.answer import Answer

    Found = tuple[Course, VoltageTable, VoltageTable | None]

MOST_CELLS, MOST_V, MOST_A, MOST_AH = 200, 1000.0, 100_000.0, 1_000_000.0


@dataclass(frozen=True)
class Said:
    """What the command line says beside the file.

    Parameters
    ----------
    battery, chemistry : str or None
    table : Path or None
    cells : int or None
    rated_Ah : float or None
    start_percent : float
    typed_V : float or None
    at_A : float
        Discharge positive.
    """

    battery: str | None
    table: Path | None
    chemistry: str | None
    cells: int | None
    rated_Ah: float | None
    start_percent: float
    typed_V: float | None
    at_A: float


def register(app: typer.Typer) -> None:
    """Add the command."""

    @app.command("gauge")
    def _gauge(
        file: Annotated[
            Path | None,
            typer.Argument(
                metavar="FILE",
                help="Scenario (.toml), which is predicted, or a measured log; left out with "
                "--typed-voltage.",
                show_default=False,
            ),
        ] = None,
        battery: Annotated[
            str | None,
            typer.Option(metavar="NAME", help="Of a scenario; default: all.", show_default=False),
        ] = None,
        table: Annotated[
            Path | None,
            typer.Option(
                metavar="TABLE.csv",
                help="Your table for the whole battery, with the columns "
                "voltage_V,state_of_charge_percent; default: a typical one of the chemistry.",
                show_default=False,
            ),
        ] = None,
        chemistry: Annotated[
            str | None,
            typer.Option(help="LFP, NMC, AGM, gel or flooded.", show_default=False),
        ] = None,
        cells_in_series: Annotated[
            int | None,
            typer.Option("--cells-in-series", help="Of the whole battery.", show_default=False),
        ] = None,
        rated_Ah: Annotated[
            float | None,
            typer.Option(
                "--rated-Ah",
                help="What counts as 100 % in a log; default: all the log gives.",
                show_default=False,
            ),
        ] = None,
        start_percent: Annotated[
            float, typer.Option("--start-percent", help="What a log's battery held at its start.")
        ] = 100.0,
        typed_voltage: Annotated[
            float | None,
            typer.Option(
                "--typed-voltage",
                metavar="V",
                help="One voltage read off a meter, without FILE.",
                show_default=False,
            ),
        ] = None,
        at_A: Annotated[
            float, typer.Option("--at-A", help="Current with it; discharge positive.")
        ] = 0.0,
        time: TimeColumn = None,
        voltage: VoltageColumn = None,
        current: CurrentColumn = None,
        temperature: TemperatureColumn = None,
        cells: CellColumns = None,
        sign: SignOption = "auto",
        out: OutFolder = None,
        json: JsonFile = None,
        no_plots: NoPlots = False,
    ) -> None:
        """What a gauge that knows only the voltage would show, against counted Ah."""
        said = Said(
            battery, table, chemistry, cells_in_series, rated_Ah, start_percent, typed_voltage, at_A
        )

        def work() -> int:
            from bankSim.cli.hand_over import hand_over

            asked = asked_of(time, voltage, current, temperature, cells, sign)
            answer, target = _answer(file, said, asked, (out, json, no_plots))
            return hand_over(answer, target)

        raise typer.Exit(guarded(work))


def _answer(
    file: Path | None, said: Said, asked: "Asked", goes: tuple[str | None, str | None, bool]
) -> "tuple[Answer, Target]":
    """Check the words, look where the answer may go, and make it."""
    from bankSim.cli.hand_over import target_of
    from bankSim.cli.inputs import inputs_of
    from bankSim.measured.log import LogError

    check(said)
    if (file is None) == (said.typed_V is None):
        raise LogError("gauge: expected either FILE or --typed-voltage")
    tables = [] if said.table is None else [said.table]
    if file is None:
        target = target_of("gauge", *goes, tables, writes=False)
        return _typed(said), target
    is_run = file.suffix.lower() == ".toml"
    target = target_of("gauge", *goes, [*(inputs_of(file) if is_run else [file]), *tables])
    return _along(file, said, asked, is_run), target


def check(said: Said) -> None:
    """Refuse numbers that no battery has; one line each."""
    from bankSim.measured.log import LogError

    def within(option: str, value: float | None, low: float, high: float, words: str) -> None:
        if value is not None and not low <= value <= high:
            raise LogError(f"{option} = {value:g}; expected {words}")

    within("--cells-in-series", said.cells, 1, MOST_CELLS, f"1 to {MOST_CELLS}")
    within("--rated-Ah", said.rated_Ah, 0.01, MOST_AH, "0.01 to 1,000,000")
    within("--start-percent", said.start_percent, 1.0, 100.0, "1 to 100")
    within("--typed-voltage", said.typed_V, 0.1, MOST_V, "0.1 to 1000 V")
    within("--at-A", said.at_A, -MOST_A, MOST_A, "a current of up to 100,000 A")


def _tables(
    said: Said, chemistry: str | None, cells: int | None
) -> "tuple[VoltageTable, VoltageTable | None]":
    """Return the table and, where the chemistry is known, a straight-line gauge beside it."""
    from bankSim.measured.log import LogError
    from bankSim.measured.typical_tables import TABLES, line_table, typical_table
    from bankSim.measured.voltage_table import read_table

    own = None if said.table is None else read_table(said.table)
    if own is None and (chemistry is None or cells is None):
        raise LogError(
            "no voltage table; expected --table TABLE.csv, or --chemistry and --cells-in-series"
        )
    known = cells is not None and (own is None or chemistry in TABLES)
    if not known or cells is None:
        assert own is not None
        return own, None
    return own or typical_table(chemistry, cells), line_table(chemistry, cells)


def _typed(said: Said) -> "Answer":
    from bankSim.measured.gauge_typed import judge_typed
    from bankSim.measured.typical_tables import typical_resistance
    from bankSim.show.answer import Answer
    from bankSim.show.gauge_files import typed_summary
    from bankSim.show.gauge_story import tell_typed

    chemistry, remarks = said.chemistry, []
    if said.table is None and chemistry is None:
        chemistry = "LFP"
        remarks.append("The chemistry was not given and taken as LFP (--chemistry).")
    cells = said.cells
    if said.table is None and cells is None:
        cells = _likely_cells(chemistry)
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


def _likely_cells(chemistry: str | None) -> int:
    from bankSim.model.chemistry import is_lead

    return 6 if is_lead(chemistry) else 4


def _along(file: Path, said: Said, asked: "Asked", is_run: bool) -> "Answer":
    """Check along a run or a log."""
    from bankSim.measured.gauge import judge
    from bankSim.show.answer import Answer
    from bankSim.show.gauge_files import course_csv, gauge_summary
    from bankSim.show.gauge_story import tell_gauge

    found = _of_run(file, said) if is_run else [_of_log(file, said, asked)]
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


def _figures(
    pairs: "Sequence[tuple[Judged, Judged | None]]", endings: "Sequence[str]"
) -> "Callable[[], dict[str, Figure]]":
    def draw() -> "dict[str, Figure]":
        from bankSim.show.gauge_figure import gauge_figure

        named = zip(endings, pairs, strict=True)
        return {f"gauge{ending}": gauge_figure(*pair) for ending, pair in named}

    return draw


def _of_log(file: Path, said: Said, asked: "Asked") -> "Found":
    from bankSim.measured.gauge_courses import course_of_log
    from bankSim.measured.label import label_of
    from bankSim.measured.log import LogError
    from bankSim.measured.read import read_log
    from bankSim.measured.typical_tables import typical_resistance

    if said.battery is not None:
        raise LogError(f"--battery = {said.battery!r}; expected only with a scenario (.toml)")
    log = read_log(file, asked)
    chemistry, cells = said.chemistry, said.cells
    guessed: tuple[str, ...] = ()
    if said.table is None and (chemistry is None or cells is None):
        label = label_of([log], file.stem, chemistry, cells, said.rated_Ah or 1.0)
        chemistry, cells, guessed = label.chemistry, label.cells_in_series, label.guessed
    table, line = _tables(said, chemistry, cells)
    first = course_of_log(log, said.rated_Ah, said.start_percent, None)
    first = replace(first, chemistry=chemistry, basis=(*guessed, *first.basis))
    if chemistry is None or cells is None:
        return first, table, line
    ohm = typical_resistance(chemistry, cells, first.capacity_Ah)
    return replace(first, ohm=ohm), table, line


def _of_run(file: Path, said: Said) -> "list[Found]":
    from bankSim.cli.run import predict
    from bankSim.measured.gauge_courses import course_of_run
    from bankSim.measured.log import LogError

    result = predict(file)
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
