"""``banksim log``: how a measured log is understood, and the same in the open format."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from bankSim.cli.guard import guarded
from bankSim.cli.log_options import (
    CellColumns,
    CurrentColumn,
    LogFile,
    SignOption,
    TemperatureColumn,
    TimeColumn,
    VoltageColumn,
    asked_of,
)
from bankSim.cli.shared_options import JsonFile

if TYPE_CHECKING:
    from bankSim.measured.log import Asked

BdfFile = Annotated[
    Path | None,
    typer.Option(
        "--bdf",
        metavar="FILE",
        help="Also write time, voltage, current and temperature in the open Battery Data Format "
        "(charge positive).",
        show_default=False,
    ),
]
OutFolder = Annotated[
    str | None,
    typer.Option("--out", metavar="DIR", help="Folder for the story and the JSON; default: none.",
                 show_default=False),
]  # fmt: skip


def register(app: typer.Typer) -> None:
    """Add the command."""

    @app.command("log")
    def _log(
        log: LogFile,
        time: TimeColumn = None,
        voltage: VoltageColumn = None,
        current: CurrentColumn = None,
        temperature: TemperatureColumn = None,
        cells: CellColumns = None,
        sign: SignOption = "auto",
        bdf: BdfFile = None,
        out: OutFolder = None,
        json: JsonFile = None,
    ) -> None:
        """Tell how a measured log is understood: columns, direction of current, oddities."""

        def work() -> int:
            asked = asked_of(time, voltage, current, temperature, cells, sign)
            return show_log(log, asked, bdf, out, json)

        raise typer.Exit(guarded(work))


def show_log(
    file: Path, asked: "Asked", bdf: Path | None, out: str | None, json: str | None
) -> int:
    """Read a log, tell it, write what was asked for; return 0."""
    from bankSim.cli.hand_over import files_of, hand_over, target_of
    from bankSim.measured.bdf import write_bdf
    from bankSim.measured.read import read_log
    from bankSim.show.answer import Answer
    from bankSim.show.log_story import log_summary, tell_log, written_line
    from bankSim.show.targets import check_apart, check_file, write_text

    target = target_of("log", out, json, True, [file], writes=False)
    if bdf is not None:
        check_file(bdf, [file])
        check_apart("--bdf", bdf, files_of(target))
    log = read_log(file, asked)
    story = tell_log(log)
    if bdf is not None:  # first: a reader who leaves early (``| head``) does not cost the file
        write_text(write_bdf(log), bdf)
    code = hand_over(Answer(story, story, log_summary(log)), target)
    if bdf is not None and json != "-":
        print(written_line(log, str(bdf)))
    return code
