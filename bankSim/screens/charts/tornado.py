"""What matters most: how far the answer moves when one thing goes from low to high."""

from collections.abc import Sequence

from bankSim.screens.charts.frame import Spec
from bankSim.screens.charts.look import LIGHT, Look


def tornado_chart(
    labels: Sequence[str],
    low: Sequence[float],
    high: Sequence[float],
    *,
    middle: float,
    unit: str = "Ah",
    answer: str = "the bank delivers",
    look: Look = LIGHT,
) -> Spec:
    """Draw the answer with each unknown at its low and at its high end, widest on top.

    Parameters
    ----------
    labels : sequence of str
        What is changed, with its range, as in "old: capacity 80 to 90 Ah".
    low, high : sequence of float
        The answer at either end.
    middle : float
        The answer with everything as it stands.
    unit, answer : str
        Of the axis.
    look : Look
    """
    raise NotImplementedError


def tornado_words(
    labels: Sequence[str],
    low: Sequence[float],
    high: Sequence[float],
    *,
    middle: float,
    unit: str = "Ah",
    answer: str = "the bank delivers",
) -> str:
    """Return what `tornado_chart` shows, in a sentence or two."""
    raise NotImplementedError
