"""``banksim deeper``: larger cells, or the same cells taken deeper?"""

from typing import TYPE_CHECKING, Annotated

import typer

from bankSim.cli.greedy import DeeperCommand
from bankSim.cli.guard import guarded
from bankSim.cli.shared_options import (
    CellTemperature,
    DrawSeed,
    JsonFile,
    MeterError,
    NoPlots,
    OutFolder,
)

if TYPE_CHECKING:
    from bankSim.measured.typed_sides import TypedSides


def _sides(words: str) -> str:
    return f"{words}; two batteries with / between them."


GivenAh = Annotated[
    str,
    typer.Option("--Ah", metavar="AH / AH", help=_sides("Given from full to cut-out")),
]
Cells = Annotated[
    str | None,
    typer.Option(
        "--cells",
        metavar="VOLTS... / VOLTS...",
        show_default=False,
        help=_sides("Cell voltages at cut-out, - where not known"),
    ),
]
Kg = Annotated[
    str | None,
    typer.Option(
        "--kg", metavar="KG / KG", show_default=False, help=_sides("Weight of the whole battery")
    ),
]
GivenWh = Annotated[
    str | None,
    typer.Option(
        "--Wh", metavar="WH / WH", show_default=False, help=_sides("Energy given, if measured")
    ),
]
AtA = Annotated[
    str | None,
    typer.Option(
        "--at-A",
        metavar="A / A",
        show_default=False,
        help="Current at cut-out; one for both, or two.",
    ),
]
Chemistry = Annotated[
    str | None,
    typer.Option(
        "--chemistry",
        metavar="WORD [/ WORD]",
        show_default=False,
        help="LFP, NMC, AGM, gel or flooded; default LFP.",
    ),
]
Names = Annotated[
    str | None,
    typer.Option("--names", metavar="NAME / NAME", show_default=False, help="Default: one / two."),
]


def register(app: typer.Typer) -> None:
    """Add the command."""

    @app.command("deeper", cls=DeeperCommand)
    def _deeper(
        given_Ah: GivenAh,
        cells: Cells = None,
        kg: Kg = None,
        given_Wh: GivenWh = None,
        at_A: AtA = None,
        chemistry: Chemistry = None,
        names: Names = None,
        temperature_C: CellTemperature = None,
        meter_mV: MeterError = 10.0,
        seed: DrawSeed = 1,
        out: OutFolder = None,
        json: JsonFile = None,
        no_plots: NoPlots = False,
    ) -> None:  # fmt: skip
        """Two batteries at cut-out: larger cells, or the same cells taken deeper?

        banksim deeper --Ah 148 / 160 --cells 2.50 2.60 2.55 2.52 / 2.21 2.35 2.30 2.40 --kg 16 / 16
        """

        def work() -> int:
            from bankSim.measured.typed_sides import TypedSides

            typed = TypedSides(cells, given_Ah, kg, given_Wh, at_A, names, chemistry,
                               meter_mV / 1000.0, temperature_C)  # fmt: skip
            return deeper(typed, seed, (out, json, no_plots))

        raise typer.Exit(guarded(work))


def deeper(typed: "TypedSides", seed: int, target: tuple[str | None, str | None, bool]) -> int:
    """Answer and hand over; return 0.

    Parameters
    ----------
    typed : TypedSides
    seed : int
    target : (str or None, str or None, bool)
        ``--out``, ``--json``, ``--no-plots``.
    """
    from bankSim.cli.hand_over import hand_over, target_of
    from bankSim.measured.deeper import compare_depth
    from bankSim.measured.typed_sides import sides_of
    from bankSim.show.deeper_story import deeper_answer

    out, json, no_plots = target
    (one, two), told = sides_of(typed)
    place = target_of("deeper", out, json, no_plots, [])
    return hand_over(deeper_answer(compare_depth(one, two, seed=seed, told=told)), place)
