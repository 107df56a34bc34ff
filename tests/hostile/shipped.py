"""The files that come with the program, as bytes, shortened where they are long."""

from functools import cache
from pathlib import Path

SCENARIOS = Path(__file__).resolve().parents[2] / "scenarios"
ROWS = 120  # of a log: an answer takes longer than the damage deserves


@cache
def scenarios() -> dict[str, bytes]:
    """Return the scenario files."""
    return {file.name: file.read_bytes() for file in sorted(SCENARIOS.glob("*.toml"))}


@cache
def tables() -> dict[str, bytes]:
    """Return the curves and profiles that scenarios name."""
    return {file.name: file.read_bytes() for file in sorted(SCENARIOS.glob("*.csv"))}


@cache
def curves() -> list[bytes]:
    """Return the voltage curves."""
    return [content for content in tables().values() if b"state_of_charge" in content]


@cache
def profiles() -> list[bytes]:
    """Return the load profiles."""
    return [content for content in tables().values() if b"time_h" in content]


@cache
def logs() -> list[bytes]:
    """Return the logs, only every so many rows of each."""
    return [_thinned(file.read_bytes()) for file in sorted((SCENARIOS / "logs").glob("*.csv"))]


def _thinned(content: bytes) -> bytes:
    head, rows = content.split(b"\n")[:2], content.split(b"\n")[2:]
    return b"\n".join([*head, *rows[:: max(1, len(rows) // ROWS)], b""])
