"""The made-up logs that lie beside the project, to try the page with."""

from functools import cache
from pathlib import Path

import bankSim
from bankSim.scenario.draft import Draft
from bankSim.screens.my_test.shelf import Shelf

HERE = Path(bankSim.__file__).resolve().parent
PLACES = (HERE / "scenarios", HERE.parent / "scenarios")
LOGS = (
    "synthetic-older-capacity.csv",
    "synthetic-older-pulses.csv",
    "synthetic-newer-capacity.csv",
    "synthetic-newer-repeat-1.csv",
    "synthetic-newer-repeat-2.csv",
    "synthetic-newer-repeat-3.csv",
    "synthetic-bank-parallel.csv",
)
BANK = "bench-bank.toml"


@cache
def folder() -> Path | None:
    """Return where they are; None where they were not installed."""
    wanted = (BANK, *(f"logs/{name}" for name in LOGS))
    return next((one for one in PLACES if all((one / name).is_file() for name in wanted)), None)


def bring(shelf: Shelf) -> None:
    """Put the made-up logs on a shelf, those that are not there yet."""
    place = folder()
    if place is None:
        return
    for name in LOGS:
        if name not in [one.name for one in shelf.logs]:
            shelf.add(name, (place / "logs" / name).read_bytes())


def bench_draft() -> Draft | None:
    """Return the bank that the made-up bank log belongs to."""
    place = folder()
    return None if place is None else Draft((place / BANK).read_text(encoding="utf-8"), name=BANK)
