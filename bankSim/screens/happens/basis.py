"""What was assumed, as a table that can be narrowed down by subject and by words."""

from bankSim.show.basis import assumed_rows
from bankSim.show.blocks import Grid
from bankSim.sim.result import Result

EVERYTHING = "everything"
MOST_ROWS = 600


def subjects(result: Result) -> list[str]:
    """Return what can be chosen: everything, then the subjects that occur."""
    return [EVERYTHING, *dict.fromkeys(subject for subject, _, _ in assumed_rows(result))]


def assumed_grid(result: Result, subject: str = EVERYTHING, words: str = "") -> tuple[Grid, int]:
    """Return the values of a subject whose row holds all the words, and how many there are.

    Parameters
    ----------
    result : Result
    subject : str
    words : str
        Looked for in value and source, large or small.
    """
    wanted = words.casefold().split()
    rows = [
        row
        for row in assumed_rows(result)
        if subject in (EVERYTHING, row[0])
        and all(word in " ".join(row).casefold() for word in wanted)
    ]
    return Grid(("About", "Value", "Where it is from"), tuple(rows[:MOST_ROWS]), words=3), len(rows)
