"""``banksim plan``: how long a test will take, when to be there, how often to log."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from bankSim.cli.guard import guarded
from bankSim.cli.shared_options import JsonFile, NoPlots, OutFolder

if TYPE_CHECKING:
    from bankSim.scenario.record import Scenario
    from bankSim.study.bench_scenario import Wanted

File = Annotated[
    Path | None,
    typer.Argument(
        metavar="FILE",
        help="Scenario (.toml); left out with --rated-Ah.",
        show_default=False,
    ),
]
Battery = Annotated[
    str | None,
    typer.Option(metavar="NAME", help="Which one of the scenario.", show_default=False),
]
RatedAh = Annotated[
    float | None,
    typer.Option("--rated-Ah", help="Label, without FILE.", show_default=False),
]
Chemistry = Annotated[
    str | None,
    typer.Option(help="LFP, NMC, AGM, gel or flooded, without FILE.", show_default=False),
]
CellsInSeries = Annotated[int | None, typer.Option(help="Without FILE.", show_default=False)]
LoadA = Annotated[
    float | None,
    typer.Option("--load-A", help="Instead of the scenario's loads.", show_default=False),
]
LoadW = Annotated[float | None, typer.Option("--load-W", help="Likewise.", show_default=False)]
StartsAt = Annotated[
    str | None,
    typer.Option(metavar="HH:MM", help="Default: that of FILE, or 00:00.", show_default=False),
]
TemperatureC = Annotated[float | None, typer.Option("--temperature-C", show_default=False)]
PrecisionPercent = Annotated[float, typer.Option(help="Wanted of the mean of repeated tests.")]
Draws = Annotated[int, typer.Option(min=20, max=100_000, help="Random cases.")]
Seed = Annotated[int, typer.Option(min=0, max=2**63 - 1)]


def register(app: typer.Typer) -> None:
    """Add the command."""

    @app.command("plan")
    def _plan(
        file: File = None,
        battery: Battery = None,
        rated_Ah: RatedAh = None,
        chemistry: Chemistry = None,
        cells_in_series: CellsInSeries = None,
        load_A: LoadA = None,
        load_W: LoadW = None,
        starts_at: StartsAt = None,
        temperature_C: TemperatureC = None,
        precision_percent: PrecisionPercent = 1.0,
        draws: Draws = 200,
        seed: Seed = 1,
        out: OutFolder = None,
        json: JsonFile = None,
        no_plots: NoPlots = False,
    ) -> None:  # fmt: skip
        """How long a capacity test will take, when to be there, how often to log."""
        wanted = (battery, rated_Ah, chemistry, cells_in_series, load_A, load_W, starts_at,
                  temperature_C)  # fmt: skip
        tries = (draws, seed)
        where = (out, json, no_plots)
        raise typer.Exit(guarded(lambda: plan(file, wanted, precision_percent, tries, where)))


def plan(
    file: Path | None,
    words: tuple[Any, ...],
    precision_percent: float,
    tries: tuple[int, int],
    where: tuple[str | None, str | None, bool],
) -> int:
    """Try the test out and hand over; return 0.

    Parameters
    ----------
    file : Path or None
        Scenario; None plans for a label.
    words : tuple
        Fields of `Wanted`, in order.
    precision_percent : float
        Wanted of the mean of repeated tests. [%]
    tries : (draws, seed)
    where : (out, json, no_plots)
        As on the command line.
    """
    from bankSim.cli.hand_over import hand_over, target_of
    from bankSim.cli.inputs import inputs_of
    from bankSim.cli.waiting import busy, tell_compiling

    wanted = _wanted(file, words, precision_percent)
    inputs = [] if file is None else inputs_of(file)
    target = target_of("plan", *where, inputs, writes=file is not None)
    scenario = _scenario(file, wanted)
    tell_compiling()
    from bankSim.show.plan_answer import plan_answer
    from bankSim.study.bench_plan import plan_test
    from bankSim.study.blocks import threads

    draws, seed = tries
    with threads() as workers, busy("trying the test out"):
        found = plan_test(scenario, workers, draws=draws, seed=seed)
    return hand_over(plan_answer(found, precision_percent), target)


def _wanted(file: Path | None, words: tuple[Any, ...], precision_percent: float) -> "Wanted":
    from bankSim.study.bench_scenario import PlanError, Wanted, check_wanted

    if not 0.01 <= precision_percent <= 50.0:
        raise PlanError(f"--precision-percent = {precision_percent:g}; expected 0.01 to 50")
    wanted = Wanted(*words)
    check_wanted(wanted)
    if file is None and wanted.battery is not None:
        raise PlanError(f"--battery = {wanted.battery!r}; expected only with FILE")
    return wanted


def _scenario(file: Path | None, wanted: "Wanted") -> "Scenario":
    from bankSim.study.bench_scenario import of_file, of_label

    return of_label(wanted) if file is None else of_file(file, wanted)
