"""Where results may be written: checked before the work, never over what a run was read from."""

import os
import stat
from collections.abc import Iterable, Mapping
from pathlib import Path

from bankSim.errors import SimulationError
from bankSim.whole import as_bytes, sweep, write_together


class OutputError(SimulationError):
    """A file or folder cannot be written; the text names it and says why."""


def check_file(file: Path, inputs: Iterable[Path] = ()) -> None:
    """Raise `OutputError` unless `file` is a new file in a folder, or one that may be replaced.

    Parameters
    ----------
    file : Path
        A symbolic link stands for what it points to.
    inputs : iterable of Path
        What the run is read from; none of them is ever replaced.
    """
    real = _real(file)
    kind = _kind(real)
    if stat.S_ISDIR(kind):
        raise OutputError(f"{file}: is a folder; expected a file name")
    if kind and not stat.S_ISREG(kind):
        raise OutputError(f"{file}: is no ordinary file; expected a file name")
    if any(_same(real, Path(one)) for one in inputs):
        raise OutputError(f"{file}: this run is read from it; expected another file name")
    if not real.parent.is_dir():
        raise OutputError(f"{file}: no such folder; expected one that exists")
    if not os.access(real.parent, os.W_OK | os.X_OK):
        raise OutputError(f"{file}: no permission to write into its folder")


STANDARD_OUTPUT = "-"


def check_json(json: str | None, inputs: Iterable[Path] = ()) -> None:
    """Raise `OutputError` unless a summary may go there: a .json file, "-", or nowhere (None)."""
    if json is None or json == STANDARD_OUTPUT:
        return
    if not json.strip():
        raise OutputError(f"--json = {json!r}; expected a file name or -")
    check_file(Path(json), inputs)
    if Path(json).exists() and Path(json).suffix != ".json":
        raise OutputError(f"{json}: exists and is no .json file; expected another file name")


def check_apart(option: str, file: Path, others: Iterable[Path]) -> None:
    """Raise `OutputError` when one file would be written twice, the first in vain.

    Parameters
    ----------
    option : str
        The one that names `file`, as typed.
    file : Path
    others : iterable of Path
        Other files that the same command writes.
    """
    if any(_real(file) == _real(other) for other in others):
        raise OutputError(f"{option} = {str(file)!r}: written twice; expected another file name")


def check_folder(folder: Path, names: Iterable[str] = (), inputs: Iterable[Path] = ()) -> None:
    """Raise `OutputError` when a folder can be neither used nor made; touches nothing.

    Parameters
    ----------
    folder : Path
    names : iterable of str
        Files that are to be written there; each must pass `check_file`.
    inputs : iterable of Path
        As in `check_file`.
    """
    for place in (folder, *folder.absolute().parents):
        if place.is_dir():
            if not os.access(place, os.W_OK | os.X_OK):
                raise OutputError(f"{place}: no permission to write here")
            break
        if os.path.lexists(place):
            raise OutputError(f"{place}: is a file; expected a folder")
    inputs = list(inputs)
    for name in names:
        if os.path.lexists(folder / name):
            check_file(folder / name, inputs)


def write_text(text: str, file: Path) -> None:
    """Write one text file beside its place, then rename it; raise `OutputError` when impossible."""
    write_bytes(as_bytes(text), file)


def write_bytes(content: bytes, file: Path) -> None:
    """Write one file beside its place, then rename it; raise `OutputError` when impossible."""
    write_files({file: content})


def write_files(contents: Mapping[Path, bytes]) -> None:
    """Write files that belong together: all beside their places first, then renamed.

    Raises
    ------
    OutputError
        When one cannot be written; what stood in all these places is then untouched.
    """
    for file in contents:
        check_file(file)
    try:
        for folder in {_real(file).parent for file in contents}:
            sweep(folder)
        write_together({_real(file): content for file, content in contents.items()})
    except OSError as error:
        file = next(iter(contents))
        raise OutputError(f"{file}: cannot be written ({error.strerror or error})") from error


def _real(file: Path) -> Path:
    return Path(os.path.realpath(file))


def _kind(real: Path) -> int:
    """Return what stands there as mode bits; 0 for nothing."""
    try:
        return stat.S_IFMT(real.stat().st_mode)
    except FileNotFoundError:
        return 0
    except (OSError, ValueError) as error:
        raise OutputError(f"{real}: cannot be written ({error})") from error


def _same(real: Path, other: Path) -> bool:
    """Tell whether two names mean one file, also through hard links and other letters' case."""
    try:
        return os.path.samefile(real, other)
    except (OSError, ValueError):
        return False
