"""A sweep of one key: the bank's Ah, every battery's Ah, who cuts out first, along the key."""

from typing import TYPE_CHECKING

import numpy as np

from bankSim.kernels.arrays import Floats
from bankSim.show.bands import band_legend, draw_bands
from bankSim.show.figure_words import draws_words
from bankSim.show.fitting import NAME_PT, heading, text_in
from bankSim.show.looks import (
    COLOURS,
    INK,
    dress,
    halo,
    new_figure,
    side_legend,
)
from bankSim.show.study_marks import RING, sign, top_legend
from bankSim.show.sweep_axis import IN_FILE, KeyAxis, along, write_cells
from bankSim.show.sweep_batteries import NOBODY, draw_batteries, draw_first
from bankSim.show.sweep_headline import sweep_headline
from bankSim.show.sweep_words import does
from bankSim.study.spread import PERCENTS
from bankSim.study.sweep import SweepResult

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

PANEL_IN = 2.1
LINES_IN = 6.2  # width of the panels and the names of the lines


def lines_figure(result: SweepResult) -> "Figure":
    """Three panels along one key; the value of the file is marked.

    Parameters
    ----------
    result : SweepResult
        Of one key. Of many batteries the likeliest to cut out first have names.

    Returns
    -------
    figure : matplotlib Figure
        Axes in Ah and chances of 100 cases over the key's unit; words stand in cells.
    """
    one = along(result.keys[0], result.given[0])
    figure = new_figure(1.3 + 3 * PANEL_IN)
    top, middle, bottom = figure.subplots(3, 1, sharex=True)
    _bank(top, result, one)
    lines, names = draw_batteries(middle, result, one)
    nobody = draw_first(bottom, result, one)
    inches = LINES_IN - max(text_in(name, NAME_PT) for name in [*names, NOBODY])
    dress(top, heading(sweep_headline(result)[0], inches), "", "bank [Ah]")
    dress(middle, f"What each battery {does(result)} (medians)", "", "battery [Ah]")
    dress(bottom, "Who cuts out first", one.label(), "chance [of 100 cases]")
    bottom.set_ylim(-3.0, 103.0)
    for axes in (top, middle, bottom):
        _mark_given(axes, one, named=axes is top)
    for axes in (top, middle):
        axes.tick_params(labelbottom=False)
    if one.in_cells:
        write_cells(bottom.xaxis, one)
        bottom.set_xlim(-0.6, len(one.at) - 0.4)
    side_legend(figure, [*lines, nobody], [*names, NOBODY])
    from matplotlib.lines import Line2D

    top_legend(figure, {**band_legend(ends=False), "the single run": Line2D([], [], **RING)})
    sign(figure, draws_words(result.draws, result.seed, " at every value"))
    return figure


def _bank(axes: "Axes", result: SweepResult, one: KeyAxis) -> None:
    five = np.array(
        [[point.bank.percentiles[n].value for point in result.points] for n in range(len(PERCENTS))]
    )
    if one.in_cells:
        _columns(axes, one.at, five)
    else:
        order = np.argsort(one.at)
        draw_bands(axes, one.at[order], five[:, order], COLOURS[0])
    single = [
        np.nan if point.bank.central is None else point.bank.central for point in result.points
    ]
    axes.plot(one.at, single, **RING)


def _columns(axes: "Axes", x: Floats, five: Floats) -> None:
    """Draw each value's band as a column of its own."""
    low, quarter, middle, three, high = five
    axes.vlines(x, low, high, color=COLOURS[0], linewidth=1.4)
    axes.vlines(x, quarter, three, color=COLOURS[0], linewidth=6.0)
    axes.plot(x, middle, color=INK, marker="_", markersize=16, markeredgewidth=2, linestyle="none")


def _mark_given(axes: "Axes", one: KeyAxis, *, named: bool) -> None:
    """Draw a dashed line at the value that the file has."""
    if one.given is None:
        return
    axes.axvline(one.given, color=INK, linewidth=0.9, linestyle=(0, (4, 2)), zorder=1)
    if named:
        text = axes.annotate(
            IN_FILE, (one.given, 0.03), xycoords=("data", "axes fraction"), xytext=(3, 0),
            textcoords="offset points", fontsize=7.5, color=INK, va="bottom",
        )  # fmt: skip
        halo(text)
