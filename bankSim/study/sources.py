"""A digest of the program's own text: draws of two versions are never mixed."""

import hashlib
from functools import cache
from pathlib import Path

ROOMS = ("kernels", "model", "scenario", "sim", "study")


@cache
def program_digest() -> str:
    """Return 16 hex digits that change with any file that a draw goes through."""
    package = Path(__file__).parents[1]
    digest = hashlib.sha256()
    for room in ROOMS:
        for file in sorted((package / room).rglob("*.py")):
            digest.update(file.name.encode() + b"\0" + file.read_bytes() + b"\0")
    return digest.hexdigest()[:16]
