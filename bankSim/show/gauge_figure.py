"""Gauge against counted remainder, over counted ampere-hours."""

from typing import TYPE_CHECKING

import numpy as np

from bankSim.measured.gauge import Judged
from bankSim.model.curve import Floats
from bankSim.show.looks import COLOURS, INK, QUIET, dress, halo, new_figure, plain
from bankSim.sim.numbers import clean, number

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

MOST_POINTS = 20_000
GOES_BACK = 0.05  # of all the charge: drawn over time beyond this


def gauge_figure(judged: Judged, line: Judged | None) -> "Figure":
    """Return the figure of one course: what is shown, what is left, and the error below."""
    figure = new_figure(6.4)
    above, below = figure.subplots(2, 1, sharex=True, height_ratios=(2.2, 1.0))
    course = judged.course
    each = max(1, course.time_s.size // MOST_POINTS)
    thin = slice(None, None, each)
    axis, _ = _axis(judged)
    given = axis[thin]
    if judged.table.has_spread:
        above.fill_between(
            given, judged.low_percent[thin], judged.high_percent[thin], color="#d4d4d4",
            linewidth=0.0, label="what published tables would show",
        )  # fmt: skip
    left = f"left by {'counting' if course.counts_all else 'the prediction'}"
    above.plot(given, course.true_percent[thin], color=INK, linewidth=2.0, label=left)
    above.plot(
        given, judged.reading_percent[thin], color=COLOURS[1], linestyle=(0, (5, 1.5)),
        linewidth=1.7, label="shown by the table",
    )  # fmt: skip
    if line is not None:
        above.plot(
            given, line.reading_percent[thin], color=COLOURS[0], linestyle=":",
            linewidth=1.5, label="shown by a straight line over voltage",
        )  # fmt: skip
    _mark(above, judged)
    dress(above, f"Gauge by voltage and counting: {clean(course.name, 50)}", "", "charge left [%]")
    above.set_ylim(-4.0, 108.0)
    figure.legend(loc="outside lower center", ncols=2, frameon=False, fontsize=8.5, handlelength=3)
    _errors(below, judged, line, thin)
    return figure


def _axis(judged: Judged) -> tuple[Floats, str]:
    """Return charge given; where much of it goes back and forth, time is easier to read."""
    course = judged.course
    back_Ah = -np.diff(course.counted_Ah).clip(max=0.0).sum()
    if back_Ah > GOES_BACK * float(np.ptp(course.counted_Ah)):
        return course.time_s / 3600.0, "time [h]"
    return course.counted_Ah, "charge given [Ah]"


def _mark(axes: "Axes", judged: Judged) -> None:
    """Join shown and counted where they are furthest apart."""
    worst = judged.worst
    axis, _ = _axis(judged)
    here = float(axis[int(np.argmax(np.abs(judged.error_points)))])
    at = [here, here]
    ends = [worst.true_percent, worst.reading_percent]
    axes.plot(at, ends, color=INK, linewidth=1.2, marker="o", markersize=5, markerfacecolor="white")
    left = here > axis.min() + 0.6 * np.ptp(axis)
    text = f"{worst.error_points:+.0f} points at {number(worst.voltage_V, 4)} V"
    note = axes.annotate(
        text, (at[0], sum(ends) / 2.0), xytext=(-8 if left else 8, 0), textcoords="offset points",
        ha="right" if left else "left", va="center", fontsize=8.5, color=INK,
    )  # fmt: skip
    halo(plain(note))


def _errors(axes: "Axes", judged: Judged, line: Judged | None, thin: slice) -> None:
    axis, name = _axis(judged)
    given = axis[thin]
    axes.axhspan(-10.0, 10.0, color="#e6e6e6", linewidth=0.0)
    axes.axhline(0.0, color=QUIET, linewidth=0.8)
    axes.plot(
        given, judged.error_points[thin], color=COLOURS[1], linestyle=(0, (5, 1.5)), linewidth=1.7
    )
    if line is not None:
        axes.plot(
            given, line.error_points[thin], color=COLOURS[0], linestyle=":",
            linewidth=1.5,
        )  # fmt: skip
    dress(axes, "Shown less what is left (grey: within 10 points)", name, "error [points]")
