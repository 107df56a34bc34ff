"""The rows of lines over time: what is read from a trace, and how it is drawn."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np

from bankSim.kernels.arrays import Floats
from bankSim.kernels.log import FIXED, PER_BATTERY
from bankSim.screens.charts.frame import faded
from bankSim.screens.charts.look import Look
from bankSim.screens.charts.text import safe_name
from bankSim.screens.charts.thinning import Window, envelope, inside, kept
from bankSim.show.bands import averaged
from bankSim.show.causes import cut_outs
from bankSim.show.lines import averaging_width
from bankSim.show.thin import means_between
from bankSim.sim.result import Result
from bankSim.study.traced import Fan

WIDE, NARROW = 0.16, 0.26  # how much ink a band has
LOW, QUARTER, MEDIAN, THREE, HIGH = range(5)
FEW_LINES = 4  # more of them get the wide band only
DEAD_V = 0.0


@dataclass(frozen=True, slots=True)
class Row:
    """One row of lines.

    Parameters
    ----------
    key : str
        As in `time.ROWS`.
    title : str
        With its unit.
    unit : str
    digits : int
        Behind the point, on hover.
    of_trace : callable
        From a trace and a place among the batteries to a line.
    of_fan : callable
        From a fan and a place to its five lines, or None.
    per_battery : bool
    """

    key: str
    title: str
    unit: str
    digits: int
    of_trace: Callable[[Floats, int], Floats]
    of_fan: Callable[[Fan, int], Floats | None]
    per_battery: bool = True


def _volts(trace: Floats, _: int) -> Floats:
    return np.where(trace[:, 2] == DEAD_V, np.nan, trace[:, 2])


def _amperes(trace: Floats, place: int) -> Floats:
    return np.asarray(trace[:, FIXED + PER_BATTERY * place])


def _percent(trace: Floats, place: int) -> Floats:
    return np.asarray(100.0 * trace[:, FIXED + PER_BATTERY * place + 2])


def _fan_volts(fan: Fan, _: int) -> Floats:
    return np.where(fan.voltage_V == DEAD_V, np.nan, fan.voltage_V)


def _fan_percent(fan: Fan, place: int) -> Floats | None:
    return None if fan.state_of_charge is None else 100.0 * fan.state_of_charge[place]


LINE_ROWS = {
    "voltage": Row("voltage", "Bus voltage [V]", "V", 3, _volts, _fan_volts, per_battery=False),
    "current": Row(
        "current", "Current [A], discharge positive", "A", 2, _amperes,
        lambda fan, place: fan.current_A[place],
    ),
    "charge": Row("charge", "State of charge [%]", "%", 1, _percent, _fan_percent),
}  # fmt: skip


@dataclass(frozen=True, eq=False)
class Pen:
    """Draws the rows of one run in one window.

    Parameters
    ----------
    result : Result
    window : Window
    look : Look
    """

    result: Result
    window: Window
    look: Look

    def lines(self, row: Row, refs: dict[str, str], *, named: bool) -> list[dict[str, Any]]:
        """Return the lines of a row; where much switches, averages on a pale envelope."""
        rows = self.result.trace[inside(self.result.trace[:, 0], self.window)]
        places = range(len(self.result.batteries) if row.per_battery else 1)
        lines = [row.of_trace(rows, place) for place in places]
        width_s = averaging_width(rows[:, 0], lines)
        data = []
        for place, line in zip(places, lines, strict=True):
            look = self._line_look(row, place)
            time, values = rows[:, 0], line
            if width_s is not None:
                data.append(self._envelope(time, line, look["color"], refs))
                known = np.isfinite(line)
                breaks = np.array([event.time_s for event in cut_outs(self.result)])
                time, values = means_between(time[known], line[known], width_s, breaks)
            data.append(self._line(row, place, time, values, look, refs, named))
        return data

    def width_s(self, row: Row) -> float | None:
        """Return over how long the lines of a row are averaged. [s]"""
        rows = self.result.trace[inside(self.result.trace[:, 0], self.window)]
        places = range(len(self.result.batteries) if row.per_battery else 1)
        return averaging_width(rows[:, 0], [row.of_trace(rows, place) for place in places])

    def _line_look(self, row: Row, place: int) -> dict[str, Any]:
        if row.per_battery:
            return self.look.line(place)
        return {"color": self.look.ink, "dash": "solid", "width": 1.8}

    def _line(
        self,
        row: Row,
        place: int,
        time: Floats,
        values: Floats,
        look: dict[str, Any],
        refs: dict[str, str],
        named: bool,
    ) -> dict[str, Any]:
        always = np.array([event.time_s for event in self.result.events])
        keep = kept(time, values, always)
        name = safe_name(self.result.batteries[place].name) if row.per_battery else "bus"
        return {
            "type": "scatter",
            "mode": "lines",
            "x": time[keep] / self.window.factor,
            "y": values[keep],
            "name": name,
            "legendgroup": f"battery {place}" if row.per_battery else row.key,
            "showlegend": named,
            "line": look,
            "hovertemplate": f"{name}: %{{y:.{row.digits}f}} {row.unit}<extra></extra>",
            **refs,
        }

    def _envelope(
        self, time: Floats, values: Floats, colour: str, refs: dict[str, str]
    ) -> dict[str, Any]:
        middles, low, high = envelope(time, values)
        return _area(middles / self.window.factor, low, high, faded(colour, WIDE), refs)

    def ghost(
        self, row: Row, former: Result, refs: dict[str, str], *, named: bool
    ) -> list[dict[str, Any]]:
        """Return the lines of a former run, grey; batteries are matched by name."""
        rows = former.trace[inside(former.trace[:, 0], self.window)]
        now = [battery.name for battery in self.result.batteries]
        places = [n for n, one in enumerate(former.batteries) if one.name in now]
        data = []
        for place in places if row.per_battery else [0]:
            line = row.of_trace(rows, place)
            width_s = averaging_width(rows[:, 0], [line])
            time, values = rows[:, 0], line
            if width_s is not None:
                known = np.isfinite(line)
                breaks = np.array([event.time_s for event in cut_outs(former)])
                time, values = means_between(time[known], line[known], width_s, breaks)
            keep = kept(time, values, np.empty(0), 300)
            data.append(
                {
                    "type": "scatter",
                    "mode": "lines",
                    "x": time[keep] / self.window.factor,
                    "y": values[keep],
                    "name": "before the change",
                    "legendgroup": "ghost",
                    "showlegend": named and not data,
                    "line": {"color": self.look.quiet, "dash": "3px,3px", "width": 1.4},
                    "hoverinfo": "skip",
                    **refs,
                }
            )
        return data

    def bands(self, row: Row, fan: Fan, refs: dict[str, str]) -> list[dict[str, Any]]:
        """Return the bands of a row, wide ones below narrow ones."""
        width_s = self.width_s(row)
        places = range(len(self.result.batteries) if row.per_battery else 1)
        pairs = ((LOW, HIGH, WIDE), (QUARTER, THREE, NARROW))
        data = []
        for low, high, ink in pairs[: 2 if len(places) <= FEW_LINES else 1]:
            for place in places:
                five = row.of_fan(fan, place)
                if five is None:
                    continue
                colour = faded(self._line_look(row, place)["color"], ink)
                data += self._band(fan, five[[low, high]], width_s, colour, refs)
        return data

    def _band(
        self, fan: Fan, two: Floats, width_s: float | None, colour: str, refs: dict[str, str]
    ) -> list[dict[str, Any]]:
        time_s = 3600.0 * fan.time_h
        low, high = (averaged(time_s, line, width_s) for line in two)
        known = np.isfinite(high)
        known[inside(time_s, self.window).stop :] = False
        known[: inside(time_s, self.window).start] = False
        if not known.any():
            return []
        floor = np.nanmin(low) if np.isfinite(low).any() else np.nan
        low = np.where(np.isfinite(low), low, floor)  # the lower end of draws that have ended
        return [
            _area(time_s[known] / self.window.factor, low[known], high[known], colour, refs)
        ]


def _area(
    x: Floats, low: Floats, high: Floats, colour: str, refs: dict[str, str]
) -> dict[str, Any]:
    return {
        "type": "scatter",
        "mode": "lines",
        "x": np.concatenate([x, x[::-1]]),
        "y": np.concatenate([high, low[::-1]]),
        "fill": "toself",
        "fillcolor": colour,
        "line": {"width": 0},
        "hoverinfo": "skip",
        "showlegend": False,
        **refs,
    }
