"""``banksim compare``: a prediction against the measured bank test."""

from collections.abc import Sequence
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
from bankSim.cli.shared_options import (
    JsonFile,
    NoPlots,
    OutFolder,
    ScenarioFile,
    Seed,
)

if TYPE_CHECKING:
    from bankSim.measured.compare_found import Settings
    from bankSim.measured.log import Asked

OF_CURRENT = ".current"
MOST_DRAWS = 2000

Column = Annotated[
    list[str] | None,
    typer.Option(
        "--column",
        metavar="NAME.current=HEADER",
        help="Column with the current of a battery; may be given several times. Default: "
        "columns whose header has the battery's name and a word for current.",
        show_default=False,
    ),
]
OwnLog = Annotated[
    list[str] | None,
    typer.Option(
        "--log",
        metavar="NAME=FILE",
        help="A log of one battery's own; may be given several times.",
        show_default=False,
    ),
]
Load = Annotated[
    str,
    typer.Option(
        "--load",
        help="scenario: its own loads; measured: the bank is driven by the measured "
        "current, which keeps errors of the load apart from those of batteries "
        "(recommended where the load is not known exactly).",
    ),
]
ShiftS = Annotated[
    float | None,
    typer.Option(
        "--shift-s",
        help="Seconds of the log's clock at which the scenario starts; default: so that "
        "the first lasting currents of both agree.",
        show_default=False,
    ),
]
StoppedEarly = Annotated[
    bool,
    typer.Option("--stopped-early", help="Recording stopped while the bank went on."),
]
CurrentError = Annotated[
    float,
    typer.Option(
        "--current-error",
        metavar="PERCENT",
        help="Of the current meter, standard deviation, of the reading.",
    ),
]
VoltageError = Annotated[
    float,
    typer.Option("--voltage-error", metavar="PERCENT", help="Likewise, of the voltage."),
]
Draws = Annotated[int, typer.Option(min=20, max=MOST_DRAWS, help="Random cases for the band.")]


def register(app: typer.Typer) -> None:
    """Add the command to the program."""

    @app.command("compare")
    def _compare(
        scenario: ScenarioFile,
        log: LogFile,
        time: TimeColumn = None,
        voltage: VoltageColumn = None,
        current: CurrentColumn = None,
        temperature: TemperatureColumn = None,
        cells: CellColumns = None,
        sign: SignOption = "auto",
        column: Column = None,
        own_log: OwnLog = None,
        load: Load = "scenario",
        shift_s: ShiftS = None,
        stopped_early: StoppedEarly = False,
        current_error: CurrentError = 0.5,
        voltage_error: VoltageError = 0.1,
        draws: Draws = 100,
        seed: Seed = 1,
        out: OutFolder = None,
        json: JsonFile = None,
        no_plots: NoPlots = False,
    ) -> None:
        """Prediction against a measured bank test: residuals, and what would explain them."""

        def work() -> int:
            asked = asked_of(time, voltage, current, temperature, cells, sign, keep_others=True)
            meter = (current_error, voltage_error)
            settings = _settings(load, shift_s, stopped_early, sign, meter, (draws, seed))
            words = (tuple(column or ()), tuple(own_log or ()))
            return compare_log(scenario, log, asked, words, settings, (out, json, no_plots))

        raise typer.Exit(guarded(work))


def _settings(
    load: str,
    shift_s: float | None,
    stopped_early: bool,
    sign: str,
    meter: tuple[float, float],
    tries: tuple[int, int],
) -> "Settings":
    """Return the settings after a look at each; errors of the meter are percents."""
    from bankSim.measured.compare_found import Settings
    from bankSim.measured.compare_frame import Meter

    _check_choices(load, shift_s, *meter)
    return Settings(
        load=load,
        shift_s=shift_s,
        stopped_early=stopped_early,
        sign_is_guessed=sign == "auto",
        meter=Meter(*meter),
        draws=tries[0],
        seed=tries[1],
    )


def compare_log(
    scenario_file: Path,
    log_file: Path,
    asked: "Asked",
    words: tuple[Sequence[str], Sequence[str]],
    settings: "Settings",
    where: tuple[str | None, str | None, bool],
) -> int:
    """Compare, print, and write what was asked for.

    Parameters
    ----------
    scenario_file, log_file : Path
    asked : Asked
        What was said about the columns of the log.
    words : (columns, logs)
        As on the command line.
    settings : Settings
    where : (out, json, no_plots)
        As on the command line.

    Returns
    -------
    code : int
        0; everything that is wrong raises.
    """
    from bankSim.cli.hand_over import hand_over, target_of
    from bankSim.cli.inputs import inputs_of
    from bankSim.cli.waiting import stages_bar, tell_compiling
    from bankSim.measured.log import Asked

    columns, files = columns_of(words[0]), logs_of(words[1])
    inputs = [log_file, *inputs_of(scenario_file), *files.values()]
    target = target_of("compare", *where, inputs, ("course.csv",))
    from bankSim.measured.read import read_log
    from bankSim.scenario.read import read_scenario

    scenario = read_scenario(scenario_file)
    log = read_log(log_file, asked)
    own = {name: read_log(file, Asked(sign=asked.sign)) for name, file in files.items()}
    tell_compiling()
    from bankSim.measured.compare import compare
    from bankSim.show.compare_answer import compare_answer
    from bankSim.study.blocks import threads

    with threads() as workers, stages_bar() as progress:
        found = compare(
            scenario, log, workers, settings, columns=columns, logs=own, progress=progress
        )
    return hand_over(compare_answer(found), target)


def columns_of(words: Sequence[str]) -> dict[str, str]:
    """Return the headers of currents by battery, from NAME.current=HEADER."""
    from bankSim.measured.log import LogError

    found: dict[str, str] = {}
    for word in words:
        name, _, header = word.partition("=")
        battery = name.strip().removesuffix(OF_CURRENT)
        if not name.strip().endswith(OF_CURRENT) or not battery or not header.strip():
            raise LogError(f"--column = {word!r}; expected NAME.current=HEADER")
        if battery in found:
            raise LogError(f"--column = {word!r}; the current of {battery!r} was given before")
        found[battery] = header.strip()
    return found


def logs_of(words: Sequence[str]) -> dict[str, Path]:
    """Return the logs by battery, from NAME=FILE."""
    from bankSim.measured.log import LogError

    found: dict[str, Path] = {}
    for word in words:
        name, _, file = word.partition("=")
        if not name.strip() or not file.strip():
            raise LogError(f"--log = {word!r}; expected NAME=FILE")
        if name.strip() in found:
            raise LogError(f"--log = {word!r}; the log of {name.strip()!r} was given before")
        found[name.strip()] = Path(file.strip())
    return found


def _check_choices(
    load: str, shift_s: float | None, current_error: float, voltage_error: float
) -> None:
    import math

    from bankSim.measured.compare_found import LOADS
    from bankSim.measured.log import LogError

    if load not in LOADS:
        raise LogError(f"--load = {load!r}; expected one of: {', '.join(LOADS)}")
    if shift_s is not None and not math.isfinite(shift_s):
        raise LogError(f"--shift-s = {shift_s}; expected a number of seconds")
    for name, value in (("current", current_error), ("voltage", voltage_error)):
        if not 0.01 <= value <= 20.0:
            raise LogError(f"--{name}-error = {value:g}; expected 0.01 to 20 percent")
