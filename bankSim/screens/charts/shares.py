"""How the current splits over time, as a part of it."""

from typing import Any

import numpy as np

from bankSim.kernels.arrays import Floats
from bankSim.screens.charts.frame import Spec, axis, empty, frame, legend, legend_px, with_key
from bankSim.screens.charts.look import LIGHT, Look
from bankSim.screens.charts.text import safe_name
from bankSim.screens.charts.thinning import Window, window_of
from bankSim.show.bins import mean_in
from bankSim.show.course import course_of
from bankSim.show.words import percent
from bankSim.sim.numbers import quoted
from bankSim.sim.result import Result

BINS = 300
PLOT_PX, AXIS_PX, TOP_PX = 220.0, 44.0, 34.0
MOST_TOLD = 6
LEAST_A = 1e-6


def shares_chart(
    result: Result, window_h: tuple[float, float] | None = None, look: Look = LIGHT
) -> Spec:
    """Draw each battery's part of the current that batteries give, stacked to 100 %.

    Parameters
    ----------
    result : Result
    window_h : (float, float), optional
        Begin and end of what is shown. [h]
    look : Look
    """
    if result.end_time_s <= 0.0 or result.trace.shape[0] < 2:
        return empty(look, "The run ends at once; there is no course to draw.")
    window = window_of(result.end_time_s, window_h)
    x, parts = _parts(result, window)
    data = [_area(result, place, x, part, look) for place, part in enumerate(parts)]
    foot = AXIS_PX + legend_px([one["name"] for one in data])
    layout = frame(
        look,
        TOP_PX + PLOT_PX + foot,
        margin={"l": 46, "r": 14, "t": TOP_PX, "b": foot, "pad": 0},
        hovermode="x unified",
        legend=legend(look, -AXIS_PX / PLOT_PX),
        xaxis=axis(
            look,
            f"time [{window.unit}]",
            range=[window.low_s / window.factor, window.high_s / window.factor],
            unifiedhovertitle={"text": f"after %{{x:.{window.digits}f}} {window.unit}"},
        ),
        yaxis=axis(look, "part of the current [%]", range=[0.0, 100.0], fixedrange=True, nticks=6),
    )
    return {"data": with_key(data), "layout": layout}


def _parts(result: Result, window: Window) -> tuple[Floats, Floats]:
    """Return the middles of even stretches and every battery's part there; (t,), (n, t). [%]

    Only discharge counts; 0 where nobody gives any.
    """
    course = course_of(result)
    high_s = min(window.high_s, result.end_time_s)
    edges = np.linspace(window.low_s, high_s, BINS + 1)
    gives = np.array([mean_in(course, np.maximum(own, 0.0), edges) for own in course.current_A])
    total = gives.sum(axis=0)
    middles = 0.5 * (edges[1:] + edges[:-1]) / window.factor
    return middles, 100.0 * np.where(total > LEAST_A, gives / np.maximum(total, LEAST_A), 0.0)


def _area(result: Result, place: int, x: Floats, part: Floats, look: Look) -> dict[str, Any]:
    name, colour = safe_name(result.batteries[place].name), look.colour(place)
    shape = look.hatches[place % len(look.hatches)]
    filling: dict[str, Any] = {"fillcolor": colour}
    if shape:
        filling["fillpattern"] = {
            "shape": shape,
            "fgcolor": colour,
            "bgcolor": look.paper,
            "size": 8,
            "solidity": 0.4,
            "fillmode": "overlay",
        }
    return {
        "type": "scatter",
        "mode": "lines",
        "x": x,
        "y": part,
        "stackgroup": "shares",
        "name": name,
        "line": {"color": look.ink, "width": 1, "shape": "hvh"},
        "hovertemplate": f"{name}: %{{y:.0f}} %<extra></extra>",
        **filling,
    }


def shares_words(result: Result, window_h: tuple[float, float] | None = None) -> str:
    """Return what `shares_chart` shows, in a sentence or two."""
    if result.end_time_s <= 0.0 or result.trace.shape[0] < 2:
        return "The run ends at once; there is no course to draw."
    _, parts = _parts(result, window_of(result.end_time_s, window_h))
    busy = np.flatnonzero(parts.sum(axis=0) > 0.0)
    if busy.size == 0:
        return "No battery gives current here."
    told = [
        f"{quoted(one.name)} {percent(own[busy[0]] / 100.0)} at first, "
        f"{percent(own[busy[-1]] / 100.0)} in the end"
        for one, own in zip(result.batteries[:MOST_TOLD], parts, strict=False)
    ]
    more = len(result.batteries) - len(told)
    told += [f"and {more} more"] if more else []
    return f"Parts of the current that the batteries give: {'; '.join(told)}."
