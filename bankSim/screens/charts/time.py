"""The course of a run: life lanes, voltage, currents, charge above one another, one cursor."""

from collections.abc import Sequence

from bankSim.screens.charts.frame import Spec
from bankSim.screens.charts.look import LIGHT, Look
from bankSim.sim.result import Result
from bankSim.study.traced import Fan

ROWS = ("lanes", "voltage", "current", "charge")


def time_chart(
    result: Result,
    *,
    fan: Fan | None = None,
    window_h: tuple[float, float] | None = None,
    ghost: Result | None = None,
    rows: Sequence[str] = ROWS,
    look: Look = LIGHT,
) -> Spec:
    """Draw the run over time; all rows share the time axis and the cursor.

    Parameters
    ----------
    result : Result
    fan : Fan, optional
        Bands around the lines, 5 to 95 % and 25 to 75 %.
    window_h : (float, float), optional
        Begin and end of what is shown; the lines are thinned for it. [h]
    ghost : Result, optional
        A former run as thin grey dashed lines; batteries are matched by name.
    rows : sequence of str
        Of `ROWS`, from top to bottom.
    look : Look
    """
    raise NotImplementedError


def time_words(
    result: Result,
    *,
    fan: Fan | None = None,
    window_h: tuple[float, float] | None = None,
    ghost: Result | None = None,
    rows: Sequence[str] = ROWS,
) -> str:
    """Return what `time_chart` shows, in a sentence or two."""
    raise NotImplementedError
