"""The course of a run: life lanes, voltage, currents, charge above one another, one cursor."""

from collections.abc import Sequence
from typing import Any

import numpy as np

from bankSim.screens.charts.frame import (
    Spec,
    axis,
    empty,
    faded,
    frame,
    legend,
    legend_px,
    note,
    with_key,
)
from bankSim.screens.charts.lanes import lanes, plan_lanes
from bankSim.screens.charts.look import LIGHT, Look
from bankSim.screens.charts.rows import FEW_LINES, FLOWS, LINE_ROWS, NARROW, WIDE, Pen
from bankSim.screens.charts.thinning import window_of
from bankSim.show.causes import cut_outs
from bankSim.show.whens import tells_clock, when
from bankSim.show.words import clock, counted
from bankSim.sim.numbers import listing, named, span
from bankSim.sim.result import Result
from bankSim.study.traced import Fan

ROW_PX, TITLE_PX, AXIS_PX, TOP_PX = 140.0, 24.0, 44.0, 34.0
MOST_LINES = 12  # at cut-outs
CLOCK_POINTS = 240
LANES_TITLE = "Above the line it feeds, below it is charged"
MOST_HOVERED = 6  # batteries; of more only the currents are told on hover

ROWS = ("lanes", "voltage", "current", "charge")


def time_chart(
    result: Result,
    *,
    fan: Fan | None = None,
    window_h: tuple[float, float] | None = None,
    ghost: Result | None = None,
    rows: Sequence[str] = ROWS,
    look: Look = LIGHT,
) -> Spec:
    """Draw the run over time; all rows share the time axis and the cursor.

    Parameters
    ----------
    result : Result
    fan : Fan, optional
        Bands around the lines, 5 to 95 % and 25 to 75 %.
    window_h : (float, float), optional
        Begin and end of what is shown; the lines are thinned for it. [h]
    ghost : Result, optional
        A former run as thin grey dashed lines; batteries are matched by name.
    rows : sequence of str
        Of `ROWS`; drawn in that order.
    look : Look
    """
    if result.end_time_s <= 0.0 or result.trace.shape[0] < 2:
        return empty(look, "The run ends at once; there is no course to draw.")
    window = window_of(result.end_time_s, window_h, _beyond_s(fan, ghost))
    drawing = _Drawing(result, Pen(result, window, look), fan, ghost)
    return drawing.of([row for row in ROWS if row in rows])


class _Drawing:
    """One figure in the making; heights from the top downwards in px."""

    def __init__(self, result: Result, pen: Pen, fan: Fan | None, ghost: Result | None) -> None:
        self.result, self.pen, self.fan, self.ghost = result, pen, fan, ghost
        self.look, self.window = pen.look, pen.window
        self.lanes = plan_lanes(result, pen.window)
        self.has_lanes = False
        self.data: list[dict[str, Any]] = []
        self.notes: list[dict[str, Any]] = []
        self.shapes: list[dict[str, Any]] = []
        self.axes: dict[str, Any] = {}

    def of(self, rows: Sequence[str]) -> Spec:
        """Return the figure with these rows."""
        self.has_lanes = "lanes" in rows
        heights = [self.lanes.height_px if row == "lanes" else ROW_PX for row in rows]
        plot_px = sum(heights) + TITLE_PX * len(rows)
        top = 0.0
        for number, (row, height) in enumerate(zip(rows, heights, strict=True)):
            top += TITLE_PX
            self._row(row, number, (top, top + height), plot_px)
            top += height
        self._cut_out_lines()
        self._tell_clock()
        self._explain(rows)
        names = [one["name"] for one in self.data if one.get("showlegend")]
        foot = AXIS_PX + legend_px(names)
        layout = frame(
            self.look,
            TOP_PX + plot_px + foot,
            margin={"l": 46, "r": 14, "t": TOP_PX, "b": foot, "pad": 0},
            hovermode="x unified",
            hoversubplots="axis",
            xaxis=self._time_axis(len(rows)),
            annotations=self.notes,
            legend=legend(self.look, -AXIS_PX / plot_px),
            shapes=self.shapes,
            **self.axes,
        )
        return {"data": with_key(self.data), "layout": layout}

    def _row(self, row: str, number: int, reach: tuple[float, float], plot_px: float) -> None:
        refs = {"xaxis": "x", "yaxis": _ref(number)}
        domain = [1.0 - reach[1] / plot_px, 1.0 - reach[0] / plot_px]
        if row == "lanes":
            self._lanes(refs, domain)
            title = LANES_TITLE
        else:
            self._lines(row, refs, domain)
            title = LINE_ROWS[row].title
        where = {"x": 0.0, "xref": "paper", "y": min(domain[1], 1.0), "yref": "paper", "yshift": 3}
        self.notes.append(note(self.look, title, **where))

    def _lanes(self, refs: dict[str, str], domain: list[float]) -> None:
        found = lanes(self.result, self.window, self.lanes, self.look, refs, self.pen.width_s)
        if len(self.result.batteries) > MOST_HOVERED:
            found.data[:] = [
                {**one, "hoverinfo": "skip", "hovertemplate": None} for one in found.data
            ]
        self.data += found.data
        self.notes += found.notes
        self.shapes += found.shapes
        self.axes[_axis_key(refs)] = axis(
            self.look,
            domain=domain,
            range=[-self.lanes.height_px, 0.0],
            fixedrange=True,
            showgrid=False,
            showline=False,
            ticks="",
            showticklabels=False,
        )

    def _lines(self, row: str, refs: dict[str, str], domain: list[float]) -> None:
        own = LINE_ROWS[row]
        if self.fan is not None:
            self.data += self.pen.bands(own, self.fan, refs)
        if self.ghost is not None:
            new = not any(one.get("legendgroup") == "ghost" for one in self.data)
            self.data += self.pen.ghost(own, self.ghost, refs, named=new)
        unnamed = own.per_battery and not any(
            one.get("legendgroup") == "battery 0" for one in self.data
        )
        self.data += self.pen.lines(own, refs, named=unnamed)
        zero: dict[str, Any] = {}
        if row == "current":
            zero = {"zeroline": True, "zerolinecolor": self.look.quiet}
        self.axes[_axis_key(refs)] = axis(
            self.look, domain=domain, fixedrange=True, nticks=5, **zero
        )

    def _time_axis(self, rows: int) -> dict[str, Any]:
        low, high = self.window.low_s / self.window.factor, self.window.high_s / self.window.factor
        unit = self.window.unit
        return axis(
            self.look,
            f"time [{unit}]{self._hidden()}",
            range=[low, high],
            anchor=_ref(rows - 1),
            showspikes=True,
            spikemode="across",
            spikesnap="cursor",
            spikethickness=1,
            spikedash="dot",
            spikecolor=self.look.quiet,
            minallowed=low,
            maxallowed=high,
            hoverformat=f".{self.window.digits}f",
            unifiedhovertitle={"text": f"after %{{x:.{self.window.digits}f}} {unit}"},
        )

    def _hidden(self) -> str:
        """Say how many words found no room above the lanes."""
        hidden = self.lanes.hidden if self.has_lanes else 0
        return f" – zoom in for {counted(hidden, 'more mark')}" if hidden else ""

    def _cut_out_lines(self) -> None:
        """Draw a fine line through all rows at the first cut-out of each battery."""
        for event in cut_outs(self.result)[:MOST_LINES]:
            if self.window.low_s <= event.time_s <= self.window.high_s:
                x = event.time_s / self.window.factor
                self.shapes.append(
                    {
                        "type": "line",
                        "xref": "x",
                        "yref": "paper",
                        "x0": x,
                        "x1": x,
                        "y0": 0.0,
                        "y1": 1.0,
                        "layer": "below",
                        "line": {"color": self.look.quiet, "width": 1, "dash": "2px,3px"},
                    }
                )

    def _tell_clock(self) -> None:
        """Add the wall clock to what the cursor tells, where the scenario has one."""
        if not tells_clock(self.result):
            return
        at_s = np.linspace(self.window.low_s, self.window.high_s, CLOCK_POINTS)
        starts_s = self.result.scenario.bank.starts_at_s
        y = self.axes["yaxis"].get("range", [None])[0]
        line = next(one for one in self.data if one["yaxis"] == "y" and "hovertemplate" in one)
        height = y if y is not None else float(np.nanmean(line["y"]))
        self.data.insert(
            0,
            {
                "type": "scatter",
                "mode": "lines",
                "x": at_s / self.window.factor,
                "y": np.full(at_s.size, height),
                "line": {"width": 0, "color": self.look.paper},
                "text": [clock(starts_s + float(one)) for one in at_s],
                "hovertemplate": "%{text}<extra></extra>",
                "showlegend": False,
                "xaxis": "x",
                "yaxis": "y",
            },
        )

    def _explain(self, rows: Sequence[str]) -> None:
        """Explain in the legend what is pale."""
        told: list[tuple[str, float]] = []
        if all(row == "lanes" for row in rows):
            self._explain_by(told, rows)
            return
        if self.pen.width_s is not None:
            told.append((f"least to most in each {span(self.pen.width_s, 2)}", FLOWS))
        if self.fan is not None:
            told.append(("90 of 100 cases", WIDE))
            if len(self.result.batteries) <= FEW_LINES:
                told.append(("50 of 100 cases", WIDE + NARROW))
        self._explain_by(told, rows)

    def _explain_by(self, told: list[tuple[str, float]], rows: Sequence[str]) -> None:
        for name, ink in told:
            self.data.append(
                {
                    "type": "scatter",
                    "mode": "lines",
                    "x": [None],
                    "y": [None],
                    "fill": "toself",
                    "fillcolor": faded(self.look.ink, ink),
                    "line": {"width": 0},
                    "name": name,
                    "hoverinfo": "skip",
                    "xaxis": "x",
                    "yaxis": _ref(len(rows) - 1),
                    "showlegend": True,
                }
            )


def _ref(number: int) -> str:
    return "y" if number == 0 else f"y{number + 1}"


def _axis_key(refs: dict[str, str]) -> str:
    return f"yaxis{refs['yaxis'][1:]}"


def _beyond_s(fan: Fan | None, ghost: Result | None) -> float:
    """Return where bands and ghost end. [s]"""
    ends = [0.0 if ghost is None else ghost.end_time_s]
    if fan is not None:
        there = np.flatnonzero(np.isfinite(fan.voltage_V).any(axis=0))
        ends.append(3600.0 * float(fan.time_h[there[-1]]) if there.size else 0.0)
    return max(ends)


def mean_words(result: Result, window_h: tuple[float, float] | None = None) -> str:
    """Say how the lines are to be read where much switches on and off; nothing where not."""
    window = window_of(result.end_time_s, window_h)
    width_s = Pen(result, window, LIGHT).width_s
    if width_s is None:
        return ""
    return (
        f"Much switches on and off here, so the lines are averages in each {span(width_s, 2)}; the "
        "areas behind them reach from the least to the most in it, and a bar is the higher the "
        "more of the time its battery feeds."
    )


def time_words(
    result: Result,
    *,
    fan: Fan | None = None,
    window_h: tuple[float, float] | None = None,
    ghost: Result | None = None,
    rows: Sequence[str] = ROWS,
) -> str:
    """Return what `time_chart` shows, in a sentence or two."""
    window = window_of(result.end_time_s, window_h, _beyond_s(fan, ghost))
    shown = [_TOLD[row] for row in ROWS if row in rows]
    bounds = f"from {span(window.low_s)} to {span(window.high_s)}"
    many = counted(len(result.batteries), "battery", "batteries")
    words = [f"Chart over time {bounds}: {listing(shown)}, of {many}."]
    outs = [
        f"{named([e.battery or ''])} cuts out at {when(result, e.time_s)}" for e in cut_outs(result)
    ]
    words.append(f"{listing(outs[:6])}." if outs else "No battery cuts out.")
    if fan is not None:
        words.append(f"Bands hold 90 of 100 of {fan.draws} random cases.")
    if ghost is not None:
        words.append("Grey dashed lines show the run before the change.")
    return " ".join(words)


_TOLD = {
    "lanes": "what each battery does",
    "voltage": "the bus voltage",
    "current": "the currents",
    "charge": "the states of charge",
}
