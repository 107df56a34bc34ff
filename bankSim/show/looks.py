"""The look of all figures: colours that survive grey, quiet axes, safe names."""

from typing import TYPE_CHECKING, Any

from bankSim.sim.numbers import clean

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure
    from matplotlib.text import Text

# Okabe & Ito, "Color Universal Design" (2008), without yellow, which is weak on white
COLOURS = ("#0072B2", "#D55E00", "#009E73", "#CC79A7", "#E69F00", "#56B4E9")
DASH_DOT_DOT = (0, (6, 1.5, 1.2, 1.5, 1.2, 1.5))
DASHES: tuple[Any, ...] = ("-", (0, (6, 2)), (0, (2, 1.5)), (0, (7, 2, 1.5, 2)), DASH_DOT_DOT)
INK = "#222222"
QUIET = "#8a8a8a"
FAINT = "#d9d9d9"
ALERT = "#D55E00"
WIDTH_IN = 8.0
LONGEST_LABEL = 24


def new_figure(height_in: float) -> "Figure":
    """An empty figure, 8 in wide, that keeps every text inside its canvas."""
    from matplotlib.figure import Figure

    figure = Figure(figsize=(WIDTH_IN, height_in), dpi=120, layout="constrained")
    figure.get_layout_engine().set(w_pad=0.12, h_pad=0.10)  # type: ignore[union-attr, call-arg]
    return figure


def dress(axes: "Axes", title: str, x_label: str, y_label: str) -> None:
    """Title on the left, units on both axes, a faint grid, no box."""
    plain(axes.set_title(title, loc="left", fontsize=10.5, color=INK, pad=8))
    plain(axes.set_xlabel(x_label, fontsize=9.5, color=INK))
    plain(axes.set_ylabel(y_label, fontsize=9.5, color=INK))
    axes.grid(True, color=FAINT, linewidth=0.6)
    axes.set_axisbelow(True)
    axes.tick_params(labelsize=8.5, colors=INK, length=3)
    for side in ("top", "right"):
        axes.spines[side].set_visible(False)
    for side in ("left", "bottom"):
        axes.spines[side].set_color(QUIET)


def plain(text: "Text") -> "Text":
    """Show the text as written: a dollar sign in a name is no formula."""
    text.set_parse_math(False)
    return text


def label(name: str) -> str:
    """A name on one line, short enough to stand beside a line."""
    return clean(name, LONGEST_LABEL)


def line_look(place: int) -> dict[str, Any]:
    """Colour and dashes of the battery in this place; 30 places before a pair comes again."""
    return {
        "color": COLOURS[place % len(COLOURS)],
        "linestyle": DASHES[place % len(DASHES)],
        "linewidth": 1.6,
    }


def halo(text: "Text") -> "Text":
    """White rim, so that a text stays readable on top of lines."""
    from matplotlib.patheffects import withStroke

    text.set_path_effects([withStroke(linewidth=2.5, foreground="white")])
    return text


def side_legend(figure: "Figure", handles: list[Any], names: list[str]) -> None:
    """Name the lines outside, on the right; any name is safe, also "_x" and "$x$"."""
    if not handles:
        return
    places = [str(place) for place in range(len(names))]
    legend = figure.legend(
        handles, places, loc="outside right upper", frameon=False, fontsize=8.5, handlelength=3.2
    )
    for text, name in zip(legend.get_texts(), names, strict=True):
        plain(text).set_text(name)
