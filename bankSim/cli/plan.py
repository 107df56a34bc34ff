"""``banksim plan``: how long a test will take, when to be there, how often to log."""

from pathlib import Path
from typing import Annotated

import typer

from bankSim.cli.guard import guarded
from bankSim.cli.log_options import JsonFile, NoPlots, OutFolder


def register(app: typer.Typer) -> None:
    """Add the command."""

    @app.command("plan")
    def _plan(
        file: Annotated[
            Path | None,
            typer.Argument(
                metavar="FILE", help="Scenario (.toml); left out with --rated-Ah.",
                show_default=False,
            ),
        ] = None,
        battery: Annotated[
            str | None,
            typer.Option(metavar="NAME", help="Which one of the scenario.", show_default=False),
        ] = None,
        rated_Ah: Annotated[
            float | None,
            typer.Option("--rated-Ah", help="Label, without FILE.", show_default=False),
        ] = None,
        chemistry: Annotated[
            str | None,
            typer.Option(help="LFP, NMC, AGM, gel or flooded, without FILE.", show_default=False),
        ] = None,
        cells_in_series: Annotated[
            int | None, typer.Option(help="Without FILE.", show_default=False)
        ] = None,
        load_A: Annotated[
            float | None,
            typer.Option("--load-A", help="Instead of the scenario's loads.", show_default=False),
        ] = None,
        load_W: Annotated[
            float | None, typer.Option("--load-W", help="Likewise.", show_default=False)
        ] = None,
        starts_at: Annotated[
            str | None,
            typer.Option(metavar="HH:MM", help="Default: that of FILE, or 00:00.",
                         show_default=False),
        ] = None,
        temperature_C: Annotated[
            float | None, typer.Option("--temperature-C", show_default=False)
        ] = None,
        precision_percent: Annotated[
            float, typer.Option(help="Wanted of the mean of repeated tests.")
        ] = 1.0,
        draws: Annotated[int, typer.Option(min=20, max=100_000, help="Random cases.")] = 200,
        seed: Annotated[int, typer.Option(min=0, max=2**63 - 1)] = 1,
        out: OutFolder = None,
        json: JsonFile = None,
        no_plots: NoPlots = False,
    ) -> None:  # fmt: skip
        """How long a capacity test will take, when to be there, how often to log."""

        def work() -> int:
            from bankSim.cli.hand_over import hand_over, target_of
            from bankSim.cli.inputs import inputs_of
            from bankSim.cli.waiting import busy, tell_compiling
            from bankSim.study.bench_scenario import (
                PlanError,
                Wanted,
                check_wanted,
                of_file,
                of_label,
            )

            if not 0.01 <= precision_percent <= 50.0:
                raise PlanError(f"--precision-percent = {precision_percent:g}; expected 0.01 to 50")
            wanted = Wanted(
                battery, rated_Ah, chemistry, cells_in_series, load_A, load_W, starts_at,
                temperature_C,
            )  # fmt: skip
            check_wanted(wanted)
            if file is None and battery is not None:
                raise PlanError(f"--battery = {battery!r}; expected only with FILE")
            inputs = [] if file is None else inputs_of(file)
            target = target_of("plan", out, json, no_plots, inputs, writes=file is not None)
            scenario = of_label(wanted) if file is None else of_file(file, wanted)
            tell_compiling()
            from bankSim.show.plan_answer import plan_answer
            from bankSim.study.bench_plan import plan_test
            from bankSim.study.blocks import threads

            with threads() as workers, busy("trying the test out"):
                plan = plan_test(scenario, workers, draws=draws, seed=seed)
            return hand_over(plan_answer(plan, precision_percent), target)

        raise typer.Exit(guarded(work))
