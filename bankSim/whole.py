"""Files that are whole or not there: written beside their place, then renamed.

What is being written bears a name that begins with `MARK`, and its writer holds a lock on it, which
the system drops when the process ends, however it ends. So a later run can tell what a killed run
left behind, and removes it; where a file system knows no locks, an hour's age decides.
"""

import contextlib
import os
import secrets
import shutil
import time
from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from contextlib import contextmanager
from importlib import import_module
from pathlib import Path
from typing import Any

fcntl: Any = import_module("fcntl") if os.name == "posix" else None  # Windows has no such locks
MARK = ".banksim-writing-"
NOTE = "BEING-REPLACED.txt"
NOTE_TEXT = (
    "Files in this folder are being replaced just now. If this note stays, the run that did so "
    "was broken off: some files are of that run, others are older. Run the command again.\n"
)
LEFT_S = 3600.0  # age from which on a leftover belongs to nobody, where there are no locks


def as_bytes(text: str) -> bytes:
    """Return a text in UTF-8; bytes of file names that Python could not read come back as such."""
    raw = text.encode("utf-8", "surrogateescape")
    return raw.decode("utf-8", "replace").encode("utf-8")


def write_whole(place: Path, content: bytes) -> None:
    """Write one file beside its place, then rename it.

    Raises
    ------
    OSError
        When it cannot be written; what stood there is then untouched.
    """
    write_together({place: content})


def write_together(contents: Mapping[Path, bytes]) -> None:
    """Write files beside their places, and rename them when all of them are complete.

    Parameters
    ----------
    contents : mapping
        From place to content; the folders exist.

    Raises
    ------
    OSError
        When one cannot be written: what stood in all these places is then untouched. When one
        cannot be renamed: those before it are new by then.
    """
    with contextlib.ExitStack() as stack:
        moves = [
            (stack.enter_context(_beside(place.parent, content)), place)
            for place, content in contents.items()
        ]
        for draft, place in moves:
            os.replace(draft, place)


@contextmanager
def workshop(folder: Path) -> Iterator[Path]:
    """Make a hidden folder inside `folder` to write in; it goes when the block ends."""
    sweep(folder)
    made, handle = _held(folder, lambda place: place.mkdir(mode=0o700))
    try:
        yield made
    finally:
        shutil.rmtree(made, ignore_errors=True)
        _let_go(handle)


def move_in(made: Path, folder: Path, names: Sequence[str], gone: Collection[str] = ()) -> None:
    """Move complete files from a workshop to their places, one run at a time.

    While that lasts a note lies in the folder. It stays when the run is killed just then, so that
    a mixture of old and new files is never taken for the results of one run.

    Parameters
    ----------
    made, folder : Path
    names : sequence of str
        What is moved, in this order.
    gone : collection of str
        Files of an earlier run that are removed.
    """
    with _alone(folder):
        (made / NOTE).write_bytes(NOTE_TEXT.encode())
        os.replace(made / NOTE, folder / NOTE)
        for name in names:
            os.replace(made / name, folder / name)
        for name in gone:
            (folder / name).unlink(missing_ok=True)
        (folder / NOTE).unlink()


def sweep(folder: Path) -> None:
    """Remove what killed runs left half written in a folder; nothing that somebody is writing."""
    for place in folder.glob(f"{MARK}*"):
        with contextlib.suppress(OSError), _looked_at(place) as is_left:
            if not is_left:
                continue
            if place.is_dir() and not place.is_symlink():
                shutil.rmtree(place, ignore_errors=True)
            else:
                place.unlink(missing_ok=True)


@contextmanager
def _beside(folder: Path, content: bytes) -> Iterator[Path]:
    """Write a complete draft into the folder; it goes when the block ends, if it is still there."""
    draft, handle = _held(folder, lambda place: place.touch(exist_ok=False))
    try:
        with draft.open("wb") as stream:
            stream.write(content)
            stream.flush()
            os.fsync(stream.fileno())
        yield draft
    finally:
        _let_go(handle)
        with contextlib.suppress(OSError):
            draft.unlink(missing_ok=True)


def _held(folder: Path, make: Callable[[Path], None]) -> tuple[Path, int | None]:
    """Make something under a new name and hold a lock on it; another run may sweep in between."""
    while True:
        place = folder / f"{MARK}{secrets.token_hex(6)}"
        make(place)
        if fcntl is None:
            return place, None
        try:
            handle = os.open(place, os.O_RDONLY)
        except FileNotFoundError:
            continue
        with contextlib.suppress(OSError):
            fcntl.flock(handle, fcntl.LOCK_EX)
        if os.path.lexists(place):
            return place, handle
        os.close(handle)


def _let_go(handle: int | None) -> None:
    if handle is not None:
        os.close(handle)


@contextmanager
def _looked_at(place: Path) -> Iterator[bool]:
    """Tell whether nobody holds it; while the block lasts, nobody else can."""
    handle = None
    if fcntl is not None:
        handle = os.open(place, os.O_RDONLY | os.O_NONBLOCK)  # a pipe would wait for its writer
    try:
        yield _is_left(place, handle)
    finally:
        _let_go(handle)


def _is_left(place: Path, handle: int | None) -> bool:
    """Take the lock if nobody has it; what is old counts where there are no locks."""
    if fcntl is not None and handle is not None:
        try:
            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            return False
        except OSError:
            pass
        else:
            return True
    return time.time() - place.lstat().st_mtime > LEFT_S


@contextmanager
def _alone(folder: Path) -> Iterator[None]:
    """Hold a lock on the folder, so that two runs do not mix their files."""
    handle = None
    if fcntl is not None:
        handle = os.open(folder, os.O_RDONLY)
        with contextlib.suppress(OSError):
            fcntl.flock(handle, fcntl.LOCK_EX)
    try:
        yield
    finally:
        _let_go(handle)
