"""The program ``banksim``: names its commands and options; each command lives in its own module.

Nothing heavy is imported here, so that help appears at once.
"""

import os
import sys
from collections.abc import Sequence
from functools import cache
from importlib import import_module
from pathlib import Path
from typing import Annotated

import typer

from bankSim.cli.guard import guarded, safe_streams
from bankSim.cli.shared_options import JsonFile, NoPlots, PlainFile, ScenarioFile, Seed
from bankSim.cli.wrong_words import TYPED, told_usage
from bankSim.version import __version__

PROGRAM = "banksim"

app = typer.Typer(
    name=PROGRAM,
    help="Predict what a mixed parallel bank of batteries will really do.",
    epilog="Exit codes: 0 done, 2 the input is wrong, 1 a bug in the program.",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
)


def entry() -> None:
    """Run the program on the words of the command line and leave with its exit code."""
    sys.exit(main())


def main(argv: Sequence[str] | None = None) -> int:
    """Run the program and return its exit code.

    Parameters
    ----------
    argv : sequence of str or None
        The words after the program's name; None takes them from the command line.

    Returns
    -------
    code : int
        0 done, 2 the input is wrong, 130 stopped by hand. A bug raises (exit code 1).
    """
    safe_streams()
    os.environ["MPLBACKEND"] = "agg"  # figures go into files; no display is needed or asked for
    words = list(sys.argv[1:] if argv is None else argv)
    TYPED.set(tuple(words))
    return guarded(lambda: _call(words))


def _call(words: list[str]) -> int:
    """Call the command; what is wrong with its words is told on one line."""
    from typer.exceptions import Abort, TyperException

    try:
        code = _command().main(args=words, prog_name=PROGRAM, standalone_mode=False)
    except Abort as stop:
        raise KeyboardInterrupt from stop
    except TyperException as error:
        told, where = told_usage(error), getattr(error, "ctx", None)
        if not words:
            print(told)
        else:
            path = where.command_path if where is not None else PROGRAM
            print(f"{path}: {told} ({path} --help tells more)", file=sys.stderr)
        return 2
    return code if isinstance(code, int) else 0


@cache
def _command() -> typer.core.TyperGroup:
    """Return the commands as typer calls them; it takes them apart anew whenever it is asked."""
    command = typer.main.get_command(app)
    assert isinstance(command, typer.core.TyperGroup)  # more than one command
    return command


def _print_version(wanted: bool) -> None:
    if wanted:
        typer.echo(f"{PROGRAM} {__version__}")
        raise typer.Exit


@app.callback()
def _options(
    version: Annotated[
        bool,
        typer.Option(
            "--version", callback=_print_version, is_eager=True, help="Print the version and stop."
        ),
    ] = False,
) -> None:
    """Predict what a mixed parallel bank of batteries will really do."""


@app.command("run")
def _run(
    scenario: ScenarioFile,
    out: Annotated[
        str | None,
        typer.Option(
            metavar="DIR",
            help="Folder for the results; default: results/NAME of the scenario file, here.",
            show_default=False,
        ),
    ] = None,
    json: JsonFile = None,
    no_plots: NoPlots = False,
    relative_tolerance: Annotated[
        float | None,
        typer.Option(
            "--relative-tolerance",
            help="Error allowed in each battery's Ah, as a part of them.",
            show_default=False,
        ),
    ] = None,
    absolute_tolerance_A: Annotated[
        float | None,
        typer.Option(
            "--absolute-tolerance-A",
            help="Error allowed in each battery's Ah per hour, beside the relative one.",
            show_default=False,
        ),
    ] = None,
) -> None:
    """Predict: print the story, write the results."""
    from bankSim.cli.run import run

    tolerances = {
        "relative_tolerance": relative_tolerance,
        "absolute_tolerance_A": absolute_tolerance_A,
    }
    given = {name: value for name, value in tolerances.items() if value is not None}
    raise typer.Exit(
        guarded(lambda: run(scenario, out, json, plots=not no_plots, tolerances=given))
    )


@app.command("study")
def _study(
    scenario: ScenarioFile,
    question: Annotated[
        str,
        typer.Argument(
            metavar="QUESTION",
            help="spread: what may happen, with chances; sweep KEY=FROM:TO:COUNT [KEY=...]: what "
            "if; matters: what to measure next; versus OTHER: which of two scenarios; sums: the "
            "bank against its batteries alone.",
        ),
    ] = "spread",
    words: Annotated[
        list[str] | None,
        typer.Argument(metavar="[MORE]...", help="What the question needs.", show_default=False),
    ] = None,
    draws: Annotated[
        int | None,
        typer.Option(
            min=1,
            max=10_000_000,
            help="Random cases at most. For matters: points of each of its two sets, from which it "
            "makes some ten times as many cases; default 512. For sums: 10,000 at most.",
            show_default=False,
        ),
    ] = None,
    seed: Seed = 1,
    even: Annotated[
        bool, typer.Option("--even", help="Spread the cases evenly (Sobol points).")
    ] = False,
    precision_Ah_percent: Annotated[
        float | None,
        typer.Option(
            "--precision-Ah-percent",
            min=0.0,
            help="Stop when the range of the bank's Ah is known this well, in percent of its "
            "middle; default 0.5.",
            show_default=False,
        ),
    ] = None,
    precision_cases: Annotated[
        float | None,
        typer.Option(
            "--precision-cases",
            min=0.0,
            help="... and chances this well, in cases of 100; default 3.",
            show_default=False,
        ),
    ] = None,
    of: Annotated[
        str | None,
        typer.Option(
            help='For matters: bank, charged, runtime, "Ah:NAME" or "first:NAME" of a battery; '
            "default: bank, or charged where there is no load.",
            show_default=False,
        ),
    ] = None,
    draw: Annotated[
        int | None,
        typer.Option(
            min=0,
            max=10_000_000,
            help="Tell the whole story of this one case, counted from 0.",
            show_default=False,
        ),
    ] = None,
    out: Annotated[
        str | None,
        typer.Option(
            metavar="DIR",
            help="Folder for the results; default: one in results/NAME, here, named after what was "
            "asked. A study that was broken off goes on there.",
            show_default=False,
        ),
    ] = None,
    json: JsonFile = None,
    no_plots: NoPlots = False,
    threads: Annotated[
        int | None,
        typer.Option(min=1, max=256, help="Default: all cores.", show_default=False),
    ] = None,
    cluster: Annotated[
        str | None,
        typer.Option(
            metavar="ADDRESS",
            help="Run on the Dask cluster with this scheduler (extra `cluster`).",
            show_default=False,
        ),
    ] = None,
    fresh: Annotated[
        bool, typer.Option("--fresh", help="Throw finished cases of an earlier study away.")
    ] = False,
) -> None:
    """What if, and how sure: many runs of what is not known exactly."""
    from bankSim.cli.study import Options, study

    options = Options(
        draws=draws,
        seed=seed,
        even=even,
        precision_Ah_percent=precision_Ah_percent,
        precision_cases=precision_cases,
        of=of,
        draw=draw,
        out=out,
        json=json,
        plots=not no_plots,
        threads=threads,
        cluster=cluster,
        fresh=fresh,
    )
    raise typer.Exit(guarded(lambda: study(scenario, question, words or [], options)))


@app.command("new")
def _new(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="Scenario file to write (TOML).")],
) -> None:
    """Write a commented starter scenario."""
    from bankSim.cli.new import new

    raise typer.Exit(guarded(lambda: new(file)))


@app.command("netlist")
def _netlist(
    scenario: ScenarioFile,
    out: PlainFile = None,
) -> None:
    """Export the bank as a SPICE netlist."""
    from bankSim.cli.netlist import netlist

    raise typer.Exit(guarded(lambda: netlist(scenario, out)))


@app.command("crosscheck")
def _crosscheck(scenario: ScenarioFile) -> None:
    """Solve it again as a SPICE netlist and print the differences."""
    from bankSim.cli.crosscheck import crosscheck_scenario

    raise typer.Exit(guarded(lambda: crosscheck_scenario(scenario)))


@app.command("schema")
def _schema(
    out: PlainFile = None,
) -> None:
    """Print the JSON Schema of scenario files, for editors."""
    from bankSim.cli.schema import schema

    raise typer.Exit(guarded(lambda: schema(out)))


# Commands that register themselves, in the order of the help: modules of `bankSim.cli` with a
# function `register(app)`. They import nothing heavy at their top.
REGISTERED: tuple[str, ...] = (
    "app",
    "log",
    "plan",
    "capacity",
    "snapshot",
    "calibrate",
    "compare",
    "gauge",
    "deeper",
    "report",
)

for _module in REGISTERED:
    import_module(f"bankSim.cli.{_module}").register(app)
