"""Prints an answer about measurements and writes its files, after checking where they may go."""

import hashlib
import re
import sys
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Any, Protocol

from bankSim.cli.inputs import folder_name
from bankSim.cli.run import RESULTS
from bankSim.show.answer import Answer, write_answer
from bankSim.show.blocks import Story
from bankSim.show.printing import print_story
from bankSim.show.study_files import STORY, SUMMARY, summary_text
from bankSim.show.targets import (
    STANDARD_OUTPUT,
    OutputError,
    check_folder,
    check_json,
    write_text,
)

MOST_NAMED = 4  # logs in the name of a folder


@dataclass(frozen=True)
class Target:
    """Where an answer goes.

    Parameters
    ----------
    folder : Path or None
        For all files; None writes none.
    json : str or None
        Where the summary goes besides; "-" is standard output.
    plots : bool
    """

    folder: Path | None
    json: str | None
    plots: bool

    @property
    def json_file(self) -> Path | None:
        """The summary's own file; None where there is none or it is printed."""
        if self.json is None or self.json == STANDARD_OUTPUT:
            return None
        return Path(self.json)


def target_of(
    command: str,
    out: str | None,
    json: str | None,
    no_plots: bool,
    inputs: Sequence[Path],
    names: Sequence[str] = (),
    *,
    logs: Sequence[Path] = (),
    writes: bool = True,
) -> Target:
    """Settle where an answer goes, and refuse what cannot or must not be written, before any work.

    Parameters
    ----------
    command : str
        Its word; the usual folder is ``results/COMMAND-NAME``, NAME being that of the first input.
    out, json, no_plots
        As on the command line.
    inputs : sequence of Path
        What the answer is read from; never replaced.
    names : sequence of str
        Files that will be written beside story.txt and summary.json.
    logs : sequence of Path
        Of a question about several logs: the usual folder is named after all of them, so that
        the answer about one of them stays where it is.
    writes : bool
        False: without --out nothing is written.
    """
    folder = _folder(command, out, json, logs or inputs[:1], writes)
    if folder is not None:
        check_folder(folder, (STORY, SUMMARY, *names), inputs)
    check_json(json, inputs)
    return Target(folder, json, not no_plots)


def _folder(
    command: str, out: str | None, json: str | None, named: Sequence[Path], writes: bool
) -> Path | None:
    if out is not None:
        if not out.strip():
            raise OutputError(f"--out = {out!r}; expected the name of a folder")
        return Path(out)
    if json == STANDARD_OUTPUT or not writes:
        return None
    return RESULTS / re.sub(r"[^\w.-]+", "-", "-".join([command, *_names(named)]))


def _names(files: Sequence[Path]) -> list[str]:
    """Return the words that tell a question about some files from one about others."""
    names = [folder_name(file) for file in files]
    if len(names) <= MOST_NAMED:
        return names
    mark = hashlib.sha256("\0".join(map(str, files)).encode()).hexdigest()[:4]
    return [names[0], "and", str(len(names) - 1), "more", mark]


def files_of(target: Target) -> list[Path]:
    """Return the files that every answer writes there."""
    files = [] if target.folder is None else [target.folder / STORY, target.folder / SUMMARY]
    return files if target.json_file is None else [*files, target.json_file]


class Told(Protocol):
    """What is printed: a story, or a summary as JSON."""

    @property
    def story(self) -> Story:
        """For people."""

    @property
    def summary(self) -> dict[str, Any]:
        """For programs; no NaN inside."""


def hand_over(answer: Answer, target: Target) -> int:
    """Print the story (or the JSON), write the files, say where they are; return 0."""
    return hand_over_as(answer, target, partial(write_answer, answer, plots=target.plots))


def hand_over_as(
    told: Told,
    target: Target,
    write: Callable[[Path], list[Path]],
    kept: Callable[[], str] = str,
) -> int:
    """Print, write the files in a way of one's own, say where they are; return 0.

    Parameters
    ----------
    told : Told
    target : Target
    write : callable
        Writes into the folder it is given, and returns the files.
    kept : callable
        What to say behind the names of the files, once they are written.
    """
    unread = _print(told, target)
    written: list[Path] = []
    if target.folder is not None:
        written = write(target.folder)
    if target.json_file is not None:
        write_text(summary_text(told.summary), target.json_file)
        written.append(target.json_file)
    if unread is not None:
        raise unread
    if target.json != STANDARD_OUTPUT:
        _name_files(written, target.folder, kept())
    return 0


def _print(told: Told, target: Target) -> OSError | None:
    """Print; a reader who leaves early (``| head``) does not cost the files."""
    try:
        if target.json == STANDARD_OUTPUT:
            sys.stdout.write(summary_text(told.summary))
        else:
            print_story(told.story)
        sys.stdout.flush()
    except OSError as error:
        return error
    return None


def _name_files(written: Sequence[Path], folder: Path | None, kept: str) -> None:
    inside = [file.name for file in written if file.parent == folder]
    if inside:
        print(f"\nWritten to {folder}: {', '.join(inside)}{kept}")
    for file in written:
        if file.parent != folder:
            print(f"Written: {file}")
