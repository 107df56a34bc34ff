"""The logs that one visitor brought: kept for their session only, under names of our own."""

import hashlib
import re
import shutil
import tempfile
import threading
import weakref
from collections import OrderedDict
from dataclasses import dataclass, field
from pathlib import Path

from bankSim.measured.log import Asked, LogError
from bankSim.screens.room import room
from bankSim.sim.numbers import clean

MOST_LOG_MB = 80
MOST_LOGS = 12
MOST_SHELF_MB = 200
MOST_ALL_MB = 4_000
LONGEST_NAME = 60
MB = 1_000_000
_LOCK = threading.Lock()
_FOLDERS: OrderedDict[Path, int] = OrderedDict()  # of all visitors: bytes, the oldest first


@dataclass(frozen=True, slots=True)
class Kept:
    """One log of a visitor.

    Parameters
    ----------
    name : str
        As shown: that of the file, cleaned, and with a number where two have the same.
    digest : str
        SHA-256 of its bytes.
    size : int
        [byte]
    file : Path
        Where the bytes are.
    """

    name: str
    digest: str
    size: int
    file: Path

    @property
    def stem(self) -> str:
        """Return the name without its ending."""
        return Path(self.name).stem


@dataclass(eq=False)
class Shelf:
    """All logs of one visitor, in the order in which they came.

    Parameters
    ----------
    logs : list of Kept
    asked : dict
        From the digest of a log to what was said about its columns.
    """

    logs: list[Kept] = field(default_factory=list)
    asked: dict[str, Asked] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self._folder: Path | None = None

    def add(self, name: str, content: bytes) -> Kept:
        """Put a log on the shelf.

        Parameters
        ----------
        name : str
            Of the file, as the visitor's machine told it; never used as a path.
        content : bytes

        Raises
        ------
        LogError
            One line: too large, too many, empty, or here already.
        """
        shown = _free_name(_shown_name(name), [one.name for one in self.logs])
        digest = hashlib.sha256(content).hexdigest()
        self._check(_shown_name(name), content, digest)
        file = self._place() / f"{digest}.csv"
        file.write_bytes(content)
        kept = Kept(shown, digest, len(content), file)
        self.logs.append(kept)
        _note(file.parent, sum(one.size for one in self.logs))
        return kept

    def remove(self, digest: str) -> None:
        """Take a log away, with its bytes."""
        for one in self.logs:
            if one.digest == digest:
                one.file.unlink(missing_ok=True)
        self.logs = [one for one in self.logs if one.digest != digest]
        self.asked.pop(digest, None)
        if self._folder is not None:
            _note(self._folder, sum(one.size for one in self.logs))

    def named(self, digest: str | None) -> Kept | None:
        """Return the log with this digest."""
        return next((one for one in self.logs if one.digest == digest), None)

    def asked_of(self, kept: Kept) -> Asked:
        """Return what was said about the columns of a log."""
        return self.asked.get(kept.digest, Asked())

    def _place(self) -> Path:
        if self._folder is None or not self._folder.is_dir():
            above = room() / "logs"
            above.mkdir(exist_ok=True)
            self._folder = Path(tempfile.mkdtemp(dir=above))
            weakref.finalize(self, _forget, self._folder)  # the visitor's session has ended
        return self._folder

    def _check(self, name: str, content: bytes, digest: str) -> None:
        if not content:
            raise LogError(f"{name}: is empty; expected a table with time, voltage and current")
        if len(content) > MOST_LOG_MB * MB:
            raise LogError(
                f"{name}: {len(content) / MB:.0f} MB; expected at most {MOST_LOG_MB} MB a log"
            )
        if len(self.logs) >= MOST_LOGS:
            raise LogError(f"{name}: {MOST_LOGS} logs are here already; remove one first")
        if sum(one.size for one in self.logs) + len(content) > MOST_SHELF_MB * MB:
            raise LogError(f"{name}: more than {MOST_SHELF_MB} MB together; remove a log first")
        same = self.named(digest)
        if same is not None:
            raise LogError(f"{name}: the same content as {same.name}, which is here already")


def _shown_name(name: str) -> str:
    """Return the last part of a file name, on one printable line."""
    last = re.split(r"[\\/]", name)[-1].strip()
    return clean(last, LONGEST_NAME).strip(". ") or "log"


def _free_name(name: str, taken: list[str]) -> str:
    path, count, found = Path(name), 2, name
    while found in taken:
        found = f"{path.stem} ({count}){path.suffix}"
        count += 1
    return found


def _note(folder: Path, size: int) -> None:
    """Remember how much a visitor's folder holds; drop the oldest when all hold too much."""
    with _LOCK:
        _FOLDERS[folder] = size
        _FOLDERS.move_to_end(folder)
        while len(_FOLDERS) > 1 and sum(_FOLDERS.values()) > MOST_ALL_MB * MB:
            shutil.rmtree(_FOLDERS.popitem(last=False)[0], ignore_errors=True)


def _forget(folder: Path) -> None:
    with _LOCK:
        _FOLDERS.pop(folder, None)
    shutil.rmtree(folder, ignore_errors=True)
