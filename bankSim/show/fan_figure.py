"""Voltage and currents over time, as bands of all draws."""

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from bankSim.scenario.record import Scenario
from bankSim.show.bands import MEDIAN, band_legend, switching_width
from bankSim.show.days import clock_axis, hour_ticks, mark_midnights
from bankSim.show.fan_currents import ONE_COLUMN, draw_currents, worth_a_panel
from bankSim.show.fan_voltage import draw_running, draw_voltage
from bankSim.show.figure_words import draws_words, seed_of
from bankSim.show.lines import time_unit
from bankSim.show.looks import INK, new_figure
from bankSim.show.study_marks import sign, top_legend
from bankSim.sim.numbers import span
from bankSim.study.spread import SpreadResult

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

VOLTAGE_IN, RUNNING_IN, PANEL_IN = 2.3, 0.75, 1.35
MOST_TICKS, MOST_IN_A_NARROW = 9, 5


@dataclass(frozen=True, slots=True)
class Drawn:
    """The time that is drawn, for marks of the day."""

    scenario: Scenario
    end_time_s: float


@dataclass(frozen=True, slots=True)
class Panels:
    """Axes of the figure; `running` tells how many draws go on, where not all do."""

    figure: "Figure"
    voltage: "Axes"
    running: "Axes | None"
    batteries: list["Axes"]

    @property
    def every(self) -> list["Axes"]:
        """All, from the top down."""
        above = [self.voltage] if self.running is None else [self.voltage, self.running]
        return [*above, *self.batteries]

    @property
    def narrow(self) -> bool:
        """Tell whether batteries stand two in a row."""
        return len(self.batteries) > ONE_COLUMN


def fan_figure(result: SpreadResult) -> "Figure":
    """Bus voltage and the current of every battery over time: medians with their bands.

    Parameters
    ----------
    result : SpreadResult
        With any number of batteries; of very many those with the highest currents are drawn.

    Returns
    -------
    figure : matplotlib Figure
        Axes in V, A and % over s, min or h; the wall clock above where the scenario tells it.
        Where a load switches often, all lines are running averages.
    """
    fan, scenario = result.traced.fan, result.draws.plan.scenario
    drawn = Drawn(scenario, 3600.0 * float(fan.time_h[-1]))
    factor, unit = time_unit(drawn.end_time_s)
    time = fan.time_h * (3600.0 / factor)
    width = switching_width(time, [fan.voltage_V[MEDIAN], *fan.current_A[:, MEDIAN]])
    shown = worth_a_panel(fan)
    panels = _panels(len(shown), ends=bool(np.any(fan.running < 1.0)))
    draw_voltage(panels.voltage, result, time, unit, width)
    if panels.running is not None:
        draw_running(panels.running, fan, time)
    draw_currents(panels.batteries, result, time, width, shown)
    _time_axes(panels, drawn, factor, unit)
    top_legend(panels.figure, band_legend(ends=panels.running is not None))
    sign(panels.figure, _small_print(result, None if width is None else width * factor))
    return panels.figure


def has_lines(result: SpreadResult) -> bool:
    """Tell whether there is a line to draw over time: not where most draws end at once."""
    return int(np.isfinite(result.traced.fan.voltage_V[MEDIAN]).sum()) > 1


def _panels(count: int, *, ends: bool) -> Panels:
    columns = 1 if count <= ONE_COLUMN else 2
    rows = -(-count // columns)
    heights = [VOLTAGE_IN, *([RUNNING_IN] if ends else []), *([PANEL_IN] * rows)]
    figure = new_figure(1.5 + sum(heights))
    grid = figure.add_gridspec(len(heights), columns, height_ratios=heights)
    voltage = figure.add_subplot(grid[0, :])
    running = figure.add_subplot(grid[1, :]) if ends else None
    batteries: list[Axes] = []
    for place in range(count):
        row, column = divmod(place, columns)
        spot = grid[len(heights) - rows + row, column]
        shared = batteries[0] if batteries else None
        batteries.append(figure.add_subplot(spot, sharey=shared))
    return Panels(figure, voltage, running, batteries)


def _time_axes(panels: Panels, drawn: Drawn, factor: float, unit: str) -> None:
    """Draw the same time on all axes, with words at the lowest ones, the clock at the top."""
    lowest = panels.batteries[-2:] if panels.narrow else panels.batteries[-1:]
    for axes in panels.every:
        axes.set_xlabel(f"time [{unit}]", fontsize=9.5, color=INK, visible=axes in lowest)
        axes.tick_params(labelbottom=axes in lowest)
        axes.set_xlim(0.0, max(drawn.end_time_s / factor, 1e-9))
        mark_midnights(axes, drawn, factor)
        if unit == "h":
            few = panels.narrow and axes in panels.batteries
            most = MOST_IN_A_NARROW if few else MOST_TICKS
            axes.set_xticks(hour_ticks(drawn.end_time_s, most))
    clock_axis(panels.voltage, drawn, factor)


def _small_print(result: SpreadResult, width_s: float | None) -> str:
    """Say which draws these are, whether lines are averages, and what has no panel."""
    fan, count = result.traced.fan, result.draws.count
    hidden = len(fan.current_A) - len(worth_a_panel(fan))
    part = "" if fan.draws == count else f"the first {fan.draws:,} of "
    notes = [
        f"{hidden} batteries with less current are not drawn" if hidden else "",
        "no line: dark" if np.any(fan.voltage_V == 0.0) else "",
        f"lines are averages over {span(width_s, 2)}, peaks in titles are not" if width_s else "",
        part + draws_words(count, seed_of(result.draws.plan)),
    ]
    return "; ".join(note for note in notes if note)
