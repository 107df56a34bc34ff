"""The current of every battery over time in all draws, one panel a battery."""

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from bankSim.kernels.arrays import Floats
from bankSim.show.bands import MEDIAN, averaged, draw_bands
from bankSim.show.fan_voltage import WIDE_IN
from bankSim.show.figure_words import middle_and_range
from bankSim.show.fitting import heading, name_of
from bankSim.show.looks import COLOURS, INK, QUIET, dress, plain
from bankSim.study.blocks import Draws
from bankSim.study.outcomes import battery_column
from bankSim.study.spread import Band, SpreadResult, band
from bankSim.study.traced import Fan

if TYPE_CHECKING:
    from matplotlib.axes import Axes

MOST_PANELS, ONE_COLUMN = 8, 3
NARROW_IN, TITLE_PT = 3.3, 9.5


def worth_a_panel(fan: Fan) -> list[int]:
    """Return the places of the batteries that get a panel: all, or those with most current."""
    count = len(fan.current_A)
    if count <= MOST_PANELS:
        return list(range(count))
    peaks = np.abs(np.nan_to_num(fan.current_A[:, MEDIAN])).max(axis=1)
    highest = np.argsort(-peaks, kind="stable")[:MOST_PANELS]
    return sorted(int(place) for place in highest)


def draw_currents(
    panels: Sequence["Axes"],
    result: SpreadResult,
    time: Floats,
    width: float | None,
    shown: Sequence[int],
) -> None:
    """Draw bands of the current, discharge positive; the title tells peaks that averages hide.

    Parameters
    ----------
    panels : sequence of Axes
    result : SpreadResult
    time, width
        As in `draw_voltage`.
    shown : sequence of int
        Places of the batteries, one a panel.
    """
    inches = WIDE_IN if len(shown) <= ONE_COLUMN else NARROW_IN
    for axes, place in zip(panels, shown, strict=True):
        own = result.traced.fan.current_A[place]
        five = np.array([averaged(time, line, width) for line in own])
        draw_bands(axes, time, five, COLOURS[place % len(COLOURS)])
        axes.axhline(0.0, color=QUIET, linewidth=0.8, zorder=1)
        dress(axes, "", "", "discharge [A]")
        title = heading(_title(result.draws, place), inches, TITLE_PT)
        plain(axes.set_title(title, loc="left", fontsize=TITLE_PT, color=INK, pad=5))


def _title(draws: Draws, place: int) -> str:
    """Name a battery and its largest current in all draws, out or in."""
    name = draws.plan.scenario.bank.batteries[place].name
    out, into = (_peak(draws, name, way) for way in ("discharge", "charge"))
    gives = out.percentiles[MEDIAN].value >= into.percentiles[MEDIAN].value
    told = f"{'gives' if gives else 'takes'} up to {middle_and_range(out if gives else into)} A"
    return f'"{name_of(name, NARROW_IN)}" {told}'


def _peak(draws: Draws, name: str, way: str) -> Band:
    values = draws.column(battery_column(name, f"peak_{way}_A")).astype(float)
    return band(way, "A", values, None)
