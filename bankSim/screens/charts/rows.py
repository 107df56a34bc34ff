"""The rows of lines over time: what is read from a trace, and how it is drawn."""

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np

from bankSim.kernels.arrays import FIXED, PER_BATTERY, Floats
from bankSim.model.load import Flags
from bankSim.model.runs import runs_of
from bankSim.screens.charts.frame import faded
from bankSim.screens.charts.look import Look
from bankSim.screens.charts.text import safe_name
from bankSim.screens.charts.thinning import Window, inside, kept
from bankSim.show.least_to_most import Windows, switchings_s, windows_between
from bankSim.show.lines import averaging_width
from bankSim.sim.result import Result
from bankSim.study.traced import Fan

WIDE, NARROW = 0.16, 0.26  # how much ink a band has
FLOWS = 0.38  # and one from the least to the most that flows
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
    switches : bool
        False: a line that needs no average whatever switches.
    """

    key: str
    title: str
    unit: str
    digits: int
    of_trace: Callable[[Floats, int], Floats]
    of_fan: Callable[[Fan, int], Floats | None]
    per_battery: bool = True
    switches: bool = True


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
    "charge": Row("charge", "State of charge [%]", "%", 1, _percent, _fan_percent, switches=False),
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

    @cached_property
    def width_s(self) -> float | None:
        """Over how long voltage and currents are averaged, where much switches. [s]"""
        return _width_s(self.result, self.window)

    def lines(self, row: Row, refs: dict[str, str], *, named: bool) -> list[dict[str, Any]]:
        """Return the lines of a row; where much switches, averages on a band, least to most."""
        rows = self.result.trace[inside(self.result.trace[:, 0], self.window)]
        data = []
        for place in range(len(self.result.batteries) if row.per_battery else 1):
            look, line = self._line_look(row, place), row.of_trace(rows, place)
            width_s = self.width_s if row.switches else None
            parts = _in_windows(self.result, rows[:, 0], line, width_s)
            data += self._least_to_most(parts, look["color"], refs)
            time, values = _calm(rows[:, 0], line, parts)
            data.append(self._line(row, place, time, values, look, refs, named))
        return data

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

    def _least_to_most(
        self, parts: list[Windows], colour: str, refs: dict[str, str]
    ) -> list[dict[str, Any]]:
        """Return the bands of one line, one for each of its stretches."""
        return [
            _area(own.x / self.window.factor, own.low, own.high, faded(colour, FLOWS), refs)
            for own in parts
        ]

    def ghost(
        self, row: Row, former: Result, refs: dict[str, str], *, named: bool
    ) -> list[dict[str, Any]]:
        """Return the lines of a former run, grey; batteries are matched by name."""
        rows = former.trace[inside(former.trace[:, 0], self.window)]
        now = [battery.name for battery in self.result.batteries]
        places = [n for n, one in enumerate(former.batteries) if one.name in now]
        width_s = _width_s(former, self.window) if row.switches else None
        data: list[dict[str, Any]] = []
        for place in places if row.per_battery else [0]:
            line = row.of_trace(rows, place)
            parts = _in_windows(former, rows[:, 0], line, width_s)
            time, values = _calm(rows[:, 0], line, parts)
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
        places = range(len(self.result.batteries) if row.per_battery else 1)
        pairs = ((LOW, HIGH, WIDE), (QUARTER, THREE, NARROW))
        data = []
        for low, high, ink in pairs[: 2 if len(places) <= FEW_LINES else 1]:
            for place in places:
                five = row.of_fan(fan, place)
                if five is None:
                    continue
                colour = faded(self._line_look(row, place)["color"], ink)
                floor = float(np.nanmin(row.of_trace(self.result.trace, place), initial=np.inf))
                data += self._band(fan, five[[low, high]], row.switches, floor, colour, refs)
        return data

    def _band(
        self,
        fan: Fan,
        two: Floats,
        switches: bool,
        floor: float,
        colour: str,
        refs: dict[str, str],
    ) -> list[dict[str, Any]]:
        """Return one band; where its lower end is that of draws that have ended, to the floor."""
        time_s = 3600.0 * fan.time_h
        width_s = self.width_s if switches else None
        low, high = two
        known = np.isfinite(high)
        known[inside(time_s, self.window).stop :] = False
        known[: inside(time_s, self.window).start] = False
        floor = float(np.nanmin(low, initial=floor))
        low = np.where(np.isfinite(low), low, floor)
        stretches = [(time_s[part], low[part], high[part]) for part in _stretches(known)]
        if width_s is not None:
            stretches = [self._averages(*one, width_s) for one in stretches]
        factor = self.window.factor
        return [_area(x / factor, least, most, colour, refs) for x, least, most in stretches]

    def _averages(
        self, time_s: Floats, low: Floats, high: Floats, width_s: float
    ) -> tuple[Floats, Floats, Floats]:
        """Return both ends of a band as averages in the windows of the lines."""
        breaks_s = switchings_s(self.result)
        least, most = (windows_between(time_s, line, width_s, breaks_s) for line in (low, high))
        return least.x, least.mean, most.mean


def _width_s(result: Result, window: Window) -> float | None:
    rows = result.trace[inside(result.trace[:, 0], window)]
    volts = [_volts(rows, 0)]
    return averaging_width(
        rows[:, 0], volts + [_amperes(rows, place) for place in range(len(result.batteries))]
    )


def _calm(time: Floats, line: Floats, parts: list[Windows]) -> tuple[Floats, Floats]:
    """Return a line, or its averages window by window; a gap where there is none."""
    if not parts:
        return time, line
    gap = np.array([np.nan])
    return (
        np.concatenate([one for own in parts for one in (own.x, own.x[-1:])]),
        np.concatenate([one for own in parts for one in (own.mean, gap)]),
    )


def _in_windows(result: Result, time: Floats, line: Floats, width_s: float | None) -> list[Windows]:
    """Return a line in windows, stretch by stretch of what is known; none without a width."""
    if width_s is None:
        return []
    breaks_s = switchings_s(result)
    return [
        windows_between(time[part], line[part], width_s, breaks_s)
        for part in _stretches(np.isfinite(line))
    ]


def _stretches(known: Flags) -> list[slice]:
    """Return the unbroken stretches of what is known."""
    return [slice(first, last + 1) for first, last in runs_of(known)]


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
