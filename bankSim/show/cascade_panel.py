"""The first cascade of a run, enlarged: half a minute that a long time axis cannot show."""

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from bankSim.model.curve import Floats
from bankSim.show.looks import QUIET, dress
from bankSim.show.whens import at
from bankSim.sim.cascades import cascades, chain_events
from bankSim.sim.result import Result

if TYPE_CHECKING:
    from matplotlib.axes import Axes

BEFORE_S, AFTER_S = 8.0, 12.0
MOST_LONG_S = 120.0
UNSEEN = 0.1


def cascade_times(result: Result) -> tuple[float, float] | None:
    """First and last cut-out of the first cascade; None where the whole run shows it well. [s]"""
    chains = cascades(result)
    if not chains:
        return None
    times = [event.time_s for event in chain_events(chains[0])]
    length_s = max(times) - min(times)
    seen = length_s + BEFORE_S + AFTER_S > UNSEEN * result.end_time_s
    return None if seen or length_s > MOST_LONG_S else (min(times), max(times))


def draw_cascade(
    axes: "Axes",
    result: Result,
    times: tuple[float, float],
    time_s: Floats,
    lines: Sequence[tuple[Floats, dict[str, Any]]],
) -> None:
    """Draw lines from a little before the first cut-out to a little after the last.

    Parameters
    ----------
    axes : Axes
        An empty one.
    result : Result
    times : (float, float)
        From `cascade_times`. [s]
    time_s : array (m,)
        Not falling; a repeated time is a jump. [s]
    lines : sequence of (array (m,), look)
        Discharge currents. [A]
    """
    begin_s, end_s = times
    low, high = begin_s - BEFORE_S, end_s + AFTER_S
    here = (time_s >= low - MOST_LONG_S) & (time_s <= high + MOST_LONG_S)
    for current, look in lines:
        axes.plot(time_s[here] - begin_s, current[here], **look)
    axes.axhline(0.0, color=QUIET, linewidth=0.8, zorder=1)
    title = f"The cascade, enlarged: {at(result, begin_s)}"
    dress(axes, title, "time since its first trip [s]", "discharge current [A]")
    axes.set_xlim(-BEFORE_S, end_s - begin_s + AFTER_S)
