"""Pictures of the lesson as plotly takes them: bars and lines, small or for the wall."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

from bankSim.screens.charts.look import FONT, Look
from bankSim.screens.lesson.reading import figures

Spec = dict[str, Any]
SMALL, LARGE = 14, 28  # letters [px]
CLEAR = "rgba(0,0,0,0)"
QUIET = -1  # a bar that is no battery


@dataclass(frozen=True)
class Bars:
    """Some amounts beside each other.

    Parameters
    ----------
    title, unit : str
        Of the upright axis.
    names : tuple of str
    values : tuple of float
        In `unit`.
    second : tuple of float
        A second bar behind each, e.g. the label; empty for none. In `unit`.
    series : tuple of str
        Names of the two kinds of bar when there are two.
    shades : tuple of int
        The battery whose colour each bar has, from 0, or `QUIET`; empty: in their order.
    """

    title: str
    unit: str
    names: tuple[str, ...]
    values: tuple[float, ...]
    second: tuple[float, ...] = ()
    series: tuple[str, str] = ("", "")
    shades: tuple[int, ...] = ()

    @property
    def words(self) -> str:
        """Tell what is shown to people who cannot see it."""
        told = [
            f"{n} {figures(v)} {self.unit}" for n, v in zip(self.names, self.values, strict=True)
        ]
        text = f"Bars, {self.title}: {', '.join(told)}."
        if self.second:
            beside = [figures(value) for value in self.second]
            text += f" Beside them, {self.series[1]}: {', '.join(beside)} {self.unit}."
        return text

    def data(self, look: Look, size: int) -> list[Spec]:
        """Return the traces."""
        rows = [(self.values, 0)] + ([(self.second, 1)] if self.second else [])
        return [self._trace(values, place, look) for values, place in rows]

    def _trace(self, values: Sequence[float], place: int, look: Look) -> Spec:
        colours: str | list[str]
        hatches: str | list[str]
        if self.second:
            colours = look.colour(0) if place == 0 else look.quiet
            hatches = look.hatches[place]
        else:
            shades = self.shades or tuple(range(len(values)))
            colours = [look.quiet if k == QUIET else look.colour(k) for k in shades]
            hatches = ["" if k == QUIET else look.hatches[k % len(look.hatches)] for k in shades]
        return {
            "type": "bar",
            "x": list(self.names),
            "y": list(values),
            "name": self.series[place],
            "text": [f"{v:.0f}" if self.second else figures(v) for v in values],
            "textposition": "outside",
            "cliponaxis": False,
            "marker": {
                "color": colours,
                "pattern": {
                    "shape": hatches,
                    "fillmode": "overlay",
                    "fgcolor": look.paper,
                    "size": 8,
                    "solidity": 0.25,
                },
            },
            "hovertemplate": f"%{{x}}: %{{y:.3g}} {self.unit}<extra></extra>",
        }

    def axes(self) -> Spec:
        """Return what is special to the axes."""
        top = 1.18 * max(*self.values, *self.second, 1.0)
        low = 1.18 * min(*self.values, 0.0)
        return {
            "xaxis": {"type": "category"},
            "yaxis": {
                "title": {"text": f"{self.title} [{self.unit}]", "standoff": 12},
                "range": [low, top],
            },
            "showlegend": bool(self.second),
        }


@dataclass(frozen=True)
class Lines:
    """Some courses over time.

    Parameters
    ----------
    title, unit : str
        Of the upright axis.
    time_title : str
        With its unit.
    times : tuple of float
        In the unit of `time_title`.
    names : tuple of str
    courses : tuple of tuple of float
        One for each name, in `unit`.
    level : (str, float) or None
        A dotted line right across, with its name. In the unit of the upright axis.
    told : str
        What happens, for people who cannot see it.
    """

    title: str
    unit: str
    time_title: str
    times: tuple[float, ...]
    names: tuple[str, ...]
    courses: tuple[tuple[float, ...], ...] = field(repr=False)
    level: tuple[str, float] | None
    told: str

    @property
    def words(self) -> str:
        """Tell what is shown to people who cannot see it."""
        return f"Lines over time, {self.title} of {' and '.join(self.names)}. {self.told}"

    def data(self, look: Look, size: int) -> list[Spec]:
        """Return the traces."""
        rows = [self._trace(place, look, size) for place in range(len(self.names))]
        if self.level is not None:
            rows.append(self._level(*self.level, look, size))
        return rows

    def _trace(self, place: int, look: Look, size: int) -> Spec:
        return {
            "type": "scatter",
            "mode": "lines",
            "x": list(self.times),
            "y": list(self.courses[place]),
            "name": self.names[place],
            "line": _line(look, place, size),
            "hovertemplate": f"%{{y:.3g}} {self.unit}",
        }

    def _level(self, name: str, value: float, look: Look, size: int) -> Spec:
        return {
            "type": "scatter",
            "mode": "lines",
            "x": [self.times[0], self.times[-1]],
            "y": [value, value],
            "name": name,
            "line": {"color": look.quiet, "dash": "dot", "width": 2.0 * size / SMALL},
            "hovertemplate": f"%{{y:.3g}} {self.unit}",
        }

    def axes(self) -> Spec:
        """Return what is special to the axes."""
        return {
            "xaxis": {"title": {"text": self.time_title}, "showgrid": True},
            "yaxis": {
                "title": {"text": f"{self.title} [{self.unit}]", "standoff": 12},
                "rangemode": "tozero",
            },
            "hovermode": "x unified",
        }


Picture = Bars | Lines


def _line(look: Look, place: int, size: int) -> Spec:
    """Return the line of a battery, its dashes as much larger as the letters."""
    larger = size / SMALL
    lengths = [part.removesuffix("px") for part in look.dash(place).split(",")]
    dash = look.dash(place)
    if lengths[0] != dash:
        dash = ",".join(f"{larger * float(length):.0f}px" for length in lengths)
    return {"color": look.colour(place), "dash": dash, "width": 2.5 * larger}


def spec_of(picture: Picture, look: Look, *, wall: bool) -> Spec:
    """Return the plotly specification of a picture.

    Parameters
    ----------
    picture : Bars or Lines
    look : Look
    wall : bool
        Large, for the back row.
    """
    size = LARGE if wall else SMALL
    own = picture.axes()
    axis = {
        "gridcolor": look.faint,
        "linecolor": look.quiet,
        "zerolinecolor": look.quiet,
        "automargin": True,
        "fixedrange": True,
    }
    layout: Spec = {
        "height": 450 if wall else 300,
        "margin": {"l": 8, "r": 12, "t": 16, "b": 8},
        "font": {"family": FONT, "size": size, "color": look.ink},
        "paper_bgcolor": CLEAR,
        "plot_bgcolor": CLEAR,
        "bargap": 0.35,
        "legend": {"orientation": "h", "x": 0, "y": 1.02, "yanchor": "bottom"},
        "hoverlabel": {"bgcolor": look.paper, "font": {"color": look.ink, "size": size}},
    }
    layout |= own | {"xaxis": axis | own["xaxis"], "yaxis": axis | own["yaxis"]}
    return {"data": picture.data(look, size), "layout": layout}
