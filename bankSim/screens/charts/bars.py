"""Lying bars with their words above them, so that names of any length fit a narrow screen."""

from dataclasses import dataclass
from typing import Any

from bankSim.screens.charts.frame import Spec, axis, empty, frame, legend, legend_px, note, with_key
from bankSim.screens.charts.look import SMALL_PX, Look

LINE_PX, GAP_PX, AXIS_PX, TOP_PX = 17.0, 12.0, 44.0, 34.0


@dataclass(frozen=True, slots=True)
class Part:
    """A stretch of a bar.

    Parameters
    ----------
    start, length : float
        In the unit of the axis.
    look : str
        Key of the figure's looks.
    hover : str
        Safe text.
    """

    start: float
    length: float
    look: str
    hover: str


@dataclass(frozen=True, slots=True)
class Bar:
    """A bar of some height, of parts.

    Parameters
    ----------
    height_px : float
    parts : tuple of Part
    whisker : (float, float) or None
        Ends of a range drawn across it. In the unit of the axis.
    """

    height_px: float
    parts: tuple[Part, ...]
    whisker: tuple[float, float] | None = None


@dataclass(frozen=True, slots=True)
class Group:
    """Words, and the bars below them.

    Parameters
    ----------
    words : tuple of str
        Safe lines of text.
    bars : tuple of Bar
    """

    words: tuple[str, ...]
    bars: tuple[Bar, ...]


def hatched(look: Look, colour: str, shape: str) -> dict[str, Any]:
    """Return the filling of a bar, hatched on paper; plain for an empty shape."""
    filling: dict[str, Any] = {"color": colour, "line": {"color": colour, "width": 1}}
    if shape:
        filling["pattern"] = {
            "shape": shape,
            "fgcolor": colour,
            "bgcolor": look.paper,
            "size": 6,
            "solidity": 0.35,
            "fillmode": "overlay",
        }
    return filling


def hollow(look: Look) -> dict[str, Any]:
    """Return the filling of a bar that is only an outline."""
    return {"color": look.paper, "line": {"color": look.ink, "width": 1.4}}


def draw_groups(
    groups: list[Group],
    looks: dict[str, dict[str, Any]],
    title: str,
    look: Look,
    *,
    reach: tuple[float, float] | None = None,
    middle: float | None = None,
) -> Spec:
    """Return a figure of groups of bars from top to bottom.

    Parameters
    ----------
    groups : list of Group
    looks : dict
        From the name in the legend to a filling.
    title : str
        Of the axis, with its unit.
    look : Look
    reach : (float, float), optional
        Ends of the axis; from 0 to beyond the largest where left out. In the unit of the axis.
    middle : float, optional
        A line across all bars. In the unit of the axis.
    """
    if not groups:
        return empty(look, "Nothing to draw.")
    traces = {name: _trace(name, filling) for name, filling in looks.items()}
    whiskers = _whiskers(look)
    notes, y = [], 0.0
    for group in groups:
        for words in group.words:
            notes.append(
                note(
                    look,
                    words,
                    x=0.0,
                    xref="paper",
                    y=y - LINE_PX,
                    yref="y",
                    font={"size": SMALL_PX, "color": look.ink},
                    bgcolor=look.paper,
                )
            )
            y -= LINE_PX
        for bar in group.bars:
            for part in bar.parts:
                _add(traces[part.look], part, y - 0.5 * bar.height_px, 0.86 * bar.height_px)
            if bar.whisker is not None:
                whiskers["x"] += [*bar.whisker, None]
                whiskers["y"] += [y - 0.5 * bar.height_px] * 2 + [None]
            y -= bar.height_px
        y -= GAP_PX
    data = [one for one in traces.values() if one["x"]]
    data += [whiskers] if whiskers["x"] else []
    return {"data": with_key(data), "layout": _layout(data, notes, -y, title, look, reach, middle)}


def _trace(name: str, filling: dict[str, Any]) -> dict[str, Any]:
    return {
        "type": "bar",
        "orientation": "h",
        "x": [],
        "y": [],
        "base": [],
        "width": [],
        "text": [],
        "textposition": "none",
        "hovertemplate": "%{text}<extra></extra>",
        "name": name,
        "marker": filling,
        "showlegend": True,
    }


def _add(trace: dict[str, Any], part: Part, y: float, width: float) -> None:
    trace["x"].append(part.length)
    trace["base"].append(part.start)
    trace["y"].append(y)
    trace["width"].append(width)
    trace["text"].append(part.hover)


def _whiskers(look: Look) -> dict[str, Any]:
    return {
        "type": "scatter",
        "mode": "lines+markers",
        "x": [],
        "y": [],
        "line": {"color": look.ink, "width": 2},
        "marker": {
            "symbol": "line-ns",
            "size": 11,
            "line": {"color": look.ink, "width": 2},
        },
        "name": "5 to 95 %",
        "hoverinfo": "skip",
        "showlegend": True,
    }


def _layout(
    data: list[dict[str, Any]],
    notes: list[dict[str, Any]],
    plot_px: float,
    title: str,
    look: Look,
    reach: tuple[float, float] | None,
    middle: float | None,
) -> dict[str, Any]:
    foot = AXIS_PX + legend_px([one["name"] for one in data])
    ends = {} if reach is None else {"range": list(reach)}
    across = {
        "type": "line",
        "xref": "x",
        "yref": "paper",
        "x0": middle,
        "x1": middle,
        "y0": 0.0,
        "y1": 1.0,
        "line": {"color": look.ink, "width": 1, "dash": "2px,3px"},
    }
    return frame(
        look,
        TOP_PX + plot_px + foot,
        margin={"l": 14, "r": 22, "t": TOP_PX, "b": foot, "pad": 0},
        barmode="overlay",
        hovermode="closest",
        legend=legend(look, -AXIS_PX / plot_px),
        annotations=notes,
        shapes=[] if middle is None else [across],
        xaxis=axis(look, title, nticks=7, fixedrange=True, **ends),
        yaxis={
            "visible": False,
            "range": [-plot_px, 0.0],
            "fixedrange": True,
            "showgrid": False,
        },
    )
