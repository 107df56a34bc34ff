"""A map over two keys: the number in each field, and who cuts out first."""

from collections.abc import Sequence
from typing import Any

import numpy as np

from bankSim.kernels.arrays import Floats
from bankSim.screens.charts.frame import Spec, axis, empty, frame, legend, legend_px, with_key
from bankSim.screens.charts.look import LIGHT, Look
from bankSim.screens.charts.text import safe_name, safe_text
from bankSim.show.sweep_letters import letter
from bankSim.show.words import whole_or
from bankSim.sim.numbers import clean, number, quoted

FIELD_PX, LEAST_PX, MOST_PX = 46.0, 160.0, 460.0
AXIS_PX, TOP_PX = 44.0, 34.0
MOST_WRITTEN, MOST_LETTERS = 8, 14  # fields across: numbers and letters, letters alone
NOBODY, PAPER = "–", "*"
SHADES = {  # the ink reads on all of them
    "light": ((0.0, "#ffffff"), (1.0, "#74abd2")),
    "dark": ((0.0, "#161b20"), (1.0, "#2c628c")),
}
_Texts = tuple[list[list[str]], list[list[str]]]  # in every field; told when it is pointed at


def map_chart(
    x_values: Sequence[float],
    y_values: Sequence[float],
    z: Floats,
    labels: tuple[str, str, str],
    *,
    first: Sequence[Sequence[str]] | None = None,
    paper: Sequence[Sequence[bool]] | None = None,
    here: tuple[float, float] | None = None,
    look: Look = LIGHT,
) -> Spec:
    """Draw one number over two keys, shaded, with the number and a letter in each field.

    Parameters
    ----------
    x_values, y_values : sequence of float
        Rising. In the unit of its axis.
    z : array (len(y_values), len(x_values))
        NaN where there is none. In the unit of its label.
    labels : (str, str, str)
        Of the x axis, the y axis and z, each with its unit, as in "delivered [Ah]".
    first : sequence (y) of sequence (x) of str, optional
        Name of who cuts out first, "" for nobody; shown as a letter with a key below.
    paper : sequence (y) of sequence (x) of bool, optional
        Where the number is on paper only; marked.
    here : (float, float), optional
        The scenario as it stands, marked where it lies on the map. In the units of the axes.
    look : Look
    """
    z = np.asarray(z, dtype=float)
    if z.size == 0:
        return empty(look, "Nothing to draw.")
    letters = _letters(first)
    x_label, y_label, z_label = (safe_text(label) for label in labels)
    texts = _texts(x_values, y_values, z, (x_label, y_label, z_label), first, letters, paper)
    data = [_heat(z, texts, z_label, look)]
    if here is not None and _on_map(x_values, y_values, here):
        data.append(_mark(x_values, y_values, here, look))
    signs = {sign: f"{safe_name(name)} first out" for name, sign in letters.items()}
    data += _key(signs | ({PAPER: "on paper only"} if _any(paper) else {}), look)
    plot_px = float(np.clip(FIELD_PX * len(y_values), LEAST_PX, MOST_PX))
    names = [one["name"] for one in data if one.get("showlegend")]
    foot = AXIS_PX + (legend_px(names) if names else 0.0)
    layout = frame(
        look,
        TOP_PX + plot_px + foot,
        margin={"l": 46, "r": 14, "t": TOP_PX, "b": foot, "pad": 0},
        hovermode="closest",
        legend=legend(look, -AXIS_PX / plot_px),
        xaxis=_scale(look, x_label, x_values),
        yaxis=_scale(look, y_label, y_values),
    )
    return {"data": with_key(data), "layout": layout}


def _any(paper: Sequence[Sequence[bool]] | None) -> bool:
    return any(flag for row in paper or () for flag in row)


def _letters(first: Sequence[Sequence[str]] | None) -> dict[str, str]:
    """Return the letter of everybody who is first anywhere, in the order they are met."""
    names = dict.fromkeys(name for row in first or () for name in row if name)
    return {name: letter(place) for place, name in enumerate(names)}


def _scale(look: Look, title: str, values: Sequence[float]) -> dict[str, Any]:
    """Return an axis of even fields with their values as ticks; fewer where there are many."""
    step = -(-len(values) // 8)
    places = list(range(0, len(values), step))
    return axis(
        look,
        title,
        fixedrange=True,
        showgrid=False,
        tickvals=places,
        ticktext=[whole_or(float(values[place])) for place in places],
        range=[-0.5, len(values) - 0.5],
    )


def _heat(z: Floats, texts: _Texts, title: str, look: Look) -> dict[str, Any]:
    written, told = texts
    rows, columns = z.shape
    return {
        "type": "heatmap",
        "z": z,
        "x": list(range(columns)),
        "y": list(range(rows)),
        "text": written,
        "texttemplate": "%{text}",
        "customdata": told,
        "hovertemplate": "%{customdata}<extra></extra>",
        "xgap": 1,
        "ygap": 1,
        "colorscale": [list(stop) for stop in SHADES[look.name]],
        "textfont": {"size": 12 if columns <= 6 else 10, "color": look.ink},
        "colorbar": _colour_bar(title, look),
        "showscale": True,
    }


def _texts(
    x_values: Sequence[float],
    y_values: Sequence[float],
    z: Floats,
    labels: tuple[str, str, str],
    first: Sequence[Sequence[str]] | None,
    letters: dict[str, str],
    paper: Sequence[Sequence[bool]] | None,
) -> _Texts:
    """Return what stands in each field, and what is told when it is pointed at."""
    written: list[list[str]] = []
    told: list[list[str]] = []
    for j, y in enumerate(y_values):
        written.append([])
        told.append([])
        for i, x in enumerate(x_values):
            name = "" if first is None else first[j][i]
            sign = "" if first is None else letters.get(name, NOBODY)
            mark = PAPER if paper is not None and paper[j][i] else ""
            written[-1].append(_inside(z[j, i], sign, len(x_values), mark))
            who = "" if first is None else f"<br>first out: {safe_name(name) or 'nobody'}"
            told[-1].append(
                f"{labels[0]}: {whole_or(float(x))}<br>{labels[1]}: {whole_or(float(y))}<br>"
                f"{labels[2]}: {number(float(z[j, i]))}{' (on paper only)' if mark else ''}{who}"
            )
    return written, told


def _colour_bar(title: str, look: Look) -> dict[str, Any]:
    return {
        "title": {"text": title, "side": "top", "font": {"size": 12, "color": look.ink}},
        "orientation": "h",
        "x": 0.0,
        "xanchor": "left",
        "y": 1.0,
        "yanchor": "bottom",
        "thickness": 10,
        "len": 0.7,
        "tickfont": {"size": 11, "color": look.ink},
        "nticks": 5,
        "outlinewidth": 0,
    }


def _inside(value: float, sign: str, across: int, mark: str) -> str:
    """Return what stands in a field: number with its mark and letter, or as much as fits."""
    if across > MOST_LETTERS:
        return mark
    if across > MOST_WRITTEN:
        return sign + mark
    digits = (whole_or(value) if np.isfinite(value) else "-") + mark
    return f"{digits}<br>{sign}" if sign else digits


def _on_map(
    x_values: Sequence[float], y_values: Sequence[float], here: tuple[float, float]
) -> bool:
    """Tell whether a place lies within the outer fields: beyond them a ring would mislead."""
    axes = zip(here, (x_values, y_values), strict=True)
    return all(values[0] - 1e-9 <= at <= values[-1] + 1e-9 for at, values in axes)


def _mark(
    x_values: Sequence[float], y_values: Sequence[float], here: tuple[float, float], look: Look
) -> dict[str, Any]:
    """Return a ring where the scenario stands, between the fields where need be."""
    x, y = (
        float(np.interp(at, np.asarray(values, dtype=float), np.arange(len(values))))
        for at, values in zip(here, (x_values, y_values), strict=True)
    )
    return {
        "type": "scatter",
        "mode": "markers",
        "x": [x],
        "y": [y],
        "name": "as it stands",
        "marker": {
            "symbol": "circle-open",
            "size": 30,
            "color": look.alert,
            "line": {"width": 3, "color": look.alert},
        },
        "hoverinfo": "skip",
        "showlegend": True,
    }


def _key(signs: dict[str, str], look: Look) -> list[dict[str, Any]]:
    """Return entries of the legend that say what each sign in the fields is."""
    return [
        {
            "type": "scatter",
            "mode": "markers",
            "x": [None],
            "y": [None],
            "name": f"{sign}: {words}",
            "hoverinfo": "skip",
            "showlegend": True,
            "marker": {"color": look.paper, "size": 1},
        }
        for sign, words in signs.items()
    ]


def map_words(
    x_values: Sequence[float],
    y_values: Sequence[float],
    z: Floats,
    labels: tuple[str, str, str],
    *,
    first: Sequence[Sequence[str]] | None = None,
    paper: Sequence[Sequence[bool]] | None = None,
) -> str:
    """Return what `map_chart` shows, in a sentence or two. Numbers in the units of the labels."""
    z = np.asarray(z, dtype=float)
    if not np.isfinite(z).any():
        return "A map without numbers."
    x_label, y_label, z_label = (clean(label) for label in labels)
    words = (
        f"Map of {z_label} over {x_label} ({len(x_values)} values) and {y_label} ({len(y_values)})"
    )
    for which, place in (("least", np.nanargmin(z)), ("most", np.nanargmax(z))):
        j, i = (int(one) for one in np.unravel_index(int(place), z.shape))
        words += (
            f"; {which} {number(float(z[j, i]))} at {whole_or(float(x_values[i]))} and "
            f"{whole_or(float(y_values[j]))}"
        )
    counts = dict.fromkeys(_letters(first), 0)
    for row in first or ():
        for name in row:
            counts[name] = counts.get(name, 0) + 1
    who = [f"{quoted(name) if name else 'nobody'} in {n}" for name, n in counts.items()]
    words += f". First out, of {z.size} fields: {', '.join(who)}." if who else "."
    flagged = sum(flag for row in paper or () for flag in row)
    return words + (f" On paper only in {flagged} of {z.size} fields." if flagged else "")
