"""Files that a visitor hands in: a scenario, its tables, or a ZIP of them; nothing is believed."""

import io
import stat
import zipfile
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import PurePosixPath

from bankSim.errors import ScenarioError
from bankSim.scenario.draft import Draft, draft_of
from bankSim.scenario.draft_tables import (
    LARGEST_TABLE_BYTES,
    MOST_TABLES,
    check_table,
    is_plain_name,
    named_tables,
)
from bankSim.scenario.syntax import looks_like_log
from bankSim.sim.numbers import clean, listing

LARGEST_BYTES = 40_000_000  # of all that is handed in at once, and of all that a ZIP unfolds to
MOST_ENTRIES = 200
MOST_FILES = 60

File = tuple[str, bytes]


@dataclass(frozen=True)
class Taken:
    """What came of the files.

    Parameters
    ----------
    draft : Draft
    told : tuple of str
        What a person should know, one sentence each.
    """

    draft: Draft
    told: tuple[str, ...] = ()


def take(handed: Sequence[File], present: Draft) -> Taken:
    """Make a draft of files that were handed in together.

    Parameters
    ----------
    handed : sequence of (name, content)
    present : Draft
        Tables without a scenario are added to this one.

    Raises
    ------
    ScenarioError
        One clear line each; nothing was changed then.
    """
    if len(handed) > MOST_FILES:
        raise ScenarioError([f"{len(handed)} files at once; expected at most {MOST_FILES}"])
    if sum(len(content) for _, content in handed) > LARGEST_BYTES:
        raise ScenarioError([f"too much at once; expected {LARGEST_BYTES // 1_000_000} MB or less"])
    files: list[File] = []
    for name, content in handed:
        is_zip = content[:4] in (b"PK\x03\x04", b"PK\x05\x06") or _ending(name) == ".zip"
        room = LARGEST_BYTES - sum(len(one) for _, one in files)
        files += _unfolded(_shown(name), content, room) if is_zip else [(name, content)]
    scenarios = [one for one in files if _ending(one[0]) == ".toml"]
    others = [one for one in files if _ending(one[0]) != ".toml"]
    if len(scenarios) > 1:
        names = listing([_shown(name) for name, _ in scenarios], 4)
        raise ScenarioError([f"{len(scenarios)} scenario files ({names}); expected one at a time"])
    if not files:
        raise ScenarioError(["nothing in it; expected a scenario file (.toml)"])
    if not scenarios:
        return _with_tables(present, others, PurePosixPath(), present)
    path = PurePosixPath(scenarios[0][0])
    draft = draft_of(scenarios[0][1], _shown(path.name))
    return _with_tables(draft, others, path.parent, None)


def _with_tables(
    draft: Draft, tables: list[File], folder: PurePosixPath, own: Draft | None
) -> Taken:
    """Add the tables that the scenario names; tell of those that it does not."""
    named = list(dict.fromkeys(name for _, name in named_tables(draft.data)))
    left: list[str] = []
    taken: dict[str, str] = {}  # name in the scenario: name of the file
    for name, content in sorted(tables, key=lambda one: _beside(one[0], folder) not in named):
        home = _home(name, folder, named)
        if home is None or (home in taken and _beside(taken[home], folder) == home):
            left.append(_shown(name))
        elif home in taken:
            text = f"{_shown(taken[home])} and {_shown(name)} both fit {_shown(home)}; expected one"
            raise ScenarioError([text])
        else:
            _check_text(home, content)
            draft, taken[home] = draft.with_table(home, content), name
    if own is not None and len(left) == len(tables):
        logs = any(
            looks_like_log(content[:20_000].decode("utf-8", "replace")) for _, content in tables
        )
        raise ScenarioError(
            [
                f"{listing(left, 4)}: the scenario on your desk names no such table, and no "
                "scenario file came with it; expected a .toml file, or a table that it names"
                + ("; a measured log goes to the page My test" if logs else "")
            ]
        )
    told = []
    if left:
        told.append(f"Left aside, because the scenario does not name it: {listing(left, 6)}.")
    wanted = dict.fromkeys(name for _, name in draft.missing_tables())
    missing = [name for name in wanted if is_plain_name(name)]  # nobody can hand in another one
    if missing:
        names = listing([_shown(name) for name in missing], 6)
        told.append(f"Still missing: {names}. Hand it in as well.")
    return Taken(draft, tuple(told))


def _home(name: str, folder: PurePosixPath, named: list[str]) -> str | None:
    """Return the name by which the scenario knows a table."""
    path, beside = PurePosixPath(name.replace("\\", "/")), _beside(name, folder)
    if beside in named and is_plain_name(beside):
        return beside
    alike = [one for one in named if PurePosixPath(one).name == path.name and is_plain_name(one)]
    return alike[0] if len(alike) == 1 else None


def _beside(name: str, folder: PurePosixPath) -> str:
    """Return the path of a file as seen from the folder of the scenario."""
    path = PurePosixPath(name.replace("\\", "/"))
    return str(path.relative_to(folder)) if path.is_relative_to(folder) else str(path)


def _check_text(name: str, content: bytes) -> None:
    check_table(name, content)
    if b"\0" in content[:100_000]:
        raise ScenarioError([f"{_shown(name)}: not a text file; expected a table (.csv)"])


def _unfolded(name: str, content: bytes, room: int) -> list[File]:
    """Return the files of a ZIP, `room` bytes at most; what it says of sizes is not believed."""
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as archive:
            entries = archive.infolist()
            if len(entries) > MOST_ENTRIES:
                text = f"{name}: {len(entries)} entries; expected at most {MOST_ENTRIES}"
                raise ScenarioError([text])
            return _entries(name, archive, [one for one in entries if not one.is_dir()], room)
    except (zipfile.BadZipFile, NotImplementedError, RuntimeError, EOFError, OSError,
            ValueError, OverflowError, UnicodeError) as error:  # fmt: skip
        if isinstance(error, ScenarioError):
            raise
        raise ScenarioError([f"{name}: not a ZIP file that can be read"]) from error
    except Exception as error:  # zlib, bz2 and lzma have errors of their own
        raise ScenarioError([f"{name}: damaged ZIP file"]) from error


def _entries(
    name: str, archive: zipfile.ZipFile, entries: list[zipfile.ZipInfo], room: int
) -> list[File]:
    files: list[File] = []
    for entry in entries:
        path = PurePosixPath(entry.filename)
        if path.parts[:1] == ("__MACOSX",) or path.name.startswith("."):
            continue
        inside = f"{name}: {_shown(entry.filename)}"
        if stat.S_ISLNK(entry.external_attr >> 16) or not is_plain_name(entry.filename):
            raise ScenarioError([f"{inside} leads out of the ZIP; expected plain files"])
        if _ending(entry.filename) not in (".toml", ".csv", ".txt"):
            continue
        if entry.flag_bits & 1:
            raise ScenarioError([f"{inside} is locked with a password; expected an open ZIP"])
        if len(files) > MOST_TABLES:
            raise ScenarioError([f"{name}: more than {MOST_TABLES} tables"])
        most = max(0, min(room, LARGEST_TABLE_BYTES))
        with archive.open(entry) as stream:
            found = stream.read(most + 1)
        if len(found) > most:
            raise ScenarioError([f"{inside} unfolds to more than {most / 1e6:.0f} MB"])
        room -= len(found)
        files.append((entry.filename, found))
    if len({path for path, _ in files}) < len(files):
        raise ScenarioError([f"{name}: two files of the same name in it"])
    return files


def _ending(name: str) -> str:
    return PurePosixPath(name).suffix.lower()


def _shown(name: str) -> str:
    return clean(name, 80)
