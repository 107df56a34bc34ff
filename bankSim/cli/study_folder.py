"""Where a study's results and finished draws go."""

import hashlib
import re
import sys
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from bankSim.cli.inputs import folder_name
from bankSim.cli.run import RESULTS
from bankSim.cli.study_options import VERSUS, Options
from bankSim.show.targets import STANDARD_OUTPUT, OutputError
from bankSim.study.store import Folder

if TYPE_CHECKING:
    from bankSim.study.sweep import StoreOf

BLOCKS = "draws"  # folder of finished blocks, beside the results


def folder_of(file: Path, question: str, words: Sequence[str], options: Options) -> Path | None:
    """Return where results go; None when nothing is written."""
    if options.out is not None:
        if not options.out.strip():
            raise OutputError(f"--out = {options.out!r}; expected the name of a folder")
        return Path(options.out)
    if options.json == STANDARD_OUTPUT or options.draw is not None:
        return None
    return RESULTS / folder_name(file) / asked_name(question, words, options)


def asked_name(question: str, words: Sequence[str], options: Options) -> str:
    """Return a folder's name for all that was asked, so that the next question gets another one."""
    name = question
    if question == VERSUS:
        name += f"-{folder_name(Path(words[0]))}"
    elif words:
        keys = [word.partition("=")[0].rpartition(".")[2] for word in words]
        mark = hashlib.sha256("\0".join(words).encode()).hexdigest()[:4]
        name += f"-{'-'.join(keys)}-{mark}"
    name += f"-of-{options.of}" if options.of != Options.of else ""
    name += f"-seed-{options.seed}" if options.seed != Options.seed else ""
    name += "-even" if options.even else ""
    return re.sub(r"[^\w.-]+", "-", name)


def store_of(folder: Path | None, asked: str, options: Options) -> "StoreOf | None":
    """Return what gives every part of a study its folder; None when nothing is written.

    Parameters
    ----------
    folder : Path or None
    asked : str
        The question in words: draws of another one are refused.
    options : Options
    """
    if folder is None:
        return None
    base, told = folder / BLOCKS, False

    def store(name: str, description: Mapping[str, object]) -> Folder:
        nonlocal told
        place = base / name if name else base
        own = Folder(place, {"question": asked, **description}, fresh=options.fresh)
        if not told and own.finished():
            print(f"Going on with the finished draws in {base}.", file=sys.stderr, flush=True)
            told = True
        return own

    return store
