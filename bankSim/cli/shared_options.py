"""Options that several commands share, whatever they read."""

from collections.abc import Mapping
from pathlib import Path
from typing import Annotated

import typer

ScenarioFile = Annotated[Path, typer.Argument(metavar="SCENARIO", help="Scenario file (TOML).")]
OutFolder = Annotated[
    str | None,
    typer.Option(
        "--out",
        metavar="DIR",
        help="Folder for the results; default: one in results/, here, named after what was asked.",
        show_default=False,
    ),
]
JsonFile = Annotated[
    str | None,
    typer.Option(
        "--json",
        metavar="FILE|-",
        help="Also write the summary as JSON; with - it goes to standard output and nothing else "
        "does, and files are only written when --out is given.",
        show_default=False,
    ),
]
NoPlots = Annotated[bool, typer.Option("--no-plots", help="Write no figures.")]
Seed = Annotated[int, typer.Option(min=0, max=2**63 - 1, help="Of the random numbers.")]
DrawSeed = Annotated[int, typer.Option(min=0, max=2**31 - 1, help="Of the random draws.")]
Chemistry = Annotated[
    str | None,
    typer.Option(help="LFP, NMC, AGM, gel or flooded.", show_default=False),
]
CellTemperature = Annotated[
    float | None,
    typer.Option("--temperature-C", min=-40.0, max=80.0, help="Of the cells.", show_default=False),
]
MeterError = Annotated[
    float,
    typer.Option(
        "--meter-mV",
        min=0.0,
        max=500.0,
        help="What a cell reading is usually off (one standard deviation).",
    ),
]
PlainFile = Annotated[
    Path | None,
    typer.Option("--out", help="File; default: standard output.", show_default=False),
]


def refuse_idle(given: Mapping[str, bool], why: str) -> None:
    """Refuse options that would have no effect.

    Parameters
    ----------
    given : mapping
        Options as typed, with their dashes, and whether they were given.
    why : str
        What they go with, or against; the end of the line.

    Raises
    ------
    SimulationError
        Names the first one.
    """
    from bankSim.errors import SimulationError

    for option, is_given in given.items():
        if is_given:
            raise SimulationError(f"{option}: {why}")
