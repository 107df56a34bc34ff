"""``banksim snapshot``: what each cell still had at cut-out, which decided, what balance wins."""

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from bankSim.cli.greedy import SnapshotCommand
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
    CellTemperature,
    DrawSeed,
    JsonFile,
    MeterError,
    NoPlots,
    OutFolder,
    refuse_idle,
)

if TYPE_CHECKING:
    from bankSim.measured.log import Asked
    from bankSim.measured.snapshot_answer import Answered, Given

Voltages = Annotated[
    list[str] | None,
    typer.Argument(
        metavar="VOLTS...",
        help="Cell voltages at, or just before, cut-out, cell 1 first: 2.31 2.52 2.47 2.38."
        " Repeats of one battery have / between them.",
        show_default=False,
    ),
]
RatedAh = Annotated[
    float | None,
    typer.Option(
        "--rated-Ah", min=0.05, max=1e5, help="Capacity of the battery.", show_default=False
    ),
]
DeliveredAh = Annotated[
    str | None,
    typer.Option(
        "--delivered-Ah",
        metavar="AH [/ AH...]",
        help="Given from full to cut-out; of repeats one each.",
        show_default=False,
    ),
]
AtA = Annotated[
    float | None,
    typer.Option("--at-A", min=0.001, max=1e5, help="Current at cut-out.", show_default=False),
]
BatteryV = Annotated[
    str | None,
    typer.Option(
        "--battery-V",
        metavar="V [/ V...]",
        help="Voltage of the whole battery at that moment, as a check.",
        show_default=False,
    ),
]
Chemistry = Annotated[str, typer.Option("--chemistry", help="LFP, NMC, AGM, gel or flooded.")]
LimitV = Annotated[
    float | None,
    typer.Option(
        "--limit-V",
        min=0.5,
        max=4.0,
        help="Voltage at which the electronics stop a cell, if known.",
        show_default=False,
    ),
]
AfterRestMin = Annotated[
    float | None,
    typer.Option(
        "--after-rest-min",
        min=0.0,
        max=1e5,
        help="The cells were read so long after the current had stopped.",
        show_default=False,
    ),
]
Full = Annotated[
    str | None,
    typer.Option(
        "--full",
        metavar="VOLTS...",
        help="Cell voltages at the end of a full charge, same order: a hint "
        "whether the deciding cell holds less charge or is smaller.",
        show_default=False,
    ),
]
Log = Annotated[
    list[Path] | None,
    typer.Option(
        "--log",
        metavar="LOG",
        help="Instead of typed voltages: a log with cell voltages over the end of "
        "a discharge; again for repeats.",
        show_default=False,
    ),
]


def register(app: typer.Typer) -> None:
    """Add the command."""

    @app.command("snapshot", cls=SnapshotCommand)
    def _snapshot(
        voltages: Voltages = None,
        rated_Ah: RatedAh = None,
        delivered_Ah: DeliveredAh = None,
        at_A: AtA = None,
        battery_V: BatteryV = None,
        chemistry: Chemistry = "LFP",
        limit_V: LimitV = None,
        temperature_C: CellTemperature = None,
        meter_mV: MeterError = 10.0,
        after_rest_min: AfterRestMin = None,
        full: Full = None,
        log: Log = None,
        seed: DrawSeed = 1,
        time: TimeColumn = None,
        voltage: VoltageColumn = None,
        current: CurrentColumn = None,
        temperature: TemperatureColumn = None,
        cells: CellColumns = None,
        sign: SignOption = "auto",
        out: OutFolder = None,
        json: JsonFile = None,
        no_plots: NoPlots = False,
    ) -> None:  # fmt: skip
        """What each cell still had at cut-out, which decided, and what a balance would win."""

        def work() -> int:
            from bankSim.measured.typed_snapshot import TypedSnapshot, given_of

            typed = TypedSnapshot(chemistry, rated_Ah, at_A, limit_V, temperature_C, after_rest_min,
                                  meter_mV, delivered_Ah, battery_V, full, seed)  # fmt: skip
            given = given_of(typed)
            asked = asked_of(time, voltage, current, temperature, cells, sign)
            return snapshot(voltages or [], log or [], asked, given, (out, json, no_plots))

        raise typer.Exit(guarded(work))


def snapshot(
    words: Sequence[str],
    logs: Sequence[Path],
    asked: "Asked",
    given: "Given",
    target: tuple[str | None, str | None, bool],
) -> int:
    """Answer and hand over; return 0.

    Parameters
    ----------
    words : sequence of str
        Typed voltages.
    logs : sequence of Path
        Instead of those.
    asked : Asked
        About the columns of the logs.
    given : Given
    target : (str or None, str or None, bool)
        ``--out``, ``--json``, ``--no-plots``.
    """
    from bankSim.cli.hand_over import hand_over, target_of
    from bankSim.show.snapshot_story import FIGURE, snapshot_answer

    out, json, no_plots = target
    names = () if no_plots else (f"{FIGURE}.png",)
    place = target_of("snapshot", out, json, no_plots, list(logs), names, logs=logs)
    return hand_over(snapshot_answer(_answered(words, logs, asked, given)), place)


def _answered(
    words: Sequence[str], logs: Sequence[Path], asked: "Asked", given: "Given"
) -> "Answered":
    from bankSim.measured.log import LogError
    from bankSim.measured.snapshot_answer import answer_logs, answer_typed

    if bool(words) == bool(logs):
        raise LogError("expected cell voltages like 2.31 2.52 2.47 2.38, or --log LOG, one of "
                       "both; voltages stand before options that take several numbers")  # fmt: skip
    if logs:
        from bankSim.measured.read import read_log

        return answer_logs([read_log(file, asked) for file in logs], given)
    refuse_idle(about_columns(asked), "goes with --log only")
    from bankSim.measured.typed_voltages import typed_groups

    groups, told = typed_groups(words)
    return answer_typed(groups, given, told)
