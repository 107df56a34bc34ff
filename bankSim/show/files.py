"""Result files in a folder: written beside, then renamed, so that no half file is ever seen."""

import contextlib
import json
import os
import shutil
import tempfile
import warnings
from pathlib import Path
from typing import TYPE_CHECKING

from bankSim.errors import SimulationError
from bankSim.show.printing import story_text
from bankSim.show.sheets import events_csv, timeline_csv
from bankSim.show.story import tell
from bankSim.sim.result import Result

if TYPE_CHECKING:
    from matplotlib.figure import Figure

FIGURE_FILES = ("current.png", "voltage.png", "cells.png", "charge.png")


class OutputError(SimulationError):
    """A file or folder cannot be written; the text names it and says why."""


def json_text(result: Result) -> str:
    """Return the summary as JSON in plain ASCII, without NaN."""
    return json.dumps(result.summary(), indent=2, allow_nan=False) + "\n"


def check_folder(folder: Path) -> None:
    """Raise `OutputError` when a folder can be neither used nor made; touches nothing."""
    for place in (folder, *folder.absolute().parents):
        if place.is_dir():
            if not os.access(place, os.W_OK | os.X_OK):
                raise OutputError(f"{place}: no permission to write here")
            return
        if place.exists():
            raise OutputError(f"{place}: is a file; expected a folder")


def write_results(result: Result, folder: Path, *, plots: bool = True) -> list[Path]:
    """Write summary.json, timeline.csv, events.csv, story.txt and the figures.

    Everything is written into a hidden folder inside `folder` first and moved at the end, file by
    file; a figure of an earlier run that this run does not make is removed.

    Parameters
    ----------
    result : Result
    folder : Path
        Made when missing, with its parents.
    plots : bool
        False: no figures.

    Returns
    -------
    files : list of Path
        What was written, in reading order.

    Raises
    ------
    OutputError
        When the folder cannot be written; files of an earlier run are then untouched.
    """
    check_folder(folder)
    try:
        folder.mkdir(parents=True, exist_ok=True)
        workshop = Path(tempfile.mkdtemp(prefix=".writing-", dir=folder))
        try:
            names = _write_all(result, workshop, plots)
            for name in names:
                os.replace(workshop / name, folder / name)
        finally:
            shutil.rmtree(workshop, ignore_errors=True)
        for name in set(FIGURE_FILES).difference(names):
            (folder / name).unlink(missing_ok=True)
    except OSError as error:
        raise OutputError(f"{folder}: cannot be written ({error.strerror or error})") from error
    return [folder / name for name in names]


def write_text(text: str, file: Path) -> None:
    """Write one text file beside its place, then rename it; raise `OutputError` when impossible."""
    if file.is_dir():
        raise OutputError(f"{file}: is a folder; expected a file name")
    beside = file.with_name(f".{file.name}.{os.getpid()}.tmp")
    try:
        beside.write_text(text, encoding="utf-8", newline="")
        os.replace(beside, file)
    except OSError as error:
        with contextlib.suppress(OSError):
            beside.unlink()
        raise OutputError(f"{file}: cannot be written ({error.strerror or error})") from error


def _write_all(result: Result, folder: Path, plots: bool) -> list[str]:
    """Write every file into `folder`; return the names in reading order."""
    texts = {
        "story.txt": story_text(tell(result)),
        "summary.json": json_text(result),
        "timeline.csv": timeline_csv(result),
        "events.csv": events_csv(result),
    }
    for name, text in texts.items():
        (folder / name).write_text(text, encoding="utf-8", newline="")
    names = list(texts)
    if plots:
        names += _write_figures(result, folder)
    return names


def _write_figures(result: Result, folder: Path) -> list[str]:
    from bankSim.show.figures import all_figures

    names = []
    for name, figure in all_figures(result).items():
        save_figure(figure, folder / f"{name}.png")
        names.append(f"{name}.png")
    return names


def save_figure(figure: "Figure", file: Path) -> None:
    """Save as PNG; letters that the font lacks become boxes without a fuss."""
    with warnings.catch_warnings():
        warnings.filterwarnings("ignore", message="Glyph .* missing from")
        figure.savefig(file, format="png", metadata={"Software": None})
