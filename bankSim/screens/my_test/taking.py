"""Refuses what is no table at the door, so that nothing of it stays."""

from bankSim.measured.log import LogError
from bankSim.measured.read import headers_of
from bankSim.screens.my_test.shelf import Kept, Shelf


def check_table(shelf: Shelf, kept: Kept) -> None:
    """Take a file off the shelf again when it is no table as text.

    Raises
    ------
    LogError
        One line that says what it is.
    """
    try:
        headers_of(kept.file)
    except LogError as error:
        shelf.remove(kept.digest)
        raise LogError(str(error).replace(str(kept.file), kept.name)) from error
