"""How much the bank and each battery deliver, and for how long, over all draws."""

from collections.abc import Sequence
from typing import TYPE_CHECKING

from bankSim.show.figure_words import draws_words, seed_of
from bankSim.show.fitting import heading, leave_room, room_beside
from bankSim.show.histogram import draw_histogram
from bankSim.show.looks import COLOURS, dress, new_figure
from bankSim.show.share_rows import Row, bank_charge, charge_rows, hour_rows, only_takes
from bankSim.show.study_marks import (
    ASIDE,
    CROWD,
    LABEL_MARK,
    beside_row,
    interval_legend,
    interval_mark,
    name_rows,
    sign,
)
from bankSim.show.study_words import range_of
from bankSim.show.words import whole_or
from bankSim.study.spread import Band, SpreadResult

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

HISTOGRAM_IN, ROW_IN, PANEL_IN = 2.4, 0.34, 0.85
ROW_IN_A_CROWD_IN = 0.19
HOURS = "For how long the loads are fed, and when each battery first cuts out"


def shares_figure(result: SpreadResult) -> "Figure":
    """Histogram of the bank's Ah; below it intervals of each battery's Ah, and of the hours.

    Parameters
    ----------
    result : SpreadResult
        With any number of batteries. Without a load the charge that is taken is drawn.

    Returns
    -------
    figure : matplotlib Figure
        Axes in Ah and h; no hours where there are none to tell.
    """
    charges, hours = charge_rows(result), hour_rows(result)
    tables = [charges, hours] if hours else [charges]
    heights = [HISTOGRAM_IN, *(_height_in(rows) for rows in tables)]
    figure = new_figure(0.7 + sum(heights))
    top, *panels = figure.subplots(len(heights), 1, height_ratios=heights)
    inches = room_beside(row.name for rows in tables for row in rows)
    verb = "takes" if only_takes(result) else "delivers"
    values, band = bank_charge(result)
    draw_histogram(top, values, band, COLOURS[0])
    title = heading(_title(result, band, verb), inches)
    dress(top, title, f"charge the bank {verb} [Ah]", "number of draws")
    titles = (f"What each battery {verb}", HOURS)
    looks = ((COLOURS[0], "charge [Ah]"), (COLOURS[2], "time [h]"))
    for axes, rows, title, (colour, x_label) in zip(panels, tables, titles, looks, strict=False):
        _rows(axes, rows, colour, inches)
        dress(axes, heading(title, inches), x_label, "")
        name_rows(axes, [row.name for row in rows])
    interval_legend(figure, with_label=True)
    sign(figure, draws_words(result.draws.count, seed_of(result.draws.plan)))
    return figure


def _height_in(rows: Sequence[Row]) -> float:
    return PANEL_IN + len(rows) * (ROW_IN if len(rows) <= CROWD else ROW_IN_A_CROWD_IN)


def _title(result: SpreadResult, band: Band, verb: str) -> str:
    labels = sum(one.rated_C for one in result.draws.plan.scenario.bank.batteries) / 3600.0
    when = "in 9 of 10 cases" if result.draws.count > 1 else "in a single draw"
    return f"The bank {verb} {range_of(band)} {when}; the labels say {whole_or(labels)} Ah"


def _rows(axes: "Axes", rows: Sequence[Row], colour: str, inches: float) -> None:
    """Draw an interval a row, with the label above it and words behind it."""
    notes = [(max(row.ends, default=0.0), row.words) for row in rows]
    size = 8.0 if len(rows) <= CROWD else 6.5
    for place, (row, (at, words)) in enumerate(zip(rows, notes, strict=True)):
        interval_mark(axes, row.band, place, colour)
        if row.label is not None:
            axes.plot([row.label], [place - ASIDE], **LABEL_MARK)
        beside_row(axes, at, place, words, size)
    leave_room(axes, [end for row in rows for end in row.ends], notes, inches)
