"""Histograms of one number of all draws, with its 5 %, middle and 95 % points."""

from typing import TYPE_CHECKING

import numpy as np

from bankSim.kernels.arrays import Floats
from bankSim.show.looks import INK, halo, plain
from bankSim.show.study_marks import RING
from bankSim.show.study_words import HIGH, LOW, MIDDLE, bare
from bankSim.study.spread import Band

if TYPE_CHECKING:
    from matplotlib.axes import Axes

MOST_BINS, LEAST_BINS = 40, 5
NARROW = 1e-6  # of the value: a range below it is none
ROOM = 0.13  # of the range, on both sides


def draw_histogram(axes: "Axes", values: Floats, band: Band, colour: str) -> None:
    """Draw how the values spread, with strokes at 5, 50 and 95 % and a ring at the single run.

    Parameters
    ----------
    axes : Axes
    values : array (draws,)
        In the unit of the axis.
    band : Band
        Of these values.
    colour : str
    """
    edges = edges_of(values)
    counts, _, _ = axes.hist(
        values, bins=list(edges), color=colour, alpha=0.55, edgecolor="white", linewidth=0.5
    )
    top = float(np.max(counts))
    for place, name, side, height in _points(band):
        at = band.percentiles[place].value
        width = 1.8 if place == MIDDLE else 1.0
        axes.plot([at, at], [0.0, height * top], color=INK, linewidth=width)
        text = axes.annotate(
            f"{name}: {bare(band, place)}", (at, height * top), xytext=(0, 2),
            textcoords="offset points", ha=side, va="bottom", fontsize=8.0, color=INK,
        )  # fmt: skip
        halo(plain(text))
    if band.central is not None:
        axes.plot([band.central], [0.0], zorder=6, clip_on=False, **RING)
    seen = [
        float(edges[0]),
        float(edges[-1]),
        *([band.central] if band.central is not None else []),
    ]
    room = ROOM * (max(seen) - min(seen))
    axes.set_xlim(min(seen) - room, max(seen) + room)
    axes.set_ylim(0.0, 1.42 * top)
    axes.locator_params(axis="y", integer=True)


def _points(band: Band) -> tuple[tuple[int, str, str, float], ...]:
    """Return what is marked: which point, its name, on which side that stands, how high."""
    if not band.percentiles:
        return ()
    if bare(band, LOW) == bare(band, HIGH):
        return ((MIDDLE, "5 to 95 %", "center", 1.06),)
    return (
        (LOW, "5 %", "right", 1.06),
        (HIGH, "95 %", "left", 1.06),
        (MIDDLE, "median", "center", 1.22),
    )


def edges_of(values: Floats) -> Floats:
    """Return even edges of bins, as many as the number of draws carries; (b + 1,).

    Unit: [unit of the values]
    """
    low, high = float(values.min()), float(values.max())
    if high - low <= NARROW * max(abs(low), abs(high), 1e-9):
        half = max(0.05 * abs(low), 0.5)
        return np.linspace(low - half, high + half, LEAST_BINS + 1)
    count = int(np.clip(round(np.sqrt(values.size)), LEAST_BINS, MOST_BINS))
    return np.linspace(low, high, count + 1)
