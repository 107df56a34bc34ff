"""``banksim run``: predict, tell the story, write the results."""

import sys
from collections.abc import Mapping
from pathlib import Path

from bankSim.cli.inputs import folder_name, inputs_of
from bankSim.cli.waiting import progress_bar, tell_compiling
from bankSim.show.files import RESULT_FILES, json_text, other_figures, write_results
from bankSim.show.printing import print_story
from bankSim.show.story import tell_briefly
from bankSim.show.targets import (
    STANDARD_OUTPUT,
    OutputError,
    check_folder,
    check_json,
    write_text,
)
from bankSim.sim.result import Result

RESULTS = Path("results")


def run(
    file: Path,
    out: str | None,
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
    out : str or None
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
    folder, inputs = _folder(file, out, json), inputs_of(file)
    _check_targets(folder, json, inputs)
    result = predict(file, tolerances)
    unread: OSError | None = None
    try:
        _answer(result, json)
    except OSError as error:  # a reader who leaves early (``| head``) does not cost the files
        unread = error
    files = [] if folder is None else write_results(result, folder, plots=plots, inputs=inputs)
    if json is not None and json != STANDARD_OUTPUT:
        write_text(json_text(result), Path(json))
        files.append(Path(json))
    if unread is not None:
        raise unread
    if json != STANDARD_OUTPUT and folder is not None:
        _name_files(folder, files, result)
    return 0


def _answer(result: Result, json: str | None) -> None:
    """Print at once; figures take longer than the prediction itself."""
    if json == STANDARD_OUTPUT:
        sys.stdout.write(json_text(result))
    else:
        print_story(tell_briefly(result))
    sys.stdout.flush()


def predict(file: Path, tolerances: Mapping[str, float] | None = None) -> Result:
    """Read and solve a scenario."""
    from bankSim.scenario.read import read_scenario

    scenario = read_scenario(file)
    tell_compiling()
    from bankSim.sim.run import simulate  # late: a fault in the file is told without waiting

    with progress_bar() as progress:
        return simulate(scenario, **(tolerances or {}), progress=progress)


def _folder(file: Path, out: str | None, json: str | None) -> Path | None:
    if out is not None:
        if not out.strip():
            raise OutputError(f"--out = {out!r}; expected the name of a folder")
        return Path(out)
    return None if json == STANDARD_OUTPUT else RESULTS / folder_name(file)


def _check_targets(folder: Path | None, json: str | None, inputs: list[Path]) -> None:
    """Refuse what cannot or must not be written, before any work."""
    if folder is not None:
        check_folder(folder, RESULT_FILES, inputs)
    check_json(json, inputs)


def _name_files(folder: Path, files: list[Path], result: Result) -> None:
    """Say where everything went, and what stands there that is not of this run."""
    inside = [file.name for file in files if file.parent == folder]
    print(f"\nWritten to {folder}: {', '.join(inside)}")
    for file in files:
        if file.parent != folder:
            print(f"Written: {file}")
    others = [file.name for file in other_figures(folder, files)]
    if others:
        print(f"Not of this run, left as it was in {folder}: {', '.join(others)}")
    if result.end_time_s <= 0.0 and "charge.png" in inside:
        print("The run ended at once: there is nothing to draw over time.")
