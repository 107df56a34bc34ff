"""Prints an answer about measurements and writes its files, after checking where they may go."""

import re
import sys
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from bankSim.cli.inputs import folder_name
from bankSim.cli.run import RESULTS
from bankSim.show.answer import Answer, write_answer
from bankSim.show.printing import print_story
from bankSim.show.study_files import STORY, SUMMARY, summary_text
from bankSim.show.targets import (
    STANDARD_OUTPUT,
    OutputError,
    check_folder,
    check_json,
    write_text,
)


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


def target_of(
    command: str,
    out: str | None,
    json: str | None,
    no_plots: bool,
    inputs: Sequence[Path],
    names: Sequence[str] = (),
    *,
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
    writes : bool
        False: without --out nothing is written.
    """
    folder = _folder(command, out, json, inputs, writes)
    if folder is not None:
        check_folder(folder, (STORY, SUMMARY, *names), inputs)
    check_json(json, inputs)
    return Target(folder, json, not no_plots)


def _folder(
    command: str, out: str | None, json: str | None, inputs: Sequence[Path], writes: bool
) -> Path | None:
    if out is not None:
        if not out.strip():
            raise OutputError(f"--out = {out!r}; expected the name of a folder")
        return Path(out)
    if json == STANDARD_OUTPUT or not writes:
        return None
    name = f"{command}-{folder_name(inputs[0])}" if inputs else command
    return RESULTS / re.sub(r"[^\w.-]+", "-", name)


def hand_over(answer: Answer, target: Target) -> int:
    """Print the story (or the JSON), write the files, say where they are; return 0."""
    unread: OSError | None = None
    try:
        if target.json == STANDARD_OUTPUT:
            sys.stdout.write(summary_text(answer.summary))
        else:
            print_story(answer.story)
        sys.stdout.flush()
    except OSError as error:  # a reader who leaves early (``| head``) does not cost the files
        unread = error
    written: list[Path] = []
    if target.folder is not None:
        written = write_answer(answer, target.folder, plots=target.plots)
    if target.json is not None and target.json != STANDARD_OUTPUT:
        write_text(summary_text(answer.summary), Path(target.json))
        written.append(Path(target.json))
    if unread is not None:
        raise unread
    if target.json != STANDARD_OUTPUT:
        _name_files(written, target.folder)
    return 0


def _name_files(written: Sequence[Path], folder: Path | None) -> None:
    inside = [file.name for file in written if file.parent == folder]
    if inside:
        print(f"\nWritten to {folder}: {', '.join(inside)}")
    for file in written:
        if file.parent != folder:
            print(f"Written: {file}")
