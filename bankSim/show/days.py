"""Marks of the day on a time axis: midnights as lines, the clock or the day above."""

from typing import TYPE_CHECKING

import numpy as np

from bankSim.model.load import DAY_S
from bankSim.show.looks import FAINT, INK, QUIET
from bankSim.show.whens import Timed, tells_clock
from bankSim.show.words import clock

if TYPE_CHECKING:
    from matplotlib.axes import Axes

MOST_LABELS = 9
MOST_NIGHTS = 31
STEPS_H = (
    1 / 60, 1 / 12, 0.25, 0.5, 1.0, 2.0, 3.0, 6.0, 12.0, 24.0, 48.0, 120.0, 240.0, 720.0, 2400.0,
)  # fmt: skip
AXIS_STEPS_H = (0.1, 0.25, 0.5, 1.0, 2.0, 4.0, 6.0, 12.0, 24.0, 48.0, 120.0, 240.0, 720.0, 2400.0)


def hour_ticks(end_s: float, most: int = MOST_LABELS) -> list[float]:
    """Even hours from 0 to the end, at steps that people count in. [h]"""
    hours = end_s / 3600.0
    step = next((one for one in AXIS_STEPS_H if hours / one <= most), hours)
    return [float(one) for one in np.arange(0.0, hours * (1 + 1e-9), step)]


def mark_midnights(axes: "Axes", result: Timed, factor: float) -> None:
    """Draw a fine line at every midnight where the clock is known and the run is not too long."""
    if not tells_clock(result):
        return
    first = (-result.scenario.bank.starts_at_s) % DAY_S
    nights = np.arange(first, result.end_time_s, DAY_S)
    for night in nights if nights.size <= MOST_NIGHTS else ():
        axes.axvline(night / factor, color=FAINT, linewidth=0.9, linestyle=(0, (1, 2)), zorder=0)


def clock_axis(axes: "Axes", result: Timed, factor: float) -> None:
    """Write the wall clock (long runs: the day) above the axes, where the scenario tells it."""
    if not tells_clock(result):
        return
    ticks, texts = clock_ticks(result.scenario.bank.starts_at_s, result.end_time_s)
    if not ticks:
        return  # less than a minute, and no full minute in it
    above = axes.secondary_xaxis("top")
    above.set_xticks([tick / factor for tick in ticks], texts)
    above.tick_params(labelsize=8, colors=INK, length=3)
    above.spines["top"].set_color(QUIET)
    above.set_xlabel(
        "time of day [h:min]" if any(":" in text for text in texts) else "day", fontsize=8
    )


def clock_ticks(starts_at_s: float, end_s: float) -> tuple[list[float], list[str]]:
    """Instants at round times of the day, and their texts: "18:00", at midnights "day 2".

    Parameters
    ----------
    starts_at_s : float
        Wall clock at 0. [s after midnight]
    end_s : float
        [s]

    Returns
    -------
    ticks : list of float
        Since the start. [s]
    texts : list of str
    """
    step = (
        next((one for one in STEPS_H if end_s / 3600.0 / one <= MOST_LABELS), STEPS_H[-1]) * 3600.0
    )
    first = np.ceil(starts_at_s / step - 1e-9) * step
    clocks = np.arange(first, starts_at_s + end_s + 1e-6, step)
    return [float(one - starts_at_s) for one in clocks], [_text(float(one)) for one in clocks]


def _text(clock_s: float) -> str:
    day, rest = divmod(clock_s, DAY_S)
    if rest == 0.0:
        return f"day {int(day) + 1}"
    return clock(rest)
