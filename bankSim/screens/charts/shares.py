"""How the current splits over time, as a part of it."""

from bankSim.screens.charts.frame import Spec
from bankSim.screens.charts.look import LIGHT, Look
from bankSim.sim.result import Result


def shares_chart(
    result: Result, window_h: tuple[float, float] | None = None, look: Look = LIGHT
) -> Spec:
    """Draw each battery's part of the current that batteries give, stacked to 100 %.

    Parameters
    ----------
    result : Result
    window_h : (float, float), optional
        Begin and end of what is shown. [h]
    look : Look
    """
    raise NotImplementedError


def shares_words(result: Result, window_h: tuple[float, float] | None = None) -> str:
    """Return what `shares_chart` shows, in a sentence or two."""
    raise NotImplementedError
