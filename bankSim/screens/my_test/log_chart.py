"""A log at a glance: voltage above, current below, one time axis."""

from typing import Any

import numpy as np

from bankSim.screens.charts.look import DARK, LIGHT
from bankSim.screens.my_test.reading import Look


def log_chart(look: Look, *, dark: bool) -> dict[str, Any]:
    """Return the picture as plotly takes it.

    Parameters
    ----------
    look : Look
    dark : bool
        For a dark screen.
    """
    colours = DARK if dark else LIGHT
    axis = {
        "gridcolor": colours.faint, "zeroline": False, "linecolor": colours.ink,
        "ticks": "outside", "automargin": True,
    }  # fmt: skip
    layout: dict[str, Any] = {
        "height": 420,
        "margin": {"l": 8, "r": 8, "t": 28, "b": 8},
        "paper_bgcolor": "rgba(0,0,0,0)",
        "plot_bgcolor": "rgba(0,0,0,0)",
        "font": {"color": colours.ink, "size": 13},
        "showlegend": False,
        "hovermode": "x",
        "dragmode": False,
        "xaxis": {**axis, "title": {"text": "time [h]"}, "anchor": "y2"},
        "yaxis": {**axis, "domain": [0.56, 1.0]},
        "yaxis2": {**axis, "domain": [0.0, 0.44], "rangemode": "tozero"},  # ripple stays small
        "annotations": [],
    }
    data = []
    for place, (name, unit, hours, values) in enumerate(look.lines):
        data.append(
            {
                "type": "scatter", "mode": "lines", "x": hours, "y": values, "name": name,
                "xaxis": "x", "yaxis": "y" if place == 0 else "y2",
                "line": {"color": colours.colour(place), "width": 1.8},
                "hovertemplate": f"%{{y:.3f}} {unit}<extra></extra>",
            }
        )  # fmt: skip
        layout["annotations"].append(
            {
                "text": f"{name} [{unit}]", "showarrow": False, "xref": "paper", "x": 0.0,
                "yref": "paper", "y": 1.0 if place == 0 else 0.44, "xanchor": "left",
                "yanchor": "bottom",
            }
        )  # fmt: skip
    return {"data": data, "layout": layout}


def log_chart_words(look: Look) -> str:
    """Return what the picture shows, in a sentence."""
    parts = []
    for name, unit, hours, values in look.lines:
        low, high = float(np.min(values)), float(np.max(values))
        parts.append(f"{name} between {low:.4g} and {high:.4g} {unit} over {hours[-1]:.3g} h")
    return "; ".join(parts) + "."
