"""Where the charge of every battery went: its label, what it delivered, what stays and is left."""

from bankSim.screens.charts.frame import Spec
from bankSim.screens.charts.look import LIGHT, Look
from bankSim.sim.result import Result
from bankSim.study.quick_fan import QuickSpread


def charge_bars(result: Result, spread: QuickSpread | None = None, look: Look = LIGHT) -> Spec:
    """Draw label, delivered, locked in and left of each battery, lying bars with numbers.

    Parameters
    ----------
    result : Result
    spread : QuickSpread, optional
        Whiskers from 5 to 95 % on what is delivered.
    look : Look
    """
    raise NotImplementedError


def charge_words(result: Result, spread: QuickSpread | None = None) -> str:
    """Return what `charge_bars` shows, in a sentence or two."""
    raise NotImplementedError
