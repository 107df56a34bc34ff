"""The one temporary folder of the server, private and removed when it ends."""

import atexit
import hashlib
import shutil
import tempfile
import threading
from collections import OrderedDict
from contextlib import ExitStack
from functools import cache
from pathlib import Path

from bankSim.errors import ScenarioError
from bankSim.scenario.draft import Draft
from bankSim.scenario.draft_tables import check_table
from bankSim.whole import workshop

MOST_FOLDERS = 200
MOST_BYTES = 2_000_000_000  # of all folders together; the newest stays in any case
_LOCK = threading.Lock()
_USED: OrderedDict[str, Path] = OrderedDict()
_BYTES: dict[str, int] = {}


@cache
def room() -> Path:
    """Return the folder; only this user may look into it.

    Those of servers that were killed are removed first.
    """
    stack = ExitStack()
    folder = stack.enter_context(workshop(Path(tempfile.gettempdir())))
    atexit.register(stack.close)
    return folder


def folder_of_tables(draft: Draft) -> Path:
    """Return a folder that holds exactly the tables of a draft; the same tables share one."""
    for name, content in draft.tables:
        check_table(name, content)
    digest = hashlib.sha256(
        repr([(name, hashlib.sha256(content).digest()) for name, content in draft.tables]).encode()
    ).hexdigest()
    with _LOCK:
        if digest not in _USED:
            _USED[digest] = _filled(digest, draft)
            _BYTES[digest] = sum(len(content) for _, content in draft.tables)
        _USED.move_to_end(digest)
        while len(_USED) > 1 and (len(_USED) > MOST_FOLDERS or _total() > MOST_BYTES):
            name, folder = _USED.popitem(last=False)
            _BYTES.pop(name, None)
            shutil.rmtree(folder, ignore_errors=True)
        return _USED[digest]


def keep_in_use(draft: Draft, folder: str) -> None:
    """Note that the folder of a draft was asked for; make it again if it was let go."""
    name = Path(folder).name
    with _LOCK:
        if name in _USED:
            _USED.move_to_end(name)
            return
    folder_of_tables(draft)


def _total() -> int:
    return sum(_BYTES.get(one, 0) for one in _USED)


def _filled(digest: str, draft: Draft) -> Path:
    folder = room() / digest
    for name, content in draft.tables:
        place = folder / name
        try:
            place.parent.mkdir(parents=True, exist_ok=True)
            place.write_bytes(content)
        except OSError as error:  # a table named as the folder of another one; no room left
            shutil.rmtree(folder, ignore_errors=True)
            text = f"{name}: cannot be kept beside the other tables ({error.strerror})"
            raise ScenarioError([text]) from error
    folder.mkdir(exist_ok=True)
    return folder
