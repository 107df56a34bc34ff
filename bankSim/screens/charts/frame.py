"""What all pictures share: the frame of a specification, its axes, and the way to a figure."""

from typing import TYPE_CHECKING, Any

from bankSim.screens.charts.look import FONT, SMALL_PX, TEXT_PX, Look

if TYPE_CHECKING:
    from plotly.graph_objects import Figure

Spec = dict[str, Any]  # {"data": [...], "layout": {...}}; numbers as numpy arrays
NARROW_PX = 320  # of the plot on a phone: legends and words are planned for it
LETTER_PX = 6.6
ROW_PX, KEY_PX = 22, 54  # of a legend: a row, what stands before a name


def figure_of(spec: Spec) -> "Figure":
    """Return the plotly figure of a specification, without the check of every key.

    `to_json` is quick on it, and so is a screen that is handed the figure; a screen that is handed
    the dictionary checks it first, which takes several times as long.
    """
    from plotly.graph_objects import Figure

    return Figure(spec, _validate=False)


def frame(look: Look, height_px: float, **more: Any) -> dict[str, Any]:
    """Return the layout that all pictures begin with; it fills the width it is given.

    Parameters
    ----------
    look : Look
    height_px : float
        Of the whole picture.
    **more
        Further keys of plotly's layout.
    """
    return {
        "template": {"layout": {}},
        "autosize": True,
        "height": round(height_px),
        "paper_bgcolor": look.paper,
        "plot_bgcolor": look.paper,
        "font": {"family": FONT, "size": TEXT_PX, "color": look.ink},
        "margin": {"l": 46, "r": 14, "t": 34, "b": 44, "pad": 0},
        "dragmode": False,  # a finger scrolls the page; the magnifier above turns zooming on
        "hoverlabel": {
            "bgcolor": look.paper,
            "bordercolor": look.quiet,
            "font": {"color": look.ink, "size": SMALL_PX, "family": FONT},
            "namelength": -1,
        },
        "modebar": {"bgcolor": look.paper, "color": look.quiet, "activecolor": look.ink},
        **more,
    }


def legend(look: Look, y: float) -> dict[str, Any]:
    """Return a legend below the picture; `y` is its top as a part of the plot, 0 the axis. [1]"""
    return {
        "orientation": "h",
        "x": 0.0,
        "xanchor": "left",
        "y": y,
        "yanchor": "top",
        "bgcolor": look.paper,
        "font": {"size": SMALL_PX, "color": look.ink},
        "itemwidth": 36,
        "traceorder": "grouped",
        "tracegroupgap": 3,
    }


def axis(look: Look, title: str = "", **more: Any) -> dict[str, Any]:
    """Return a quiet axis.

    Parameters
    ----------
    look : Look
    title : str
        With its unit.
    **more
        Further keys of plotly's axis.
    """
    return {
        "title": {"text": title, "font": {"size": SMALL_PX, "color": look.ink}, "standoff": 6},
        "tickfont": {"size": SMALL_PX, "color": look.ink},
        "gridcolor": look.faint,
        "linecolor": look.quiet,
        "tickcolor": look.quiet,
        "zeroline": False,
        "showline": True,
        "ticks": "outside",
        "ticklen": 4,
        "automargin": True,
        "nticks": 8,
        **more,
    }


def note(look: Look, text: str, **more: Any) -> dict[str, Any]:
    """Return a text in the picture, without an arrow; at the left of what it refers to."""
    return {
        "text": text,
        "showarrow": False,
        "align": "left",
        "xanchor": "left",
        "yanchor": "bottom",
        "font": {"size": SMALL_PX, "color": look.ink},
        **more,
    }


def empty(look: Look, text: str) -> Spec:
    """Return a picture that only says why there is none."""
    hidden = {"visible": False, "range": [0, 1]}
    words = note(look, text, x=0.5, y=0.5, xref="paper", yref="paper", xanchor="center")
    layout = frame(look, 120, xaxis=hidden, yaxis=hidden, annotations=[words])
    return {"data": [], "layout": layout}


def with_key(data: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """Return traces whose names flow in the legend instead of standing in even columns."""
    return [
        {"legendgroup": one["name"], **one} if one.get("showlegend") and one.get("name") else one
        for one in data
    ]


def legend_px(names: list[str]) -> float:
    """Return the height of a legend on a narrow screen, its names side by side as they fit."""
    rows, used = (1 if names else 0), 0.0
    for name in names:
        width = KEY_PX + LETTER_PX * len(name)
        if used and used + width > NARROW_PX:
            rows, used = rows + 1, 0.0
        used += width
    return ROW_PX * rows + 8.0


def faded(colour: str, part: float) -> str:
    """Return a colour that lets the paper through; `part` of 1 is left of it."""
    red, green, blue = (int(colour[at : at + 2], 16) for at in (1, 3, 5))
    return f"rgba({red},{green},{blue},{part:g})"
