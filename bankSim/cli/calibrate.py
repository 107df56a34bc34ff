"""``banksim calibrate``: measured logs of a battery alone -> a battery for scenarios."""

import sys
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from bankSim.cli import log_options as asked
from bankSim.cli.guard import guarded
from bankSim.cli.shared_options import Chemistry, JsonFile, NoPlots, OutFolder

if TYPE_CHECKING:
    from bankSim.measured.calibrate import Calibration, Told
    from bankSim.measured.label import Label
    from bankSim.measured.log import Asked, Log

OWN_FILE = "battery.toml"  # where --battery is only read


@dataclass(frozen=True)
class Words:
    """What was said on the command line besides the logs and their columns."""

    battery: Path
    name: str | None
    chemistry: str | None
    cells_in_series: int | None
    rated_Ah: float | None
    mass_kg: float | None
    start_percent: str | None
    temperature_C: float | None
    shunt_gain_percent: float
    hold_out_percent: float
    overwrite: bool = False


Battery = Annotated[
    Path,
    typer.Option(
        "--battery",
        metavar="FILE",
        help="Battery file to write: a scenario (TOML) that runs as it is. One of an earlier "
        "calibration is replaced if nobody has edited it. If another scenario stands there, its "
        "battery's label is read instead, and the outcome goes into --out.",
    ),
]
Name = Annotated[str | None, typer.Option(help="Of the battery.", show_default=False)]
CellsInSeries = Annotated[int | None, typer.Option("--cells-in-series", show_default=False)]
RatedAh = Annotated[
    float | None, typer.Option("--rated-Ah", help="On its label.", show_default=False)
]
MassKg = Annotated[float | None, typer.Option("--mass-kg", show_default=False)]
StartPercent = Annotated[
    str | None,
    typer.Option(
        "--start-percent",
        metavar="P,P,...",
        help="State of charge at the start of each log, one for each or one for all; ? "
        "where it is not known. Default: 100.",
        show_default=False,
    ),
]
TemperatureC = Annotated[
    float | None,
    typer.Option(
        "--temperature-C",
        help="Of the air, where a log has no temperature; default 25.",
        show_default=False,
    ),
]
ShuntGainPercent = Annotated[
    float, typer.Option("--shunt-gain-percent", help="Largest error of the amperes.")
]
HoldOutPercent = Annotated[
    float,
    typer.Option(
        "--hold-out-percent",
        help="Keep this part of the time out of the fit, in stretches, and predict it; 0 to 50.",
    ),
]


Overwrite = Annotated[
    bool,
    typer.Option(
        "--overwrite", help="Replace the battery file and its curves even if they were edited."
    ),
]


def register(app: typer.Typer) -> None:
    """Add the command."""

    @app.command("calibrate")
    def _calibrate(
        logs: asked.LogFiles,
        battery: Battery = Path("battery.toml"),
        name: Name = None,
        chemistry: Chemistry = None,
        cells_in_series: CellsInSeries = None,
        rated_Ah: RatedAh = None,
        mass_kg: MassKg = None,
        start_percent: StartPercent = None,
        temperature_C: TemperatureC = None,
        shunt_gain_percent: ShuntGainPercent = 0.5,
        hold_out_percent: HoldOutPercent = 0.0,
        overwrite: Overwrite = False,
        time: asked.TimeColumn = None,
        voltage: asked.VoltageColumn = None,
        current: asked.CurrentColumn = None,
        temperature: asked.TemperatureColumn = None,
        cells: asked.CellColumns = None,
        sign: asked.SignOption = "auto",
        out: OutFolder = None,
        json: JsonFile = None,
        no_plots: NoPlots = False,
    ) -> None:
        """Turn logs of a battery alone into a battery for scenarios, and say how sure it is."""
        words = Words(
            battery, name, chemistry, cells_in_series, rated_Ah, mass_kg, start_percent,
            temperature_C, shunt_gain_percent, hold_out_percent, overwrite,
        )  # fmt: skip

        def call() -> int:
            columns = asked.asked_of(time, voltage, current, temperature, cells, sign)
            return calibrate_logs(logs, words, columns, out, json, no_plots)

        raise typer.Exit(guarded(call))


def calibrate_logs(
    files: Sequence[Path],
    words: Words,
    columns: "Asked",
    out: str | None,
    json: str | None,
    no_plots: bool,
) -> int:
    """Read the logs, fit, tell, and write the battery; return 0."""
    from bankSim.cli.hand_over import files_of, hand_over, target_of
    from bankSim.cli.waiting import stages_bar, tell_compiling
    from bankSim.measured.calibrate import calibrate
    from bankSim.measured.read import read_log
    from bankSim.show.calibrate_answer import calibration_answer
    from bankSim.show.targets import STANDARD_OUTPUT, check_apart

    reads, label_words = _label_words(words)
    names = ("battery.png", "residuals.png", *((OWN_FILE,) if reads else ()))
    inputs = [*files, *([words.battery] if reads else [])]
    target = target_of("calibrate", out, json, no_plots, inputs, names, logs=files)
    if not reads:
        _check_place(words, files)
        check_apart("--battery", words.battery, files_of(target))
    told = _told(words, len(files))
    logs = [read_log(file, columns) for file in files]
    label = _label(logs, files, label_words)
    tell_compiling()
    with stages_bar() as bar:
        found = calibrate(logs, label, told, lambda done, most: bar("fitting", done, most))
    if reads:
        return hand_over(calibration_answer(found, logs, _texts(found)), target)
    told_files = _write(found, words, files)  # first: a reader who leaves early costs none
    hand_over(calibration_answer(found, logs), target)
    print(told_files, file=sys.stderr if json == STANDARD_OUTPUT else None)
    return 0


def _check_place(words: Words, files: Sequence[Path]) -> None:
    """Refuse a place that cannot be written to, or where somebody's edits would be lost."""
    from bankSim.measured.own_file import check_unedited
    from bankSim.show.targets import check_file

    check_file(words.battery, files)
    if not words.overwrite:
        check_unedited(words.battery)


def _texts(found: "Calibration") -> dict[str, str]:
    """Return the battery and its curves as files of the results' folder."""
    from bankSim.measured.battery_file import battery_files

    made = battery_files(found, Path(OWN_FILE).stem)
    return {OWN_FILE: made.text, **made.tables}


def _label_words(words: Words) -> tuple[bool, dict[str, Any]]:
    """Return whether a label is read from the battery file, and what is known of the battery."""
    from bankSim.measured.battery_file import MARK

    given = {
        "name": words.name,
        "chemistry": words.chemistry,
        "cells_in_series": words.cells_in_series,
        "rated_Ah": words.rated_Ah,
    }
    if not words.battery.is_file() or _begins_with(words.battery, MARK):
        return False, given
    return True, {**_label_in(words.battery), **{k: v for k, v in given.items() if v is not None}}


def _begins_with(file: Path, mark: str) -> bool:
    with file.open("rb") as stream:
        return stream.read(len(mark)) == mark.encode()


def _label_in(file: Path) -> dict[str, Any]:
    """Return the label of the only battery of a scenario."""
    from bankSim.measured.log import LogError
    from bankSim.scenario.read import read_scenario

    scenario = read_scenario(file)
    batteries = scenario.keys.battery if scenario.keys else []
    if len(batteries) != 1:
        raise LogError(f"{file}: {len(batteries)} batteries; expected one, whose label is read")
    keys, battery = batteries[0], scenario.bank.batteries[0]
    return {
        "name": battery.name,
        "chemistry": keys.chemistry,
        "cells_in_series": len(battery.cells),
        "rated_Ah": battery.rated_C / 3600.0,
    }


def _told(words: Words, count: int) -> "Told":
    from bankSim.measured.calibrate import Told
    from bankSim.measured.log import LogError
    from bankSim.measured.typed_starts import typed_starts

    limits: list[tuple[str, float | None, float, float]] = [
        ("--temperature-C", words.temperature_C, -40.0, 70.0),
        ("--shunt-gain-percent", words.shunt_gain_percent, 0.0, 20.0),
        ("--hold-out-percent", words.hold_out_percent, 0.0, 50.0),
        ("--mass-kg", words.mass_kg, 0.001, 1000.0),
    ]
    for option, value, low, high in limits:
        if value is not None and not low <= value <= high:
            raise LogError(f"{option} = {value:g}; expected {low:g} to {high:g}")
    starts = typed_starts(words.start_percent, count)
    return Told(
        starts, words.temperature_C, words.shunt_gain_percent, words.hold_out_percent / 100.0,
        words.mass_kg,
    )  # fmt: skip


def _label(logs: Sequence["Log"], files: Sequence[Path], words: dict[str, Any]) -> "Label":
    from bankSim.measured.label import label_of

    return label_of(logs, **{**words, "name": words["name"] or files[0].stem})


def _write(found: "Calibration", words: Words, files: Sequence[Path]) -> str:
    """Write the curves, then the battery file that names them; say so."""
    from bankSim.measured.battery_file import battery_files
    from bankSim.measured.own_file import stamped
    from bankSim.show.targets import check_file, write_files
    from bankSim.whole import as_bytes

    place = words.battery
    made = stamped(battery_files(found, place.stem), place)
    _check_place(words, files)  # again: somebody may have edited meanwhile
    for name in made.tables:
        check_file(place.parent / name, files)
    texts = {place.parent / name: text for name, text in made.tables.items()}
    write_files({file: as_bytes(text) for file, text in {**texts, place: made.text}.items()})
    return f"Battery for scenarios: {place}, with {', '.join(made.tables)} beside it"
