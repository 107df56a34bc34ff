"""A chapter of the bank's life: a sentence with its time and weight."""

from dataclasses import dataclass

HEAVY, USUAL = 3.0, 2.0


@dataclass(frozen=True, slots=True)
class Chapter:
    """A sentence about something that happened.

    Parameters
    ----------
    time_s : float
        When it happened, or began. [s]
    text : str
    weight : float
        Decides what stays when there is too much to tell.
    count : int
        Events that it stands for.
    """

    time_s: float
    text: str
    weight: float = USUAL
    count: int = 1
