"""A sweep of two keys: maps of the bank's Ah and of who most probably cuts out first."""

from typing import TYPE_CHECKING, Any

import numpy as np

from bankSim.kernels.arrays import Floats
from bankSim.show.figure_words import draws_words
from bankSim.show.fitting import heading
from bankSim.show.looks import INK, dress, new_figure
from bankSim.show.study_marks import sign
from bankSim.show.study_words import MIDDLE
from bankSim.show.sweep_axis import KeyAxis, in_cells, write_cells
from bankSim.show.sweep_letters import (
    MOST_WRITTEN,
    Numbers,
    draw_letters,
    likeliest,
    name_letters,
    write,
)
from bankSim.show.sweep_words import does
from bankSim.show.words import beside
from bankSim.study.sweep import SweepResult

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

MAP = "cividis"
MAP_IN = (2.2, 4.2)
CELL_IN = 0.42
TITLE_IN = 5.0
BESIDE = "beside a map"
BAR_SHARE = 0.03  # of the width of a map
LONGEST_Y = 30
LEAST_RANGE = 0.02  # of the largest: what the colours span at least
LIGHT = 0.55  # of the colours: black figures from there on


def maps_figure(result: SweepResult) -> "Figure":
    """Two maps over both keys, the first key to the right; marks point at the file's own values.

    Parameters
    ----------
    result : SweepResult
        Of two keys.

    Returns
    -------
    figure : matplotlib Figure
        Medians in Ah with a colour bar; letters for batteries.
    """
    x, y = (in_cells(key, given) for key, given in zip(result.keys, result.given, strict=True))
    height = float(np.clip(CELL_IN * len(y.at), *MAP_IN))
    figure = new_figure(1.9 + 2.0 * (height + 0.5))
    grid = figure.add_gridspec(2, 2, width_ratios=[1.0, BAR_SHARE])
    top, bottom = (figure.add_subplot(grid[row, 0]) for row in (0, 1))
    bar, beside_map = (figure.add_subplot(grid[row, 1], label=BESIDE) for row in (0, 1))
    amounts = result.grid(lambda point: point.bank.percentiles[MIDDLE].value).T
    likely, surely = likeliest(result)
    _amounts(top, bar, amounts)
    draw_letters(bottom, result, likely, surely)
    for axes, title in ((top, _amounts_title(result, amounts)), (bottom, _first_title(likely))):
        dress(axes, heading(title, TITLE_IN), x.label(), y.label(LONGEST_Y, "\n"))
        axes.grid(False)
        write_cells(axes.xaxis, x)
        write_cells(axes.yaxis, y)
        _point_at_given(axes, x, y)
    name_letters(beside_map, result, likely)
    sign(figure, draws_words(result.draws, result.seed, " at every point"))
    return figure


def _amounts_title(result: SweepResult, values: Floats) -> str:
    low, high = (beside(float(one), float(values.max())) for one in (values.min(), values.max()))
    told = low if low == high else f"{low} to {high}"
    return f"The bank {does(result)} {told} Ah (medians)"


def _first_title(likely: Numbers) -> str:
    crowd = max(likely.shape) > MOST_WRITTEN
    return "Who most probably cuts out first" + ("" if crowd else ", in how many of 100 cases")


def _amounts(axes: "Axes", room: "Axes", values: Floats) -> None:
    from matplotlib.patheffects import withStroke

    low, high = _colour_range(values)
    image = axes.imshow(values, cmap=MAP, aspect="auto", origin="lower", vmin=low, vmax=high)
    bar = room.figure.colorbar(image, cax=room)
    bar.set_label("median of the bank [Ah]", fontsize=9.0, color=INK)
    bar.ax.tick_params(labelsize=8.0)
    if max(values.shape) <= MOST_WRITTEN:
        for (row, column), value in np.ndenumerate(values):
            dark = value < low + LIGHT * (high - low)
            write(axes, column, row, beside(value, high), "white" if dark else INK)
    elif values.max() > values.min() and min(values.shape) > 1:
        lines = axes.contour(values, levels=7, colors="white", linewidths=0.9)
        lines.set_path_effects([withStroke(linewidth=2.0, foreground=INK)])
        for text in axes.clabel(lines, fontsize=7.5):
            text.set_path_effects([withStroke(linewidth=2.0, foreground=INK)])


def _colour_range(values: Floats) -> tuple[float, float]:
    """Return the ends of the colours; differences of next to nothing stay pale."""
    low, high = float(values.min()), float(values.max())
    missing = max(LEAST_RANGE * abs(high) - (high - low), 0.0)
    return low - 0.5 * missing, high + 0.5 * missing or 1.0


def _point_at_given(axes: "Axes", x: KeyAxis, y: KeyAxis) -> None:
    """Point from the axes' edges to the values that the file has."""
    look: dict[str, Any] = {
        "color": "white", "markeredgecolor": INK, "markersize": 8.0, "linestyle": "none",
        "clip_on": False, "zorder": 6,
    }  # fmt: skip
    if x.given is not None:
        axes.plot([x.given], [0.0], marker="^", transform=axes.get_xaxis_transform(), **look)
    if y.given is not None:
        axes.plot([0.0], [y.given], marker=">", transform=axes.get_yaxis_transform(), **look)
