"""``banksim test``: capacity tests evaluated, the label's claim held against them."""

from typing import TYPE_CHECKING, Annotated

import typer

from bankSim.cli.guard import guarded
from bankSim.cli.log_options import (
    CellColumns,
    CurrentColumn,
    LogFiles,
    SignOption,
    TemperatureColumn,
    TimeColumn,
    VoltageColumn,
    asked_of,
)
from bankSim.cli.shared_options import JsonFile, NoPlots, OutFolder, refuse_idle
from bankSim.errors import SimulationError

if TYPE_CHECKING:
    from pathlib import Path

    from bankSim.measured.capacity_test import Question
    from bankSim.measured.uncertainty import Shape

USUAL_RATE_H = 20.0
LIMITS = ("rectangular", "triangular", "normal")


def register(app: typer.Typer) -> None:
    """Add the command ``test``."""
    app.command("test")(_test)


def _test(
    logs: LogFiles,
    rated_Ah: Annotated[
        float | None,
        typer.Option("--rated-Ah", help="The claim on the label.", show_default=False),
    ] = None,
    units: Annotated[
        str | None,
        typer.Option(
            metavar="WORD,WORD,...",
            help="Which battery each log is of, one word a log, as A,A,B; default: all of one.",
            show_default=False,
        ),
    ] = None,
    confidence: Annotated[float, typer.Option(help="Of all statements, in percent.")] = 95.0,
    end_V: Annotated[
        float | None,
        typer.Option(
            "--end-V",
            help="The test ends at this voltage under load; default: at the battery's cut-out.",
            show_default=False,
        ),
    ] = None,
    start_A: Annotated[
        float | None,
        typer.Option(
            "--start-A",
            help="It starts above this current; default: 5 % of the usual one.",
            show_default=False,
        ),
    ] = None,
    each: Annotated[
        bool,
        typer.Option(
            "--each",
            help="Every large discharge of a log with a charge before it is a test, not the "
            "largest.",
        ),
    ] = False,
    shunt_gain_percent: Annotated[
        float | None,
        typer.Option(
            "--shunt-gain-percent",
            help="Limits of error of the current, plus and minus; default 0.5.",
            show_default=False,
        ),
    ] = None,
    shunt_offset_A: Annotated[
        float | None,
        typer.Option("--shunt-offset-A", help="Likewise; default 0.05.", show_default=False),
    ] = None,
    voltage_percent: Annotated[
        float | None,
        typer.Option("--voltage-percent", help="Likewise; default 0.5.", show_default=False),
    ] = None,
    voltage_offset_V: Annotated[
        float | None,
        typer.Option("--voltage-offset-V", help="Likewise; default 0.02.", show_default=False),
    ] = None,
    limits: Annotated[
        str,
        typer.Option(
            help="What these are: rectangular or triangular limits, or normal (standard "
            "uncertainties)."
        ),
    ] = "rectangular",
    repeatability_percent: Annotated[
        float | None,
        typer.Option(
            "--repeatability-percent",
            help="Standard deviation from test to test, where no unit was tested twice; default "
            "0.5, lead-acid 2.",
            show_default=False,
        ),
    ] = None,
    chemistry: Annotated[
        str | None,
        typer.Option(help="LFP, NMC, sodium-ion, AGM, gel or flooded.", show_default=False),
    ] = None,
    temperature_C: Annotated[
        float | None,
        typer.Option("--temperature-C", help="Where the log has none.", show_default=False),
    ] = None,
    correct: Annotated[
        list[str] | None,
        typer.Option(
            help="Also tell the Ah corrected for temperature (to 25 degC) or rate; may come twice.",
            show_default=False,
        ),
    ] = None,
    to_rate_h: Annotated[
        float, typer.Option("--to-rate-h", help="Hours of the rate of --correct rate.")
    ] = USUAL_RATE_H,
    peukert: Annotated[
        float | None,
        typer.Option(
            help="Exponent for --correct rate; default: that of the tests themselves where they "
            "differ in rate, else usual for the chemistry.",
            show_default=False,
        ),
    ] = None,
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
    """Evaluate capacity tests: Ah and Wh to the cut-out, how sure, is the label's claim met."""

    def answer() -> int:
        from bankSim.cli.hand_over import hand_over, target_of
        from bankSim.show.bench_summary import FILES

        names = () if no_plots else FILES
        target = target_of("test", out, json, no_plots, logs, names, logs=logs)
        question = _question(
            rated_Ah, confidence, end_V, start_A, each, temperature_C,
            (shunt_gain_percent, shunt_offset_A, voltage_percent, voltage_offset_V),
            limits, repeatability_percent, chemistry, tuple(correct or ()), to_rate_h, peukert,
        )  # fmt: skip
        words = _words(units, len(logs))
        _check_once(logs)
        asked = asked_of(time, voltage, current, temperature, cells, sign)
        from bankSim.measured.read import read_log

        read = [read_log(file, asked) for file in logs]
        from bankSim.measured.capacity_test import evaluate_tests
        from bankSim.show.bench_summary import test_answer

        return hand_over(test_answer(*evaluate_tests(read, words, question)), target)

    raise typer.Exit(guarded(answer))


def _words(units: str | None, logs: int) -> list[str]:
    if units is None:
        return [""] * logs
    words = [word.strip() for word in units.split(",")]
    if len(words) != logs or not all(words):
        raise SimulationError(
            f"--units = {units!r}; expected {logs} {'word' if logs == 1 else 'words'} with commas "
            "between them, one a log"
        )
    return words


def _check_once(logs: "list[Path]") -> None:
    """A log that counts twice would be no repeat."""
    seen = set()
    for file in logs:
        if file.resolve() in seen:
            raise SimulationError(f"LOG = {str(file)!r}; expected each log once")
        seen.add(file.resolve())


def _question(
    rated_Ah: float | None,
    confidence: float,
    end_V: float | None,
    start_A: float | None,
    each: bool,
    temperature_C: float | None,
    accuracy: tuple[float | None, float | None, float | None, float | None],
    limits: str,
    repeatability_percent: float | None,
    chemistry: str | None,
    correct: tuple[str, ...],
    to_rate_h: float,
    peukert: float | None,
) -> "Question":
    from bankSim.measured.capacity_test import Question
    from bankSim.measured.claims import Repeats
    from bankSim.measured.correct import Wanted
    from bankSim.measured.count import Instrument
    from bankSim.scenario.keys_battery import CHEMISTRIES

    if chemistry is not None and chemistry not in CHEMISTRIES:
        raise SimulationError(
            f"--chemistry = {chemistry!r}; expected one of: {', '.join(CHEMISTRIES)}"
        )
    if not 50.0 <= confidence < 100.0:
        raise SimulationError(f"--confidence = {confidence!r}; expected 50 to below 100 percent")
    if "rate" not in correct:
        idle = {"--to-rate-h": to_rate_h != USUAL_RATE_H, "--peukert": peukert is not None}
        refuse_idle(idle, "goes with --correct rate only")
    return Question(
        rated_Ah, confidence / 100.0, Instrument(*accuracy, _shape(limits)), end_V, start_A,
        temperature_C, Wanted(correct, chemistry, to_rate_h, peukert),
        Repeats(repeatability_percent), each,
    )  # fmt: skip


def _shape(limits: str) -> "Shape":
    from bankSim.measured.uncertainty import Shape

    if limits not in LIMITS:
        raise SimulationError(f"--limits = {limits!r}; expected one of: {', '.join(LIMITS)}")
    return Shape(limits)
