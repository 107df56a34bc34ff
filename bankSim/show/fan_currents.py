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
WAYS = {"gives": "discharge", "takes": "charge"}
WORTH = 0.1  # of the larger one: a peak below it is not told


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
        As in `draw_voltage`. In the unit of the time axis.
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
    """Name a battery and its largest currents in all draws, out and in, where they matter."""
    name = draws.plan.scenario.bank.batteries[place].name
    peaks = {word: _peak(draws, name, way) for word, way in WAYS.items()}
    middles = {word: band.percentiles[MEDIAN].value for word, band in peaks.items()}
    told = [
        f"{word} up to {middle_and_range(peaks[word])}"
        for word, middle in middles.items()
        if middle > 0.0 and middle >= WORTH * max(middles.values())
    ]
    return (
        f'"{name_of(name, NARROW_IN)}" {", ".join(told)} A'
        if told
        else f'"{name_of(name, NARROW_IN)}" rests'
    )


def _peak(draws: Draws, name: str, way: str) -> Band:
    values = draws.column(battery_column(name, f"peak_{way}_A")).astype(float)
    return band(way, "A", values, None)
