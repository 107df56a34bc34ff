"""Where compiled code is kept, so that an edit of any kernel file can never meet old code.

The compiler stamps a cached function with the text of its own file only: a changed helper in
another file would go unseen. So the folder's name holds a hash of all kernel files.
"""

import hashlib
import os
import shutil
import sys
import tempfile
from pathlib import Path

FOLDERS_KEPT = 4
ROOM_BYTES = 50_000_000  # that compiled code needs, with room to spare


def source_hash(folder: Path) -> str:
    """Return 16 hex digits that change with the text or the name of any kernel file in `folder`."""
    digest = hashlib.sha256()
    for file in sorted(folder.glob("*.py")):
        digest.update(file.name.encode() + b"\0" + file.read_bytes() + b"\0")
    return digest.hexdigest()[:16]


def choose_cache_folder() -> None:
    """Point the compiler at a private folder for this text of the kernels.

    A folder that the user chose (environment variable NUMBA_CACHE_DIR) is respected: the hash
    becomes a folder inside it.
    """
    stamp = f"kernels-{source_hash(Path(__file__).parent)}"
    chosen = os.environ.get("NUMBA_CACHE_DIR")
    if chosen and Path(chosen).name.startswith("kernels-"):
        chosen = str(Path(chosen).parent)
    base = Path(chosen) if chosen else _cache_home()
    folder = _usable(base / stamp) or _elsewhere(base / stamp)
    if folder is None:  # nothing can be written anywhere: every start compiles anew
        os.environ.pop("NUMBA_CACHE_DIR", None)
        return
    _drop_old_folders(folder)
    os.environ["NUMBA_CACHE_DIR"] = str(folder)
    if "numba" in sys.modules:
        sys.modules["numba"].config.CACHE_DIR = str(folder)


def _cache_home() -> Path:
    """Return the user's cache folder for this program."""
    home = os.environ.get("XDG_CACHE_HOME") or os.path.join(os.path.expanduser("~"), ".cache")
    return Path(home) / "banksim"


def _usable(folder: Path) -> Path | None:
    """Return the folder, made where missing, if this user and nobody else may write to it."""
    try:
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        probe = folder / f".probe-{os.getpid()}"
        probe.write_bytes(b"")
        probe.unlink()
        owner_ok = not hasattr(os, "getuid") or folder.stat().st_uid == os.getuid()
        closed = os.name == "nt" or folder.stat().st_mode & 0o022 == 0
        roomy = _is_filled(folder) or shutil.disk_usage(folder).free > ROOM_BYTES
    except OSError:
        return None
    return folder if owner_ok and closed and roomy else None


def _is_filled(folder: Path) -> bool:
    """Tell whether compiled code is there."""
    return next(folder.rglob("*.nbi"), None) is not None


def _elsewhere(folder: Path) -> Path | None:
    """Return a folder among temporary files in place of one that cannot be written.

    It is the same one each time, so that no more than one is left behind; what is compiled already
    is taken along.
    """
    try:
        user = os.getuid() if hasattr(os, "getuid") else 0
        base = Path(tempfile.gettempdir()) / f"banksim-kernels-{user}"
        if base.is_symlink() or _usable(base) is None:  # whoever owns it could put code there
            return None
        place = _usable(base / folder.name)
        if place is not None and not _is_filled(place) and _is_filled(folder):
            shutil.copytree(folder, place, dirs_exist_ok=True)
    except OSError:
        return None
    return place


def _drop_old_folders(folder: Path) -> None:
    """Keep only the newest few folders of earlier kernel texts."""
    try:
        rest = sorted(
            (one for one in folder.parent.glob("kernels-*") if one != folder),
            key=lambda one: one.stat().st_mtime,
            reverse=True,
        )
    except OSError:
        return
    for old in rest[FOLDERS_KEPT - 1 :]:
        shutil.rmtree(old, ignore_errors=True)
