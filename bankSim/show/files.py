"""Result files in a folder: written beside, then renamed, so that no half file is ever seen."""

import contextlib
import json
import os
import warnings
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from io import BytesIO
from pathlib import Path
from typing import IO, TYPE_CHECKING

from bankSim.show.printing import story_text
from bankSim.show.sheets import events_csv, timeline_csv
from bankSim.show.story import tell
from bankSim.show.targets import OutputError, check_folder
from bankSim.sim.result import Result
from bankSim.whole import as_bytes, move_in, workshop

if TYPE_CHECKING:
    from matplotlib.figure import Figure

SUMMARY = "summary.json"
TEXT_FILES = ("story.txt", SUMMARY, "timeline.csv", "events.csv")
FIGURE_FILES = (
    "lanes.png",
    "current.png",
    "voltage.png",
    "cells.png",
    "temperature.png",
    "charge.png",
)
RESULT_FILES = (*TEXT_FILES, *FIGURE_FILES)


def json_text(result: Result, files: Sequence[str] = ()) -> str:
    """Return the summary as JSON in plain ASCII, without NaN.

    Parameters
    ----------
    result : Result
    files : sequence of str
        Names of the files that go into the same folder, listed under "files".
    """
    summary = result.summary()
    if files:
        summary["files"] = list(files)
    return json.dumps(summary, indent=2, allow_nan=False) + "\n"


def write_results(
    result: Result, folder: Path, *, plots: bool = True, inputs: Iterable[Path] = ()
) -> list[Path]:
    """Write summary.json, timeline.csv, events.csv, story.txt and the figures.

    Everything is written into a hidden folder inside `folder` first and moved at the end, file by
    file. A figure of an earlier run that this run does not make is removed, if the summary.json
    of that run lists it. When anything goes wrong, folders that were made are removed again.

    Parameters
    ----------
    result : Result
    folder : Path
        Made when missing, with its parents.
    plots : bool
        False: no figures.
    inputs : iterable of Path
        What the run was read from; never replaced.

    Returns
    -------
    files : list of Path
        What was written, in reading order.

    Raises
    ------
    OutputError
        When the folder cannot be written; files of an earlier run are then untouched.
    """
    check_folder(folder, RESULT_FILES, inputs)
    return write_folder(folder, lambda bench: _write_all(result, bench, plots))


def write_folder(folder: Path, write_all: Callable[[Path], list[str]]) -> list[Path]:
    """Let files be written into a hidden folder inside `folder`, then move them to their places.

    Parameters
    ----------
    folder : Path
        Made when missing, with its parents.
    write_all : callable
        Writes every file into the folder it is given; returns the names in reading order.

    Returns
    -------
    files : list of Path

    Raises
    ------
    OutputError
        When the folder cannot be written; files of an earlier run are then untouched.
    """
    try:
        with _made(folder), workshop(folder) as bench:
            names = write_all(bench)
            move_in(bench, folder, names, gone=_listed(folder).difference(names))
    except OSError as error:
        raise OutputError(f"{folder}: cannot be written ({error.strerror or error})") from error
    return [folder / name for name in names]


def other_figures(folder: Path, files: Iterable[Path]) -> list[Path]:
    """Figures in the folder that bear a name of ours and are not of this run."""
    written = set(files)
    places = [folder / name for name in FIGURE_FILES]
    return [place for place in places if place not in written and os.path.lexists(place)]


@contextmanager
def _made(folder: Path) -> Iterator[None]:
    """Make a folder for the block; what was made goes again, while empty, when the block fails."""
    places = [place for place in (folder, *folder.parents) if not place.exists()]
    try:
        folder.mkdir(parents=True, exist_ok=True)
        yield
    except BaseException:
        for place in places:
            with contextlib.suppress(OSError):
                place.rmdir()
        raise


def _listed(folder: Path) -> set[str]:
    """Return the figures that the summary of an earlier run lists as its own."""
    try:
        summary = json.loads((folder / SUMMARY).read_text(encoding="utf-8"))
    except (OSError, ValueError, RecursionError):
        return set()
    listed = summary.get("files") if isinstance(summary, dict) else None
    names = listed if isinstance(listed, list) else []
    return {
        name
        for name in names
        if isinstance(name, str) and Path(name).name == name and name.endswith(".png")
    }


def _write_all(result: Result, folder: Path, plots: bool) -> list[str]:
    """Write every file into `folder`; return the names in reading order."""
    names = list(TEXT_FILES)
    if plots:
        names += _write_figures(result, folder)
    texts = {
        "story.txt": story_text(tell(result)),
        SUMMARY: json_text(result, names),
        "timeline.csv": timeline_csv(result),
        "events.csv": events_csv(result),
    }
    for name, text in texts.items():
        (folder / name).write_bytes(as_bytes(text))
    return names


def _write_figures(result: Result, folder: Path) -> list[str]:
    from bankSim.show.figures import all_figures

    names = []
    for name, figure in all_figures(result).items():
        save_figure(figure, folder / f"{name}.png")
        names.append(f"{name}.png")
    return names


def save_figure(figure: "Figure", file: Path | IO[bytes], dpi: float | None = None) -> None:
    """Save as PNG; letters that the font lacks become boxes without a fuss.

    The figure is laid out here, once, and for good: saving would draw it all only to lay it out,
    and then draw it again.

    Parameters
    ----------
    figure : Figure
    file : Path or binary file
    dpi : float, optional
        Dots per inch; that of the figure when not given.
    """
    if dpi is not None:
        figure.set_dpi(dpi)
    with warnings.catch_warnings():
        warnings.filterwarnings("ignore", message="Glyph .* missing from")
        if layout := figure.get_layout_engine():
            layout.execute(figure)
            figure.set_layout_engine("none")
        figure.savefig(file, format="png", metadata={"Software": None}, dpi=figure.dpi)


def png_of(figure: "Figure", dpi: float) -> bytes:
    """Return a figure as the bytes of a PNG file.

    Parameters
    ----------
    figure : Figure
    dpi : float
        Dots per inch.
    """
    page = BytesIO()
    save_figure(figure, page, dpi)
    return page.getvalue()
