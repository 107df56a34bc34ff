"""``banksim gauge``: what a gauge that knows only the voltage would show."""

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from bankSim.cli.guard import guarded
from bankSim.cli.log_options import (
    CellColumns,
    CurrentColumn,
    SignOption,
    TemperatureColumn,
    TimeColumn,
    VoltageColumn,
    about_columns,
    asked_of,
)
from bankSim.cli.shared_options import (
    Chemistry,
    JsonFile,
    NoPlots,
    OutFolder,
    refuse_idle,
)

if TYPE_CHECKING:
    from bankSim.cli.hand_over import Target
    from bankSim.measured.log import Asked
    from bankSim.show.answer import Answer
    from bankSim.show.gauge_answer import Said

File = Annotated[
    Path | None,
    typer.Argument(
        metavar="FILE",
        help="Scenario (.toml), which is predicted, or a measured log; left out with "
        "--typed-voltage.",
        show_default=False,
    ),
]
Battery = Annotated[
    str | None,
    typer.Option(metavar="NAME", help="Of a scenario; default: all.", show_default=False),
]
Table = Annotated[
    Path | None,
    typer.Option(
        metavar="TABLE.csv",
        help="Your table for the whole battery, with the columns "
        "voltage_V,state_of_charge_percent; default: a typical one of the chemistry.",
        show_default=False,
    ),
]
CellsInSeries = Annotated[
    int | None,
    typer.Option("--cells-in-series", help="Of the whole battery.", show_default=False),
]
RatedAh = Annotated[
    float | None,
    typer.Option(
        "--rated-Ah",
        help="What counts as 100 % in a log; default: all the log gives.",
        show_default=False,
    ),
]
StartPercent = Annotated[
    float, typer.Option("--start-percent", help="What a log's battery held at its start.")
]
TypedVoltage = Annotated[
    float | None,
    typer.Option(
        "--typed-voltage",
        metavar="V",
        help="One voltage read off a meter, without FILE.",
        show_default=False,
    ),
]
AtA = Annotated[float, typer.Option("--at-A", help="Current with it; discharge positive.")]


def register(app: typer.Typer) -> None:
    """Add the command."""

    @app.command("gauge")
    def _gauge(
        file: File = None,
        battery: Battery = None,
        table: Table = None,
        chemistry: Chemistry = None,
        cells_in_series: CellsInSeries = None,
        rated_Ah: RatedAh = None,
        start_percent: StartPercent = 100.0,
        typed_voltage: TypedVoltage = None,
        at_A: AtA = 0.0,
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

        def work() -> int:
            from bankSim.cli.hand_over import hand_over
            from bankSim.show.gauge_answer import Said

            said = Said(
                battery, None, chemistry, cells_in_series, rated_Ah, start_percent, typed_voltage,
                at_A,
            )  # fmt: skip
            asked = asked_of(time, voltage, current, temperature, cells, sign)
            answer, target = _answer(file, table, said, asked, (out, json, no_plots))
            return hand_over(answer, target)

        raise typer.Exit(guarded(work))


def _answer(
    file: Path | None,
    table: Path | None,
    said: "Said",
    asked: "Asked",
    goes: tuple[str | None, str | None, bool],
) -> "tuple[Answer, Target]":
    """Check the words, look where the answer may go, and make it."""
    from bankSim.cli.hand_over import target_of
    from bankSim.cli.inputs import inputs_of
    from bankSim.measured.log import LogError
    from bankSim.show.gauge_answer import check, typed_answer

    check(said)
    if (file is None) == (said.typed_V is None):
        raise LogError("gauge: expected either FILE or --typed-voltage")
    _check_idle(file, said, asked)
    tables = [] if table is None else [table]
    if file is None:
        target = target_of("gauge", *goes, tables, writes=False)
        return typed_answer(_with_table(said, table)), target
    is_run = _is_scenario(file)
    target = target_of("gauge", *goes, [*(inputs_of(file) if is_run else [file]), *tables])
    return _along(file, _with_table(said, table), asked, is_run), target


def _is_scenario(file: Path) -> bool:
    return file.suffix.lower() == ".toml"


def _check_idle(file: Path | None, said: "Said", asked: "Asked") -> None:
    """Refuse what has no effect on a scenario, a log or a typed voltage."""
    is_run = file is not None and _is_scenario(file)
    if file is not None:
        refuse_idle({"--at-A": said.at_A != 0.0}, "goes with --typed-voltage only")
    if is_run:
        refuse_idle(
            {"--rated-Ah": said.rated_Ah is not None}, "goes with a log or --typed-voltage only"
        )
    else:
        refuse_idle({"--battery": said.battery is not None}, "goes with a scenario (.toml) only")
    if file is None or is_run:
        begun = {"--start-percent": said.start_percent != 100.0}
        refuse_idle({**begun, **about_columns(asked)}, "goes with a log only")


def _with_table(said: "Said", file: Path | None) -> "Said":
    from bankSim.measured.voltage_table import read_table

    return said if file is None else replace(said, table=read_table(file))


def _along(file: Path, said: "Said", asked: "Asked", is_run: bool) -> "Answer":
    """Check along a run or a log."""
    from bankSim.show.gauge_answer import gauge_answer, of_log, of_run

    if is_run:
        from bankSim.cli.run import predict

        return gauge_answer(of_run(predict(file), said))
    from bankSim.measured.read import read_log

    return gauge_answer([of_log(read_log(file, asked), file.stem, said)])
