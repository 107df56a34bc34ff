"""``banksim run``: predict, tell the story, write the results."""

import sys
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path

from bankSim.show.files import check_folder, json_text, write_results, write_text
from bankSim.show.printing import print_story
from bankSim.show.story import tell
from bankSim.sim.result import Result

RESULTS = Path("results")
STANDARD_OUTPUT = "-"


def run(
    file: Path,
    out: Path | None,
    json: str | None,
    *,
    plots: bool,
    tolerances: Mapping[str, float],
) -> int:
    """Predict a scenario, print, and write what was asked for.

    Parameters
    ----------
    file : Path
        Scenario.
    out : Path or None
        Folder for the results; None means ``results/NAME`` in the current folder, or nothing
        when the JSON goes to standard output.
    json : str or None
        Where the summary goes besides; "-" is standard output, and then the story is not printed.
    plots : bool
        Write figures.
    tolerances : mapping
        `relative_tolerance` and `absolute_tolerance_A` of `simulate`, where given.

    Returns
    -------
    code : int
        0; everything that is wrong raises.
    """
    folder = _folder(file, out, json)
    result = predict(file, tolerances, folder)
    try:
        _answer(result, json)
    finally:  # a reader who leaves early (``| head``) does not cost the files
        files = [] if folder is None else write_results(result, folder, plots=plots)
    if json == STANDARD_OUTPUT:
        return 0
    if json is not None:
        write_text(json_text(result), Path(json))
        files.append(Path(json))
    _name_files(folder, files)
    return 0


def _answer(result: Result, json: str | None) -> None:
    """Print at once; figures take longer than the prediction itself."""
    if json == STANDARD_OUTPUT:
        sys.stdout.write(json_text(result))
    else:
        print_story(tell(result))
    sys.stdout.flush()


def predict(
    file: Path, tolerances: Mapping[str, float] | None = None, folder: Path | None = None
) -> Result:
    """Read and solve a scenario; a folder that cannot be written is refused before the work."""
    from bankSim.scenario.read import read_scenario

    scenario = read_scenario(file)
    if folder is not None:
        check_folder(folder)
    from bankSim.sim.run import simulate  # late: a fault in the file is told without waiting

    with progress_bar() as progress:
        return simulate(scenario, **(tolerances or {}), progress=progress)


def _folder(file: Path, out: Path | None, json: str | None) -> Path | None:
    if out is not None:
        return out
    return None if json == STANDARD_OUTPUT else RESULTS / file.stem


def _name_files(folder: Path | None, files: list[Path]) -> None:
    """Say where everything went."""
    inside = [file.name for file in files if file.parent == folder]
    print(f"\nWritten to {folder}: {', '.join(inside)}")
    for file in files:
        if file.parent != folder:
            print(f"Written: {file}")


@contextmanager
def progress_bar() -> Iterator[Callable[[float], None] | None]:
    """Show a bar on standard error while the block runs; nothing when that is no terminal."""
    if not sys.stderr.isatty():
        yield None
        return
    from rich.console import Console
    from rich.progress import Progress

    with Progress(console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task("solving", total=1.0)
        yield lambda done: bar.update(task, completed=done)
