"""Whether a battery file is still as a calibration wrote it: edited work is never replaced."""

import hashlib
import re
from collections.abc import Mapping
from pathlib import Path

from bankSim.errors import SimulationError
from bankSim.measured.battery_file import MARK, BatteryFiles
from bankSim.whole import as_bytes

WRITTEN = "# As written, by checksum: "
ITSELF = "this file"
DIGITS = 20
_PAIR = re.compile(rf"(.+?) ([0-9a-f]{{{DIGITS}}})(?:, |$)")


class EditedError(SimulationError):
    """A file would be replaced that is not as a calibration wrote it."""


def stamped(made: BatteryFiles, place: Path) -> BatteryFiles:
    """Return the files with a line that tells later whether anybody has changed them.

    Parameters
    ----------
    made : BatteryFiles
    place : Path
        Where the scenario goes. Curve files of an earlier calibration that stand beside it, and
        are not written this time, stay known.
    """
    sums = {**_as_left(place), **{name: _digest(as_bytes(t)) for name, t in made.tables.items()}}
    head, _, rest = made.text.partition("\n")
    sums[ITSELF] = _digest(as_bytes(f"{head}\n{rest}"))
    line = WRITTEN + ", ".join(
        f"{name} {digest}" for name, digest in sums.items() if name.isprintable()
    )
    return BatteryFiles(f"{head}\n{line}\n{rest}", made.tables)


def check_unedited(place: Path) -> None:
    """Raise `EditedError` where a calibration written to `place` would replace edited files.

    Parameters
    ----------
    place : Path
        Of the battery file; its curve files stand beside it.
    """
    sums = _sums(place)
    edited = [place] if place.is_file() and not _is_itself(place, sums) else []
    edited += [file for file in _curves(place) if _digest(file.read_bytes()) != sums.get(file.name)]
    if edited:
        raise EditedError(
            f"{edited[0]}: is not as `banksim calibrate` wrote it, so it was left alone; expected "
            "another name behind --battery, or --overwrite to lose what stands there"
        )


def _curves(place: Path) -> list[Path]:
    """Return curve files beside a battery file that bear the names it would write."""
    own = re.compile(re.escape(place.stem) + r"(-cell\d+)?-curve\.csv")
    if not place.parent.is_dir():
        return []
    return sorted(f for f in place.parent.iterdir() if own.fullmatch(f.name) and f.is_file())


def _as_left(place: Path) -> dict[str, str]:
    sums = _sums(place)
    now = {file.name: _digest(file.read_bytes()) for file in _curves(place)}
    return {name: digest for name, digest in now.items() if sums.get(name) == digest}


def _sums(place: Path) -> Mapping[str, str]:
    """Return checksums by name, as a battery file tells them; none where it is no such file."""
    line = _second_line(place)
    if not line.startswith(WRITTEN):
        return {}
    return {found[1]: found[2] for found in _PAIR.finditer(line.removeprefix(WRITTEN))}


def _is_itself(place: Path, sums: Mapping[str, str]) -> bool:
    head, _, rest = place.read_bytes().partition(b"\n")
    _, _, rest = rest.partition(b"\n")
    return head == MARK.encode() and sums.get(ITSELF) == _digest(head + b"\n" + rest)


def _second_line(place: Path) -> str:
    if not place.is_file():
        return ""
    lines = place.read_bytes().split(b"\n", 2)
    return lines[1].decode("utf-8", "replace") if len(lines) > 1 else ""


def _digest(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()[:DIGITS]
