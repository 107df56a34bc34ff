"""The made-up logs that come with the program, to try the page with.

`ready_logs` holds the same files as the project's folder `scenarios/logs`; a test compares them.
"""

from importlib.resources import files

from bankSim.scenario.draft import Draft
from bankSim.screens.my_test.shelf import Shelf
from bankSim.screens.ready import ready_draft

LOGS = (
    "synthetic-older-capacity.csv",
    "synthetic-older-pulses.csv",
    "synthetic-newer-capacity.csv",
    "synthetic-newer-repeat-1.csv",
    "synthetic-newer-repeat-2.csv",
    "synthetic-newer-repeat-3.csv",
    "synthetic-bank-parallel.csv",
)
OF_BANK = LOGS[-1]


def bring(shelf: Shelf) -> None:
    """Put the made-up logs on a shelf, those that are not there yet."""
    folder = files("bankSim.screens") / "ready_logs"
    for name in LOGS:
        if name not in [one.name for one in shelf.logs]:
            shelf.add(name, (folder / name).read_bytes())


def bench_draft() -> Draft:
    """Return the bank that the made-up bank log belongs to."""
    return ready_draft("bench-bank")
