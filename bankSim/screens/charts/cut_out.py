"""The time around a cut-out: the cells of that battery against the limit, and all currents."""

from dataclasses import dataclass
from typing import Any

import numpy as np

from bankSim.kernels.arrays import FIXED, PER_BATTERY, Floats
from bankSim.model.cell import ZERO_C_K
from bankSim.model.rule import Watch
from bankSim.screens.charts.frame import Spec, axis, empty, frame, legend, legend_px, note, with_key
from bankSim.screens.charts.look import LIGHT, SMALL_PX, Look
from bankSim.screens.charts.text import safe_name
from bankSim.screens.charts.thinning import Window, inside, kept
from bankSim.show.causes import cause
from bankSim.show.cells_figure import covered as covered_by
from bankSim.show.cells_figure import deciding_place, spread, who_ends_where, window
from bankSim.show.lines import time_unit
from bankSim.show.whens import at
from bankSim.show.words import volts, whole_or
from bankSim.sim.numbers import number, quoted, sentence
from bankSim.sim.result import Event, Result

CELLS_PX, ROW_PX, TITLE_PX, AXIS_PX, TOP_PX = 190.0, 120.0, 24.0, 44.0, 34.0
CELL_WATCHES = (Watch.LOWEST_CELL.value, Watch.HIGHEST_CELL.value)
CURRENT_WATCHES = (Watch.DISCHARGE_CURRENT.value, Watch.CHARGE_CURRENT.value)
MOST_TOLD = 6  # batteries, in words
NAME_GAP = 0.085  # between names beside the lines, as a part of the row


def cut_out_chart(result: Result, event: Event, look: Look = LIGHT) -> Spec:
    """Draw the cells of one battery before and after it switched, and what the currents do.

    Parameters
    ----------
    result : Result
    event : Event
        A `trip` of a battery, from `result.events` (see `show.causes.cut_outs`, `trips`).
    look : Look
    """
    if event.battery is None or not event.cell_voltages_V or result.end_time_s <= 0.0:
        return empty(look, "No cells to draw here.")
    return _Drawing(result, event, look).spec()


def cut_out_words(result: Result, event: Event) -> str:
    """Return what `cut_out_chart` shows, in a sentence or two."""
    did = "cuts out" if event.cuts_out else "is blocked"
    why = cause(result, event)
    words = f"{quoted(event.battery or 'the bank')} {did} {at(result, event.time_s)}: {why}."
    moves = {
        one.name: f"{quoted(one.name)} from {number(before)} to {number(after)} A"
        for one, before, after in zip(
            result.batteries, event.currents_A, event.currents_after_A, strict=True
        )
    }
    told = list(moves)
    if len(told) > MOST_TOLD:  # its own current is among those that are told
        own = event.battery or ""
        told = [own, *(name for name in told if name != own)][:MOST_TOLD]
    more = [f"and {len(moves) - len(told)} more"] if len(moves) > len(told) else []
    listed = ", ".join([*(moves[name] for name in told), *more])
    return f"{sentence(words)} The currents go: {listed}."


@dataclass(frozen=True, slots=True)
class _Panel:
    """A row: title, height, lines with their looks, a limit."""

    title: str
    height_px: float
    lines: list[dict[str, Any]]
    limit: float | None

    @property
    def unit(self) -> str:
        """Unit of the title."""
        return self.title.partition("[")[2].partition("]")[0]


def _limit_words(limit: float, unit: str) -> str:
    """Return a limit as sentences tell it: volts to 0.01 V. In the unit given."""
    return volts(limit) if unit == "V" else f"{whole_or(limit)} {unit}"


class _Drawing:
    """One figure in the making."""

    def __init__(self, result: Result, event: Event, look: Look) -> None:
        self.result, self.event, self.look = result, event, look
        names = [battery.name for battery in result.batteries]
        self.place = names.index(event.battery or "")
        counts = [len(battery.cells) for battery in result.scenario.bank.batteries]
        first = FIXED + PER_BATTERY * len(names) + sum(counts[: self.place])
        time = result.trace[:, 0]
        cells = result.trace[:, first : first + counts[self.place]].T
        self.deciding = deciding_place(event, [])
        start_s, end_s = window(time, cells[self.deciding], event, result.end_time_s)
        self.factor, self.unit = time_unit(end_s - start_s)
        self.bounds = ((start_s - event.time_s) / self.factor, (end_s - event.time_s) / self.factor)
        here = inside(time, Window(start_s, end_s, self.factor, self.unit))
        self.rows, self.cells = result.trace[here], cells[:, here]
        self.x = (self.rows[:, 0] - event.time_s) / self.factor
        self.notes: list[dict[str, Any]] = []
        self.side_px = 14.0

    def spec(self) -> Spec:
        panels = self._panels()
        plot_px = sum(panel.height_px + TITLE_PX for panel in panels)
        data: list[dict[str, Any]] = []
        axes: dict[str, Any] = {}
        top = 0.0
        for place, panel in enumerate(panels):
            top += TITLE_PX
            ref = "y" if place == 0 else f"y{place + 1}"
            domain = [1.0 - (top + panel.height_px) / plot_px, 1.0 - top / plot_px]
            axes[f"yaxis{ref[1:]}"] = axis(
                self.look, domain=[max(domain[0], 0.0), domain[1]], fixedrange=True, nticks=5
            )
            data += [{**line, "xaxis": "x", "yaxis": ref} for line in panel.lines]
            self._write(panel, ref, domain[1])
            if panel.limit is not None:
                data.append(self._limit(panel.limit, ref))
            if place == 0:
                self._names(axes["yaxis"], domain)
            top += panel.height_px
        return self._framed(data, axes, plot_px, len(panels))

    def _framed(
        self, data: list[dict[str, Any]], axes: dict[str, Any], plot_px: float, rows: int
    ) -> Spec:
        names = [one["name"] for one in data if one.get("showlegend")]
        foot = AXIS_PX + legend_px(names)
        last = "y" if rows == 1 else f"y{rows}"
        shape = {
            "type": "line",
            "xref": "x",
            "yref": "paper",
            "x0": 0.0,
            "x1": 0.0,
            "y0": 0.0,
            "y1": 1.0,
            "layer": "below",
            "line": {"color": self.look.quiet, "width": 1},
        }
        layout = frame(
            self.look,
            TOP_PX + plot_px + foot,
            margin={"l": 46, "r": self.side_px, "t": TOP_PX, "b": foot, "pad": 0},
            hovermode="x unified",
            hoversubplots="axis",
            legend=legend(self.look, -AXIS_PX / plot_px),
            annotations=self.notes,
            shapes=[shape],
            xaxis=axis(
                self.look,
                f"time from the switching [{self.unit}]",
                range=list(self.bounds),
                anchor=last,
                nticks=6,
                showspikes=True,
                spikemode="across",
                spikesnap="cursor",
                spikethickness=1,
                spikedash="dot",
                spikecolor=self.look.quiet,
                unifiedhovertitle={"text": f"%{{x:.2f}} {self.unit} from the switching"},
            ),
            **axes,
        )
        return {"data": with_key(data), "layout": layout}

    def _panels(self) -> list[_Panel]:
        """Return the cells, what is watched where that is something else, and the currents."""
        watches, limit = self.event.watches, self.event.threshold
        at_place = FIXED + PER_BATTERY * self.place
        own = safe_name(self.event.battery or "")
        panels = [
            _Panel(
                f"Cells of {own} [V]",
                CELLS_PX,
                self._cell_lines(),
                limit if watches in CELL_WATCHES else None,
            )
        ]
        if watches == Watch.BATTERY_VOLTAGE.value:
            line = self._line(self.rows[:, at_place + 1], own, "V", 3, self.look.line(self.place))
            panels.insert(1, _Panel(f"Voltage of {own} [V]", ROW_PX, [line], limit))
        if watches == Watch.TEMPERATURE.value:
            warmth = self.rows[:, at_place + 3] - ZERO_C_K
            line = self._line(warmth, own, "°C", 1, self.look.line(self.place))
            panels.insert(1, _Panel(f"Temperature of {own} [°C]", ROW_PX, [line], limit))
        side = -1.0 if watches == Watch.CHARGE_CURRENT.value else 1.0
        past = side * limit if watches in CURRENT_WATCHES and limit is not None else None
        panels.append(
            _Panel("Current [A], discharge positive", ROW_PX, self._current_lines(), past)
        )
        return panels

    def _line(
        self, values: Floats, name: str, unit: str, digits: int, look: dict[str, Any], **more: Any
    ) -> dict[str, Any]:
        keep = kept(self.rows[:, 0], values, np.array([self.event.time_s]))
        return {
            "type": "scatter",
            "mode": "lines",
            "x": self.x[keep],
            "y": values[keep],
            "name": name,
            "line": look,
            "showlegend": False,
            "hovertemplate": f"{name}: %{{y:.{digits}f}} {unit}<extra></extra>",
            **more,
        }

    def _cell_lines(self) -> list[dict[str, Any]]:
        order = [place for place in range(len(self.cells)) if place != self.deciding]
        lines = []
        for place in [*order, self.deciding]:
            look: dict[str, Any] = {
                "color": self.look.quiet,
                "dash": self.look.dash(1 + place % 4),
                "width": 1.6,
            }
            if place == self.deciding:
                look = {"color": self.look.alert, "dash": "solid", "width": 3.0}
            lines.append(self._line(self.cells[place], f"cell {place + 1}", "V", 3, look))
        return lines

    def _current_lines(self) -> list[dict[str, Any]]:
        return [
            self._line(
                self.rows[:, FIXED + PER_BATTERY * place],
                safe_name(battery.name),
                "A",
                2,
                self.look.line(place),
                showlegend=True,
            )
            for place, battery in enumerate(self.result.batteries)
        ]

    def _write(self, panel: _Panel, ref: str, top: float) -> None:
        self.notes.append(
            note(
                self.look, panel.title, x=0.0, xref="paper", y=min(top, 1.0), yref="paper", yshift=3
            )
        )
        if panel.limit is not None:
            self.notes.append(
                note(
                    self.look,
                    f"limit {_limit_words(panel.limit, panel.unit)}",
                    x=0.01,
                    xref="paper",
                    y=panel.limit,
                    yref=ref,
                    yshift=1,
                )
            )

    def _limit(self, limit: float, ref: str) -> dict[str, Any]:
        return {
            "type": "scatter",
            "mode": "lines",
            "x": np.array(self.bounds),
            "y": np.array([limit, limit]),
            "hoverinfo": "skip",
            "showlegend": False,
            "line": {"color": self.look.ink, "dash": "2px,3px", "width": 1.4},
            "xaxis": "x",
            "yaxis": ref,
        }

    def _names(self, y_axis: dict[str, Any], domain: list[float]) -> None:
        """Name the cells beside their ends, and fix the range that the places follow from."""
        seen = self.cells[np.isfinite(self.cells)]
        limit = self.event.threshold if self.event.watches in CELL_WATCHES else None
        low, high = float(seen.min()), float(seen.max())
        if limit is not None:
            low, high = min(low, limit), max(high, limit)
        room = max(0.08 * (high - low), 0.005)
        low, high = low - room, high + room
        y_axis["range"] = [low, high]
        lines = list(self.cells)
        ends = [(float(line[-1]) - low) / (high - low) for line in lines]
        texts = who_ends_where(ends, self.deciding, covered_by(lines, self.deciding))
        self.side_px = 12.0 + 7.2 * max(len(words) for words, _ in texts)
        for place, ((words, _), height) in enumerate(
            zip(texts, spread([height for _, height in texts], NAME_GAP), strict=True)
        ):
            colour = self.look.ink if place else self.look.alert
            self.notes.append(
                note(
                    self.look,
                    words if place else f"<b>{words}</b>",
                    x=1.0,
                    xref="paper",
                    y=domain[0] + height * (domain[1] - domain[0]),
                    yref="paper",
                    xshift=4,
                    yanchor="middle",
                    font={"size": SMALL_PX, "color": colour},
                )
            )
