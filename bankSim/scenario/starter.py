"""The commented file that `banksim new` writes."""

import os
import tempfile
from importlib.resources import files
from pathlib import Path

from bankSim.errors import ScenarioError
from bankSim.scenario.syntax import plain_reason


def starter_text() -> str:
    """Return a commented scenario that runs as it is."""
    return (files("bankSim.scenario") / "starter.toml").read_text(encoding="utf-8")


def write_starter(path: str | os.PathLike[str]) -> None:
    """Write the starter to a new file, whole or not at all.

    Parameters
    ----------
    path : str or path
        A file that does not exist yet, in a folder that does.

    Raises
    ------
    ScenarioError
        One line, if the file exists or cannot be written.
    """
    target = Path(path)
    if os.path.lexists(target):
        raise ScenarioError([f"{target}: already exists; expected the name of a new file"])
    if not target.parent.is_dir():
        raise ScenarioError([f"{target}: no such folder; expected one that exists"])
    try:
        _write_new(target, starter_text())
    except (OSError, ValueError) as error:
        raise ScenarioError([f"{target}: cannot be written ({plain_reason(error)})"]) from error


def _write_new(target: Path, text: str) -> None:
    """Write under another name first, so that no half-written file is ever seen."""
    handle, draft = tempfile.mkstemp(dir=target.parent, prefix=".starter-", suffix=".toml")
    try:
        with os.fdopen(handle, "w", encoding="utf-8") as stream:
            stream.write(text)
        usual = 0o666 & ~_umask()
        Path(draft).chmod(usual)
        os.replace(draft, target)
    except BaseException:
        Path(draft).unlink(missing_ok=True)
        raise


def _umask() -> int:
    """Return the mask of the process; it can only be read by setting it."""
    mask = os.umask(0)
    os.umask(mask)
    return mask
