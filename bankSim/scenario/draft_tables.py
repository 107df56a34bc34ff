"""The tables that belong to a scenario being worked on: which names they may have, and where."""

from pathlib import PurePosixPath

from bankSim.errors import ScenarioError
from bankSim.scenario.lines import Path

LARGEST_TABLE_BYTES = 20_000_000
MOST_TABLES = 40
MOST_TABLE_BYTES = 80_000_000  # of all tables of a scenario
TABLE_KEYS = ("ocv_table", "profile")


def check_table(name: str, content: bytes) -> None:
    """Refuse a table whose name leads elsewhere or that is too large.

    Raises
    ------
    ScenarioError
    """
    if not is_plain_name(name):
        raise ScenarioError([f"{name!r}: expected a plain file name, such as curve.csv"])
    if len(content) > LARGEST_TABLE_BYTES:
        raise ScenarioError([f"{name}: larger than {LARGEST_TABLE_BYTES // 1_000_000} MB"])


def is_plain_name(name: str) -> bool:
    """Tell whether a name stays inside its folder on any system."""
    path = PurePosixPath(name)
    sound = name.isprintable() and not set(name) & set('\\:*?"<>|') and 0 < len(name) <= 200
    return (
        sound
        and not path.is_absolute()
        and ".." not in path.parts
        and str(path) == name
        and name != "."
        and all(len(part.encode()) <= 200 for part in path.parts)
    )


def named_tables(data: object, path: Path = ()) -> list[tuple[Path, str]]:
    """Return where a document names tables, and their names."""
    found: list[tuple[Path, str]] = []
    parts = (
        data.items()
        if isinstance(data, dict)
        else enumerate(data)
        if isinstance(data, list)
        else ()
    )
    for key, item in parts:
        if key in TABLE_KEYS and isinstance(item, str):
            found.append(((*path, key), item))
        else:
            found += named_tables(item, (*path, key))
    return found
