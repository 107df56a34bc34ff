"""The time around a cut-out: the cells of that battery against the limit, and all currents."""

from bankSim.screens.charts.frame import Spec
from bankSim.screens.charts.look import LIGHT, Look
from bankSim.sim.result import Event, Result


def cut_out_chart(result: Result, event: Event, look: Look = LIGHT) -> Spec:
    """Draw the cells of one battery before and after it switched, and what the currents do.

    Parameters
    ----------
    result : Result
    event : Event
        A `trip` of a battery, from `result.events` (see `show.causes.cut_outs`, `trips`).
    look : Look
    """
    raise NotImplementedError


def cut_out_words(result: Result, event: Event) -> str:
    """Return what `cut_out_chart` shows, in a sentence or two."""
    raise NotImplementedError
