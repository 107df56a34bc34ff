"""``banksim report``: one file to read, print and send, and its data beside it."""

import sys
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from bankSim.cli.guard import guarded
from bankSim.cli.shared_options import refuse_idle

if TYPE_CHECKING:
    from bankSim.sim.result import Result
    from bankSim.study.spread import SpreadResult

REPORT, ENDINGS = "report.html", (".html", ".htm")
DATA_ENDING = "-data.zip"
DRAWS = 300


@dataclass(frozen=True)
class Wish:
    """What the command line says beside the scenario.

    Parameters
    ----------
    out : str or None
        The page; None means ``results/NAME/report.html`` in the current folder.
    data : bool
        Write the zip, too.
    question : str
    draws : int
        0: none.
    seed : int
    """

    out: str | None = None
    data: bool = True
    question: str = ""
    draws: int = DRAWS
    seed: int = 1


def register(app: typer.Typer) -> None:
    """Add the command."""

    @app.command("report")
    def _report(
        scenario: Annotated[
            Path, typer.Argument(metavar="SCENARIO", help="Scenario file (TOML).")
        ],
        out: Annotated[
            str | None,
            typer.Option(
                metavar="FILE.html", show_default=False,
                help="The page; default: results/NAME/report.html, here.",
            ),
        ] = None,
        question: Annotated[
            str, typer.Option(metavar="TEXT", help="Stands at the top.", show_default=False)
        ] = "",
        draws: Annotated[
            int, typer.Option(min=20, max=100_000, help="Random cases that tell how sure it is.")
        ] = DRAWS,
        no_draws: Annotated[
            bool, typer.Option("--no-draws", help="The single run only.")
        ] = False,
        seed: Annotated[int, typer.Option(min=0, max=2**63 - 1, help="Of the draws.")] = 1,
        no_data: Annotated[
            bool, typer.Option("--no-data", help="No zip with the numbers beside the page.")
        ] = False,
    ) -> None:  # fmt: skip
        """One file to read, print and send: drawing, answer, cautions, figures, sources."""
        wish = Wish(out, not no_data, question, 0 if no_draws else draws, seed)

        def work() -> int:
            if no_draws:
                idle = {"--draws": draws != Wish.draws, "--seed": seed != Wish.seed}
                refuse_idle(idle, "has no effect with --no-draws")
            return report(scenario, wish)

        raise typer.Exit(guarded(work))


def report(file: Path, wish: Wish) -> int:
    """Predict, print the answer, write the page and its data; return 0.

    Parameters
    ----------
    file : Path
        Scenario.
    wish : Wish
    """
    from bankSim.cli.inputs import inputs_of
    from bankSim.cli.run import predict

    page, zipped = _targets(file, wish, inputs_of(file))
    result = predict(file)
    unread: OSError | None = None
    try:
        _tell(result)
    except OSError as error:  # a reader who leaves early (``| head``) does not cost the files
        unread = error
    _write(result, _spread(result, wish), wish, page, zipped)
    if unread is not None:
        raise unread
    print(f"\nWritten: {page}" + (f", {zipped}" if zipped else ""))
    return 0


def _targets(file: Path, wish: Wish, inputs: list[Path]) -> tuple[Path, Path | None]:
    """Settle where page and data go, and refuse what must not be written, before any work."""
    from bankSim.cli.inputs import folder_name
    from bankSim.cli.run import RESULTS
    from bankSim.show.targets import OutputError, check_file, check_folder

    if wish.out is None:
        page = RESULTS / folder_name(file) / REPORT
        data = page.with_name(page.stem + DATA_ENDING)
        check_folder(page.parent, [page.name, *([data.name] if wish.data else [])], inputs)
        return page, data if wish.data else None
    if not wish.out.strip():
        raise OutputError(f"--out = {wish.out!r}; expected the name of a file")
    page = Path(wish.out)
    check_file(page, inputs)
    if page.suffix.lower() not in ENDINGS:
        raise OutputError(f"--out = {wish.out!r}; expected the name of a file that ends in .html")
    if not wish.data:
        return page, None
    data = page.with_name(page.stem + DATA_ENDING)
    check_file(data, inputs)
    return page, data


def _tell(result: "Result") -> None:
    """Print the answer and the cautions at once; draws and figures take longer."""
    from bankSim.show.beware import cautions
    from bankSim.show.blocks import Section, Story
    from bankSim.show.headline import headline
    from bankSim.show.printing import print_story
    from bankSim.sim.numbers import clean
    from bankSim.sim.summary import SAFETY_TEXT

    sections = (cautions(result), Section("Safety", (SAFETY_TEXT,)))
    print_story(Story(clean(result.scenario.title), tuple(headline(result)), sections))
    sys.stdout.flush()


def _spread(result: "Result", wish: Wish) -> "SpreadResult | None":
    """Make the draws, unless none are wanted."""
    if wish.draws == 0:
        return None
    from bankSim.cli.waiting import stages_bar
    from bankSim.show.report import run_in_full
    from bankSim.study.blocks import threads
    from bankSim.study.plan import make_plan
    from bankSim.study.spread import study_spread

    plan = make_plan(result.scenario, seed=wish.seed)
    in_full = run_in_full(result)
    with threads() as workers, stages_bar() as progress:
        return study_spread(plan, workers, most=wish.draws, traced=in_full, progress=progress)


def _write(
    result: "Result", spread: "SpreadResult | None", wish: Wish, page: Path, zipped: Path | None
) -> None:
    from datetime import datetime

    from bankSim.cli.waiting import busy
    from bankSim.show.report import report_html, report_pictures
    from bankSim.show.report_data import report_data_zip
    from bankSim.show.targets import write_files
    from bankSim.whole import as_bytes

    with busy("drawing"):
        shown = report_pictures(result, spread)
        html = report_html(
            result, spread=spread, question=wish.question, made_on=datetime.now(), pictures=shown
        )
    if wish.out is None:
        _make(page.parent)
    contents = {page: as_bytes(html)}
    if zipped is not None:
        contents[zipped] = report_data_zip(result, spread=spread, pictures=shown)
    write_files(contents)


def _make(folder: Path) -> None:
    from bankSim.show.targets import OutputError

    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise OutputError(f"{folder}: cannot be written ({error.strerror or error})") from error
