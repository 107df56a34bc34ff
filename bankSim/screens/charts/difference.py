"""Before and after a change: Ah, hours and locked-in charge."""

from bankSim.screens.charts.frame import Spec
from bankSim.screens.charts.look import LIGHT, Look
from bankSim.sim.result import Result


def difference_bars(before: Result, after: Result, look: Look = LIGHT) -> Spec:
    """Draw what the bank and each battery did before and do now, in pairs of bars.

    Parameters
    ----------
    before, after : Result
        Batteries are matched by name; one that only one of them has is shown alone.
    look : Look
    """
    raise NotImplementedError


def difference_words(before: Result, after: Result) -> str:
    """Return what `difference_bars` shows, in a sentence or two."""
    raise NotImplementedError
